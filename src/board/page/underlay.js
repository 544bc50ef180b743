// A picture of one's own under the drawing, an aerial photo or a scanned plat: scaled by two points and a distance, turned, faded. It
// stays in this browser and is sent nowhere.
import { $, notice, say } from "./page.js";
import { el } from "./figures.js";
import { FOOT_M, parseLength, showLength } from "./lengths.js";
import { loadPicture, savePicture } from "./store.js";
import { dist } from "./shapes.js";

export class Underlay {
  /**
   * @param {import("./view.js").View} view
   * @param {import("./tools.js").Tools} tools
   * @param {() => string} name the plan's name, under which the picture is kept
   */
  constructor(view, tools, name) {
    Object.assign(this, { view, tools, name, picture: null });
    $("underlay-file").addEventListener("change", () => this.choose());
    $("underlay-scale").addEventListener("click", () => this.scale());
    $("underlay-move").addEventListener("click", () => this.move());
    $("underlay-remove").addEventListener("click", () => { this.picture = null; this.keep(); this.show(); });
    $("underlay-turn").addEventListener("input", () => this.set({ turn_deg: Number($("underlay-turn").value) || 0 }));
    $("underlay-fade").addEventListener("input", () => this.set({ fade: Number($("underlay-fade").value) }));
    $("underlay-distance").addEventListener("keydown", (event) => { if (event.key === "Enter") { event.preventDefault(); this.scaled(); } });
    $("underlay-set").addEventListener("click", () => this.scaled());
  }

  keep() { return savePicture(this.name(), this.picture); }

  async load() {
    this.picture = await loadPicture(this.name()) ?? null;
    this.show();
  }

  set(values) {
    if (!this.picture) { return; }
    Object.assign(this.picture, values);
    this.keep();
    this.show();
  }

  async choose() {
    const [file] = $("underlay-file").files;
    if (!file) { return; }
    const size = await new Promise((done) => {
      const image = new Image();
      image.onload = () => done([image.naturalWidth, image.naturalHeight]);
      image.onerror = () => done(null);
      image.src = URL.createObjectURL(file);
    });
    if (!size?.[0]) { notice("underlay", `${file.name} is not a picture that this browser can show.`); return; }
    // As wide as two thirds of what is seen, until it is scaled.
    this.picture = { blob: file, width: size[0], height: size[1], x_m: this.view.center[0], y_m: this.view.center[1], meters_per_pixel: this.view.width / this.view.scale * 0.67 / size[0], turn_deg: 0, fade: 0.6 };
    await this.keep();
    this.show();
    say("The picture is under the drawing. Now scale it.");
  }

  show() {
    const p = this.picture, layer = this.view.layers.underlay;
    $("underlay-tools").hidden = !p;
    if (!p) { layer.replaceChildren(); return; }
    if (this.shown !== p.blob) { this.shown = p.blob; if (this.href) { URL.revokeObjectURL(this.href); } this.href = URL.createObjectURL(p.blob); }
    const w = p.width * p.meters_per_pixel, hgt = p.height * p.meters_per_pixel;
    layer.replaceChildren(el("image", { href: this.href, x: -w / 2, y: -hgt / 2, width: w, height: hgt, opacity: p.fade, preserveAspectRatio: "none", transform: `translate(${p.x_m} ${p.y_m}) rotate(${p.turn_deg}) scale(1 -1)` }));
    // Not under the person who types in it: "-" and "1." are no numbers yet.
    if (document.activeElement !== $("underlay-turn")) { $("underlay-turn").value = p.turn_deg; }
    $("underlay-fade").value = p.fade;
    $("underlay-size").textContent = `The picture is ${showLength(w, this.view.model.units)} wide.`;
  }

  /** Waits for points in the drawing, by pointer or by keyboard. */
  taps(count, words, done) {
    const points = [];
    this.tools.stop();
    this.view.extra.cursor = this.view.place([this.view.width / 2, this.view.height / 2]);
    this.view.draw();
    this.view.svg.focus();
    $("hint").textContent = words(0);
    say(words(0));
    this.tools.taps = (xy) => {
      points.push(xy);
      this.view.extra.guides = points.length > 1 ? [[points[0], points[1]]] : [[xy, xy]];
      if (points.length < count) { $("hint").textContent = words(points.length); say(words(points.length)); this.view.draw(); return false; }
      this.view.extra.cursor = null;
      this.view.draw();
      $("hint").textContent = "";
      done(points);
      return true;
    };
  }

  scale() {
    this.taps(2, (i) => i ? "Now the other end of that distance." : "Tap one end of a distance that you know in the picture.", (points) => {
      this.two = points;
      $("underlay-ask").hidden = false;
      $("underlay-distance").value = "";
      $("underlay-distance").focus();
    });
  }

  /** The two points are as far apart as was typed. The first stays where it is. */
  scaled() {
    const input = $("underlay-distance"), units = this.view.model.units, length_m = parseLength(input.value, units === "m" ? 1 : FOOT_M), p = this.picture;
    input.setAttribute("aria-invalid", String(length_m === null || length_m <= 0));
    if (!p || !this.two || length_m === null || length_m <= 0 || dist(...this.two) < 1e-6) { return; }
    const k = length_m / dist(...this.two), [a] = this.two;
    this.set({ meters_per_pixel: p.meters_per_pixel * k, x_m: a[0] + (p.x_m - a[0]) * k, y_m: a[1] + (p.y_m - a[1]) * k });
    $("underlay-ask").hidden = true;
    this.two = null;
    this.view.extra.guides = [];
    this.view.draw();
    say(`Scaled: the picture is ${showLength(p.width * p.meters_per_pixel, units)} wide.`);
  }

  /** Moves the picture: a point of it, and where that point is in the drawing. */
  move() {
    this.taps(2, (i) => i ? "Now where that point is in the drawing." : "Tap a point of the picture.", ([from, to]) => {
      this.view.extra.guides = [];
      this.set({ x_m: this.picture.x_m + to[0] - from[0], y_m: this.picture.y_m + to[1] - from[1] });
    });
  }
}
