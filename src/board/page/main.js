// Puts the page together: model, drawing, tools, panels; opens what the program says, or asks for the first place.
import { $, h, notice, say } from "./page.js";
import { get, post } from "./server.js";
import { Model } from "./model.js";
import { View } from "./view.js";
import { Tools } from "./tools.js";
import { Keyboard } from "./keyboard.js";
import { Panel } from "./panel.js";
import { Live, newSession } from "./live.js";
import { Answers } from "./answers.js";
import { Vehicles, setLibrary } from "./vehicles.js";
import { Own } from "./own.js";
import { Start } from "./start.js";
import { Keep } from "./keep.js";
import { Underlay } from "./underlay.js";
import { KINDS } from "./kinds.js";
import { el } from "./figures.js";

const model = new Model();
const view = new View($("board"), model);
const tools = new Tools(view, model, say);
const keep = new Keep(model);
const keyboard = new Keyboard(tools, { type: (text) => typed(text), save: () => keep.save(), say });
const panel = new Panel(model, keyboard);
const live = new Live(model);
const answers = new Answers(live, view, model);
const own = new Own(model, (name) => { vehicles.count = -1; vehicles.add(name); vehicles.render(); });
const vehicles = new Vehicles(model, (base) => own.open(base));
const underlay = new Underlay(view, tools, () => keep.name);
const start = new Start({ open: async (plan) => { if (plan.revision) { await restored(plan, plan.drafts); } else { await open(plan); } } });

// Tools

$("kinds").replaceChildren(...KINDS.map((k) => h("button", { type: "button", "data-kind": k.kind, title: k.about, "aria-pressed": "false", onclick: (event) => { begin(k.kind, event.detail === 0); } },
  el("svg", { viewBox: "0 0 24 24", "aria-hidden": "true" }, el("path", { d: k.mark })), h("span", {}, k.title))));

function begin(kind, by_keyboard) {
  if (tools.drawing?.kind.kind === kind) { tools.stop(); return; }
  tools.start(kind);
  if (by_keyboard) { view.svg.focus(); } else { view.svg.focus({ preventScroll: true }); }
}

tools.addEventListener("drawing", () => {
  const d = tools.drawing;
  for (const button of $("kinds").children) { button.setAttribute("aria-pressed", String(button.dataset.kind === d?.kind.kind)); }
  $("strip").hidden = !d;
  if (!d) { return; }
  const need = d.kind.shape === "area" ? 3 : 2, many = !["point", "box"].includes(d.kind.shape);
  $("strip-words").textContent = d.set.length === 0 ? `${d.kind.title}: ${many ? "put its first point" : "put it in its place"}. ${d.kind.about}` : `${d.kind.title}: ${d.set.length} ${d.set.length === 1 ? "point" : "points"}.`;
  $("done").disabled = d.set.length < need;
  $("done").hidden = !many || d.kind.shape === "gate";
  $("back").disabled = !d.set.length;
});
tools.addEventListener("drawn", () => { view.drawNow(); view.svg.querySelector(`[data-index="${model.selected}"]`)?.focus({ preventScroll: true }); });
$("done").addEventListener("click", () => tools.finish());
$("back").addEventListener("click", () => tools.back());
$("cancel").addEventListener("click", () => tools.stop());
$("next").addEventListener("keydown", (event) => {
  if (event.key === "Escape") { view.svg.focus(); event.stopPropagation(); }
  if (event.key !== "Enter") { return; }
  event.preventDefault();
  const good = tools.typed($("next").value);
  $("next").setAttribute("aria-invalid", String(!good));
  if (good) { $("next").value = ""; if (tools.drawing) { view.svg.focus(); } }
});

/** Digits typed in the drawing: a length for the next point, or of what is selected. */
function typed(text) {
  if (tools.drawing) { $("next").focus(); $("next").value = text; } else { panel.type(text); }
}

// Where to look, and undo

for (const [id, act] of Object.entries({ undo: () => keyboard.step(false), redo: () => keyboard.step(true), "zoom-in": () => view.zoom(1.4), "zoom-out": () => view.zoom(1 / 1.4), "zoom-gate": () => view.fit(), "zoom-all": () => view.fit(true) })) { $(id).addEventListener("click", act); }
$("sheets").addEventListener("click", () => { live.paper = true; live.begin(); });
$("new").addEventListener("click", async () => { try { start.show(await get("start")); } catch { notice("open", "The program is not responding."); } });
for (const button of document.querySelectorAll("dialog [data-close]")) { button.addEventListener("click", () => button.closest("dialog").close()); }
$("help").addEventListener("click", () => $("keys").showModal());

