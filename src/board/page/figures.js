// Shapes of each kind of thing, in meters, x to the right, y up, in a group that is scaled to the screen.
import { propertyLength } from "./lengths.js";
import { kindOf } from "./kinds.js";
import { add, boxOf, dist, dot, pathsOf, sub, times, toward } from "./shapes.js";

const SVG = "http://www.w3.org/2000/svg";
/** Meters by which a road that goes on is shown beyond its end. */
const ON_M = 60;

/** An SVG element. */
export function el(name, attributes = {}, ...children) {
  const node = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) { node.setAttribute(key, String(value)); }
  node.append(...children);
  return node;
}

const n = (value) => +value.toFixed(4);
/** Path data of a line in meters. */
export const line = (points, closed = false) => points.length ? `M${points.map(([x, y]) => `${n(x)} ${n(y)}`).join("L")}${closed ? "Z" : ""}` : "";
const circle = ([x, y], r, c) => el("circle", { cx: n(x), cy: n(y), r: n(r), class: c });
const path = (d, c, more = {}) => el("path", { d, class: c, ...more });

/**
 * The parts of a thing's picture.
 * @param {any} feature
 * @param {any[]} features all of the plan, for the side of a gate that faces the road
 * @param {number} unit_m
 * @returns {SVGElement[]}
 */
export function figure(feature, features, unit_m) {
  const p = feature.properties ?? {}, kind = kindOf(feature);
  const paths = pathsOf(feature.geometry).map((q) => ({ ...q, points: q.points.map((xy) => times(xy, unit_m)) }));
  if (p.role === "gate") { return gate(feature, features, unit_m); }
  const all = paths.filter((q) => q.points.length > 1).map((q) => line(q.points, q.closed)).join("");
  const area = paths.some((q) => q.closed);
  if (p.role === "road") {
    if (area) { return [path(all, "road-area", { "fill-rule": "evenodd" })]; }
    const width = propertyLength(p.width) ?? 6;
    const on = paths.flatMap((q) => goesOn(q.points, p.continues)).map((q) => line(q)).join("");
    return [path(on, "road-on", { "stroke-width": n(width) }), path(all, "road-edge", { "stroke-width": n(width + 0.16) }),
      path(all, "road-face", { "stroke-width": n(width) }), path(all, "road-middle")];
  }
  if (p.role === "drive") { return [path(all, "drive", { "fill-rule": "evenodd" })]; }
  if (p.role === "route") { return [path(all, "route"), path(all, "hit")]; }
  if (p.role === "boundary") { return [path(all, "boundary"), path(all, "hit")]; }
  if (p.role === "spot") {
    return paths.flatMap(({ points: [xy] }) => {
      const a = (90 - (Number(p.heading_deg) || 0)) * Math.PI / 180, tip = add(xy, times([Math.cos(a), Math.sin(a)], 2.2));
      return [circle(xy, 1.1, "spot"), path(line([add(xy, [-0.5, 0]), add(xy, [0.5, 0])]) + line([add(xy, [0, -0.5]), add(xy, [0, 0.5])]), "spot-mark"),
        ...(p.heading_deg === undefined || p.heading_deg === null ? [] : [path(line([xy, tip]), "spot-mark")]), circle(xy, 1.6, "hit-area")];
    });
  }
  const low = propertyLength(p.top) === 0 ? " low" : (propertyLength(p.bottom) ?? 0) > 0 ? " over" : "";
  if (p.role === "fence") {
    return [path(all, "thick fence-body", { "stroke-width": n(propertyLength(p.thickness) ?? 0.1016) }), path(all, "fence"), path(all, "hit")];
  }
  if (!area && paths.every((q) => q.points.length === 1)) {
    const r = propertyLength(p.radius) ?? 0.3;
    return paths.flatMap(({ points: [xy] }) => [...(kind.kind === "tree" ? [circle(xy, Math.max(r, 1.6), "crown")] : []), circle(xy, r, `solid${low}`), circle(xy, Math.max(r, 0.9), "hit-area")]);
  }
  if (!area) { return [path(all, `thick${low}`, { "stroke-width": n(propertyLength(p.thickness) ?? 0.1) }), path(all, `core${low}`), path(all, "hit")]; }
  return [path(all, `solid${low}`, { "fill-rule": "evenodd" })];
}

/** The pieces a road goes on by, beyond its ends. */
function goesOn(points, continues) {
  const out = [], last = points.length - 1;
  if (last < 1) { return out; }
  if (continues === "start" || continues === "both") { const t = toward(points[1], points[0]); if (t) { out.push([points[0], add(points[0], times(t, ON_M))]); } }
  if (continues === "end" || continues === "both") { const t = toward(points[last - 1], points[last]); if (t) { out.push([points[last], add(points[last], times(t, ON_M))]); } }
  return out;
}

/** Faces of a gate's posts in meters; null while it has none. */
export function facesOf(feature, unit_m) {
  const [first] = pathsOf(feature.geometry);
  if (!first?.points?.length || !Array.isArray(first.points[0])) { return null; }
  if (first.points.length > 1) { return [times(first.points[0], unit_m), times(first.points[first.points.length - 1], unit_m)]; }
  const width = propertyLength(feature.properties.width), bearing = Number(feature.properties.bearing);
  if (width === null || !Number.isFinite(bearing)) { return null; }
  const a = bearing * Math.PI / 180, along = times([Math.cos(a), -Math.sin(a)], width / 2), middle = times(first.points[0], unit_m);
  return [sub(middle, along), add(middle, along)];
}

