// Pointer on the drawing: select, drag a point or a thing, pan, pinch, and draw new things point by point.
import { KINDS } from "./kinds.js";
import { parseLength, showLength, FOOT_M } from "./lengths.js";
import { joined, movePoint, moveThing, pointsOf } from "./moves.js";
import { snap, roundStep } from "./snap.js";
import { add, dist, edgesOf, insertPoint, pathsOf, round, sub, times, toward } from "./shapes.js";

/** Pixels that a press may wander and still be a tap. */
const TAP = 6;

export class Tools extends EventTarget {
  /**
   * @param {import("./view.js").View} view
   * @param {import("./model.js").Model} model
   * @param {(text: string) => void} say speaks to a screen reader
   */
  constructor(view, model, say) {
    super();
    Object.assign(this, { view, model, say });
    /** @type {{ kind: import("./kinds.js").Kind, set: [number, number][], cursor: [number, number] } | null} */
    this.drawing = null;
    this.pointers = new Map();
    this.drag = null;
    /** Something else that wants the next taps, such as the two points of the picture: (xy) => done. */
    this.taps = null;
    const on = (name, what) => view.svg.addEventListener(name, what.bind(this), { passive: false });
    on("pointerdown", this.down);
    on("pointermove", this.move);
    on("pointerup", this.up);
    on("pointercancel", this.lost);
    on("wheel", this.wheel);
    on("dblclick", (event) => { event.preventDefault(); if (this.drawing) { this.finish(); } });
  }

  tell(name) { this.dispatchEvent(new Event(name)); }

  // Drawing new things

  /** Begins to draw a thing. */
  start(kind) {
    this.stop();
    const { view } = this;
    // The cross of the keyboard begins at zero, where it can be seen.
    const [x, y] = view.screen([0, 0]), seen = x > 60 && y > 60 && x < view.width - 40 && y < view.height - 40, foot = this.model.units === "m" ? 1 : FOOT_M;
    this.drawing = { kind: KINDS.find((k) => k.kind === kind), set: [], cursor: seen ? [0, 0] : view.center.map((v) => Math.round(v / foot) * foot) };
    this.model.select(null);
    this.show();
    this.tell("drawing");
    this.say(`${this.drawing.kind.title}. ${this.drawing.kind.about}`);
  }

  stop() {
    if (!this.drawing) { return; }
    this.drawing = null;
    this.show();
    this.tell("drawing");
  }

  show(guides = []) {
    const d = this.drawing, extra = this.view.extra;
    extra.guides = guides;
    extra.path = d ? { points: [...d.set, d.cursor], set: d.set, closed: d.kind.shape === "area" && d.set.length > 1 } : null;
    extra.cursor = d ? d.cursor : null;
    this.view.draw();
  }

  /** Moves the point to come to `raw` (meters), caught by what is near unless `free`. */
  hover(raw, free = false) {
    const { drawing: d } = this, set = d.set;
    const own = set.length > 1 ? [toward(set[set.length - 2], set[set.length - 1])].filter(Boolean) : [];
    const neighbors = set.length ? [set[set.length - 1], ...(d.kind.shape === "area" && set.length > 1 ? [set[0]] : [])] : [];
    const found = free ? { xy: raw, guides: [] } : snap(this.model, this.view.scale, raw, { except: -1, neighbors, own });
    d.cursor = found.xy;
    this.show(found.guides);
  }

  /** Sets the point under the cursor. */
  place() {
    const { drawing: d } = this, { shape } = d.kind, reach = 10 / this.view.scale;
    const last = d.set[d.set.length - 1];
    if (last && dist(last, d.cursor) < reach / 3 || shape === "area" && d.set.length > 2 && dist(d.set[0], d.cursor) < reach) { this.finish(); return; }
    d.set.push(d.cursor);
    if (shape === "point" || shape === "box" || shape === "gate" && d.set.length === 2) { this.finish(); return; }
    const units = this.model.units;
    this.say(`Point ${d.set.length}${last ? `, ${showLength(dist(last, d.cursor), units, "near", 2)} from the last` : ""}.`);
    this.show();
    this.tell("drawing");
  }

  /** Takes back the last point. */
  back() {
    const d = this.drawing;
    if (!d?.set.length) { this.stop(); return; }
    d.set.pop();
    this.show();
    this.tell("drawing");
  }

  /** The next point: `text` away from the last in the direction of the cursor, or with a comma at its place (across, up). */
  typed(text) {
    const d = this.drawing, bare_m = this.model.units === "m" ? 1 : FOOT_M, parts = text.split(","), last = d?.set[d.set.length - 1];
    if (d && parts.length === 2) {
      const xy = parts.map((part) => parseLength(part, bare_m));
      if (xy.includes(null)) { return false; }
      d.cursor = xy;
      this.place();
      return true;
    }
    const length_m = parseLength(text, bare_m);
    if (!last || length_m === null || length_m <= 0) { return false; }
    d.cursor = add(last, times(toward(last, d.cursor) ?? [1, 0], length_m));
    this.place();
    return true;
  }

