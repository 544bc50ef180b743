// The drawing on screen: one SVG with the place in meters, moved and scaled, and over it in pixels what helps to draw: handles,
// dimensions, guides, tapes along the edges.
import { showLength } from "./lengths.js";
import { kindOf, nameOf } from "./kinds.js";
import { boxOf, edgesOf, middle, pathsOf, times } from "./shapes.js";
import { el, figure, line, setback } from "./figures.js";

/** Width of the tapes along the top and the left, pixels. */
const TAPE = 24;
const GROUND = ["road", "drive"];

export class View {
  /**
   * @param {SVGSVGElement} svg
   * @param {import("./model.js").Model} model
   */
  constructor(svg, model) {
    this.svg = svg;
    this.model = model;
    this.center = [0, 0];
    /** Pixels for a meter. */
    this.scale = 12;
    this.layers = {};
    for (const name of ["grid", "underlay", "ground", "answer", "things", "sketch"]) { this.layers[name] = el("g", { class: name }); }
    this.world = el("g", {}, ...Object.values(this.layers));
    this.notes = el("g", { class: "notes", "aria-hidden": "true" });
    this.handles = el("g", { class: "handles" });
    this.tapes = el("g", { class: "tapes", "aria-hidden": "true" });
    svg.append(this.world, this.notes, this.handles, this.tapes);
    /** @type {Map<number, { g: SVGGElement, feature: any, key: string }>} */
    this.drawn = new Map();
    this.points = new Map();
    /** What the tools add: guides, a line being drawn, a cursor. Screen notes drawn after the dimensions. */
    this.extra = { guides: [], path: null, cursor: null, dims: [] };
    this.tightest = null;
    model.addEventListener("change", () => this.draw());
    model.addEventListener("select", () => this.draw());
    new ResizeObserver(() => this.resize()).observe(svg);
    this.resize();
  }

  resize() {
    const box = this.svg.getBoundingClientRect();
    this.width = box.width || 600;
    this.height = box.height || 400;
    this.draw();
  }

  /** Screen pixels of a point in meters. */
  screen([x, y]) { return [(x - this.center[0]) * this.scale + (this.width + TAPE) / 2, (this.center[1] - y) * this.scale + (this.height + TAPE) / 2]; }
  /** Meters of a point in pixels of the drawing. */
  place([sx, sy]) { return [(sx - (this.width + TAPE) / 2) / this.scale + this.center[0], this.center[1] - (sy - (this.height + TAPE) / 2) / this.scale]; }
  /** The same for a pointer event. */
  at(event) {
    const box = this.svg.getBoundingClientRect();
    return this.place([event.clientX - box.left, event.clientY - box.top]);
  }

  zoom(factor, about = this.center) {
    const scale = Math.max(0.4, Math.min(600, this.scale * factor)), k = this.scale / scale;
    this.center = [about[0] + (this.center[0] - about[0]) * k, about[1] + (this.center[1] - about[1]) * k];
    this.scale = scale;
    this.draw();
  }

  pan(dx, dy) {
    this.center = [this.center[0] - dx / this.scale, this.center[1] + dy / this.scale];
    this.draw();
  }

  /** Shows what matters: the gate and what is around it, or all. */
  fit(all = false) {
    const { features, unit_m } = this.model;
    const gate = features.filter((f) => f?.properties?.role === "gate");
    let box = boxOf(all || !gate.length ? features : gate)?.map((v) => v * unit_m) ?? [-12, -12, 12, 12];
    if (!all && gate.length) {
      const back = setback(gate[0], features, unit_m), out = Math.min(back ? back.distance_m + 9 : 14, 40);
      box = [Math.min(box[0], back?.from[0] ?? box[0]) - 12, Math.min(box[1], back?.from[1] ?? box[1]) - (back ? 8 : out), Math.max(box[2], back?.from[0] ?? box[2]) + 12, Math.max(box[3], back?.from[1] ?? box[3]) + (back ? 8 : out)];
    }
    const w = Math.max(box[2] - box[0], 4), h = Math.max(box[3] - box[1], 4);
    this.scale = Math.max(0.4, Math.min(60, (this.width - TAPE) / w * 0.92, (this.height - TAPE) / h * 0.92));
    this.center = [(box[0] + box[2]) / 2, (box[1] + box[3]) / 2];
    this.draw();
  }