/** Width and depth of a gate's posts, meters. */
export function postOf(feature) {
  const post = feature.properties?.post;
  const width = propertyLength(post && typeof post === "object" ? post.width : post) ?? 0.1524;
  return { width_m: width, depth_m: (post && typeof post === "object" ? propertyLength(post.depth) : null) ?? width };
}

/** The direction into the place: across the gate line, away from the nearest road. */
export function inward(faces, features, unit_m) {
  const along = toward(faces[0], faces[1]) ?? [1, 0], middle = times(add(faces[0], faces[1]), 0.5);
  let best = null;
  for (const road of features.filter((f) => f?.properties?.role === "road")) {
    const near = nearestOnPaths(middle, pathsOf(road.geometry), unit_m);
    if (near && (!best || near.distance_m < best.distance_m)) { best = near; }
  }
  const across = [-along[1], along[0]];
  return best && dot(sub(middle, best.xy), across) < 0 ? times(across, -1) : across;
}

/** The point of lines nearest to `xy` (meters), and the distance. */
export function nearestOnPaths(xy, paths, unit_m) {
  let best = null;
  for (const { points, closed } of paths) {
    const count = closed ? points.length : points.length - 1;
    for (let i = 0; i < count; i += 1) {
      const a = times(points[i], unit_m), b = times(points[(i + 1) % points.length], unit_m), d = sub(b, a);
      const t = Math.max(0, Math.min(1, dot(sub(xy, a), d) / Math.max(dot(d, d), 1e-12)));
      const q = add(a, times(d, t)), distance_m = dist(q, xy);
      if (!best || distance_m < best.distance_m) { best = { xy: q, distance_m }; }
    }
  }
  return best;
}

/** A gate: its opening, posts, leaves closed in line and open, and the arcs they swing through. */
function gate(feature, features, unit_m) {
  const faces = facesOf(feature, unit_m);
  if (!faces) { return pathsOf(feature.geometry).map((q) => circle(times(q.points[0], unit_m), 0.5, "solid")); }
  const p = feature.properties, into = inward(faces, features, unit_m), post = postOf(feature);
  // Left as seen coming in.
  const left_way = [-into[1], into[0]];
  const sorted = dot(sub(faces[0], faces[1]), left_way) > 0 ? { left: faces[0], right: faces[1] } : { left: faces[1], right: faces[0] };
  const width = dist(faces[0], faces[1]), out = [path(line(faces), "hit"), path(line(faces), "opening")];
  const angle = (Number(p.open_angle_deg) || 90) * Math.PI / 180, side = p.opens === "out" ? -1 : 1;
  const leaf = (pin, closed_way, length) => {
    const open = add(times(closed_way, Math.cos(angle)), times(into, side * Math.sin(angle)));
    const arc = Array.from({ length: 13 }, (_, i) => add(pin, times(add(times(closed_way, Math.cos(angle * i / 12)), times(into, side * Math.sin(angle * i / 12))), length)));
    return [path(line(arc), "swing"), path(line([pin, add(pin, times(open, length))]), "leaf")];
  };
  const leaves = p.leaves ?? "double", right_way = times(left_way, -1), hinge = p.hinge ?? "left";
  if (leaves === "double") { out.push(...leaf(sorted.left, right_way, width / 2), ...leaf(sorted.right, left_way, width / 2)); }
  if (leaves === "single") { out.push(...(hinge === "right" ? leaf(sorted.right, left_way, width) : leaf(sorted.left, right_way, width))); }
  if (leaves === "slide") {
    const [face, way] = hinge === "right" ? [sorted.right, right_way] : [sorted.left, left_way];
    const from = add(face, times(into, post.depth_m / 2 + 0.05));
    out.push(path(line([from, add(from, times(way, width))]), "leaf"));
  }
  for (const [face, way] of [[sorted.left, left_way], [sorted.right, right_way]]) {
    const half = times(into, post.depth_m / 2), far = add(face, times(way, post.width_m));
    out.push(path(line([add(face, half), add(far, half), sub(far, half), sub(face, half)], true), "post"));
  }
  return out;
}

/** Distance from the middle of the gate to the near edge of the nearest road drawn as a line, meters; null if there is none. */
export function setback(feature, features, unit_m) {
  const faces = facesOf(feature, unit_m);
  if (!faces) { return null; }
  const middle = times(add(faces[0], faces[1]), 0.5);
  let best = null;
  for (const road of features.filter((f) => f?.properties?.role === "road")) {
    const near = nearestOnPaths(middle, pathsOf(road.geometry), unit_m);
    const half = /Line/.test(road.geometry?.type) ? (propertyLength(road.properties.width) ?? 0) / 2 : 0;
    if (near && (!best || near.distance_m - half < best.distance_m)) {
      const t = toward(near.xy, middle);
      best = { distance_m: near.distance_m - half, from: t ? add(near.xy, times(t, half)) : near.xy, to: middle };
    }
  }
  return best && best.distance_m > 0 ? best : null;
}

export { boxOf };
