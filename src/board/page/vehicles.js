// The vehicles that must get in: those of the plan, the library by picture, and the way to one's own.
import { $, h, picture, say, sideView } from "./page.js";
import { showLength } from "./lengths.js";

/** @typedef {{ name: string, title: string, picture_svg: string, length_m: number, width_m: number, own: boolean }} Listed */

/** @type {Listed[]} */
let library = [];

/** The list as the program sent it. */
export function setLibrary(list) { library = list; }
export const getLibrary = () => library;

/** The name of a vehicle as answers have it: of a file its name without the ending. */
export const bareName = (name) => String(name).replace(/^.*\//, "").replace(/\.json$/, "");

/** The title of a vehicle by its name in the plan or in an answer. */
export const titleOf = (name) => (library.find((v) => v.name === name) ?? library.find((v) => bareName(v.name) === bareName(name)))?.title ?? bareName(name);

const nameIn = (entry) => typeof entry === "string" ? entry : entry?.vehicle;
const VISITS = [["drive-in-back-out", "drives in and backs out"], ["back-in-drive-out", "backs in and drives out"], ["turn-around", "turns around inside"]];

/** Cards of vehicles by picture, to be chosen. */
export function cards(chosen, units, id) {
  return h("ul", { class: "cards", id }, ...library.map((v) => h("li", {}, h("label", {},
    h("input", { type: "checkbox", value: v.name, checked: chosen.includes(v.name) }),
    v.picture_svg ? picture(sideView(v.picture_svg), "") : null, h("span", { class: "name" }, v.title), h("span", { class: "hint" }, `${showLength(v.length_m, units)} long, ${showLength(v.width_m, units)} wide${v.own ? "; your own" : ""}`)))));
}

export const checked = (root) => [...root.querySelectorAll("input:checked")].map((i) => i.value);

export class Vehicles {
  /**
   * @param {import("./model.js").Model} model
   * @param {(base: string | null) => void} own opens the form for one's own vehicle
   */
  constructor(model, own) {
    Object.assign(this, { model, own });
    model.addEventListener("change", () => this.render());
    $("add-vehicle").addEventListener("click", () => this.choose());
    $("own-vehicle").addEventListener("click", () => own(null));
    $("choose-done").addEventListener("click", () => this.take());
    $("choose-own").addEventListener("click", () => { this.take(); own(null); });
    this.render();
  }

  get list() { return this.model.settings.vehicles ?? []; }

  set(vehicles, label) { this.model.change(label, this.model.withSettings({ vehicles })); }

  add(name) { if (!this.list.some((e) => nameIn(e) === name)) { this.set([...this.list, name], `Vehicle: ${titleOf(name)}`); } }

  render() {
    if (this.shown === this.list && this.count === library.length) { return; }
    this.shown = this.list;
    this.count = library.length;
    // Built again, the list keeps what was open and what had the focus.
    const list = $("vehicle-list"), open = new Set([...list.querySelectorAll("details[open]")].map((d) => d.dataset.vehicle)), at = document.activeElement, focus = list.contains(at) ? at.dataset.key : null;
    list.replaceChildren(...this.list.map((entry, i) => {
      const name = nameIn(entry), known = library.find((v) => v.name === name), visits = entry?.visits ?? [];
      const change = (one) => this.set(this.list.map((e, j) => j === i ? one : e), `Vehicle: ${titleOf(name)}`);
      const boxes = VISITS.map(([word, words]) => h("label", { class: "check" }, h("input", { type: "checkbox", value: word, checked: visits.includes(word), "data-key": `${name} ${word}`, onchange: (event) => {
        const next = event.target.checked ? [...visits, word] : visits.filter((v) => v !== word);
        const { visits: _, ...rest } = typeof entry === "string" ? { vehicle: entry } : entry;
        change(next.length ? { ...rest, visits: next } : Object.keys(rest).length > 1 ? rest : name);
      } }), ` ${words}`));
      return h("li", {}, known?.picture_svg ? picture(sideView(known.picture_svg), "", "picture small") : null, h("div", {}, h("strong", {}, titleOf(name)),
        h("details", { "data-vehicle": name, open: open.has(name) }, h("summary", { "data-key": `${name} visits` }, visits.length ? VISITS.filter(([w]) => visits.includes(w)).map(([, w]) => w).join(", or ") : "How it comes and goes"), h("p", { class: "hint" }, "Any one that is checked is enough. None checked: it must be able to drive in and back out."), ...boxes),
        h("div", { class: "row" }, h("button", { type: "button", onclick: () => this.own(name), "aria-label": `Measures of ${titleOf(name)}` }, "Measures…"), h("button", { type: "button", onclick: () => { this.set(this.list.filter((_, j) => j !== i), `Without ${titleOf(name)}`); $("add-vehicle").focus(); }, "aria-label": `Remove ${titleOf(name)}` }, "Remove"))));
    }));
    if (focus) { list.querySelector(`[data-key="${CSS.escape(focus)}"]`)?.focus({ preventScroll: true }); }
  }

  choose() {
    $("choose-list").replaceChildren(cards(this.list.map(nameIn), this.model.units, "choose-cards"));
    $("choose").returnValue = "";
    $("choose").showModal();
  }

  take() {
    const names = checked($("choose-list")), kept = this.list.filter((e) => names.includes(nameIn(e)));
    const vehicles = [...kept, ...names.filter((n) => !kept.some((e) => nameIn(e) === n))];
    $("choose").close();
    if (JSON.stringify(vehicles) !== JSON.stringify(this.list)) { this.set(vehicles, "Vehicles"); say(`${vehicles.length} vehicles.`); }
  }
}