  /** Draws with the next frame. */
  draw() {
    if (!this.waiting) { this.waiting = requestAnimationFrame(() => { this.waiting = 0; this.drawNow(); }); }
  }

  drawNow() {
    const [ox, oy] = this.screen([0, 0]);
    this.world.setAttribute("transform", `matrix(${this.scale} 0 0 ${-this.scale} ${ox} ${oy})`);
    this.drawGrid();
    this.drawThings();
    this.drawNotes();
    this.drawHandles();
    this.drawTapes();
  }

  /** Steps of the tapes and the grid in meters: [between numbers, between ticks]. */
  steps() {
    const unit = this.model.units === "m" ? 1 : 0.3048, wide = 64 / this.scale / unit;
    const major = [0.5, 1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000].find((s) => s >= wide) ?? 5000;
    return [major * unit, major * unit / ({ 2: 4, 20: 4, 200: 4, 0.5: 5 }[major] ?? 5), unit];
  }

  drawGrid() {
    const [major] = this.steps(), [left, top] = this.place([0, 0]), [right, bottom] = this.place([this.width, this.height]);
    let d = "";
    for (let i = Math.ceil(left / major); i * major <= right; i += 1) { d += `M${i * major} ${bottom}V${top}`; }
    for (let i = Math.ceil(bottom / major); i * major <= top; i += 1) { d += `M${left} ${i * major}H${right}`; }
    this.layers.grid.replaceChildren(el("path", { d }));
  }

  drawThings() {
    const { features, unit_m, selected } = this.model;
    const order = { ground: [], things: [] };
    // A gate's leaves swing away from the road, wherever that is.
    const roads = features.filter((f) => f?.properties?.role === "road");
    if (roads.length !== this.roads?.length || roads.some((r, i) => r !== this.roads[i])) { this.roads = roads; this.turn = (this.turn ?? 0) + 1; }
    features.forEach((feature, index) => {
      if (!feature?.geometry) { return; }
      const role = feature.properties?.role, is_gate = role === "gate";
      let entry = this.drawn.get(index);
      if (!entry) {
        const g = el("g", { class: "thing", tabindex: 0, role: "button", "data-index": index });
        entry = { g, feature: null, key: "" };
        this.drawn.set(index, entry);
      }
      const key = `${index === selected}|${is_gate ? this.turn : ""}|${unit_m}`;
      if (entry.feature !== feature || entry.key !== key) {
        entry.g.replaceChildren(...figure(feature, features, unit_m));
        entry.g.setAttribute("class", `thing ${role}${index === selected ? " selected" : ""}`);
        entry.g.setAttribute("aria-label", this.words(feature));
        entry.g.setAttribute("aria-pressed", String(index === selected));
        Object.assign(entry, { feature, key });
      }
      order[GROUND.includes(role) ? "ground" : "things"].push([role === "drive" ? 1 : is_gate ? 2 : 0, index, entry.g]);
    });
    for (const [index, { g }] of this.drawn) {
      if (!features[index]?.geometry) { g.remove(); this.drawn.delete(index); }
    }
    for (const [name, list] of Object.entries(order)) {
      const layer = this.layers[name], nodes = list.sort((a, b) => a[0] - b[0] || a[1] - b[1]).map((e) => e[2]);
      if (nodes.length !== layer.children.length || nodes.some((g, i) => g !== layer.children[i])) {
        const focused = document.activeElement;
        layer.replaceChildren(...nodes);
        if (nodes.includes(focused)) { focused.focus({ preventScroll: true }); }
      }
    }
    const { path } = this.extra;
    this.layers.sketch.replaceChildren(...(path ? [el("path", { d: line(path.points, path.closed), class: path.closed ? "draft area" : "draft" })] : []));
  }

