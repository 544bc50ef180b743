// One's own vehicle: a form with the few measures that matter, a sketch of each, and sliders that show how its turning circle changes.
// The program works out the circles; here they are only drawn.
import { $, h, notice, picture, later } from "./page.js";
import { FOOT_M, lengthText, parseLength, showLength } from "./lengths.js";
import { get, post } from "./server.js";
import { getLibrary, setLibrary, titleOf } from "./vehicles.js";
import { el } from "./figures.js";

/** @typedef {{ id: string, words: string, how: string, at: (string | number)[], towed?: boolean, slide?: [number, number], sketch: string, also?: (string | number)[] }} Measure */

/** `sketch` is the part of the picture below that is measured. @type {Measure[]} */
const MEASURES = [
  { id: "wheelbase", words: "Wheelbase", how: "From the middle of the front wheel to the middle of the rear wheel.", at: ["units", 0, "wheelbase"], slide: [1.8, 8], sketch: "M50 74H140" },
  { id: "front", words: "Front overhang", how: "From the middle of the front wheel forward to the bumper.", at: ["units", 0, "front_overhang"], slide: [0.3, 3], sketch: "M20 74H50" },
  { id: "rear", words: "Rear overhang", how: "From the middle of the rear wheel back to the bumper.", at: ["units", 0, "rear_overhang"], slide: [0.3, 4.5], sketch: "M140 74H190" },
  { id: "width", words: "Width of the body", how: "At its widest, without mirrors.", at: ["units", 0, "width"], slide: [1.2, 2.6], sketch: "M202 26V58" },
  { id: "mirrors", words: "Width over the mirrors", how: "From the outside of one mirror to the outside of the other, as you drive.", at: ["units", 0, "mirrors", "width"], sketch: "M212 20V64" },
  { id: "height", words: "Height", how: "From the ground to its highest point.", at: ["units", 0, "height"], sketch: "M10 12V66" },
  { id: "circle", words: "Turning circle, curb to curb", how: "From its papers; or drive a full circle at full lock and measure across the track of the outer front tire.", at: ["steering", "turning_circle", "diameter"], slide: [7, 32], sketch: "M30 74A40 40 0 0 1 110 74" },
  { id: "hitch", words: "Hitch behind the rear axle", how: "From the middle of the rear wheel back to the ball or pin; minus if it is ahead of the axle.", at: ["units", 0, "hitch", "behind_axle"], towed: true, sketch: "M140 74H170" },
  { id: "drawbar", words: "Trailer: hitch to axle", how: "From the ball to the middle of the trailer's axles.", at: ["units", 1, "hitch_to_axle"], towed: true, slide: [1.5, 13], sketch: "M60 74H150" },
  { id: "nose", words: "Trailer: hitch to the front of its body", how: "From the ball back to where the body begins.", at: ["units", 1, "front_overhang"], towed: true, sketch: "M60 74H90" },
  { id: "tail", words: "Trailer: axle to its rear end", how: "From the middle of its axles back to the end.", at: ["units", 1, "rear_overhang"], towed: true, sketch: "M150 74H195" },
  { id: "trailer_width", words: "Trailer: width", how: "At its widest, fenders included.", at: ["units", 1, "width"], towed: true, slide: [1.2, 2.7], sketch: "M202 26V58" },
];

const value = (file, at) => at.reduce((o, key) => o?.[key], file);
const plain = (v) => v && typeof v === "object" && "value" in v ? v.value : v;

/** The file with a measure in it, said to be measured. */
function put(file, at, text) {
  if (!at.length) { return { value: text, source: "measured" }; }
  const [key, ...rest] = at, copy = Array.isArray(file) ? [...file] : { ...(file ?? {}) };
  copy[key] = put(copy[key], rest, text);
  return copy;
}

