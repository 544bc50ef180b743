// The keyboard on the drawing: Tab goes from thing to thing, arrows move, Enter goes into the points, Delete removes, digits type a
// length; while something is drawn arrows move the cross and Enter sets a point.
import { ARROWS, arrowStep, movePoint, moveThing } from "./moves.js";
import { add, insertPoint, mapPoints, pathsOf, removePoint, round, times } from "./shapes.js";
import { nameOf } from "./kinds.js";
import { showLength } from "./lengths.js";

/** Milliseconds within which arrow presses are one step of undo. */
const ONE_STEP_MS = 700;

export class Keyboard {
  /**
   * @param {import("./tools.js").Tools} tools
   * @param {{ type: (text: string) => void, save: () => void, say: (text: string) => void }} acts
   */
  constructor(tools, acts) {
    Object.assign(this, { tools, acts, model: tools.model, view: tools.view });
    tools.view.svg.addEventListener("keydown", (event) => this.onDrawing(event));
    document.addEventListener("keydown", (event) => this.anywhere(event));
    tools.view.svg.addEventListener("focusin", (event) => this.focused(event));
  }

  /** Ctrl+Z, Ctrl+Y, Ctrl+S, Ctrl+D, Escape. */
  anywhere(event) {
    const ctrl = event.ctrlKey || event.metaKey, key = event.key.toLowerCase(), typing = /INPUT|TEXTAREA|SELECT/.test(document.activeElement?.tagName ?? "");
    if (document.querySelector("dialog[open]")) { return; }
    if (ctrl && key === "s") { event.preventDefault(); this.acts.save(); return; }
    if (key === "escape" && this.tools.drawing) { event.preventDefault(); this.tools.stop(); return; }
    if (typing || !ctrl) { return; }
    if (key === "z" || key === "y") { event.preventDefault(); this.step(key === "y" || event.shiftKey); }
    if (key === "d" && this.model.feature) { event.preventDefault(); this.copy(); }
  }

  step(forward) {
    this.nudged = null;
    const label = forward ? this.model.redo() : this.model.undo();
    this.acts.say(label ? `${forward ? "Redone" : "Undone"}: ${label}` : forward ? "Nothing to redo." : "Nothing to undo.");
  }

  /** What has the focus becomes what is selected, when it came by the keyboard. */
  focused(event) {
    const data = event.target.dataset ?? {};
    if (this.tools.drag) { return; }
    this.bring(event.target);
    if (data.point) { const [index, path, point, adds] = data.point.split("."); if (!adds) { this.model.select(+index, { path: +path, point: +point }); } }
    else if (data.index) { this.model.select(+data.index, null); }
  }

