// The plan being drawn: the GeoJSON document itself, what is selected, undo and redo. A change makes a new document; parts not changed
// stay the same objects, so that a snapshot costs almost nothing and unknown members are kept as they were read.
import { FOOT_M } from "./lengths.js";

/** Undo steps kept. */
const STEPS = 5000;

/** @typedef {{ path: number, point: number } | null} Point */

export class Model extends EventTarget {
  constructor() {
    super();
    this.reset({ type: "FeatureCollection", plan: { title: "My place", coordinates: "local-ft", north: "unknown", units: "ft", vehicles: [] }, features: [] });
  }

  /** Forgets everything and begins with `plan`; `text` is its text as read. */
  reset(plan, text = null) {
    this.plan = plan;
    this.first = plan;
    this.first_text = text;
    /** @type {{ label: string, plan: any }[]} */
    this.undone = [];
    this.done = [];
    this.before = null;
    this.selected = null;
    /** @type {Point} */
    this.point = null;
    this.tell("change");
    this.tell("select");
  }

  /** Begins with the text of a plan; throws where it is not JSON. */
  load(text) {
    const plan = JSON.parse(text);
    if (!Array.isArray(plan?.features)) { throw new Error("this file is not a plan: it has no list of features"); }
    this.reset(plan, text);
  }

  tell(name) { this.dispatchEvent(new Event(name)); }

  get features() { return this.plan.features; }
  get settings() { return this.plan.plan ?? this.features.find((f) => f?.properties?.role === "plan")?.properties ?? {}; }
  /** Meters in a unit of the coordinates. */
  get unit_m() { return this.settings.coordinates === "local-m" ? 1 : FOOT_M; }
  /** Units in which lengths are shown. */
  get units() { return this.settings.units ?? (this.settings.coordinates === "local-m" ? "m" : "ft"); }
  get feature() { return this.selected === null ? null : this.features[this.selected]; }

  /** The text of the plan, as it is saved: the text as read while nothing is changed. */
  text() {
    if (this.plan === this.first && this.first_text !== null) { return this.first_text; }
    const member = ([key, value]) => key === "features" ? `  "features": [\n${value.map((f) => `    ${JSON.stringify(f)}`).join(",\n")}\n  ]`
      : `  ${JSON.stringify(key)}: ${JSON.stringify(value)}`;
    return `{\n${Object.entries(this.plan).map(member).join(",\n")}\n}\n`;
  }

  select(index, point = null) {
    if (this.selected === index && this.point?.path === point?.path && this.point?.point === point?.point) { return; }
    this.selected = index;
    this.point = point;
    this.tell("select");
  }

  /** One step of undo: the document becomes `plan`. */
  change(label, plan) {
    this.begin(label);
    this.preview(plan);
    this.commit();
  }

  /** Begins a change that is shown while it is made, such as a drag. */
  begin(label) {
    if (!this.before) { this.before = { label, plan: this.plan }; }
  }

  preview(plan) {
    this.plan = plan;
    const gone = this.selected !== null && this.selected >= plan.features.length;
    if (gone) { this.selected = null; this.point = null; }
    this.tell("change");
    if (gone) { this.tell("select"); }
  }

  commit() {
    if (this.before && this.before.plan !== this.plan) {
      this.done.push(this.before);
      if (this.done.length > STEPS) { this.done.shift(); }
      this.undone = [];
    }
    this.before = null;
    this.tell("commit");
  }

  cancel() {
    if (this.before) { this.preview(this.before.plan); }
    this.before = null;
    this.tell("commit");
  }

  /** Goes back one step; the label of what was undone, or null. */
  undo() { return this.step(this.done, this.undone); }
  redo() { return this.step(this.undone, this.done); }

  step(from, to) {
    if (this.before) { this.commit(); }
    const other = from.pop();
    if (!other) { return null; }
    to.push({ label: other.label, plan: this.plan });
    this.plan = other.plan;
    if (this.selected !== null && this.selected >= this.features.length) { this.selected = null; }
    this.point = null;
    this.tell("change");
    this.tell("select");
    this.tell("commit");
    return other.label;
  }

  /** The document with another feature at `index`; without it where the feature is null; with one more at the end. */
  withFeature(index, feature, plan = this.plan) {
    const features = [...plan.features];
    if (feature === null) { features.splice(index, 1); } else { features[index] = feature; }
    return { ...plan, features };
  }

  /** The document with other settings. */
  withSettings(settings) {
    if (this.plan.plan === undefined) {
      const at = this.features.findIndex((f) => f?.properties?.role === "plan");
      if (at >= 0) { return this.withFeature(at, { ...this.features[at], properties: { ...this.features[at].properties, ...settings } }); }
    }
    const { type, plan, ...rest } = this.plan;
    return { type, plan: { ...(plan ?? {}), ...settings }, ...rest };
  }
}