/** A vehicle in a few lines with one measure marked. */
function sketch(measure) {
  const trailer = measure.id !== "hitch" && measure.towed;
  const body = trailer ? "M90 16H195V56H90ZM90 50L60 54" : "M20 52V36H44L56 16H190V56H20Z", wheels = trailer ? [150] : [50, 140];
  return el("svg", { viewBox: "0 0 222 84", class: "measure", "aria-hidden": "true" },
    // The front to the right, as in the pictures of the library.
    el("g", { transform: "translate(222 0) scale(-1 1)" }, el("path", { d: body, class: "body" }), ...wheels.map((x) => el("circle", { cx: x, cy: 56, r: 10, class: "wheel-disc" })), el("path", { d: measure.sketch, class: "mark" })));
}

export class Own {
  /**
   * @param {import("./model.js").Model} model
   * @param {(name: string) => void} use the vehicle is saved and must get in
   */
  constructor(model, use) {
    Object.assign(this, { model, use, file: null });
    this.asked = 0;
    this.look = later(() => this.ask(), 60);
    $("own-base").addEventListener("change", () => this.load($("own-base").value));
    $("own-save").addEventListener("click", () => this.save());
    $("own-title").addEventListener("input", () => { this.file = { ...this.file, title: $("own-title").value }; });
  }

  async open(name) {
    $("own-base").replaceChildren(...getLibrary().map((v) => h("option", { value: v.name }, v.title)));
    $("own").showModal();
    const base = name ?? getLibrary()[2]?.name ?? getLibrary()[0]?.name;
    $("own-base").value = base;
    await this.load(base);
  }

  async load(name) {
    try {
      const file = await get(`vehicle/${encodeURIComponent(name)}`);
      const own = getLibrary().find((v) => v.name === name)?.own;
      this.first = file;
      this.file = { ...file, title: own ? file.title : `My ${String(file.title).split(",")[0].toLowerCase()}`, sources: { ...(file.sources ?? {}), measured: "measured by its owner" } };
      delete this.file.$schema;
      if (!own) { this.file.about = `Measured by its owner; figures not measured are those of: ${file.title}.`; }
      $("own-title").value = this.file.title;
      $("own-name").value = own ? name.replace(/\.json$/, "") : `my-${name.replace(/\.json$/, "")}`;
      this.first_turning = null;
      this.build();
      this.ask();
    } catch (error) { $("own-faults").textContent = error.message; }
  }

  build() {
    const { file, model } = this, towed = (file.units?.length ?? 1) > 1, bare = model.units === "m" ? 1 : FOOT_M;
    const rows = MEASURES.filter((m) => (!m.towed || towed) && (m.id !== "mirrors" || file.units?.[0]?.mirrors) && (m.id !== "circle" || file.steering?.turning_circle?.diameter)).map((m) => {
      const sign = m.id === "nose" ? -1 : 1, current = () => sign * (lengthOf(plain(value(this.file, m.at))) ?? 0), id = `own-${m.id}`;
      const input = h("input", { id, type: "text", value: showLength(current(), model.units, "near", 2), autocomplete: "off", "aria-describedby": `${id}-how` });
      const slider = m.slide && h("input", { type: "range", min: m.slide[0], max: m.slide[1], step: model.units === "m" ? 0.05 : FOOT_M / 12, value: current(), "aria-label": `${m.words}, slider` });
      const set = (length_m) => { this.file = put(this.file, m.at, lengthText(sign * length_m, model.units)); this.look(); };
      input.addEventListener("change", () => {
        const m_typed = parseLength(input.value, bare);
        input.setAttribute("aria-invalid", String(m_typed === null));
        if (m_typed !== null) { set(m_typed); if (slider) { slider.value = m_typed; slider.setAttribute("aria-valuetext", input.value); } }
      });
      slider?.addEventListener("input", () => { input.value = showLength(+slider.value, model.units, "near", 2); slider.setAttribute("aria-valuetext", input.value); set(parseLength(input.value, bare)); });
      slider?.setAttribute("aria-valuetext", input.value);
      return h("div", { class: "measure-row" }, sketch(m), h("div", {}, h("label", { for: id }, m.words), h("p", { class: "hint", id: `${id}-how` }, m.how), input, slider));
    });
    $("own-measures").replaceChildren(...rows);
  }

