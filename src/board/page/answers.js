// The answer beside the drawing: numbers while one drags; at rest the study's verdict, the ways to fix it, what to order, how to drive.
import { $, h, notice, say } from "./page.js";
import { showLength } from "./lengths.js";
import { facesOf } from "./figures.js";
import { dist } from "./shapes.js";
import { post } from "./server.js";
import { bareName, titleOf } from "./vehicles.js";

const SIGNS = { comfortable: "✓", tight: "!", "only-backing-in": "!", no: "✗" };
const WORDS = { comfortable: "in comfort", tight: "tight", "only-backing-in": "only backing in", no: "does not get in" };
const MANEUVERS = { "drive-in": "driving in", "back-in": "backing in" };
const wayOf = (c) => c.travel ? `${c.travel}, ${MANEUVERS[c.maneuver] ?? c.maneuver}` : "studied when you pause";
const same = (a, b) => a && b && bareName(a.vehicle) === bareName(b.vehicle) && a.travel === b.travel && a.maneuver === b.maneuver;

export class Answers {
  /**
   * @param {import("./live.js").Live} live
   * @param {import("./view.js").View} view
   */
  constructor(live, view, model) {
    Object.assign(this, { live, view, model, cases: [] });
    for (const name of ["stale", "numbers", "progress", "study", "failed", "checked"]) { live.addEventListener(name, () => this[name]()); }
    model.addEventListener("select", () => {});
    this.render();
  }

  stale() {
    $("answer").classList.add("stale");
    this.render();
  }

  numbers() {
    const { numbers } = this.live;
    if (!numbers) { this.view.showPath(null); return; }
    // The whole study of this drawing says more. A way without a verdict was not looked at for want of time: its last numbers stay, as such.
    for (const one of this.live.current ? [] : numbers.cases ?? []) {
      const others = this.cases.filter((c) => bareName(c.vehicle) === bareName(one.vehicle) && c.travel), old = this.cases.find((c) => same(c, one));
      if (one.travel) { this.cases = this.cases.filter((c) => bareName(c.vehicle) !== bareName(one.vehicle) || c.travel); }
      if (!one.travel && others.length) { continue; }
      if (!old) { this.cases.push({ ...one, waits: !one.verdict }); } else if (one.verdict) { Object.assign(old, one, { waits: false }); } else { old.waits = true; }
    }
    const wanted = (this.model.settings.vehicles ?? []).map((v) => bareName(v?.vehicle ?? v));
    this.cases = this.cases.filter((c) => wanted.includes(bareName(c.vehicle)));
    if (numbers.path !== undefined) { this.view.showPath(numbers.path); }
    if (!this.live.show && this.cases.length) { this.chosen = this.chosen && this.cases.find((c) => same(c, this.chosen)) || this.cases[0]; }
    $("answer").classList.toggle("stale", !numbers.current);
    this.render();
    this.speak();
  }

  progress() { this.renderState(); }

  study() {
    const { results } = this.live.study;
    this.cases = results.cases.map((c) => ({ vehicle: c.vehicle, travel: c.travel, maneuver: c.maneuver, bare_m: c.bare?.opening_m ?? null,
      comfortable_m: c.comfortable?.opening_m ?? null, verdict: c.drawn_gate }));
    $("answer").classList.remove("stale");
    this.render();
    // The way of the answer at rest.
    if (this.cases.length) { this.live.choose(this.way()); }
    this.speak(true);
  }

  failed() { this.render(); }
  checked() { this.render(); }

  /** The way in that is shown: the one chosen, or the first. */
  way() {
    const c = this.cases.find((one) => same(one, this.chosen)) ?? this.cases[0];
    return c ? { vehicle: c.vehicle, travel: c.travel, maneuver: c.maneuver } : null;
  }

  /** The overall verdict in a word: the study's where it is of this plan, else the worst of the ways. */
  overall() {
    const { live } = this;
    if (live.current) {
      if (live.study.results.leaves_stopped) { return "no"; }
      const verdicts = live.study.results.vehicles.map((v) => v.drawn_gate);
      return ["no", "only-backing-in", "tight", "comfortable"].find((v) => verdicts.includes(v)) ?? null;
    }
    const c = this.cases.find((one) => same(one, this.chosen)) ?? this.cases[0];
    return c?.verdict ?? null;
  }

