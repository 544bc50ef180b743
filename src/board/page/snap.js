// Where a dragged point wants to be: on another point, square or parallel to what is drawn, on a round measure.
import { add, dist, dot, edgesOf, pathsOf, sub, times, toward } from "./shapes.js";
import { FOOT_M } from "./lengths.js";
import { facesOf, postOf } from "./figures.js";

/** Pixels within which a point is caught. */
const REACH = 9;

/** The round measure of a zoom, meters: what a pixel or two are, in whole inches or centimeters. */
export function roundStep(model, scale) {
  const steps = model.units === "m" ? [0.01, 0.05, 0.1, 0.25, 0.5, 1, 2] : [FOOT_M / 12, FOOT_M / 4, FOOT_M / 2, FOOT_M, 2 * FOOT_M, 5 * FOOT_M];
  return steps.find((s) => s * scale >= 1.5) ?? steps[steps.length - 1];
}

/** Directions of what is drawn, without those of `except`. */
function directions(model, except) {
  const list = [[1, 0]];
  model.features.forEach((f, i) => {
    if (i === except || !f?.geometry) { return; }
    for (const [a, b] of edgesOf(f).slice(0, 60)) { const t = toward(a, b); if (t) { list.push(t); } }
  });
  const out = [];
  for (const t of list.flatMap((d) => [d, [-d[1], d[0]]])) {
    if (!out.some((o) => Math.abs(o[0] * t[1] - o[1] * t[0]) < 0.002)) { out.push(t); }
    if (out.length > 60) { break; }
  }
  return out;
}

/** Points of a thing that another may be joined to, meters: of a gate the outer sides of its posts, where a fence begins. */
function corners(feature, unit) {
  const faces = feature.properties?.role === "gate" ? facesOf(feature, unit) : null, along = faces && toward(...faces);
  if (!along) { return pathsOf(feature.geometry).flatMap((p) => p.points.map((xy) => times(xy, unit))); }
  const out = times(along, postOf(feature).width_m);
  return [sub(faces[0], out), add(faces[1], out)];
}

/**
 * The place for a point.
 * @param {import("./model.js").Model} model
 * @param {number} scale pixels for a meter
 * @param {[number, number]} raw where the pointer is, meters
 * @param {{ except: number, neighbors: [number, number][], own: [number, number][], skip: { index: number }[] }} about the feature that the
 *   point belongs to, the points next to it and directions of its other sides (meters), features that move along
 * @returns {{ xy: [number, number], guides: [[number, number], [number, number]][] }} meters
 */
export function snap(model, scale, raw, { except, neighbors, own = [], skip = [] }) {
  const reach = REACH / scale, unit = model.unit_m, step = roundStep(model, scale), along = new Set(skip.map((s) => s.index));
  for (const [i, feature] of model.features.entries()) {
    if (i === except || along.has(i) || !feature?.geometry) { continue; }
    for (const xy of corners(feature, unit)) {
      if (dist(xy, raw) < reach) { return { xy, guides: [] }; }
    }
  }
  const ways = [...own.flatMap((t) => [t, [-t[1], t[0]]]), ...directions(model, except)];
  const lines = [];
  for (const from of neighbors) {
    let best = null;
    for (const way of ways) {
      const d = sub(raw, from), off = Math.abs(d[0] * way[1] - d[1] * way[0]);
      if (off < reach && dist(raw, from) > reach && (!best || off < best.off - 1e-9)) { best = { off, from, way }; }
    }
    if (best) { lines.push(best); }
  }
  const rounded = (v) => Math.round(v / step) * step;
  if (lines.length > 1) {
    const [p, q] = lines, cross = p.way[0] * q.way[1] - p.way[1] * q.way[0];
    if (Math.abs(cross) > 0.05) {
      const d = sub(q.from, p.from), t = (d[0] * q.way[1] - d[1] * q.way[0]) / cross, xy = add(p.from, times(p.way, t));
      if (dist(xy, raw) < reach * 2) { return { xy, guides: [[p.from, xy], [q.from, xy]] }; }
    }
  }
  if (lines.length) {
    const { from, way } = lines[0], xy = add(from, times(way, rounded(dot(sub(raw, from), way))));
    return { xy, guides: [[from, xy]] };
  }
  return { xy: raw.map(rounded), guides: [] };
}
