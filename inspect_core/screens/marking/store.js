// A copy of the marks on this device, for the seconds between a stroke and the server having it.

const STORE_PREFIX = "bartack.marks.";
const KEEP_MS = 7 * 24 * 3600 * 1000;
const memoryStore = new Map(); // where the browser forbids storage, at least a remount loses nothing

function readRaw(name) {
  try {
    return globalThis.localStorage.getItem(name) ?? memoryStore.get(name) ?? null;
  } catch {
    return memoryStore.get(name) ?? null;
  }
}

export function saveCopy(photoId, copy) {
  const name = STORE_PREFIX + photoId;
  const text = JSON.stringify({ ...copy, saved: Date.now() });
  memoryStore.set(name, text);
  try {
    globalThis.localStorage.setItem(name, text);
  } catch {
    // Full or forbidden: the copy in memory stays, and the server gets the marks anyway.
  }
}

export function dropCopy(photoId) {
  const name = STORE_PREFIX + photoId;
  memoryStore.delete(name);
  try {
    globalThis.localStorage.removeItem(name);
  } catch {
    // Nothing was stored there.
  }
}

function looksLikeMark(mark) {
  return (
    mark !== null &&
    typeof mark === "object" &&
    ["id", "component", "category", "note"].every((name) => typeof mark[name] === "string") &&
    typeof mark.shape?.type === "string" &&
    Array.isArray(mark.shape.points) &&
    mark.shape.points.every((p) => Array.isArray(p) && p.length === 2 && p.every(Number.isFinite))
  );
}

/** `{draft, rev, marks}` or null. Damaged and old copies are dropped. */
export function loadCopy(photoId) {
  const text = readRaw(STORE_PREFIX + photoId);
  if (text === null) return null;
  try {
    const copy = JSON.parse(text);
    const good = Number.isInteger(copy.rev) && Array.isArray(copy.marks) && copy.marks.every(looksLikeMark);
    if (good && Date.now() - copy.saved < KEEP_MS) return copy;
  } catch {
    // Falls through: a copy that cannot be read is of no use.
  }
  dropCopy(photoId);
  return null;
}
