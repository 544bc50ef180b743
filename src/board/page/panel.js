// The panel of what is selected: its name, its measures, its points, each to be typed; and of the whole place while nothing is.
import { $, h, say } from "./page.js";
import { FOOT_M, lengthText, parseLength, propertyLength, showLength } from "./lengths.js";
import { kindOf, nameOf } from "./kinds.js";
import { facesOf } from "./figures.js";
import { movePoint, setEdge, setOpening } from "./moves.js";
import { dist, edgesOf, pathsOf, removePoint, round, turned } from "./shapes.js";

export class Panel {
  /**
   * @param {import("./model.js").Model} model
   * @param {import("./keyboard.js").Keyboard} keyboard
   */
  constructor(model, keyboard) {
    Object.assign(this, { model, keyboard, inputs: [] });
    model.addEventListener("select", () => this.build());
    model.addEventListener("change", () => this.refresh());
    this.build();
  }

  /** Unit of a number typed without one, meters. */
  get bare_m() { return this.model.units === "m" ? 1 : FOOT_M; }

  build() {
    const { model } = this, feature = model.feature, at = document.activeElement;
    // Built again under the person who types in it, the panel would lose the place.
    const key = feature ? `${model.selected}|${kindOf(feature).kind}|${feature.geometry?.type}|${pathsOf(feature.geometry).map((p) => p.points.length)}|${model.unit_m}` : `|${model.features.map(nameOf)}|${model.unit_m}`;
    if (this.key === key && this.point === model.point) { this.refresh(); return; }
    if (this.key === key && feature) { this.point = model.point; this.mark(); this.refresh(); return; }
    const focus = $("thing").contains(at) ? at.id : null;
    this.key = key;
    this.point = model.point;
    this.inputs = [];
    $("thing-title").textContent = feature ? nameOf(feature) : "The place";
    $("thing-body").replaceChildren(...(feature ? this.ofThing(feature) : this.ofPlace()));
    if (focus) { $(focus)?.focus(); }
    this.mark();
    this.refresh();
  }

  /** A field for text. `read` gives the value as it is, `write` takes what is typed and returns a complaint or nothing. */
  field(id, words, read, write, { hint = "", empty = "", choices = null, mode = "text" } = {}) {
    const hint_id = hint ? `${id}-hint` : null, wrong = h("span", { class: "wrong", id: `${id}-wrong`, role: "alert" });
    const input = choices ? h("select", { id }, ...choices.map(([value, text]) => h("option", { value }, text)))
      : h("input", { id, type: "text", autocomplete: "off", inputmode: mode, placeholder: empty, "aria-describedby": [hint_id, `${id}-wrong`].filter(Boolean).join(" ") });
    const take = () => {
      if (input.value === String(read() ?? "")) { wrong.textContent = ""; return; }
      const complaint = write(input.value.trim());
      wrong.textContent = complaint ?? "";
      input.setAttribute("aria-invalid", String(Boolean(complaint)));
      if (!complaint) { input.value = read() ?? ""; }
    };
    input.addEventListener("change", take);
    input.addEventListener("keydown", (event) => {
      if (event.key === "Enter") { event.preventDefault(); take(); }
      if (event.key === "Escape") { input.value = read() ?? ""; wrong.textContent = ""; this.keyboard.focus(`[data-index="${this.model.selected}"]`); }
    });
    this.inputs.push({ input, read });
    return h("div", { class: "field" }, h("label", { for: id }, words), input, hint && h("span", { class: "hint", id: hint_id }, hint), wrong);
  }

  refresh() {
    const { model } = this;
    if (!model.feature && model.selected === null && this.key !== `|${model.features.map(nameOf)}|${model.unit_m}`) { this.build(); return; }
    if (model.feature && this.key !== `${model.selected}|${kindOf(model.feature).kind}|${model.feature.geometry?.type}|${pathsOf(model.feature.geometry).map((p) => p.points.length)}|${model.unit_m}`) { this.key = ""; this.build(); return; }
    for (const { input, read } of this.inputs) {
      if (document.activeElement !== input || input.tagName === "SELECT") { input.value = read() ?? ""; }
    }
    $("thing-title").textContent = model.feature ? nameOf(model.feature) : "The place";
  }

  mark() {
    document.querySelectorAll("#thing-body tr[data-row]").forEach((row) => row.classList.toggle("active", row.dataset.row === `${this.model.point?.path}.${this.model.point?.point}`));
  }

  /** Changes properties of what is selected; undefined removes one. */
  set(label, properties) {
    const { model } = this, feature = model.feature, merged = { ...feature.properties, ...properties };
    for (const [key, value] of Object.entries(merged)) { if (value === undefined) { delete merged[key]; } }
    model.change(label, model.withFeature(model.selected, { ...feature, properties: merged }));
  }

