// The first place: four measures with a sentence on how to take each, leaves and vehicles by picture; or a plan, or an example.
import { $, h } from "./page.js";
import { el } from "./figures.js";
import { post, Refused } from "./server.js";
import { cards, checked } from "./vehicles.js";
import { parseLength, FOOT_M } from "./lengths.js";

const LEAVES = [
  ["double", "in", "Two leaves, in", "M30 40L30 14M70 40L70 14"], ["single", "in", "One leaf, in", "M30 40L30 4"], ["double", "out", "Two leaves, out", "M30 40L30 62M70 40L70 62"],
  ["single", "out", "One leaf, out", "M30 40L30 66"], ["slide", "in", "One that slides", "M30 36L2 36"], ["none", "in", "No leaves", ""],
];

export class Start {
  /** @param {{ open: (plan: { name: string | null, text: string, revision?: string }) => void, units: () => "ft" | "m" }} acts */
  constructor(acts) {
    this.acts = acts;
    $("first-leaves").replaceChildren(...LEAVES.map(([leaves, opens, words, d], i) => h("label", { class: "leaf-card" }, h("input", { type: "radio", name: "leaves", value: `${leaves} ${opens}`, checked: i === 0 }),
      el("svg", { viewBox: "0 0 100 70", "aria-hidden": "true" }, el("path", { d: "M0 40H26M74 40H100", class: "fence-line" }), el("path", { d: "M26 36h5v8h-5zM69 36h5v8h-5z", class: "posts" }), el("path", { d, class: "leaves" })), h("span", {}, words))));
    $("first-form").addEventListener("submit", (event) => { event.preventDefault(); this.draw(); });
    $("open-file").addEventListener("change", () => this.file());
    $("first-other").addEventListener("click", () => { const first = $("first-others").querySelector("button:not([hidden])"); $("first-others").scrollIntoView({ block: "start" }); first?.focus({ preventScroll: true }); });
    $("empty").addEventListener("click", () => { $("first").close(); acts.open({ name: null, text: null }); });
  }

  /** @param {any} found what the program said at the start */
  show(found) {
    this.found = found;
    const list = (entries, act) => entries.map(([name, title]) => h("li", {}, h("button", { type: "button", onclick: () => act(name) }, title)));
    $("first-plans").replaceChildren(...list((found.plans ?? []).map((n) => [n, n]), (name) => this.open(name)));
    $("first-plans-part").hidden = !found.plans?.length;
    $("first-examples").replaceChildren(...list((found.examples ?? []).map((e) => [e.name, e.title]), (name) => {
      const example = found.examples.find((e) => e.name === name);
      $("first").close();
      this.acts.open({ name, text: example.text, example: true });
    }));
    $("first-vehicles").replaceChildren(cards([], found.units === "m" ? "m" : "ft", "first-cards"));
    $("first").showModal();
    $("first-road").focus();
  }

  async draw() {
    const bare = $("first-units").value === "m" ? 1 : FOOT_M, faults = $("first-faults");
    const value = (id, words) => {
      const input = $(id), m = parseLength(input.value, bare);
      input.setAttribute("aria-invalid", String(m === null || m <= 0));
      return m === null || m <= 0 ? Promise.reject(Object.assign(new Error(`${words}: write a length like 12' 6" or 3.81 m.`), { input })) : parseLength(input.value) === null ? `${input.value.trim()} ${bare === 1 ? "m" : "ft"}` : input.value.trim();
    };
    try {
      const [leaves, opens] = document.querySelector("input[name=leaves]:checked").value.split(" ");
      const body = { road_width: await value("first-road", "Width of the road"), setback: await value("first-setback", "From the road to the gate"), opening: await value("first-opening", "Opening"), leaves, opens, units: $("first-units").value, vehicles: checked($("first-vehicles")) };
      const { text } = await post("sketch", body);
      $("first").close();
      this.acts.open({ name: null, text });
    } catch (error) {
      const list = error instanceof Refused && error.body.faults?.length ? error.body.faults.map((f) => f.message ?? f) : [error.message];
      faults.replaceChildren(...list.map((text) => h("li", {}, text)));
      (error.input ?? faults).focus?.();
    }
  }

  async open(name) {
    try {
      const plan = await post("open", { name });
      $("first").close();
      this.acts.open(plan);
    } catch (error) { $("first-faults").replaceChildren(h("li", {}, error.message)); }
  }

  async file() {
    const [file] = $("open-file").files;
    if (!file) { return; }
    const text = await file.text();
    try { JSON.parse(text); } catch { $("first-faults").replaceChildren(h("li", {}, `${file.name} is not a plan: it is not JSON.`)); return; }
    $("first").close();
    this.acts.open({ name: file.name.replace(/\.json$/, ".geojson"), text, example: true });
  }
}
