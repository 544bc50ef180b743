// Small helpers for the page: elements by words, speech for screen readers, questions in a dialog.

/**
 * An HTML element. Attributes with the name of an event (onclick) are listeners; children are elements or text.
 * @param {string} name
 * @param {Record<string, any>} attributes
 * @param {...(Node | string | null | false | undefined)} children
 */
export function h(name, attributes = {}, ...children) {
  const node = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) {
    if (key.startsWith("on")) { node.addEventListener(key.slice(2), value); } else if (value === true) { node.setAttribute(key, ""); } else if (value !== false && value !== null && value !== undefined) { node.setAttribute(key, String(value)); }
  }
  node.append(...children.filter((c) => c !== null && c !== undefined && c !== false));
  return node;
}

export const $ = (id) => document.getElementById(id);

let waiting = 0;
/** Speaks to a screen reader; of what comes in quick order the last. */
export function say(text) {
  clearTimeout(waiting);
  waiting = setTimeout(() => { $("said").textContent = text; }, 120);
}

/** A message at the top of the page with buttons: [[words, act], ...]. A message of the same kind takes its place; null takes it away. */
export function notice(kind, text, buttons = [], close = "Close") {
  document.querySelector(`#notices [data-kind="${kind}"]`)?.remove();
  if (!text) { return; }
  const box = h("div", { class: "notice", "data-kind": kind, role: "status" }, h("p", {}, text));
  for (const [words, act] of [...buttons, [close, () => {}]]) {
    box.append(h("button", { type: "button", onclick: () => { const had = box.contains(document.activeElement); box.remove(); if (had) { $("board").focus({ preventScroll: true }); } act(); } }, words));
  }
  $("notices").append(box);
}

/** A question in a dialog; the number of the button pressed, or -1. */
export function ask(title, text, buttons) {
  return new Promise((done) => {
    const dialog = h("dialog", { class: "ask", "aria-labelledby": "ask-title" }, h("h2", { id: "ask-title" }, title), h("p", {}, text),
      h("div", { class: "row" }, ...buttons.map((words, i) => h("button", { type: "button", onclick: () => dialog.close(String(i)) }, words))));
    dialog.addEventListener("close", () => { dialog.remove(); done(dialog.returnValue === "" ? -1 : +dialog.returnValue); });
    document.body.append(dialog);
    dialog.showModal();
  });
}

/** The side view alone of a vehicle's picture, for a card; the whole where it has no such part. */
export function sideView(svg) {
  const [, width, height, x, y] = [...svg.matchAll(/<svg height="([\d.]+)" width="([\d.]+)" x="([\d.]+)" y="([\d.]+)">/g)].map(([, h2, w2, x2, y2]) => [0, w2, h2, x2, y2]).at(-1) ?? [];
  return width ? svg.replace(/<svg[^>]*>/, (head) => head.replace(/ (?:viewBox|width|height|style)="[^"]*"/g, "").replace("<svg", `<svg viewBox="${x} ${y} ${width} ${height}" width="${width}" height="${height}"`)) : svg;
}

const pictures = new Map();
/** A picture from SVG text, as an image that can do nothing but be seen. */
export function picture(svg, alt, c = "picture") {
  if (!pictures.has(svg)) { pictures.set(svg, URL.createObjectURL(new Blob([svg], { type: "image/svg+xml" }))); }
  return h("img", { src: pictures.get(svg), alt, class: c, loading: "lazy" });
}

/** Saves text as a file of the browser's downloads. */
export function download(name, text, type = "application/geo+json") {
  const href = URL.createObjectURL(new Blob([text], { type }));
  const link = h("a", { href, download: name });
  document.body.append(link);
  link.click();
  link.remove();
  setTimeout(() => URL.revokeObjectURL(href), 5000);
}

/** Runs `act` once nothing has called for `ms` milliseconds. */
export function later(act, ms) {
  let timer = 0;
  return (...args) => { clearTimeout(timer); timer = setTimeout(() => act(...args), ms); };
}
