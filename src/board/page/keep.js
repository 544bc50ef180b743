// Keeping the work: saving the plan, drafts as one draws, copies in the browser, two tabs of one plan, the program lost and found.
import { $, ask, download, later, notice, say } from "./page.js";
import { link, post, Refused, remove } from "./server.js";
import { copies, dropCopy, hold, keepCopy, tabName, taken } from "./store.js";

export class Keep {
  /** @param {import("./model.js").Model} model */
  constructor(model) {
    this.model = model;
    this.name = "my-place.geojson";
    this.revision = null;
    this.saved = "";
    this.channel = "BroadcastChannel" in window ? new BroadcastChannel("planning-board") : null;
    this.channel?.addEventListener("message", (event) => this.heard(event.data));
    this.draft = later(() => this.writeDraft(), 400);
    model.addEventListener("commit", () => this.changed());
    link.addEventListener("lost", () => { notice("lost", "The program is not responding. Your work is kept in this browser: go on drawing. Start the program again (wideenough board) and open the address it prints.", [["Save a copy to this computer", () => download(this.name, this.model.text())]]); this.show(); });
    link.addEventListener("found", () => { notice("lost", null); say("The program answers again."); this.writeDraft(); });
    $("save").addEventListener("click", () => this.save());
    $("name").addEventListener("change", () => this.rename());
    $("download").addEventListener("click", () => download(this.name, model.text()));
    addEventListener("beforeunload", () => { if (this.dirty) { keepCopy(this.tab, this.name, model.text(), this.revision); } });
  }

  async begin() { this.tab = await tabName(); }

  /** Another plan is opened: unsaved work of this one stays in the browser. */
  leave() {
    if (this.tab && this.dirty && this.model.features.length) { keepCopy(`${this.tab} ${this.name}`, this.name, this.model.text(), this.revision); }
    if (this.tab) { dropCopy(this.tab); }
  }

  get dirty() { return this.model.text() !== this.saved; }

  /** A plan is opened: its name, its revision on disk (null if it is not there) and the text that is there. */
  async opened(name, revision, saved) {
    this.name = name ?? this.name;
    this.revision = revision ?? null;
    this.saved = saved ?? "";
    $("name").value = this.name;
    this.first_tab = await hold(`plan ${this.name}`);
    this.channel?.postMessage({ kind: "here", name: this.name, tab: this.tab });
    if (!this.first_tab) { this.twoTabs(); }
    this.changed();
  }

  twoTabs() { notice("tabs", `${this.name} is open in another tab too. Both are kept: the second one to save is asked which to keep.`); }

  heard(message) {
    if (message.tab === this.tab || message.name !== this.name) { return; }
    if (message.kind === "here") { this.twoTabs(); this.channel?.postMessage({ kind: "me too", name: this.name, tab: this.tab }); }
    if (message.kind === "saved") {
      if (this.dirty) { notice("tabs", `${this.name} was saved in another tab. Your changes here are kept; saving asks before it replaces anything.`, [["Take what was saved", () => this.take(message.text, message.revision)]]); } else { this.take(message.text, message.revision); }
    }
  }

  /** Goes on with what is on disk. It can be undone. */
  take(text, revision) {
    this.model.change("Take what was saved", JSON.parse(text));
    this.revision = revision;
    this.saved = this.model.text() === text ? text : this.model.text();
    this.changed();
  }

  changed() {
    this.show();
    if (!this.tab) { return; }
    if (this.dirty) { keepCopy(this.tab, this.name, this.model.text(), this.revision); this.draft(); } else { dropCopy(this.tab); }
  }

  show() {
    $("saved").textContent = this.dirty ? this.drafted === this.model.text() ? "Not saved; a draft is kept" : "Not saved" : this.revision ? "Saved" : this.model.features.length ? "Not in the folder yet" : "";
    $("undo").disabled = !this.model.done.length && !this.model.before;
    $("redo").disabled = !this.model.undone.length;
    document.title = `${this.dirty ? "• " : ""}${this.model.settings.title || this.name}: planning board`;
    $("place").textContent = this.model.settings.title || this.name;
  }

  async writeDraft() {
    if (!this.dirty || !this.tab) { return; }
    const text = this.model.text();
    // The draft beside the plan belongs to the tab that had the plan first; a second tab's work is in the browser only.
    if (!this.first_tab) { return; }
    try { await post("draft", { name: this.name, text }); this.drafted = text; this.show(); } catch { /* the copy in the browser remains */ }
  }

  rename() {
    let name = $("name").value.trim() || "my-place";
    if (!/\.geojson$/.test(name)) { name = `${name.replace(/\.json$/, "")}.geojson`; }
    $("name").value = name;
    if (name === this.name) { return; }
    remove("draft", { name: this.name }).catch(() => {});
    this.opened(name, null, "");
  }

  async save(over = false) {
    const text = this.model.text();
    try {
      const { revision } = await post("save", { name: this.name, text, revision: this.revision, ...(over ? { over: true } : {}) });
      this.revision = revision;
      this.saved = text;
      this.channel?.postMessage({ kind: "saved", name: this.name, tab: this.tab, text, revision });
      remove("draft", { name: this.name }).catch(() => {});
      this.changed();
      say(`Saved as ${this.name}.`);
      return true;
    } catch (error) {
      if (error instanceof Refused && error.status === 409) { return this.conflict(error.body); }
      notice("save", error instanceof Refused ? `Not saved: ${error.message}` : "Not saved: the program is not responding. Your work is kept in this browser.", [["Save a copy to this computer", () => download(this.name, text)]]);
      return false;
    }
  }

  /** The file is not what it was when it was opened. */
  async conflict({ text, revision }) {
    const answer = await ask(`${this.name} was changed elsewhere`, "Another tab or program has saved this file since you opened it. Nothing is lost yet: choose what to keep.",
      ["Keep mine as another file", "Replace it with mine", "Take the other one", "Keep drawing"]);
    if (answer === 0) {
      let i = 2;
      const stem = this.name.replace(/\.geojson$/, "").replace(/-\d+$/, "");
      for (; i < 50; i += 1) {
        try {
          const name = `${stem}-${i}.geojson`, mine = this.model.text();
          const saved = await post("save", { name, text: mine, revision: null });
          await this.opened(name, saved.revision, mine);
          say(`Saved as ${name}.`);
          return true;
        } catch (error) { if (!(error instanceof Refused && error.status === 409)) { break; } }
      }
      return false;
    }
    if (answer === 1) { this.revision = revision; return this.save(); }
    if (answer === 2) { this.take(text, revision); }
    return false;
  }

  /** Unsaved work for a plan: this tab's own, or the newest that no living tab owns; from the browser or from the program. */
  async unsaved(name, draft, at_start) {
    const list = [], mine = at_start && copies().find((copy) => copy.tab === this.tab);
    if (mine) { return mine; }
    for (const copy of copies()) {
      if ((name === null || copy.name === name) && (copy.tab === this.tab || !await taken(copy.tab))) { list.push(copy); }
    }
    const from_program = draft ? { tab: null, name: draft.name ?? name, text: draft.text, at: typeof draft.at === "number" ? (draft.at < 1e12 ? draft.at * 1000 : draft.at) : Date.parse(draft.at) || 0 } : null;
    const newest = list[0];
    if (newest && (!from_program || newest.at >= from_program.at - 1500)) { dropCopy(newest.tab); return newest; }
    return from_program;
  }
}
