// Selecting, moving and reshaping marks. Live only in the move tool, so that no handle swallows a new stroke.
import { CLOSED, distance, distanceToOutline, encloses, midpoint, movedBy, onPhoto, outlineOf, withCorner, LEAST_POINTS, tidied, hasNoSize } from "./geometry.js";

const FINGER_REACH = 24;
const MOUSE_REACH = 12;
const HANDLE_SPACING = 30; // an outline's handles never stand closer than this on the screen
const MOVE_SLOP = 4;

/** Indices of the corners that get a handle, and how many neighbours follow each. */
function handleIndices(shape, view) {
  const corners = outlineOf(shape);
  if (shape.type !== "freehand") return { indices: corners.map((_, i) => i), reach: 0 };
  const indices = [];
  for (let i = 0; i < corners.length; i += 1) {
    const last = indices.at(-1);
    if (last === undefined || distance(view.toScreen(corners[i]), view.toScreen(corners[last])) >= HANDLE_SPACING) indices.push(i);
  }
  const reach = Math.max(0, Math.floor(corners.length / Math.max(1, indices.length) / 2) - 1);
  return { indices, reach };
}

export function handlesOf(shape, view, held) {
  const corners = outlineOf(shape);
  const { indices, reach } = handleIndices(shape, view);
  const list = indices.map((index) => ({ index, reach, point: corners[index], held: index === held }));
  if (shape.type !== "polyline" && shape.type !== "polygon") return list;
  const sides = CLOSED.has(shape.type) ? corners.length : corners.length - 1;
  for (let i = 0; i < sides; i += 1) {
    const a = corners[i];
    const b = corners[(i + 1) % corners.length];
    const roomy = distance(view.toScreen(a), view.toScreen(b)) >= HANDLE_SPACING * 2;
    if (roomy) list.push({ index: i + 1, reach: 0, point: midpoint(a, b), between: true, held: false });
  }
  return list;
}

function hitMark(desk, screen, reach) {
  const at = desk.view.toPhoto(screen);
  let best = null;
  let bestDistance = reach / desk.view.scale;
  for (const mark of desk.shown()) {
    const d = distanceToOutline(mark.shape, at);
    if (d <= bestDistance) {
      best = mark;
      bestDistance = d;
    }
  }
  return best ?? [...desk.shown()].reverse().find((mark) => encloses(mark.shape, at)) ?? null;
}

export function makeReshape(desk) {
  let press = null; // {screen, kind: "corner" | "mark" | "none", shape, index, reach, grab, moved}

  function nearestHandle(screen, reach) {
    const shape = desk.selectedMark()?.shape;
    if (!shape || desk.data.readonly) return null;
    const inReach = handlesOf(shape, desk.view, desk.corner)
      .map((handle) => ({ ...handle, away: distance(screen, desk.view.toScreen(handle.point)) + (handle.between ? 6 : 0) }))
      .filter((handle) => handle.away <= reach);
    return inReach.sort((a, b) => a.away - b.away)[0] ?? null;
  }

  return {
    /** True when the press is ours; false lets the view pan. */
    press(screen, byFinger) {
      const reach = byFinger ? FINGER_REACH : MOUSE_REACH;
      const handle = nearestHandle(screen, reach);
      if (handle) {
        let { shape } = desk.selectedMark();
        if (handle.between) {
          const points = [...shape.points.slice(0, handle.index), handle.point, ...shape.points.slice(handle.index)];
          shape = { ...shape, points };
        }
        const at = desk.view.toPhoto(screen);
        press = { screen, kind: "corner", shape, index: handle.index, reach: handle.reach, moved: false };
        press.grab = [handle.point[0] - at[0], handle.point[1] - at[1]];
        desk.corner = handle.between ? null : handle.index;
        desk.loupe.show(screen, handle.point);
        desk.redraw();
        return true;
      }
      const mark = hitMark(desk, screen, reach);
      const ours = mark !== null && mark.id === desk.selected && !desk.data.readonly;
      press = { screen, kind: ours ? "mark" : "none", hit: mark?.id ?? null, shape: mark?.shape, moved: false };
      return ours;
    },
    drag(screen) {
      if (!press || press.kind === "none") return;
      if (!press.moved && distance(screen, press.screen) < MOVE_SLOP) return;
      press.moved = true;
      const at = desk.view.toPhoto(screen);
      if (press.kind === "corner") {
        const target = onPhoto([at[0] + press.grab[0], at[1] + press.grab[1]], desk.view.size);
        desk.preview(withCorner(press.shape, press.index, target, press.reach));
        desk.loupe.show(screen, target);
      } else {
        const from = desk.view.toPhoto(press.screen);
        desk.preview(movedBy(press.shape, at[0] - from[0], at[1] - from[1], desk.view.size));
      }
    },
    release(screen) {
      if (!press) return;
      const { kind, moved, hit } = press;
      const still = distance(screen, press.screen) < MOVE_SLOP * 2;
      press = null;
      desk.loupe.hide();
      if (kind !== "none" && moved) desk.settlePreview(kind === "corner" ? "reshaped" : "moved");
      else if (kind !== "corner" && still) desk.select(hit);
      else desk.redraw();
    },
    abandonPress() {
      press = null;
      desk.loupe.hide();
      desk.preview(null);
    },
    /** Arrow keys: moves the held corner, or the whole mark. */
    nudge(dx, dy) {
      const mark = desk.selectedMark();
      if (!mark || desk.data.readonly) return null;
      if (desk.corner === null) {
        desk.changeShape(mark.id, movedBy(mark.shape, dx, dy, desk.view.size), `move ${mark.id}`);
        return outlineOf(desk.selectedMark().shape)[0];
      }
      const from = outlineOf(mark.shape)[desk.corner];
      const { reach } = handleIndices(mark.shape, desk.view);
      const to = onPhoto([from[0] + dx, from[1] + dy], desk.view.size);
      const shape = withCorner(mark.shape, desk.corner, to, reach);
      if (hasNoSize(shape)) return from;
      desk.changeShape(mark.id, shape, `corner ${mark.id} ${desk.corner}`);
      return to;
    },
    /** Enter: takes the next corner in hand. */
    nextCorner() {
      const mark = desk.selectedMark();
      if (!mark || desk.data.readonly) return;
      const { indices } = handleIndices(mark.shape, desk.view);
      const at = indices.indexOf(desk.corner);
      desk.corner = indices[(at + 1) % indices.length];
      desk.view.reveal(outlineOf(mark.shape)[desk.corner]);
      desk.say(`Corner ${((at + 1) % indices.length) + 1} of ${indices.length}. Arrows move it.`);
      desk.redraw();
    },
    /** Delete with a corner in hand removes that corner where the shape can spare it. */
    removeCorner() {
      const mark = desk.selectedMark();
      const spare = mark && ["polyline", "polygon"].includes(mark.shape.type) && mark.shape.points.length > LEAST_POINTS[mark.shape.type];
      if (!spare || desk.corner === null) return false;
      const points = mark.shape.points.filter((_, i) => i !== desk.corner);
      desk.corner = null;
      desk.changeShape(mark.id, tidied({ ...mark.shape, points }));
      desk.say("Corner removed.");
      return true;
    },
  };
}