  /** A thing in a sentence, for a screen reader. */
  words(feature) {
    const kind = kindOf(feature), name = nameOf(feature), count = pathsOf(feature.geometry).reduce((sum, p) => sum + p.points.length, 0);
    const edges = edgesOf(feature), length = edges.reduce((sum, [a, b]) => sum + Math.hypot(b[0] - a[0], b[1] - a[1]), 0) * this.model.unit_m;
    const size = kind.kind === "gate" && edges.length ? `opening ${showLength(length, this.model.units)}` : edges.length && !/Polygon/.test(feature.geometry.type) ? `${showLength(length, this.model.units)} long` : count > 1 ? `${count} corners` : "";
    const title = kind.title.toLowerCase();
    return [name === title ? kind.title : `${kind.title}: ${name}`, size].filter(Boolean).join(", ");
  }

  drawNotes() {
    const { model } = this, nodes = [], note = (xy, text, c = "dim") => nodes.push(el("text", { x: xy[0].toFixed(1), y: xy[1].toFixed(1), class: c }, text));
    const taken = [];
    const room = (xy, text, must) => {
      const box = [xy[0] - text.length * 4.4, xy[1] - 13, xy[0] + text.length * 4.4, xy[1] + 5];
      if (!must && taken.some((t) => t[0] < box[2] && box[0] < t[2] && t[1] < box[3] && box[1] < t[3])) { return false; }
      taken.push(box);
      return true;
    };
    for (const [a, b] of this.extra.guides) {
      nodes.push(el("path", { d: line([this.screen(a), this.screen(b)]), class: "guide" }));
    }
    if (this.tightest?.from) {
      const a = this.screen([this.tightest.from.x_m, this.tightest.from.y_m]), b = this.screen([this.tightest.x_m, this.tightest.y_m]);
      nodes.push(el("circle", { cx: b[0].toFixed(1), cy: b[1].toFixed(1), r: 9, class: "tightest" }), el("path", { d: line([a, b]), class: "tightest" }));
    }
    const dimension = (a, b, c) => {
      const [p, q] = [this.screen(a), this.screen(b)], length = Math.hypot(q[0] - p[0], q[1] - p[1]);
      if (length < (c === "dim strong" ? 2 : 30)) { return; }
      const side = [-(q[1] - p[1]) / length, (q[0] - p[0]) / length], down = side[1] >= 0 ? 1 : -1;
      const clip = (v, limit) => Math.max(TAPE + 30, Math.min(limit - 30, v));
      const xy = [clip((p[0] + q[0]) / 2 + side[0] * 20 * down, this.width), clip((p[1] + q[1]) / 2 + side[1] * 20 * down + 5, this.height)];
      const text = showLength(Math.hypot(a[0] - b[0], a[1] - b[1]), model.units, "near", 2);
      if (room(xy, text, c === "dim strong")) { note(xy, text, c); }
    };
    if (this.tightest) {
      const [x, y] = this.screen([this.tightest.x_m, this.tightest.y_m]);
      const text = `${showLength(this.tightest.gap_m, model.units, "down", 2)} to the ${this.tightest.what}`, half = text.length * 4.2;
      const at = [Math.max(TAPE + half, Math.min(this.width - half - 6, x)), Math.max(TAPE + 20, y - 22)];
      room(at, text, true);
      note(at, text, "dim gap");
    }
    const feature = model.feature, strong = this.extra.dims;
    model.features.forEach((f, index) => {
      if (f?.properties?.role !== "gate") { return; }
      const chosen = index === model.selected;
      if (pathsOf(f.geometry)[0]?.points.length > 1) { dimension(...edgesOf(f)[0].slice(0, 2).map((xy) => times(xy, model.unit_m)), "dim strong"); }
      const back = chosen && setback(f, model.features, model.unit_m);
      if (back) {
        nodes.push(el("path", { d: line([this.screen(back.from), this.screen(back.to)]), class: "guide" }));
        dimension(back.from, back.to, "dim");
      }
    });
    if (feature && feature.properties?.role !== "gate" && feature.geometry) {
      for (const [a, b, i, j] of edgesOf(feature)) {
        dimension(times(a, model.unit_m), times(b, model.unit_m), strong.includes(`${i}.${j}`) ? "dim strong" : "dim");
      }
    }
    const { path } = this.extra;
    if (path) {
      const pts = path.points;
      for (let i = 1; i < pts.length; i += 1) { dimension(pts[i - 1], pts[i], i === pts.length - 1 ? "dim strong" : "dim"); }
      for (const xy of path.set ?? pts) { const [x, y] = this.screen(xy); nodes.push(el("circle", { cx: x, cy: y, r: 4, class: "set" })); }
    }
    model.features.forEach((f, index) => {
      if (!f?.geometry || !f.properties?.label || index === model.selected || this.scale < 4) { return; }
      const role = f.properties.role;
      if (role === "gate") { return; }
      const box = boxOf([f]);
      if (!box || /Line/.test(f.geometry.type) && role !== "road" && this.scale < 8) { return; }
      const anchor = /Line/.test(f.geometry.type) ? this.along(f) : times(middle(f), model.unit_m);
      const [x, y] = this.screen(anchor), drop = /Point/.test(f.geometry.type) ? 22 : role === "fence" ? -8 : 5;
      if (x > TAPE + 20 && y > TAPE + 8 && x < this.width - 20 && y < this.height - 8 && room([x, y + drop], f.properties.label, false)) { note([x, y + drop], f.properties.label, "label"); }
    });
    const { cursor } = this.extra;
    if (cursor) {
      const [x, y] = this.screen(cursor);
      nodes.push(el("path", { d: `M${x - 16} ${y}H${x + 16}M${x} ${y - 16}V${y + 16}`, class: "cursor" }));
    }
    this.notes.replaceChildren(...nodes);
  }

