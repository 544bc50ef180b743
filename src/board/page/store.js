// Storage of the browser itself: pictures under the plan (IndexedDB) and copies of unsaved work (localStorage).

let opened = null;
function base() {
  opened ??= new Promise((done, fail) => {
    const request = indexedDB.open("planning-board", 1);
    request.onupgradeneeded = () => request.result.createObjectStore("pictures");
    request.onsuccess = () => done(request.result);
    request.onerror = () => fail(request.error);
  });
  return opened;
}

async function run(mode, act) {
  const db = await base();
  return new Promise((done, fail) => {
    const request = act(db.transaction("pictures", mode).objectStore("pictures"));
    request.onsuccess = () => done(request.result);
    request.onerror = () => fail(request.error);
  });
}

/** The picture kept for a plan: { blob, x_m, y_m, meters_per_pixel, turn_deg, fade, width, height }, or nothing. */
export const loadPicture = (name) => run("readonly", (store) => store.get(name)).catch(() => undefined);
export const savePicture = (name, picture) => run("readwrite", (store) => picture ? store.put(picture, name) : store.delete(name)).catch(() => undefined);

const KEY = "planning-board draft ";
/** A copy of unsaved work of one tab. */
export function keepCopy(tab, name, text, revision) {
  try { localStorage.setItem(KEY + tab, JSON.stringify({ name, text, revision, at: Date.now() })); } catch { /* full or refused: the program's draft remains */ }
}
export function dropCopy(tab) { try { localStorage.removeItem(KEY + tab); } catch { /* nothing kept */ } }

/** All copies: [{ tab, name, text, at }], newest first. */
export function copies() {
  const out = [];
  try {
    for (let i = 0; i < localStorage.length; i += 1) {
      const key = localStorage.key(i);
      if (key?.startsWith(KEY)) { try { out.push({ tab: key.slice(KEY.length), ...JSON.parse(localStorage.getItem(key)) }); } catch { /* not ours */ } }
    }
  } catch { /* no storage */ }
  return out.sort((a, b) => b.at - a.at);
}

/** The name of this tab: it stays when the page is loaded again, and no other living tab has it. */
export async function tabName() {
  let tab = null;
  try { tab = sessionStorage.getItem("planning-board tab"); } catch { /* none */ }
  if (tab && await taken(tab)) { tab = null; }
  tab ??= `${Date.now().toString(36)}${Math.floor(performance.now() * 1000).toString(36)}`;
  try { sessionStorage.setItem("planning-board tab", tab); } catch { /* none */ }
  hold(`tab ${tab}`);
  return tab;
}

const mine = new Set();
/** Holds a name as long as this page lives; whether it was free. */
export function hold(name) {
  if (!navigator.locks || mine.has(name)) { return Promise.resolve(true); }
  return new Promise((done) => {
    navigator.locks.request(`planning-board ${name}`, { ifAvailable: true }, (lock) => {
      if (lock) { mine.add(name); }
      done(Boolean(lock));
      return lock ? new Promise(() => {}) : undefined;
    });
  });
}

/** True if a tab of that name is alive. */
export async function taken(tab) {
  if (!navigator.locks) { return false; }
  const { held } = await navigator.locks.query();
  return held.some((lock) => lock.name === `planning-board tab ${tab}`);
}
