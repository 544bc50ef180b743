// The kinds of things one can draw: what each is called, its shape, its first properties and the fields a person may fill in.

/**
 * @typedef {{ name: string, words: string, path?: string[], hint?: string, choices?: [string, string][], number?: boolean, text?: boolean, empty?: string }} Field
 * @typedef {{ kind: string, title: string, role: string, shape: "line" | "area" | "point" | "box" | "gate", about: string,
 *   properties: Record<string, unknown>, fields: Field[], mark: string }} Kind
 */

const TOP = { name: "top", words: "Height of its top", hint: "above the ground; 0 for what is in the ground", empty: "higher than any vehicle" };
const BOTTOM = { name: "bottom", words: "Height of its underside", hint: "0 if it stands on the ground", empty: "0" };
const RADIUS = { name: "radius", words: "Radius", hint: "half of its width" };
const THICKNESS = { name: "thickness", words: "Thickness", hint: "from one side to the other" };

/** @type {Kind[]} */
export const KINDS = [
  { kind: "road", title: "Road", role: "road", shape: "line", about: "Its middle line, from one end to the other.", mark: "M2 8h20M2 16h20M4 12h4M10 12h4M16 12h4",
    properties: { width: "20 ft", continues: "both" }, fields: [
      { name: "width", words: "Width of the pavement", hint: "edge to edge, where cars drive" },
      { name: "continues", words: "Goes on beyond the drawing", choices: [["none", "at neither end"], ["start", "at its first end"], ["end", "at its last end"], ["both", "at both ends"]], empty: "none" },
      { name: "use", words: "Part a vehicle may swing into", choices: [["full", "the whole road"], ["own-lane", "its own half"]], empty: "full" },
      { name: "speed", words: "Speed of its traffic", text: true, hint: "like 30 mph; for what a driver sees on leaving" }] },
  { kind: "gate", title: "Gate", role: "gate", shape: "gate", about: "From the inner face of one post to the inner face of the other.", mark: "M3 8v10M21 8v10M3 13l7-6M21 13l-7-6",
    properties: { leaves: "double", opens: "in", post: "6 in" }, fields: [
      { name: "width", words: "Opening", hint: "inner face to inner face of the posts" },
      { name: "leaves", words: "Leaves", choices: [["double", "two that swing"], ["single", "one that swings"], ["slide", "one that slides"], ["none", "none"]], empty: "double" },
      { name: "opens", words: "Swings", choices: [["in", "in, away from the road"], ["out", "out, toward the road"]], empty: "in" },
      { name: "hinge", words: "Hinged on, or slides to", choices: [["left", "the left, coming in"], ["right", "the right, coming in"]], empty: "left" },
      { name: "open_angle_deg", words: "Opens to, degrees", number: true, empty: "90" },
      { name: "post", words: "Post, along the gate", path: ["width"], hint: "its side, if it is square", empty: "6 in" },
      { name: "post", words: "Post, depth", path: ["depth"], hint: "across the gate line", empty: "as its side" },
      { name: "anchor", words: "If it must be wider, what stays", choices: [["center", "the middle"], ["left", "the left post"], ["right", "the right post"], ["free", "nothing"]], empty: "center" },
      { name: "top", words: "Top of the leaves", empty: "5 ft" }, { name: "bottom", words: "Underside of the leaves", empty: "2 in" },
      { name: "thickness", words: "Thickness of a leaf", empty: "2 in" }] },
  { kind: "fence", title: "Fence", role: "fence", shape: "line", about: "From the post along the fence, bend by bend.", mark: "M2 10h20M2 15h20M5 6v13M12 6v13M19 6v13",
    properties: { top: "5 ft" }, fields: [{ ...TOP, empty: "5 ft" }, { ...THICKNESS, empty: "4 in" }] },
  { kind: "drive", title: "Driveway", role: "drive", shape: "area", about: "Ground that tires may use: driveway, apron, yard. Corner by corner.", mark: "M4 21l3-18h10l3 18z",
    properties: {}, fields: [] },
  { kind: "house", title: "House", role: "obstacle", shape: "area", about: "Its outline, corner by corner.", mark: "M3 11l9-7 9 7v9H3z",
    properties: { top: "20 ft" }, fields: [TOP, BOTTOM] },
  { kind: "wall", title: "Wall", role: "obstacle", shape: "line", about: "Its middle line, bend by bend.", mark: "M2 7h20v10H2zM2 12h20M8 7v5M15 12v5",
    properties: { thickness: "8 in", top: "6 ft" }, fields: [THICKNESS, TOP, BOTTOM] },
  { kind: "tree", title: "Tree", role: "obstacle", shape: "point", about: "The middle of its trunk.", mark: "M12 21v-7M12 3a6 6 0 0 0-2 11h4a6 6 0 0 0-2-11z",
    properties: { radius: "1 ft", top: "40 ft" }, fields: [RADIUS, TOP, BOTTOM] },
  { kind: "limb", title: "Low limb", role: "obstacle", shape: "point", about: "The middle of what hangs over.", mark: "M2 8c6-3 14-3 20 0M8 7v5M15 7v7",
    properties: { radius: "4 ft", bottom: "10 ft", top: "30 ft" }, fields: [RADIUS, BOTTOM, TOP] },
  { kind: "pole", title: "Pole", role: "obstacle", shape: "point", about: "The middle of the pole.", mark: "M12 2v20M7 6h10",
    properties: { radius: "6 in", top: "30 ft" }, fields: [RADIUS, TOP, BOTTOM] },
  { kind: "ditch", title: "Ditch", role: "obstacle", shape: "line", about: "Its middle line. Only tires have to stay out of it.", mark: "M2 8c4 9 6 9 10 9s6 0 10-9",
    properties: { thickness: "4 ft", top: 0 }, fields: [{ ...THICKNESS, words: "Width", hint: "edge to edge" }, TOP] },
  { kind: "mailbox", title: "Mailbox", role: "obstacle", shape: "point", about: "The middle of its post.", mark: "M5 12V9a3 3 0 0 1 3-3h8a3 3 0 0 1 3 3v3zM12 12v9",
    properties: { radius: "8 in", top: "4 ft" }, fields: [RADIUS, TOP, BOTTOM] },
  { kind: "car", title: "Parked car", role: "obstacle", shape: "box", about: "The middle of the car; then turn it.", mark: "M5 4h14v16H5zM7 9h10M7 16h10",
    properties: { top: "5 ft" }, fields: [TOP] },
  { kind: "other", title: "Other", role: "obstacle", shape: "area", about: "Its outline, corner by corner.", mark: "M5 6l8-3 7 8-6 10-9-6z",
    properties: { top: "3 ft" }, fields: [TOP, BOTTOM] },
  { kind: "spot", title: "Spot", role: "spot", shape: "point", about: "Where a vehicle must end up standing.", mark: "M12 4v16M4 12h16M12 7a5 5 0 1 0 .1 0",
    properties: {}, fields: [{ name: "heading_deg", words: "Facing, degrees from up, clockwise", number: true, empty: "any way" }] },
];