  /** A place on a line for its label: on the longest part that can be seen. */
  along(feature) {
    const unit = this.model.unit_m;
    let best = null;
    for (const [a, b] of edgesOf(feature)) {
      const p = this.screen(times(a, unit)), q = this.screen(times(b, unit)), d = [q[0] - p[0], q[1] - p[1]];
      // The part of the edge inside the drawing.
      let [t0, t1] = [0, 1];
      for (const [k, limit] of [[0, this.width], [1, this.height]]) {
        if (Math.abs(d[k]) < 1e-9) { continue; }
        const u = [(TAPE - p[k]) / d[k], (limit - p[k]) / d[k]].sort((m, o) => m - o);
        t0 = Math.max(t0, u[0]);
        t1 = Math.min(t1, u[1]);
      }
      const length = (t1 - t0) * Math.hypot(...d);
      if (length > (best?.length ?? 60)) { const t = t0 + (t1 - t0) * 0.22; best = { length, xy: [a[0] + (b[0] - a[0]) * t, a[1] + (b[1] - a[1]) * t] }; }
    }
    return times(best?.xy ?? [1e6, 1e6], unit);
  }

  /** Handles: the points of what is selected, and always the posts of the gate. */
  drawHandles() {
    const { model } = this, wanted = [], unit = model.unit_m;
    const drawing = Boolean(this.extra.path) || this.extra.cursor;
    model.features.forEach((feature, index) => {
      const chosen = index === model.selected;
      if (!feature?.geometry || drawing || !(chosen || feature.properties?.role === "gate")) { return; }
      const name = nameOf(feature), paths = pathsOf(feature.geometry);
      paths.forEach((path, i) => path.points.forEach((xy, j) => {
        const count = path.points.length;
        const words = feature.properties?.role === "gate" && count === 2 ? `${name}: post ${j + 1}` : count > 1 ? `${name}: point ${j + 1} of ${count}` : name;
        wanted.push({ key: `${index}.${i}.${j}`, xy: times(xy, unit), words, c: `handle${chosen && model.point?.path === i && model.point?.point === j ? " active" : ""}`, r: 7 });
      }));
      if (chosen && feature.properties?.role !== "gate") {
        for (const [a, b, i, j] of edgesOf(feature)) {
          const xy = times([(a[0] + b[0]) / 2, (a[1] + b[1]) / 2], unit), p = this.screen(times(a, unit)), q = this.screen(times(b, unit));
          if (Math.hypot(p[0] - q[0], p[1] - q[1]) > 70) { wanted.push({ key: `${index}.${i}.${j}.add`, xy, words: `${name}: add a point after point ${j + 1}`, c: "handle add", r: 5 }); }
        }
      }
    });
    const seen = new Set();
    for (const { key, xy, words, c, r } of wanted) {
      let g = this.points.get(key);
      if (!g) {
        g = el("g", { tabindex: 0, role: "button", "data-point": key }, el("circle", { r: 20, class: "grip" }), el("circle", { r, class: "knob" }),
          ...(c.includes("add") ? [el("path", { d: "M-3 0H3M0-3V3", class: "plus" })] : []));
        this.points.set(key, g);
        this.handles.append(g);
      }
      seen.add(key);
      const [x, y] = this.screen(xy);
      g.setAttribute("transform", `translate(${x.toFixed(1)} ${y.toFixed(1)})`);
      g.setAttribute("class", c);
      g.setAttribute("aria-label", `${words}, ${showLength(xy[0], model.units)} across, ${showLength(xy[1], model.units)} up`);
    }
    for (const [key, g] of this.points) {
      if (!seen.has(key)) { g.remove(); this.points.delete(key); }
    }
  }