// First view

/** @param {{ name: string | null, text: string | null, revision?: string, example?: boolean, unsaved?: boolean }} plan */
async function open(plan) {
  keep.leave(plan.unsaved);
  let { name, text, revision = null } = plan, saved = plan.unsaved || name === null ? "" : text ?? "";
  const lines = text && /"coordinates"\s*:\s*"local-/.test(text) ? null : text;
  if (lines) {
    // A plan in degrees is drawn in feet or meters; it is saved beside the one it came from.
    text = (await post("local", { text })).text;
    if (text !== lines) {
      if (name && !plan.unsaved) { name = name.replace(/\.(geo)?json$/, "") + "-drawn.geojson"; revision = null; saved = text; notice("local", `The plan is in longitude and latitude. It is drawn in feet or meters here and saved as ${name}; the file you opened stays as it is.`); }
    }
  }
  for (const kind of ["draft", "fix", "tabs"]) { notice(kind, null); }
  if (text) { model.load(text); } else { model.reset({ type: "FeatureCollection", plan: { title: "My place", coordinates: "local-ft", north: "unknown", units: "ft", drives_on: "right", vehicles: [] }, features: [] }); }
  live.study = null;
  live.session = newSession();
  live.show = null;
  live.numbers = null;
  answers.cases = [];
  answers.chosen = null;
  view.showPath(null);
  // Nothing is drawn yet: nothing to keep.
  if (!text) { saved = model.text(); }
  await keep.opened(name ?? "my-place.geojson", plan.example ? null : revision, saved);
  live.name = keep.name;
  vehicles.count = -1;
  vehicles.render();
  view.fit();
  underlay.load();
  live.changed();
  answers.render();
}

async function main() {
  const [found] = await Promise.all([get("start"), keep.begin()]);
  setLibrary(found.vehicles ?? []);
  if (found.folder) { $("folder").textContent = found.folder; }
  const last = keep.last(), same = last && last !== found.plan?.name && await post("open", { name: last }).catch(() => null);
  if (!await restored(same || found.plan, same ? same.drafts : found.drafts, true)) { start.show(found); }
}

/**
 * Opens a plan with the unsaved work of it (of any, where there is none), and says what other unsaved work there is; false if the sheet is
 * empty.
 */
async function restored(plan, drafts, at_start = false) {
  const list = await keep.unsaved(plan ?? null, drafts, at_start), unsaved = list.find((one) => !one.left), twin = (one) => one.name === unsaved?.name && one.text === unsaved.text;
  if (unsaved) { await goOn(unsaved, plan, list.filter(twin)); } else { await open(plan ?? { name: null, text: null }); }
  keep.others(list.filter((one) => !twin(one)), async (one) => goOn(one, one.name === plan?.name ? plan : await post("open", { name: one.name }).catch(() => null)));
  return Boolean(unsaved ?? plan);
}

/** Goes on with unsaved work; `plan` is its file as it is now, if there is one. */
async function goOn(unsaved, plan, twins = [unsaved]) {
  const same = unsaved.name === plan?.name;
  // What the tab itself knew of the file decides whether saving asks.
  await open({ name: unsaved.name, text: unsaved.text, revision: unsaved.revision === undefined && same ? plan.revision ?? null : unsaved.revision ?? null, unsaved: true });
  keep.saved = same ? plan.text : "";
  keep.taken_from = twins.filter((one) => one.tab !== keep.tab);
  keep.changed();
  notice("draft", `Unsaved work of ${new Date(unsaved.at || Date.now()).toLocaleString()} is back.`, [plan ? ["Go back to the saved file", () => open(plan)] : ["Start over", async () => start.show(await get("start"))]]);
}

keep.show();
main().then(() => performance.mark("board shown")).catch((error) => notice("start", `The page could not start: ${error.message}`));
// For measurements and tests: what is drawn, and how long answers took.
window.board = { model, view, live, keep, underlay, tools };
