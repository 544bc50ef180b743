// Keeping the work: saving the plan, drafts as one draws, copies in the browser, two tabs of one plan, the program lost and found.
import { $, ask, download, later, notice, say } from "./page.js";
import { link, post, Refused, remove } from "./server.js";
import { copies, dropCopy, hold, keepCopy, tabName, taken } from "./store.js";

/** In the name of a draft: work that its tab has left for another plan. Names of tabs have no capitals. */
const LEFT = "L";
const OPEN = "planning-board open ";

export class Keep {
  /** @param {import("./model.js").Model} model */
  constructor(model) {
    this.model = model;
    this.name = "my-place.geojson";
    this.revision = null;
    this.saved = "";
    /** Unsaved work of tabs that are gone, word for word what this tab goes on with. */
    this.taken_from = [];
    this.channel = "BroadcastChannel" in window ? new BroadcastChannel("planning-board") : null;
    this.channel?.addEventListener("message", (event) => this.heard(event.data));
    this.draft = later(() => { this.writing = this.writeDraft(); }, 400);
    model.addEventListener("commit", () => this.changed());
    link.addEventListener("lost", () => { notice("lost", "The program is not responding. Your work is kept in this browser: go on drawing. Start the program again (wideenough board) and open the address it prints.", [["Save a copy to this computer", () => download(this.name, this.model.text())]]); this.show(); });
    link.addEventListener("found", () => { notice("lost", null); say("The program answers again."); this.writeDraft(); });
    $("save").addEventListener("click", () => this.save());
    $("name").addEventListener("change", () => this.rename());
    $("download").addEventListener("click", () => download(this.name, model.text()));
    addEventListener("beforeunload", () => { if (this.dirty) { keepCopy(this.tab, this.name, model.text(), this.revision); } });
  }

  async begin() { this.tab = await tabName(); }

  /** Another plan is opened: unsaved work of this one stays in the browser and beside its plan, under a name of its own. */
  leave(unsaved = false) {
    if (this.tab && this.dirty && this.model.features.length) {
      const tab = `${this.tab}${LEFT}${Date.now().toString(36)}`, name = this.name, text = this.model.text();
      keepCopy(tab, name, text, this.revision);
      post("draft", { name, tab, text }).catch(() => {});
      remove("draft", { name, tab: this.tab }).catch(() => {});
    }
    if (this.tab && !unsaved) { dropCopy(this.tab); }
  }

  get dirty() { return this.model.text() !== this.saved; }

  /** A plan is opened: its name, its revision on disk (null if it is not there) and the text that is there. */
  async opened(name, revision, saved) {
    this.name = name ?? this.name;
    this.revision = revision ?? null;
    this.saved = saved ?? "";
    $("name").value = this.name;
    this.remember();
    this.first_tab = await hold(`plan ${this.name}`);
    this.channel?.postMessage({ kind: "here", name: this.name, tab: this.tab });
    if (!this.first_tab) { this.twoTabs(); }
    this.changed();
  }

  /** The file that is open in this tab, for when the page is loaded again. */
  remember() {
    try { if (this.revision) { sessionStorage.setItem(OPEN + location.pathname, this.name); } else { sessionStorage.removeItem(OPEN + location.pathname); } } catch { /* no storage */ }
  }

  last() { try { return sessionStorage.getItem(OPEN + location.pathname); } catch { return null; } }

  twoTabs() { notice("tabs", `${this.name} is open in another tab too. Neither is lost: whoever saves second is asked.`); }

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
    const text = this.model.text(), name = this.name;
    // Each tab has a draft of its own beside the plan.
    try {
      await post("draft", { name, tab: this.tab, text });
      if (name !== this.name) { return; }
      this.drafted = text;
      this.show();
      // The work that this tab goes on with is now in its own draft.
      for (const one of this.taken_from.splice(0)) { this.drop(one); }
    } catch { /* the copy in the browser remains */ }
  }

  /** Forgets unsaved work, in the browser and beside the plan. */
  drop({ name, tab }) {
    if (tab) { dropCopy(tab); }
    remove("draft", { name, ...(tab ? { tab } : {}) }).catch(() => {});
  }

  rename() {
    let name = $("name").value.trim() || "my-place";
    if (!/\.geojson$/.test(name)) { name = `${name.replace(/\.json$/, "")}.geojson`; }
    $("name").value = name;
    if (name === this.name) { return; }
    const old = this.name;
    this.opened(name, null, "");
    this.writeDraft().then(() => remove("draft", { name: old, tab: this.tab })).catch(() => {});
  }

  async save(over = false) {
    const text = this.model.text();
    try {
      const { revision } = await post("save", { name: this.name, text, revision: this.revision, ...(over ? { over: true } : {}) });
      this.revision = revision;
      this.saved = text;
      this.remember();
      this.channel?.postMessage({ kind: "saved", name: this.name, tab: this.tab, text, revision });
      for (const one of this.taken_from.splice(0)) { this.drop(one); }
      // After a draft that is being written, or that would come last.
      Promise.resolve(this.writing).then(() => this.dirty ? null : remove("draft", { name: this.name, tab: this.tab })).catch(() => {});
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

  /**
   * Unsaved work for a plan (of any, where `plan` is null) that no other living tab owns, from the browser or from the program: what this
   * tab itself had first, else newest first. Work that is word for word what is saved is forgotten.
   */
  async unsaved(plan, drafts, at_start) {
    const list = [];
    for (const one of [...copies(), ...(drafts ?? []).map((draft) => ({ ...draft, revision: plan && draft.at < plan.at ? "before" : undefined }))]) {
      const mine = one.tab === this.tab;
      if (plan && one.name !== plan.name && !(mine && at_start) || !mine && one.tab && await taken(one.tab)) { continue; }
      if (one.name === plan?.name && one.text === plan.text) { this.drop(one); continue; }
      // Of one tab the browser's copy knows more; the program's counts where it is clearly newer.
      const twin = list.findIndex((other) => other.tab === one.tab && other.name === one.name);
      if (twin < 0) { list.push({ ...one, left: Boolean(one.tab?.includes(LEFT)) }); } else if (one.at > list[twin].at + 1500) { list[twin] = { ...list[twin], ...one }; }
    }
    return list.sort((a, b) => (b.tab === this.tab) - (a.tab === this.tab) || b.at - a.at);
  }

  /** Says what other unsaved work there is, with a way to each and a way to be rid of it. */
  others(list, open) {
    const when = (one) => new Date(one.at || Date.now()).toLocaleString();
    list.slice(0, 3).forEach((one, i) => notice(`other-${i}`, `There is other unsaved work of ${one.name}, of ${when(one)}. Nothing of it is lost.`,
      [["Open it", () => open(one)], ["Discard it", () => this.drop(one)]], "Later"));
  }
}