  /** A tape along the top and one along the left, from zero of the plan. */
  drawTapes() {
    const [major, minor, unit] = this.steps(), { width, height } = this, nodes = [el("path", { d: `M0 0H${width}V${TAPE}H${TAPE}V${height}H0Z`, class: "tape" })];
    const [left, top] = this.place([TAPE, TAPE]), [right, bottom] = this.place([width, height]), mark = this.model.units === "m" ? "" : "'";
    let d = "";
    const whole = (v, step) => Math.abs(v / step - Math.round(v / step)) < 1e-6;
    const show = (v) => `${+(v / unit).toFixed(1)}${v === 0 ? "" : mark}`;
    for (let i = Math.ceil(left / minor); i * minor <= right; i += 1) {
      const x = this.screen([i * minor, 0])[0], big = whole(i * minor, major);
      d += `M${x.toFixed(1)} ${TAPE}V${big ? 9 : 17}`;
      if (big && x > TAPE + 8) { nodes.push(el("text", { x: (x + 3).toFixed(1), y: 12, class: "tape-number" }, show(Math.round(i * minor / unit * 10) / 10 * unit))); }
    }
    for (let i = Math.ceil(bottom / minor); i * minor <= top; i += 1) {
      const y = this.screen([0, i * minor])[1], big = whole(i * minor, major);
      d += `M${TAPE} ${y.toFixed(1)}H${big ? 9 : 17}`;
      if (big && y > TAPE + 30) { nodes.push(el("text", { transform: `translate(12 ${(y - 3).toFixed(1)}) rotate(-90)`, class: "tape-number" }, show(Math.round(i * minor / unit * 10) / 10 * unit))); }
    }
    nodes.push(el("path", { d, class: "tape-marks" }), el("path", { d: `M0 0H${TAPE}V${TAPE}H0Z`, class: "tape" }), el("text", { x: 4, y: 16, class: "tape-number" }, this.model.units));
    this.tapes.replaceChildren(...nodes);
  }

  /** The answer's drawing: ground swept, tires, the vehicle along its way. Lines in meters, as the program sent them. */
  showPath(way) {
    const rings = (list) => list.map((ring) => line(ring, true)).join("");
    this.tightest = way?.tightest ?? null;
    this.layers.answer.replaceChildren(...(way ? [
      el("path", { d: rings(way.envelope ?? []), class: "swept", "fill-rule": "nonzero" }),
      ...(way.wheels ?? []).map((points) => el("path", { d: line(points), class: "wheel" })),
      ...(way.outlines ?? []).map((o) => el("path", { d: rings(o.rings), class: `vehicle ${String(o.kind).replace(/[^a-z-]/g, "")}` }))] : []));
    this.draw();
  }
}

export { TAPE };
