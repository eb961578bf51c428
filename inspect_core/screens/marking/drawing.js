// Drawing a new shape by pointer or by key. Screen points are CSS pixels of the stage, the rest photo pixels.
import { boundsOf, distance, hasNoSize, LEAST_POINTS, onPhoto, rounded, thinnedTo, tidied } from "./geometry.js";

const TAP_SLOP = 7; // a press that wanders less is a tap
const JOIN_REACH = 18; // a tap this near the last (or first) point ends the shape
const OUTLINE_MOST = 160;
const DRAGGED = new Set(["line", "box"]);

export const TOOL_NAMES = { line: "line", polyline: "bent line", box: "box", polygon: "area", freehand: "outline" };

export function makeDrawing(desk, type) {
  let points = []; // placed for good
  let hover = null; // where the next point would be
  let pressed = null; // screen point of a press that goes on
  let began = false; // this press placed the first point
  let tracing = false; // outline being drawn by keys

  const toPhoto = (screen) => onPhoto(desk.view.toPhoto(screen), desk.view.size);
  const near = (screen, point) => point && distance(screen, desk.view.toScreen(point)) <= JOIN_REACH;

  function finish(all) {
    const shape = tidied({ type, points: rounded(all) });
    points = [];
    hover = null;
    tracing = false;
    if (shape.points.length < LEAST_POINTS[type] || hasNoSize(shape)) {
      desk.say("Too small: nothing was added.");
      desk.redraw();
      return;
    }
    desk.addMark(shape);
  }

  function finishOutline(all) {
    const b = boundsOf(all);
    if (Math.max(b.right - b.left, b.bottom - b.top) * desk.view.scale < 6 && !tracing) {
      points = [];
      hover = null;
      desk.say("Too small: draw around it without lifting.");
      desk.redraw();
      return;
    }
    finish(thinnedTo(all, Math.max(0.5, 0.6 / desk.view.scale), OUTLINE_MOST));
  }

  function place(point, closing) {
    if (closing && points.length >= LEAST_POINTS[type]) {
      finish(points);
      return;
    }
    if (!closing) points.push(point);
    hover = point;
    desk.say(hint());
    desk.redraw();
  }

  function hint() {
    if (DRAGGED.has(type)) return type === "line" ? "First end placed. Place the other end." : "First corner placed. Place the opposite corner.";
    const lack = LEAST_POINTS[type] - points.length;
    return lack > 0 ? `${points.length} placed, ${lack} more at least.` : `${points.length} placed. Finish, or place more.`;
  }

  return {
    type,
    get active() {
      return points.length > 0 || pressed !== null;
    },
    get canFinish() {
      return tracing ? points.length >= 3 : !DRAGGED.has(type) && type !== "freehand" && points.length >= LEAST_POINTS[type];
    },
    get waiting() {
      return points.length > 0 && (pressed === null || !DRAGGED.has(type)) && (type !== "freehand" || tracing);
    },
    shape() {
      const all = hover && type !== "freehand" ? [...points, hover] : points;
      return { type: all.length === 2 && type === "polygon" ? "polyline" : type, points: all };
    },
    placed: () => (type === "freehand" ? points.slice(0, 1) : points),

    press(screen) {
      const point = toPhoto(screen);
      pressed = screen;
      began = points.length === 0;
      hover = point;
      if (type === "freehand") {
        points = [point];
        tracing = false;
      } else if (DRAGGED.has(type) && began) points = [point];
      desk.loupe.show(screen, point);
      desk.redraw();
    },
    drag(screen, all) {
      if (pressed === null) return;
      if (type === "freehand") points.push(...all.map(toPhoto));
      hover = toPhoto(screen);
      desk.loupe.show(screen, hover);
      desk.redraw();
    },
    release(screen) {
      if (pressed === null) return;
      const point = toPhoto(screen);
      const still = distance(pressed, screen) < TAP_SLOP;
      pressed = null;
      desk.loupe.hide();
      if (type === "freehand") finishOutline(points);
      else if (DRAGGED.has(type)) {
        if (began && still) {
          hover = points[0];
          desk.say(hint());
          desk.redraw();
        } else finish([points[0], point]);
      } else place(point, near(screen, points.at(-1)) || (type === "polygon" && points.length > 2 && near(screen, points[0])));
    },
    /** Two fingers came down, or the press was lost: what was placed before this press stays. */
    abandonPress() {
      if (pressed === null) return;
      pressed = null;
      if (type === "freehand" || (DRAGGED.has(type) && began)) points = [];
      hover = points.at(-1) ?? null;
      desk.loupe.hide();
      desk.redraw();
    },
    /** The pointer or crosshair moves with nothing pressed. */
    point(at) {
      if (!points.length || pressed !== null) return;
      if (tracing) points.push(at);
      hover = at;
      desk.redraw();
    },
    /** Enter at the crosshair. */
    enter(at) {
      if (type === "freehand") {
        if (tracing) finishOutline(points);
        else {
          tracing = true;
          points = [at];
          desk.say("Outline begun. Trace it with the arrow keys, then press Enter.");
          desk.redraw();
        }
      } else if (DRAGGED.has(type)) {
        if (points.length) finish([points[0], at]);
        else place(at, false);
      } else {
        const last = points.at(-1);
        place(at, Boolean(last) && distance(last, at) < 0.5);
      }
    },
    finish() {
      if (type === "freehand") finishOutline(points);
      else if (points.length >= LEAST_POINTS[type]) finish(points);
    },
    /** Undo while drawing takes back the last point only. */
    takeBack() {
      if (!points.length) return false;
      if (type === "freehand") points = [];
      else points.pop();
      hover = points.at(-1) ?? null;
      tracing = tracing && points.length > 0;
      desk.redraw();
      return true;
    },
  };
}
