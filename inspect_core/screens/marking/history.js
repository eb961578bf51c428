// Undo and redo. A step is a whole list of marks; marks are never changed in place, so steps share them.

const MOST_STEPS = 200;
const MERGE_MS = 1000;

export function makeHistory(marks) {
  let past = [];
  let future = [];
  let present = marks;
  let lastKind = null;
  let lastTime = 0;
  return {
    get marks() {
      return present;
    },
    get canUndo() {
      return past.length > 0;
    },
    get canRedo() {
      return future.length > 0;
    },
    /** `kind` joins quick steps of one sort, such as arrow presses on one mark, into a single step. */
    push(next, kind = null, now = Date.now()) {
      const joins = kind !== null && kind === lastKind && now - lastTime < MERGE_MS;
      if (!joins) past = [...past, present].slice(-MOST_STEPS);
      present = next;
      future = [];
      lastKind = kind;
      lastTime = now;
    },
    undo() {
      if (!past.length) return false;
      future = [present, ...future];
      present = past[past.length - 1];
      past = past.slice(0, -1);
      lastKind = null;
      return true;
    },
    redo() {
      if (!future.length) return false;
      past = [...past, present];
      [present, ...future] = future;
      lastKind = null;
      return true;
    },
    restart(next) {
      past = [];
      future = [];
      present = next;
      lastKind = null;
    },
  };
}
