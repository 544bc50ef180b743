// Changes of the plan by moving: a point, a thing, a length typed; the ends of fences at a gate's post go with the post.
import { facesOf, postOf } from "./figures.js";
import { add, dist, mapPoints, pathsOf, round, sub, times, toward } from "./shapes.js";
import { FOOT_M } from "./lengths.js";

/** Farthest that a fence may end from a post to be taken along with it, meters. */
const JOINED_M = 0.4;

/** Ends of fences that stand at a post of the gate: [{ index, path, point }]. */
export function joined(model, index, point) {
  const gate = model.features[index], unit = model.unit_m;
  if (gate?.properties?.role !== "gate" || pathsOf(gate.geometry)[0].points.length < 2) { return []; }
  const faces = facesOf(gate, unit), at = point === 0 ? 0 : 1, face = faces[at], out = toward(faces[1 - at], face) ?? [0, 0];
  const far = add(face, times(out, postOf(gate).width_m)), found = [];
  model.features.forEach((feature, i) => {
    if (feature?.properties?.role !== "fence") { return; }
    pathsOf(feature.geometry).forEach(({ points }, path) => {
      for (const end of new Set([0, points.length - 1])) {
        const xy = times(points[end], unit), near = Math.min(dist(xy, far), dist(xy, face));
        if (near < JOINED_M && near < dist(xy, faces[1 - at])) { found.push({ index: i, path, point: end }); }
      }
    });
  });
  return found;
}

/** The plan with points moved by `delta` (plan units). */
function shifted(model, plan, list, delta) {
  let out = plan;
  for (const { index, path, point } of list) {
    out = model.withFeature(index, mapPoints(out.features[index], (xy, i, j) => i === path && j === point ? add(xy, delta).map(round) : xy), out);
  }
  return out;
}

/** The plan with one point at `xy` (plan units), and what is joined to it taken along. */
export function movePoint(model, index, { path, point }, xy, links = joined(model, index, point), from = model.plan) {
  const old = pathsOf(from.features[index].geometry)[path].points[point];
  return shifted(model, from, [{ index, path, point }, ...links], sub(xy, old));
}

/** All points of a thing, and what is joined to it. */
export function pointsOf(model, index) {
  const all = [];
  pathsOf(model.features[index].geometry).forEach((p, path) => p.points.forEach((_, point) => all.push({ index, path, point })));
  return model.features[index].properties?.role === "gate" ? [...all, ...joined(model, index, 0), ...joined(model, index, 1)] : all;
}

/** The plan with a whole thing moved by `delta` (plan units). */
export function moveThing(model, index, delta, points = pointsOf(model, index), from = model.plan) {
  return shifted(model, from, points, delta);
}

/** The plan with the side that begins at `edge` made `length_m` long: its far end moves along it. */
export function setEdge(model, index, path, edge, length_m) {
  const points = pathsOf(model.features[index].geometry)[path].points, far = (edge + 1) % points.length;
  const way = toward(points[edge], points[far]) ?? [1, 0];
  return movePoint(model, index, { path, point: far }, add(points[edge], times(way, length_m / model.unit_m)));
}

/** The plan with the gate's opening made `length_m`, about what stays when it is widened. */
export function setOpening(model, index, length_m) {
  const gate = model.features[index], [first] = pathsOf(gate.geometry);
  if (first.points.length < 2) {
    return model.withFeature(index, { ...gate, properties: { ...gate.properties, width: length_m } });
  }
  const [a, b] = [first.points[0], first.points[first.points.length - 1]], way = toward(a, b) ?? [1, 0], more = length_m / model.unit_m - dist(a, b);
  const middle = movePoint(model, index, { path: 0, point: 0 }, sub(a, times(way, more / 2)));
  const links = joined(model, index, 1);
  return movePoint(model, index, { path: 0, point: first.points.length - 1 }, add(b, times(way, more / 2)), links, middle);
}

/** The step of the arrow keys, meters: usual, with Shift (fine), with Ctrl (coarse). */
export function arrowStep(model, event) {
  const metric = model.units === "m";
  return event.shiftKey ? (metric ? 0.01 : FOOT_M / 12) : event.ctrlKey || event.metaKey ? (metric ? 2 : 5 * FOOT_M) : metric ? 0.1 : FOOT_M / 2;
}

/** The direction of an arrow key, or null. */
export const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };
