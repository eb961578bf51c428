// Everything the pointer can do, by keys. They work while the photo has the focus, never elsewhere on the page.
import { onPhoto } from "./geometry.js";

const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
const STEP_ON_SCREEN = 10;
const LARGE_STEP_ON_SCREEN = 50;
const KEY_ZOOM = 1.4;

/** Tools in the order of their number keys. */
export const TOOL_KEYS = ["move", "line", "polyline", "box", "polygon", "freehand", "pan"];

export const KEY_HELP = [
  ["1 … 7", "choose a tool, in the order of the buttons"],
  ["Arrows", "move the crosshair, or the chosen mark or corner (Shift: far, Ctrl or Alt: one pixel)"],
  ["Enter", "place a point; once more in the same place to finish; with the move tool: take the next corner"],
  ["Escape", "cancel the shape, let go of the corner or the mark"],
  ["Tab", "next mark, with Shift the one before; after the last one on to the next button"],
  ["Delete", "delete the chosen corner or mark"],
  ["Ctrl+Z, Ctrl+Y", "undo, redo"],
  ["+ − 0", "closer, farther, whole photo"],
  ["Space and drag", "pan; the wheel zooms"],
  ["Two fingers", "zoom and pan at any time"],
];

export function listenToKeys(desk, surface) {
  function step(event) {
    if (event.ctrlKey || event.altKey || event.metaKey) return 1;
    const wanted = event.shiftKey ? LARGE_STEP_ON_SCREEN : STEP_ON_SCREEN;
    return Math.max(1, Math.round(wanted / desk.view.scale));
  }

  function arrow(event) {
    const [dx, dy] = ARROWS[event.key].map((unit) => unit * step(event));
    if (desk.tool === "pan") return desk.view.panBy(-dx * desk.view.scale, -dy * desk.view.scale);
    if (desk.tool === "move" && desk.selectedMark()) {
      const at = desk.reshape.nudge(dx, dy);
      return at && desk.view.reveal(at);
    }
    const from = desk.crosshair ?? desk.startOfCrosshair();
    const to = onPhoto([from[0] + dx, from[1] + dy], desk.view.size);
    desk.setCrosshair(to);
    desk.drawing?.point(to);
    return undefined;
  }

  function enter() {
    if (desk.tool === "move") return desk.selectedMark() ? desk.reshape.nextCorner() : desk.selectUnder(desk.crosshair);
    if (!desk.drawing) return undefined;
    if (desk.crosshair) return desk.drawing.enter(desk.crosshair.slice());
    return desk.setCrosshair(desk.startOfCrosshair());
  }

  function tab(event) {
    const ids = desk.shown().map((mark) => mark.id);
    const at = ids.indexOf(desk.selected);
    const next = event.shiftKey ? at - 1 : at + 1;
    if (!ids.length || (event.shiftKey ? next < 0 : next >= ids.length)) return false;
    desk.select(ids[next]);
    return true;
  }

  function withControl(key) {
    if (key === "z") return () => desk.undo();
    if (key === "y") return () => desk.redo();
    return null;
  }

  function actionFor(event) {
    const { key } = event;
    if (ARROWS[key]) return () => arrow(event);
    if ((event.ctrlKey || event.metaKey) && key.toLowerCase() === "z" && event.shiftKey) return () => desk.redo();
    if (event.ctrlKey || event.metaKey) return withControl(key.toLowerCase());
    if (event.altKey) return null;
    if (key === "Enter") return enter;
    if (key === "Escape") return desk.somethingToCancel() ? () => desk.cancel() : null;
    if (key === "Delete" || key === "Backspace") return () => desk.remove();
    if (key === "+" || key === "=") return () => desk.view.zoomAt(KEY_ZOOM, desk.zoomCentre());
    if (key === "-" || key === "_") return () => desk.view.zoomAt(1 / KEY_ZOOM, desk.zoomCentre());
    if (key === "0") return () => desk.view.fit();
    if (key === " ") return () => desk.holdSpace(true);
    const tool = TOOL_KEYS[Number(key) - 1];
    return tool ? () => desk.chooseTool(tool) : null;
  }

  surface.addEventListener("focus", () => surface.classList.add("by-keys"));
  surface.addEventListener("keydown", (event) => {
    surface.classList.add("by-keys");
    if (event.key === "Tab") {
      if (tab(event)) event.preventDefault();
      return;
    }
    const action = actionFor(event);
    if (!action) return;
    event.preventDefault();
    event.stopPropagation(); // Streamlit has page-wide single-key commands
    action();
  });
  surface.addEventListener("keyup", (event) => {
    if (event.key === " ") desk.holdSpace(false);
  });
  surface.addEventListener("blur", () => desk.holdSpace(false));
}