  /** Ends the thing with the points that are set. */
  finish() {
    const { drawing: d, model } = this, { kind, set } = d;
    const need = kind.shape === "area" ? 3 : kind.shape === "line" || kind.shape === "gate" ? 2 : 1;
    if (set.length < need) { this.say(`A ${kind.title.toLowerCase()} needs ${need} points.`); return; }
    const xy = set.map((p) => times(p, 1 / model.unit_m).map(round));
    let geometry = { type: "LineString", coordinates: xy };
    if (kind.shape === "point") { geometry = { type: "Point", coordinates: xy[0] }; }
    if (kind.shape === "area") { geometry = { type: "Polygon", coordinates: [[...xy, xy[0]]] }; }
    if (kind.shape === "box") {
      const [w, l] = [0.9 / model.unit_m, 2.35 / model.unit_m].map(round), [x, y] = xy[0];
      geometry = { type: "Polygon", coordinates: [[[x - w, y - l], [x + w, y - l], [x + w, y + l], [x - w, y + l], [x - w, y - l]].map((p) => p.map(round))] };
    }
    this.drawing = null;
    this.insert({ type: "Feature", properties: { role: kind.role, label: this.label(kind), ...kind.properties }, geometry }, `Draw ${kind.title.toLowerCase()}`);
    this.show();
    this.tell("drawing");
    this.tell("drawn");
    this.say(`${kind.title} drawn.`);
  }

  insert(feature, label) {
    const { model } = this, index = model.features.length;
    model.change(label, model.withFeature(index, feature));
    model.select(index);
    return index;
  }

  /** A label that no other thing has: tree, tree 2, tree 3. */
  label(kind) {
    const word = kind.kind === "car" ? "parked car" : kind.kind === "limb" ? "low limb" : kind.kind === "other" ? "obstacle" : kind.title.toLowerCase();
    const taken = new Set(this.model.features.map((f) => f?.properties?.label));
    let label = word;
    for (let i = 2; taken.has(label); i += 1) { label = `${word} ${i}`; }
    return label;
  }

  // Pointer

  down(event) {
    if (event.button > 1) { return; }
    event.preventDefault();
    const { view, model } = this;
    view.svg.setPointerCapture?.(event.pointerId);
    this.pointers.set(event.pointerId, [event.clientX, event.clientY]);
    if (this.pointers.size > 1) { this.giveUp(); this.drag = { what: "pinch" }; return; }
    const target = event.target.closest?.("[data-point], [data-index]"), at = view.at(event);
    const drag = { what: "pan", at, x: event.clientX, y: event.clientY, moved: false, touch: event.pointerType === "touch", target: null };
    if (this.drawing || this.taps || event.button === 1) {
      drag.what = event.button === 1 ? "pan" : "draw";
      if (this.drawing) { this.hover(at, event.altKey); }
    } else if (target?.dataset.point) {
      const [index, path, point, adds] = target.dataset.point.split(".");
      Object.assign(drag, { what: "point", index: +index, path: +path, point: +point, adds: Boolean(adds) });
    } else if (target?.dataset.index) {
      drag.index = +target.dataset.index;
      // On a touch screen a drag over something that is not selected moves the drawing; so does one over a road or a driveway.
      const ground = /road|drive/.test(model.features[drag.index].properties?.role);
      if (model.selected === drag.index || !drag.touch && !ground) { drag.what = "thing"; }
    }
    if (target) { target.focus({ preventScroll: true }); } else { view.svg.focus({ preventScroll: true }); }
    this.drag = drag;
  }

  move(event) {
    if (this.pointers.has(event.pointerId)) {
      const before = this.pointers.get(event.pointerId);
      this.pointers.set(event.pointerId, [event.clientX, event.clientY]);
      if (this.drag?.what === "pinch") { this.pinch(event.pointerId, before); return; }
    }
    const { drag, view } = this;
    if (!drag) { if (this.drawing && event.pointerType !== "touch") { this.hover(view.at(event), event.altKey); } return; }
    if (!drag.moved && Math.hypot(event.clientX - drag.x, event.clientY - drag.y) < TAP) { return; }
    if (!drag.moved) { drag.moved = true; this.begin(drag); }
    if (drag.what === "pan" || drag.what === "draw" && drag.touch) {
      view.pan(event.clientX - (drag.lastX ?? drag.x), event.clientY - (drag.lastY ?? drag.y));
    } else if (drag.what === "draw") {
      if (this.drawing) { this.hover(view.at(event), event.altKey); }
    } else { this.dragTo(view.at(event), event.altKey); }
    drag.lastX = event.clientX;
    drag.lastY = event.clientY;
  }