  opening_m() {
    const gate = this.model.features.find((f) => f?.properties?.role === "gate"), faces = gate && facesOf(gate, this.model.unit_m);
    return faces ? dist(...faces) : null;
  }

  /** What is still to be drawn or chosen before there is an answer. */
  missing() {
    const { features, settings } = this.model, roles = features.map((f) => f?.properties?.role);
    return [!roles.includes("road") && "Draw the road that vehicles come from.", !roles.includes("gate") && "Draw the gate.", !settings.vehicles?.length && "Choose a vehicle that must get in."].filter(Boolean);
  }

  render() {
    const { live, model } = this, units = model.units, opening = this.opening_m(), missing = this.missing();
    const up = (m) => m === null || m === undefined ? "—" : showLength(m, units, "up");
    const verdict = missing.length || live.faults.length ? null : this.overall(), box = $("verdict");
    const drawn = opening === null ? "" : showLength(opening, units);
    box.className = `verdict ${verdict ?? ""}`;
    box.replaceChildren(h("span", { class: "sign", "aria-hidden": "true" }, SIGNS[verdict] ?? "·"), " ", this.sentence(verdict, drawn, missing));
    const shown = this.cases.find((c) => same(c, this.chosen)) ?? this.cases[0];
    const need = live.current ? widest(live.study.results.vehicles) : shown?.comfortable_m;
    $("need").textContent = verdict ? up(need) : "—";
    $("need-words").textContent = live.current ? "All vehicles need, in comfort" : "This way needs, in comfort";
    $("bare").textContent = verdict ? up(shown?.bare_m) : "—";
    $("drawn").textContent = drawn || "—";
    $("missing").replaceChildren(...missing.map((text) => h("li", {}, text)), ...(missing.length ? [] : live.faults).map((f) => this.fault(f, "fault")), ...(missing.length ? [] : live.warnings).map((f) => this.fault(f, "warning")));
    this.renderWays(up);
    this.renderState();
    this.renderStudy();
  }

  sentence(verdict, drawn, missing) {
    const { live } = this;
    if (missing.length) { return "No answer yet."; }
    if (live.faults.length) { return "The drawing has a problem; it is listed below."; }
    if (!verdict) { return "Working out the first answer…"; }
    if (live.current) {
      const stopped = live.study.results.leaves_stopped;
      if (stopped) { return `The gate as drawn, ${drawn}, does not open as far as it must: ${stopped}.`; }
      const bad = live.study.results.vehicles.filter((v) => v.drawn_gate === verdict).map((v) => v.title);
      return verdict === "comfortable" ? `The gate as drawn, ${drawn}, lets every vehicle in, in comfort.` : verdict === "tight" ? `The gate as drawn, ${drawn}, is tight for: ${bad.join("; ")}.`
        : verdict === "no" ? `The gate as drawn, ${drawn}, does not let in: ${bad.join("; ")}.` : `The gate as drawn, ${drawn}, lets these in only by backing: ${bad.join("; ")}.`;
    }
    const c = this.cases.find((one) => same(one, this.chosen)) ?? this.cases[0];
    return `${titleOf(c.vehicle)}, ${wayOf(c)}: ${WORDS[verdict] ?? verdict}.`;
  }

  /** A fault with its place, or a warning, which is words alone. */
  fault(found, c) {
    const fault = typeof found === "string" ? { message: found } : found, index = fault.feature;
    return h("li", { class: c }, h("span", { class: "sign", "aria-hidden": "true" }, c === "fault" ? "✗" : "!"), ` ${c === "fault" ? "" : "Note: "}${fault.message}${fault.fix ? ` ${fault.fix}` : ""} `,
      index !== null && index !== undefined && h("button", { type: "button", class: "small", onclick: () => { this.model.select(index); this.view.svg.querySelector(`[data-index="${index}"]`)?.focus(); } }, "Show it"));
  }

