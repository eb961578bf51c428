// Fingers, pen and mouse on the stage: one finger uses the tool, two always zoom and pan.
import { clamp, distance, midpoint } from "./geometry.js";

const WHEEL_STEP = 0.0016;

export function listenToPointers(desk, surface) {
  const down = new Map(); // pointerId -> screen point
  let mode = null; // "tool" | "pan" | "pinch" | "spent"
  let pinch = null;

  const place = (event) => {
    const box = surface.getBoundingClientRect();
    return [event.clientX - box.left, event.clientY - box.top];
  };

  function twoFingers() {
    const [a, b] = [...down.values()];
    return { centre: midpoint(a, b), span: Math.max(distance(a, b), 10) };
  }

  function beginSingle(event, at) {
    const byFinger = event.pointerType !== "mouse";
    const toPan = desk.spaceHeld || event.button === 1 || desk.tool === "pan";
    if (toPan) mode = "pan";
    else if (desk.tool === "move") mode = desk.reshape.press(at, byFinger) ? "tool" : "pan";
    else if (event.button === 0) {
      mode = "tool";
      desk.drawing.press(at);
    } else mode = "spent";
  }

  function pressed(event) {
    if (!desk.view.ready || down.size >= 2) return;
    surface.focus({ preventScroll: true });
    surface.classList.remove("by-keys"); // a ring around the photo helps nobody who points at it
    event.preventDefault();
    surface.setPointerCapture?.(event.pointerId);
    const at = place(event);
    down.set(event.pointerId, at);
    desk.hideCrosshair();
    if (down.size === 1) beginSingle(event, at);
    else {
      if (desk.tool === "move") desk.reshape.abandonPress();
      else desk.drawing?.abandonPress();
      mode = "pinch";
      pinch = twoFingers();
      pinch.point = desk.view.toPhoto(pinch.centre);
      pinch.scale = desk.view.scale;
    }
    surface.classList.toggle("panning", mode === "pan");
  }

  function moved(event) {
    const at = place(event);
    if (!down.has(event.pointerId)) {
      if (event.pointerType === "mouse" && desk.drawing) desk.drawing.point(desk.view.toPhoto(at));
      return;
    }
    const before = down.get(event.pointerId);
    down.set(event.pointerId, at);
    if (mode === "pinch") {
      // Always from where the pinch began: fingers report one after the other, and steps would add up to a drift.
      const now = twoFingers();
      desk.view.hold(pinch.point, now.centre, (pinch.scale * now.span) / pinch.span);
    } else if (mode === "pan") desk.view.panBy(at[0] - before[0], at[1] - before[1]);
    else if (mode === "tool" && desk.tool === "move") desk.reshape.drag(at);
    else if (mode === "tool") {
      const all = (event.getCoalescedEvents?.() ?? []).map(place);
      desk.drawing.drag(at, all.length ? all : [at]);
    }
  }

  function lifted(event) {
    if (!down.has(event.pointerId)) return;
    const at = place(event);
    down.delete(event.pointerId);
    const lost = event.type === "pointercancel";
    if (mode === "tool" && desk.tool !== "move") lost ? desk.drawing?.abandonPress() : desk.drawing?.release(at);
    else if (mode === "tool" || (mode === "pan" && desk.tool === "move")) {
      lost ? desk.reshape.abandonPress() : desk.reshape.release(at);
    }
    // After a pinch the finger that stays down does nothing until it is lifted too.
    mode = down.size ? "spent" : null;
    surface.classList.remove("panning");
  }

  function wheeled(event) {
    const delta = event.deltaY * (event.deltaMode === 1 ? 16 : 1) * (event.ctrlKey ? 6 : 1);
    // At the ends of the zoom the page scrolls on, so that the wheel is never trapped. With Ctrl (a touchpad's pinch)
    // the browser would zoom the page instead, which nobody wants over a photo.
    if (event.ctrlKey) event.preventDefault();
    if ((delta > 0 && desk.view.fitted) || (delta < 0 && desk.view.atClosest)) return;
    event.preventDefault();
    desk.view.zoomAt(Math.exp(-clamp(delta, -300, 300) * WHEEL_STEP), place(event));
  }

  surface.addEventListener("pointerdown", pressed);
  surface.addEventListener("pointermove", moved);
  surface.addEventListener("pointerup", lifted);
  surface.addEventListener("pointercancel", lifted);
  // Refused as a gesture: otherwise a quick stroke counts as a fling, and the browser swallows the next tap to stop it.
  surface.addEventListener("touchstart", (event) => event.preventDefault(), { passive: false });
  surface.addEventListener("wheel", wheeled, { passive: false });
  surface.addEventListener("contextmenu", (event) => event.preventDefault());
}