  ofThing(feature) {
    const { model } = this, kind = kindOf(feature), index = model.selected, out = [];
    const property = (name) => model.feature?.properties?.[name];
    out.push(h("p", { class: "hint" }, `${kind.title}. ${kind.about}`));
    out.push(this.field("f-label", "Name", () => property("label") ?? "", (text) => { this.set("Name", { label: text || undefined }); }));
    for (const f of kind.fields) { out.push(this.ofField(f, property)); }
    const paths = pathsOf(feature.geometry), rows = [], unit = () => model.unit_m;
    const at = (i, j) => pathsOf(model.features[index]?.geometry ?? feature.geometry)[i]?.points[j] ?? [0, 0];
    paths.forEach((path, i) => path.points.forEach((_, j) => {
      const coordinate = (k, id, words) => this.field(id, words, () => showLength(at(i, j)[k] * unit(), model.units, "near", 16), (text) => {
        const m = parseLength(text, this.bare_m);
        if (m === null) { return "Not a length."; }
        const xy = [...at(i, j)];
        xy[k] = round(m / unit());
        model.change("Move a point", movePoint(model, index, { path: i, point: j }, [xy[0], xy[1]]));
        return undefined;
      });
      const has_edge = path.points.length > 1 && (path.closed || j < path.points.length - 1);
      const n = path.points.length;
      const side = has_edge && kind.role !== "gate" ? this.field(`p-${i}-${j}-l`, `Length from point ${j + 1} to the next`, () => showLength(dist(at(i, j), at(i, (j + 1) % n)) * unit(), model.units, "near", 16), (text) => {
        const m = parseLength(text, this.bare_m);
        if (m === null || m <= 0) { return "Not a length."; }
        model.change("Type a length", setEdge(model, index, i, j, m));
        return undefined;
      }) : null;
      rows.push(h("tr", { "data-row": `${i}.${j}` }, h("th", { scope: "row" }, kind.role === "gate" && n === 2 ? `Post ${j + 1}` : n > 1 ? `${j + 1}` : "At"), h("td", {}, coordinate(0, `p-${i}-${j}-x`, `Point ${j + 1}, across`)), h("td", {}, coordinate(1, `p-${i}-${j}-y`, `Point ${j + 1}, up`)), h("td", {}, side ?? "")));
    }));
    const many = rows.length > 60;
    out.push(h("details", { class: "points", open: rows.length <= 5 }, h("summary", {}, "Points"), many ? h("p", {}, `${rows.length} points: drag them in the drawing.`) : h("table", { class: "points" }, h("thead", {}, h("tr", {}, h("th", { scope: "col" }, "Point"), h("th", { scope: "col" }, "Across"), h("th", { scope: "col" }, "Up"), h("th", { scope: "col" }, "To the next"))), h("tbody", {}, ...rows))));
    const button = (words, act, more = {}) => h("button", { type: "button", onclick: act, ...more }, words);
    out.push(h("div", { class: "row" },
      kind.role !== "gate" && button("Copy", () => this.keyboard.copy(), { id: "copy" }),
      paths[0]?.points.length > 1 && kind.role !== "gate" && button("Add a point", () => this.keyboard.addPoint({ point: model.point ? `${index}.${model.point.path}.${model.point.point}` : `${index}.0.0` }), { id: "add-point" }),
      paths[0]?.points.length > 2 && button("Remove the point", () => this.removePoint(), { id: "remove-point" }),
      button("Delete", () => { model.select(index, null); this.keyboard.remove(); }, { id: "delete" })));
    if (!/Point/.test(feature.geometry?.type ?? "")) {
      out.push(this.field("f-turn", "Turn by, degrees", () => "", (text) => {
        const degrees = Number(text);
        if (text === "" || !Number.isFinite(degrees)) { return text === "" ? undefined : "Not a number."; }
        model.change("Turn", model.withFeature(index, turned(model.feature, degrees)));
        return undefined;
      }, { hint: "to the left; a minus turns it to the right" }));
    }
    return out;
  }

  removePoint() {
    const { model } = this, at = model.point;
    if (!at) { say("Choose a point first."); $("thing-title").focus(); return; }
    const less = removePoint(model.feature, at.path, at.point);
    if (!less) { say("It needs all the points it has."); return; }
    const index = model.selected;
    model.change("Remove a point", model.withFeature(index, less));
    model.select(index, null);
  }