  renderWays(up) {
    const list = $("ways"), focused = document.activeElement?.dataset?.way;
    const groups = new Map();
    for (const c of this.cases) { groups.set(bareName(c.vehicle), [...(groups.get(bareName(c.vehicle)) ?? []), c]); }
    const shown = this.cases.find((c) => same(c, this.chosen)) ?? this.cases[0];
    list.replaceChildren(...[...groups].map(([vehicle, cases]) => h("li", {}, h("h4", {}, titleOf(vehicle)), h("ul", {}, ...cases.map((c) => {
      const key = `${c.vehicle}|${c.travel}|${c.maneuver}`;
      return h("li", {}, h("button", { type: "button", class: `way ${c.verdict ?? ""}${c.waits ? " waits" : ""}`, "data-way": key, "aria-pressed": String(c === shown), onclick: () => { this.chosen = c; this.live.choose({ vehicle: c.vehicle, travel: c.travel, maneuver: c.maneuver }); this.render(); } },
        h("span", { class: "sign", "aria-hidden": "true" }, SIGNS[c.verdict] ?? "·"), h("span", { class: "name" }, wayOf(c)), h("span", { class: "num" }, `${up(c.bare_m)}`), h("span", { class: "num strong" }, up(c.comfortable_m)), h("span", { class: "say" }, WORDS[c.verdict] ?? "…")));
    })))));
    if (focused) { list.querySelector(`[data-way="${CSS.escape(focused)}"]`)?.focus({ preventScroll: true }); }
    $("ways-part").hidden = !this.cases.length || this.missing().length > 0;
  }

  renderState() {
    const { live } = this, run = live.running, words = run ? `${run.what || "Studying the place"}${run.total ? `: ${run.done} of ${run.total}` : "…"}` : live.failure ? `The study ended: ${live.failure}` : live.current ? "Studied as drawn." : this.missing().length || live.faults.length ? "" : "Studied when you pause.";
    $("state").textContent = words;
    const bar = $("bar");
    bar.hidden = !run;
    if (run) { bar.max = run.total || 1; if (run.total) { bar.value = run.done; } else { bar.removeAttribute("value"); } }
  }

  /** What only the whole study says; of an older drawing it is shown as such. */
  renderStudy() {
    const { live } = this, study = live.study, part = $("study");
    part.hidden = !study;
    if (!study) { return; }
    part.classList.toggle("old", !live.current);
    $("study-of").textContent = live.current ? "" : "Of the drawing before your last changes:";
    const key = `${study.id}|${live.current}|${JSON.stringify(this.way())}|${study.paper}`;
    if (this.shown === key) { return; }
    this.shown = key;
    const r = study.results, units = this.model.units, up = (m) => m === null || m === undefined ? "—" : showLength(m, units, "up");
    const near = (m) => showLength(m, units);
    $("vehicles-verdicts").replaceChildren(...r.vehicles.map((v) => h("li", { class: v.drawn_gate }, h("span", { class: "sign", "aria-hidden": "true" }, SIGNS[v.drawn_gate]), ` ${v.title}: ${WORDS[v.drawn_gate]}. `,
      v.comfortable_opening_m ? `It needs ${up(v.bare_opening_m)}; comfortable at ${up(v.comfortable_opening_m)}.` : v.bare_opening_m ? `It needs ${up(v.bare_opening_m)}; no comfortable way in is known.` : "No way in is known.",
      v.backing_in ? ` If backing in will do, it needs ${up(v.backing_in.bare_opening_m)}${v.backing_in.comfortable_opening_m ? `; comfortable at ${up(v.backing_in.comfortable_opening_m)}` : ""}.` : "")),
      ...(r.turns ?? []).map((t) => h("li", { class: t.drawn_gate ?? "" }, `${titleOf(t.vehicle)} turning around inside, ${t.travel}: ${t.reason ?? `${t.stops} stops to change direction, ${near(t.turn_m)} long.`}`)));
    const fixes = r.fixes?.found ?? [], none = r.fixes?.none ?? [];
    $("fixes-part").hidden = !fixes.length && !none.length;
    $("fixes").replaceChildren(...fixes.map((fix, i) => h("li", {}, `${this.fixWords(fix, near)}: ${fix.goal === "comfortable" ? "every vehicle passes in comfort" : "every vehicle gets in"}. `,
      h("button", { type: "button", class: "apply", disabled: !live.current, onclick: () => this.apply(i, fix) }, "Apply to the drawing"))), ...none.map((one) => h("li", { class: "none" }, `Not ${one.why}${one.goal === "comfortable" ? ", in comfort" : ""}.`)));
    const orders = (r.gate?.arrangements ?? []);
    $("order-part").hidden = !orders.length;
    $("order").replaceChildren(...orders.map((a) => h("tr", {}, h("th", { scope: "row" }, arrangement(a) + (a.as_drawn ? " (as drawn)" : "")), h("td", {}, a.order_m ? near(a.order_m) : "none"), h("td", {}, a.order_if_backing_in_m ? near(a.order_if_backing_in_m) : ""))));
    const mine = r.cases.find((c) => same(c, this.way())) ?? r.cases[0], drive = mine?.how_to_drive;
    $("drive-part").hidden = !drive?.words?.length;
    if (drive?.words?.length) {
      $("drive-of").textContent = `${titleOf(mine.vehicle)}, ${wayOf(mine)}`;
      $("drive").replaceChildren(...drive.words.map((text) => h("li", {}, text)));
    }
    $("remarks").replaceChildren(...(r.notes ?? []).map((text) => h("li", {}, text)));
    const at = `study/${study.id}/file/`, files = [...new Set(["report.html", "results.json", ...(r.files ?? []), ...(study.paper ? ["sheets.pdf"] : [])])];
    const link = (name, words, save = true) => h("li", {}, h("a", save ? { href: at + name, download: name } : { href: at + name, target: "_blank", rel: "noopener" }, words));
    $("files").replaceChildren(link("report.html", "The report, one page", false), ...files.filter((f) => !/envelope/.test(f)).map((f) => link(f, f)));
  }

