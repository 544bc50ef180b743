// Points of a plan's features, flat and with their place: reading, moving, adding and removing them. Plane drawing geometry only.

/** @typedef {[number, number]} Xy */
/** @typedef {{ points: Xy[], closed: boolean }} Path a line, a ring without its repeated last point, or one point */

/**
 * The lines of a geometry, in plan units.
 * @param {any} geometry
 * @returns {Path[]}
 */
export function pathsOf(geometry) {
  const c = geometry?.coordinates;
  const ring = (r) => ({ points: r.slice(0, -1), closed: true });
  switch (geometry?.type) {
    case "Point": return [{ points: [c], closed: false }];
    case "MultiPoint": return c.map((p) => ({ points: [p], closed: false }));
    case "LineString": return [{ points: c, closed: false }];
    case "MultiLineString": return c.map((points) => ({ points, closed: false }));
    case "Polygon": return c.map(ring);
    case "MultiPolygon": return c.flat().map(ring);
    default: return [];
  }
}

/**
 * The geometry with other lines in the places of the old ones.
 * @param {any} geometry
 * @param {Path[]} paths
 */
export function withPaths(geometry, paths) {
  const ring = (path) => [...path.points, path.points[0]];
  switch (geometry.type) {
    case "Point": return { ...geometry, coordinates: paths[0].points[0] };
    case "MultiPoint": return { ...geometry, coordinates: paths.map((p) => p.points[0]) };
    case "LineString": return { ...geometry, coordinates: paths[0].points };
    case "MultiLineString": return { ...geometry, coordinates: paths.map((p) => p.points) };
    case "Polygon": return { ...geometry, coordinates: paths.map(ring) };
    case "MultiPolygon": {
      let at = 0;
      return { ...geometry, coordinates: geometry.coordinates.map((polygon) => polygon.map(() => ring(paths[at++]))) };
    }
    default: return geometry;
  }
}

/** Points that a path must keep. */
export const least = (path) => path.closed ? 3 : path.points.length > 1 ? 2 : 1;

/**
 * The feature with each point moved by `to`.
 * @param {any} feature
 * @param {(xy: Xy, path: number, point: number) => Xy} to
 */
export function mapPoints(feature, to) {
  const paths = pathsOf(feature.geometry).map((path, i) => ({ ...path, points: path.points.map((xy, j) => keepRest(xy, to(xy, i, j))) }));
  return { ...feature, geometry: withPaths(feature.geometry, paths) };
}

/** A third coordinate stays. */
const keepRest = (old, xy) => old.length > 2 ? [...xy, ...old.slice(2)] : xy;

/** The feature with a point put in before `point` of a path. */
export function insertPoint(feature, path, point, xy) {
  const paths = pathsOf(feature.geometry).map((p, i) => i === path ? { ...p, points: [...p.points.slice(0, point), xy, ...p.points.slice(point)] } : p);
  return { ...feature, geometry: withPaths(feature.geometry, paths) };
}

/** The feature without a point; null if it has none to spare. */
export function removePoint(feature, path, point) {
  const paths = pathsOf(feature.geometry);
  if (paths[path].points.length <= least(paths[path])) { return null; }
  return { ...feature, geometry: withPaths(feature.geometry, paths.map((p, i) => i === path ? { ...p, points: p.points.filter((_, j) => j !== point) } : p)) };
}

/** The feature turned by degrees counterclockwise about its middle. */
export function turned(feature, degrees) {
  const [mx, my] = middle(feature), a = degrees * Math.PI / 180, c = Math.cos(a), s = Math.sin(a);
  return mapPoints(feature, ([x, y]) => [round(mx + c * (x - mx) - s * (y - my)), round(my + s * (x - mx) + c * (y - my))]);
}

/** Middle of a feature's box, in plan units. */
export function middle(feature) {
  const box = boxOf([feature]);
  return box ? [(box[0] + box[2]) / 2, (box[1] + box[3]) / 2] : [0, 0];
}

/** Box around features: [left, bottom, right, top]; null if they have no points. */
export function boxOf(features) {
  let box = null;
  for (const feature of features) {
    for (const path of pathsOf(feature?.geometry)) {
      for (const [x, y] of path.points) {
        box = box ? [Math.min(box[0], x), Math.min(box[1], y), Math.max(box[2], x), Math.max(box[3], y)] : [x, y, x, y];
      }
    }
  }
  return box;
}

/** Coordinates are written to a ten-thousandth of a foot or meter. */
export const round = (value) => Math.round(value * 1e4) / 1e4 + 0;
export const add = (a, b) => [a[0] + b[0], a[1] + b[1]];
export const sub = (a, b) => [a[0] - b[0], a[1] - b[1]];
export const times = (a, k) => [a[0] * k, a[1] * k];
export const dot = (a, b) => a[0] * b[0] + a[1] * b[1];
export const dist = (a, b) => Math.hypot(a[0] - b[0], a[1] - b[1]);
/** Direction from `a` to `b`; null if they are one point. */
export function toward(a, b) {
  const d = dist(a, b);
  return d > 1e-9 ? times(sub(b, a), 1 / d) : null;
}

/** The two sides of each path: [from, to, path, index of from]. */
export function edgesOf(feature) {
  const edges = [];
  pathsOf(feature?.geometry).forEach((path, i) => {
    const n = path.points.length, count = path.closed ? n : n - 1;
    for (let j = 0; j < count; j += 1) { edges.push([path.points[j], path.points[(j + 1) % n], i, j]); }
  });
  return edges;
}