  ofField(f, property) {
    const { model } = this, id = `f-${f.name}${f.path ? `-${f.path[0]}` : ""}`;
    if (f.choices) {
      return this.field(id, f.words, () => property(f.name) ?? f.empty ?? f.choices[0][0], (value) => { this.set(f.words, { [f.name]: value }); }, { choices: f.choices, hint: f.hint });
    }
    if (f.number) {
      return this.field(id, f.words, () => property(f.name) ?? "", (text) => {
        if (text !== "" && !Number.isFinite(Number(text))) { return "Not a number."; }
        this.set(f.words, { [f.name]: text === "" ? undefined : Number(text) });
        return undefined;
      }, { empty: f.empty, hint: f.hint, mode: "decimal" });
    }
    if (f.text) { return this.field(id, f.words, () => property(f.name) ?? "", (text) => { this.set(f.words, { [f.name]: text || undefined }); }, { hint: f.hint }); }
    if (f.name === "width" && model.feature.properties?.role === "gate") {
      return this.field(id, f.words, () => { const faces = facesOf(model.feature, model.unit_m); return faces ? showLength(dist(...faces), model.units, "near", 16) : ""; }, (text) => {
        const m = parseLength(text, this.bare_m);
        if (m === null || m <= 0) { return "Not a length. Write one like 12' 6\"."; }
        model.change("Opening", setOpening(model, model.selected, m));
        return undefined;
      }, { hint: f.hint });
    }
    const read = () => {
      const value = property(f.name), one = f.path ? (value && typeof value === "object" ? value[f.path[0]] : f.path[0] === "width" ? value : undefined) : value;
      return one === undefined || one === null ? "" : typeof one === "number" ? showLength(one, model.units, "near", 16) : one;
    };
    return this.field(id, f.words, read, (text) => {
      const m = text === "" ? null : parseLength(text, this.bare_m);
      if (text !== "" && (m === null || m < 0)) { return "Not a length. Write one like 12' 6\" or 3.81 m."; }
      // As typed where it has its unit, so that the file says what the person said.
      const value = m === null ? undefined : m === 0 ? 0 : propertyLength(text) === null ? lengthText(m, model.units) : text;
      if (!f.path) { this.set(f.words, { [f.name]: value }); return undefined; }
      const old = property(f.name), object = old && typeof old === "object" ? { ...old } : old !== undefined && old !== null ? { width: old } : {};
      if (value === undefined) { delete object[f.path[0]]; } else { object[f.path[0]] = value; }
      this.set(f.words, { [f.name]: Object.keys(object).length === 1 && object.width !== undefined ? object.width : Object.keys(object).length ? object : undefined });
      return undefined;
    }, { hint: f.hint, empty: f.empty });
  }

  ofPlace() {
    const { model } = this, settings = (name) => model.settings[name];
    const set = (label, values) => { model.change(label, model.withSettings(values)); };
    return [
      this.field("s-title", "Title", () => settings("title") ?? "", (text) => { set("Title", { title: text }); }),
      this.field("s-note", "Note", () => settings("note") ?? "", (text) => { set("Note", { note: text || undefined }); }),
      this.field("s-units", "Lengths in", () => model.units, (units) => { set("Units", { units }); }, { choices: [["ft", "feet and inches"], ["m", "meters"]] }),
      this.field("s-side", "People drive on the", () => settings("drives_on") ?? "right", (drives_on) => { set("Side", { drives_on }); }, { choices: [["right", "right"], ["left", "left"]] }),
      this.field("s-north", "Up in the drawing is", () => settings("north") ?? "y", (north) => { set("North", { north }); }, { choices: [["y", "north"], ["unknown", "any direction"]] }),
      h("h3", {}, "Things in the drawing"),
      h("ul", { class: "things" }, ...model.features.map((f, i) => f?.geometry && h("li", {}, h("button", { type: "button", onclick: () => { model.select(i); $("thing-title").focus(); } }, `${nameOf(f)}`, nameOf(f) === kindOf(f).title.toLowerCase() ? "" : h("span", { class: "hint" }, ` ${kindOf(f).title.toLowerCase()}`)))).filter(Boolean)),
    ];
  }

  /** Puts what is typed in the drawing into the field that matters most for the thing. */
  type(text) {
    const feature = this.model.feature, role = feature?.properties?.role, point = this.model.point;
    const edges = feature ? edgesOf(feature) : [];
    let id = role === "gate" || role === "road" ? "f-width" : /Point/.test(feature.geometry.type) ? "f-radius" : null;
    if (!id && edges.length) {
      const [, , i, j] = edges.find((e) => point && e[2] === point.path && (e[3] + 1) % pathsOf(feature.geometry)[e[2]].points.length === point.point) ?? edges[edges.length - 1];
      id = `p-${i}-${j}-l`;
      document.querySelector("details.points")?.setAttribute("open", "");
    }
    const input = id && $(id);
    if (!input) { return; }
    input.focus();
    input.value = text;
  }
}