  fixWords(fix, near) {
    const opening = this.opening_m() ?? 0;
    switch (fix.kind) {
      case "wider": return `A gate ${near(fix.amount_m)} wider, ${near(opening + fix.amount_m)} face to face`;
      case "further-back": return `The gate ${near(fix.amount_m)} farther back`;
      case "turned": return `The gate turned ${Math.abs(fix.amount_deg).toFixed(0)}°, its ${fix.amount_deg > 0 ? "left" : "right"} post toward the road`;
      case "flared": return `The apron ${near(fix.amount_m)} wider on each side where it meets the road`;
      default: return `Other leaves: ${arrangement(fix)}${fix.open_angle_deg ? `, opened to ${fix.open_angle_deg.toFixed(0)}°` : ""}`;
    }
  }

  async apply(index, fix) {
    try {
      const { text } = await post("fix", { text: this.model.text(), fix: index, study: this.live.study.id });
      const plan = JSON.parse(text), words = this.fixWords(fix, (m) => showLength(m, this.model.units));
      const focus = $("fixes").contains(document.activeElement);
      this.model.change("Apply a fix", plan);
      // The button is gone with the old answer.
      if (focus) { $("answer-title").focus({ preventScroll: true }); }
      say("The drawing is changed. Undo takes it back.");
      notice("fix", `Changed: ${words}. Undo takes it back.`);
    } catch (error) { notice("fix", `This could not be changed: ${error.message}`); }
  }

  /** The answer for a screen reader: not while one drags, and at once at rest. */
  speak(now = false) {
    clearTimeout(this.speaking);
    this.speaking = setTimeout(() => { if (!this.model.before) { $("spoken").textContent = `${$("verdict").textContent.replace(/^\S+ /, "")} ${$("need-words").textContent}: ${$("need").textContent}. The gate as drawn: ${$("drawn").textContent}.`; } }, now ? 50 : 600);
  }
}

/** Leaves in words: "single, hinged left, swinging in". */
function arrangement({ leaves, hinge, opens }) {
  const name = { single: "one leaf", double: "two leaves", slide: "sliding", none: "no leaf" }[leaves] ?? leaves;
  return [name + (leaves === "slide" && hinge ? ` to the ${hinge}` : ""), leaves === "single" && hinge ? `hinged ${hinge}` : "", opens ? `swinging ${opens}` : ""].filter(Boolean).join(", ");
}

/** The widest comfortable need; null if one is not known. */
function widest(vehicles) {
  let most = 0;
  for (const v of vehicles) {
    if (v.comfortable_opening_m === null || v.comfortable_opening_m === undefined) { return null; }
    most = Math.max(most, v.comfortable_opening_m);
  }
  return most || null;
}