  /** A drag of a point or a thing begins. */
  begin(drag) {
    const { model } = this;
    if (drag.what === "point") {
      const feature = model.features[drag.index], name = drag.adds ? "Add a point" : "Move a point";
      model.begin(name);
      drag.from = model.plan;
      if (drag.adds) {
        const path = pathsOf(feature.geometry)[drag.path], n = path.points.length, a = path.points[drag.point], b = path.points[(drag.point + 1) % n];
        drag.point += 1;
        model.preview(model.withFeature(drag.index, insertPoint(feature, drag.path, drag.point, times(add(a, b), 0.5).map(round))));
        drag.from = model.plan;
        drag.adds = false;
      }
      model.select(drag.index, { path: drag.path, point: drag.point });
      drag.links = joined(model, drag.index, drag.point);
    } else if (drag.what === "thing") {
      model.begin("Move");
      drag.from = model.plan;
      drag.points = pointsOf(model, drag.index);
      model.select(drag.index);
    }
  }

  dragTo(raw, free) {
    const { drag, model, view } = this, unit = model.unit_m;
    if (drag.what === "point") {
      const path = pathsOf(drag.from.features[drag.index].geometry)[drag.path], n = path.points.length, j = drag.point;
      const next = [path.closed || j > 0 ? (j + n - 1) % n : null, path.closed || j < n - 1 ? (j + 1) % n : null].filter((v) => v !== null && v !== j);
      const neighbors = next.map((k) => times(path.points[k], unit));
      const own = next.flatMap((k) => { const far = path.points[(2 * k - j + n * 2) % n]; const t = far && k !== j && toward(path.points[k], far); return t && dist(far, path.points[j]) > 0 ? [t] : []; });
      const found = free ? { xy: raw, guides: [] } : snap(model, view.scale, raw, { except: drag.index, neighbors, own, skip: drag.links });
      view.extra.guides = found.guides;
      view.extra.dims = [`${drag.path}.${j}`, `${drag.path}.${(j + n - 1) % n}`];
      model.preview(movePoint(model, drag.index, { path: drag.path, point: j }, times(found.xy, 1 / unit), drag.links, drag.from));
    } else if (drag.what === "thing") {
      const step = free ? 0 : roundStep(model, view.scale), delta = sub(raw, drag.at).map((v) => step ? Math.round(v / step) * step : v);
      model.preview(moveThing(model, drag.index, times(delta, 1 / unit), drag.points, drag.from));
    }
  }

  up(event) {
    this.pointers.delete(event.pointerId);
    const { drag, model, view } = this;
    if (drag?.what === "pinch") { if (!this.pointers.size) { this.drag = null; } return; }
    this.drag = null;
    view.extra.guides = this.drawing ? view.extra.guides : [];
    view.extra.dims = [];
    if (!drag) { return; }
    if (drag.moved) { if (model.before) { model.commit(); } view.draw(); if (drag.what !== "draw" || drag.touch) { return; } }
    if (this.taps) { const done = this.taps(view.at(event)); if (done) { this.taps = null; } return; }
    if (this.drawing) { this.hover(view.at(event), event.altKey); this.place(); return; }
    if (drag.what === "point" && drag.adds) {
      const feature = model.features[drag.index], [a, b] = edgesOf(feature).find((e) => e[2] === drag.path && e[3] === drag.point);
      model.change("Add a point", model.withFeature(drag.index, insertPoint(feature, drag.path, drag.point + 1, times(add(a, b), 0.5).map(round))));
      model.select(drag.index, { path: drag.path, point: drag.point + 1 });
    } else if (drag.what === "point") {
      model.select(drag.index, { path: drag.path, point: drag.point });
    } else { model.select(drag.index ?? null); }
  }

  lost(event) {
    this.pointers.delete(event.pointerId);
    this.giveUp();
    this.drag = null;
  }

  /** Ends a drag as if it had not been. */
  giveUp() {
    if (this.model.before) { this.model.cancel(); }
    this.view.extra.guides = [];
    this.view.extra.dims = [];
  }

  pinch(id, before) {
    const other = [...this.pointers].find(([key]) => key !== id)?.[1], now = this.pointers.get(id);
    if (!other) { return; }
    const box = this.view.svg.getBoundingClientRect(), d = (p) => Math.max(1, Math.hypot(p[0] - other[0], p[1] - other[1]));
    this.view.pan((now[0] - before[0]) / 2, (now[1] - before[1]) / 2);
    this.view.zoom(d(now) / d(before), this.view.place([(now[0] + other[0]) / 2 - box.left, (now[1] + other[1]) / 2 - box.top]));
  }

  wheel(event) {
    event.preventDefault();
    this.view.zoom(Math.exp(-event.deltaY * (event.deltaMode ? 0.05 : 0.0015)), this.view.at(event));
  }
}