  onDrawing(event) {
    const { tools, model } = this, arrow = ARROWS[event.key];
    if (event.altKey) { return; }
    if (tools.drawing) { this.whileDrawing(event, arrow); return; }
    if (tools.taps) { this.whileTapping(event, arrow); return; }
    const data = event.target.dataset ?? {}, ctrl = event.ctrlKey || event.metaKey;
    if (arrow && (data.point || data.index) && !data.point?.endsWith(".add")) { event.preventDefault(); this.nudge(arrow, event); return; }
    if (arrow) { event.preventDefault(); this.view.pan(-arrow[0] * 60, arrow[1] * 60); return; }
    if (ctrl) { return; }
    switch (event.key) {
      case "+": case "=": this.view.zoom(1.25); break;
      case "-": this.view.zoom(0.8); break;
      case "0": if (model.feature) { this.acts.type("0"); } else { this.view.fit(); } break;
      case "Enter": case " ": this.enter(data); break;
      case "Insert": this.addPoint(data); break;
      case "Delete": case "Backspace": this.remove(); break;
      case "Escape": this.leave(data); break;
      default:
        if (!/^[0-9.']$/.test(event.key) || !model.feature) { return; }
        this.acts.type(event.key);
    }
    event.preventDefault();
  }

  whileDrawing(event, arrow) {
    const { tools } = this, d = tools.drawing;
    if (arrow) {
      const step = arrowStep(this.model, event);
      d.cursor = add(d.cursor, times(arrow, step)).map((v) => Math.round(v / 1e-4) * 1e-4);
      tools.show();
      this.reveal(d.cursor);
      const units = this.model.units;
      this.acts.say(`${showLength(d.cursor[0], units)} across, ${showLength(d.cursor[1], units)} up`);
    } else if (event.key === "Enter" || event.key === " ") { tools.place(); }
    else if (event.key === "Backspace") { tools.back(); }
    else if (/^[0-9.-]$/.test(event.key)) { this.acts.type(event.key); }
    else { return; }
    event.preventDefault();
  }

  /** Points for something else, such as the scale of the picture. */
  whileTapping(event, arrow) {
    const { tools, view } = this, extra = view.extra;
    if (arrow) { extra.cursor = add(extra.cursor ?? view.center, times(arrow, arrowStep(this.model, event))); this.reveal(extra.cursor); view.draw(); }
    else if (event.key === "Enter" || event.key === " ") { if (tools.taps(extra.cursor)) { tools.taps = null; } }
    else if (event.key === "Escape") { tools.taps = null; extra.cursor = null; extra.guides = []; view.draw(); }
    else { return; }
    event.preventDefault();
  }

  /** Moves the drawing so that what has the focus can be seen. */
  bring(target) {
    const { view } = this, box = view.svg.getBoundingClientRect(), its = target === view.svg ? null : target.getBoundingClientRect();
    if (!its) { return; }
    const [left, top, right, bottom] = [Math.max(its.left, box.left + 24), Math.max(its.top, box.top + 24), Math.min(its.right, box.right), Math.min(its.bottom, box.bottom)];
    if (right - left < Math.min(its.width, 12) || bottom - top < Math.min(its.height, 12)) {
      view.center = view.place([(its.left + its.right) / 2 - box.left, (its.top + its.bottom) / 2 - box.top]);
      view.drawNow();
    }
  }

  /** Brings a point in meters onto the screen. */
  reveal(xy) {
    const { view } = this, [x, y] = view.screen(xy);
    if (x < 60 || y < 60 || x > view.width - 40 || y > view.height - 40) { view.center = xy; view.draw(); }
  }

  nudge(arrow, event) {
    const { model } = this, index = model.selected, delta = times(arrow, arrowStep(model, event) / model.unit_m), now = performance.now();
    if (index === null) { return; }
    const what = `${index} ${model.point?.path} ${model.point?.point}`, plan = model.point ? this.pointBy(index, delta) : moveThing(model, index, delta);
    const same = this.nudged?.what === what && now - this.nudged.at < ONE_STEP_MS && this.nudged.plan === model.plan;
    if (same) {
      model.preview(plan);
      model.tell("commit");
    } else { model.change(model.point ? "Move a point" : "Move", plan); }
    this.nudged = { what, at: now, plan };
    const feature = model.feature, path = pathsOf(feature.geometry)[model.point?.path ?? 0], xy = times(path.points[model.point?.point ?? 0], model.unit_m);
    this.reveal(xy);
    this.acts.say(`${nameOf(feature)}: ${showLength(xy[0], model.units)} across, ${showLength(xy[1], model.units)} up`);
  }

  pointBy(index, delta) {
    const { model } = this, points = pathsOf(model.features[index].geometry)[model.point.path].points;
    return movePoint(model, index, model.point, add(points[model.point.point], delta));
  }

  /** Enter on a thing goes to its first point; on a plus it adds the point. */
  enter(data) {
    if (data.point?.endsWith(".add")) { this.addPoint(data); return; }
    if (data.index) { this.focus(`[data-point="${data.index}.0.0"]`); }
  }

  leave(data) {
    if (data.point) { this.model.select(this.model.selected, null); this.focus(`[data-index="${data.point.split(".")[0]}"]`); } else { this.model.select(null); this.view.svg.focus(); }
  }

  focus(selector) { this.view.drawNow(); this.view.svg.querySelector(selector)?.focus(); }

  /** Adds a point after the one that has the focus. */
  addPoint(data) {
    const { model } = this, [index, path, point] = (data.point ?? `${model.selected}.0.0`).split(".").map(Number), feature = model.features[index];
    const line = feature && pathsOf(feature.geometry)[path];
    if (!line || line.points.length < 2 || feature.properties?.role === "gate") { return; }
    const n = line.points.length, at = line.closed ? point : Math.min(point, n - 2);
    const xy = times(add(line.points[at], line.points[(at + 1) % n]), 0.5).map(round);
    model.change("Add a point", model.withFeature(index, insertPoint(feature, path, at + 1, xy)));
    model.select(index, { path, point: at + 1 });
    this.focus(`[data-point="${index}.${path}.${at + 1}"]`);
    this.acts.say("Point added.");
  }

  /** Removes the point that is selected, or the thing. */
  remove() {
    const { model } = this, index = model.selected;
    if (index === null) { return; }
    const feature = model.feature, less = model.point && removePoint(feature, model.point.path, model.point.point);
    if (less) {
      model.change("Remove a point", model.withFeature(index, less));
      model.select(index, null);
      this.acts.say("Point removed.");
      this.focus(`[data-index="${index}"]`);
      return;
    }
    model.select(null);
    model.change(`Delete ${nameOf(feature)}`, model.withFeature(index, null));
    this.view.svg.focus();
    this.acts.say(`${nameOf(feature)} deleted.`);
  }

  /** Puts a copy of what is selected beside it. */
  copy() {
    const { model, tools } = this, feature = model.feature, off = (model.units === "m" ? 1 : 0.9144) / model.unit_m;
    if (!feature || feature.properties?.role === "gate") { this.acts.say("A place has one gate."); return; }
    const moved = mapPoints(feature, (xy) => [round(xy[0] + off), round(xy[1] - off)]);
    const label = `${nameOf(feature).replace(/ \d+$/, "")}`, taken = new Set(model.features.map((f) => f?.properties?.label));
    let i = 2;
    while (taken.has(`${label} ${i}`)) { i += 1; }
    const { id, ...rest } = moved;
    const index = tools.insert({ ...rest, properties: { ...moved.properties, label: `${label} ${i}` } }, "Copy");
    this.focus(`[data-index="${index}"]`);
    this.acts.say("Copied.");
  }
}