/** First words of labels that tell the kind of an obstacle. */
const WORDS = { house: "house|garage|barn|shop|shed|building", wall: "wall|hedge|bank|curb", tree: "tree|oak|maple|pine|spruce|elm", limb: "low limb|limb|branch",
  pole: "pole|post|sign", ditch: "ditch", mailbox: "mailbox", car: "parked|car" };

/**
 * The kind of a thing, by its role, its label and its shape.
 * @param {any} feature
 * @returns {Kind}
 */
export function kindOf(feature) {
  const of = (kind) => KINDS.find((k) => k.kind === kind);
  const role = feature?.properties?.role;
  // It is shown and kept as it is, with nothing to fill in but its name.
  if (role === "boundary") { return { ...of("other"), title: "Boundary", role, shape: "line", fields: [] }; }
  if (role !== "obstacle") { return KINDS.find((k) => k.role === role) ?? of("other"); }
  const label = String(feature.properties.label ?? "").toLowerCase();
  for (const [kind, words] of Object.entries(WORDS)) {
    if (new RegExp(`\\b(?:${words})\\b`).test(label)) { return fits(of(kind), feature) ?? generic(feature); }
  }
  return generic(feature);
}

/** An obstacle of no known name has the fields of its shape. */
function generic(feature) {
  const type = feature.geometry?.type ?? "";
  const shape = /Point/.test(type) ? [RADIUS] : /Line/.test(type) ? [THICKNESS] : [];
  return { ...KINDS.find((k) => k.kind === "other"), fields: [...shape, TOP, BOTTOM] };
}

/** The kind, with the fields of the shape it is drawn in. */
function fits(kind, feature) {
  const fields = generic(feature).fields;
  return { ...kind, fields: fields.map((field) => kind.fields.find((f) => f.name === field.name) ?? field) };
}

/** The name of a thing on screen: its label, or its kind. */
export function nameOf(feature) {
  return String(feature?.properties?.label || kindOf(feature).title.toLowerCase());
}
