// Requests to the program that runs on this machine, and whether it still answers.

/** A refusal of the program, with its message and whatever else it sent. */
export class Refused extends Error {
  constructor(status, body) {
    super(body?.message ?? `the program answered ${status}`);
    this.status = status;
    this.body = body ?? {};
  }
}

/** Tells when the program is lost and found: events "lost" and "found". */
export const link = new EventTarget();
let lost = false;

async function answer(request) {
  let response;
  try { response = await request; } catch (error) {
    if (error.name !== "AbortError") { isLost(); }
    throw error;
  }
  // Another run of the program has another address.
  if (response.status === 404 && response.headers.get("content-type")?.includes("json") !== true) { isLost(); }
  const body = await response.json().catch(() => null);
  if (!response.ok) { throw new Refused(response.status, body); }
  if (lost) { lost = false; link.dispatchEvent(new Event("found")); }
  return body;
}

function isLost() {
  if (lost) { return; }
  lost = true;
  link.dispatchEvent(new Event("lost"));
  const again = () => get("start").catch(() => { if (lost) { setTimeout(again, 1500); } });
  setTimeout(again, 1500);
}

/** @param {string} path */
export const get = (path) => answer(fetch(path, { cache: "no-store" }));

/**
 * @param {string} path
 * @param {unknown} body sent as JSON
 * @param {RequestInit} more
 */
export const post = (path, body, more = {}) => answer(fetch(path, { method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify(body), ...more }));
export const remove = (path, body) => answer(fetch(path, { method: "DELETE", headers: { "content-type": "application/json" }, body: JSON.stringify(body) }));
