// Questions to the program while the plan is drawn: faults, numbers as one drags, and at rest the whole study.
import { post, Refused } from "./server.js";

/** Stillness after which the whole study is begun, milliseconds. */
const REST_MS = 900;
/** A question that waits longer than this does not hold up the next one, milliseconds. */
const PATIENCE_MS = 250;

/** The name under which the program remembers the last answers of one plan in one page. */
export const newSession = () => `${Date.now().toString(36)}${Math.floor(Math.random() * 1e9).toString(36)}`;

export class Live extends EventTarget {
  /** @param {import("./model.js").Model} model */
  constructor(model) {
    super();
    this.model = model;
    this.session = newSession();
    this.sequence = 0;
    this.flying = 0;
    /** @type {{ vehicle: string, travel: string, maneuver: string } | null} */
    this.show = null;
    this.faults = [];
    this.warnings = [];
    this.check_ok = false;
    /** @type {any} the last numbers, and the last whole study with the text it is of */
    this.numbers = null;
    this.study = null;
    this.running = null;
    this.timings = [];
    this.paper = false;
    model.addEventListener("change", () => this.changed());
  }

  tell(name, detail) { this.dispatchEvent(Object.assign(new Event(name), { detail })); }

  /** Whether there is enough to ask about. */
  ready() {
    const roles = this.model.features.map((f) => f?.properties?.role);
    return roles.includes("gate") && roles.includes("road") && Boolean(this.model.settings.vehicles?.length);
  }

  changed() {
    this.stop();
    clearTimeout(this.resting);
    clearTimeout(this.checking);
    this.asked_at = performance.now();
    this.checking = setTimeout(() => this.check(), 120);
    if (this.ready()) { this.ask(); }
    this.resting = setTimeout(() => this.begin(), REST_MS);
    this.tell("stale");
  }

  async check() {
    const text = this.model.text();
    try {
      const found = await post("check", { text, name: this.name });
      if (text !== this.model.text()) { return; }
      Object.assign(this, { faults: found.faults ?? [], warnings: found.warnings ?? [], measures: found, check_ok: !(found.faults ?? []).length });
      this.tell("checked");
    } catch (error) { if (error instanceof Refused) { this.faults = error.body.faults ?? [{ message: error.message, feature: null }]; this.check_ok = false; this.tell("checked"); } }
  }

  /** Asks for numbers of the plan as it is now. One question is under way, the newest waits; older ones are never sent. */
  ask() {
    // A question that waited while the sheet was emptied has nothing to ask about.
    if (!this.ready()) { this.again = false; return; }
    if (this.flying && performance.now() - this.sent_at < PATIENCE_MS) { this.again = true; clearTimeout(this.nudge); this.nudge = setTimeout(() => { if (this.again) { this.ask(); } }, PATIENCE_MS); return; }
    this.again = false;
    this.send();
  }

  async send() {
    const sequence = ++this.sequence, moved_at = this.asked_at, text = this.model.text(), { session } = this;
    this.sent_at = performance.now();
    this.flying += 1;
    try {
      const found = await post("live", { session, sequence, text, show: this.show });
      if (!found.superseded && sequence > (this.answered ?? 0) && session === this.session) {
        this.answered = sequence;
        this.numbers = { ...found, current: text === this.model.text() };
        this.tell("numbers");
        this.timings.push(performance.now() - moved_at);
        if (this.timings.length > 1000) { this.timings.shift(); }
      }
    } catch (error) { if (error instanceof Refused) { this.numbers = null; this.tell("numbers"); } } finally {
      this.flying -= 1;
      if (this.again) { this.ask(); }
    }
  }

  /** Begins the whole study. */
  async begin() {
    if (!this.ready()) { return; }
    const text = this.model.text();
    if (this.study?.text === text && !this.paper_missing()) { this.tell("study"); return; }
    this.stop();
    const mine = this.running = { text, id: null, source: null, done: 0, total: 0, what: "" };
    this.tell("progress");
    try {
      mine.id = (await post("study", { session: this.session, text, name: this.name, fix: true, how_to_drive: true, ...(this.paper ? { paper: "letter" } : {}) })).id;
    } catch (error) {
      if (this.running === mine) { this.running = null; this.failure = error instanceof Refused ? error.message : null; this.tell("failed"); }
      return;
    }
    const source = new EventSource(`study/${mine.id}/events`);
    if (this.running !== mine) { source.close(); return; }
    mine.source = source;
    const end = (name) => { source.close(); if (this.running === mine) { this.running = null; this.tell(name); } };
    source.addEventListener("progress", (event) => { Object.assign(mine, JSON.parse(event.data)); this.tell("progress"); });
    source.addEventListener("done", (event) => {
      const { results, status } = JSON.parse(event.data);
      if (this.running === mine) { this.study = { text, id: mine.id, results, status, paper: this.paper }; this.failure = null; }
      end("study");
    });
    source.addEventListener("failed", (event) => { this.failure = JSON.parse(event.data).message; end("failed"); });
    source.onerror = () => { if (source.readyState === EventSource.CLOSED || this.running === mine) { this.failure = null; end("failed"); } };
  }

  paper_missing() { return this.paper && !this.study?.paper; }

  /** Gives up the study under way. */
  stop() {
    this.running?.source?.close();
    this.running = null;
  }

  /** The way in to show. */
  choose(way) {
    this.show = way;
    if (this.ready()) { this.asked_at = performance.now(); this.ask(); }
  }

  /** Whether the last whole study is of the plan as it is now. */
  get current() { return this.study !== null && this.study.text === this.model.text(); }
}