  /** Asks the program what this vehicle is like. */
  async ask() {
    const asked = ++this.asked;
    try {
      const found = await post("vehicle", { file: this.file });
      if (asked !== this.asked) { return; }
      $("own-faults").textContent = (found.faults ?? []).map((f) => f.message ?? f).join(" ");
      $("own-save").disabled = Boolean(found.faults?.length);
      if (found.picture_svg) { $("own-picture").replaceChildren(picture(found.picture_svg, `Picture of ${this.file.title}`)); }
      this.first_turning ??= found.turning;
      if (found.turning) { this.circles(found.turning); }
    } catch (error) { $("own-faults").textContent = error.message; }
  }

  /** The circles at full lock: curb to curb and wall to wall, and as they were. */
  circles(turning) {
    const units = this.model.units, first = this.first_turning, most = Math.max(turning.wall_radius_m ?? 0, turning.curb_radius_m ?? 0, first?.wall_radius_m ?? 0, 1) * 1.05, k = 100 / most;
    const ring = (radius, c) => radius ? el("circle", { cx: 110, cy: 110, r: (radius * k).toFixed(1), class: c }) : null;
    const inner = turning.inner_radius_m ?? null;
    $("own-circles").replaceChildren(el("svg", { viewBox: "0 0 220 220", class: "circles", role: "img", "aria-label": `Turning circles at full lock: curb to curb ${showLength((turning.curb_radius_m ?? 0) * 2, units)} across` },
      ...[ring(first?.wall_radius_m, "was"), ring(turning.wall_radius_m, "wall"), ring(turning.curb_radius_m, "curb"), ring(inner, "inner"), el("path", { d: "M62 102h18", class: "curb-line" }), el("text", { x: 86, y: 106 }, "curb to curb"), el("path", { d: "M62 122h18", class: "wall-line" }), el("text", { x: 86, y: 126 }, "wall to wall"),
        first && (first.wall_radius_m !== turning.wall_radius_m) ? el("path", { d: "M62 142h18", class: "was-line" }) : null, first && (first.wall_radius_m !== turning.wall_radius_m) ? el("text", { x: 86, y: 146 }, "as it was") : null].filter(Boolean)));
    const say = (words, m, before) => m ? h("div", {}, h("dt", {}, words), h("dd", {}, showLength(m * 2, units, "up"), before && Math.abs(before - m) > 0.012 ? h("span", { class: "hint" }, ` was ${showLength(before * 2, units, "up")}`) : null)) : null;
    $("own-turning").replaceChildren(...[say("Curb to curb, across", turning.curb_radius_m, first?.curb_radius_m), say("Wall to wall, across", turning.wall_radius_m, first?.wall_radius_m)].filter(Boolean));
  }

  async save() {
    const stem = $("own-name").value.trim().replace(/\.json$/, "");
    if (!/^[\w][\w .-]*$/.test(stem)) { $("own-faults").textContent = "Give the file a name of letters and digits."; return; }
    try {
      await post("vehicle/save", { name: stem, file: this.file });
      const { vehicles } = await get("start");
      setLibrary(vehicles);
      const name = vehicles.find((v) => v.own && v.name.replace(/\.json$/, "") === stem)?.name ?? `${stem}.json`;
      $("own").close();
      this.use(name);
      notice("vehicle", `${titleOf(name)} is saved as ${stem}.json and must get in.`);
    } catch (error) { $("own-faults").textContent = error.message; }
  }
}

/** A figure of a vehicle file in meters. */
const lengthOf = (v) => typeof v === "number" ? v : typeof v === "string" ? parseLength(v) : null;
