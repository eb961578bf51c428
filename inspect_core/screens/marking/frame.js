// Puts the pieces on the page and moves the workbench between the page and the large view.
import { make } from "./elements.js";
import { listenToPointers } from "./gestures.js";
import { listenToKeys } from "./keyboard.js";

const SURFACE_USE =
  "Keys 1 to 7 choose a tool, arrows move the crosshair, Enter places a point, Tab goes through the marks. " +
  "All keys are listed below the marks.";

/** Selects drawn by the browser follow the page's theme only when told which way it goes. */
function isDark(node) {
  const channels = getComputedStyle(node).backgroundColor.match(/[\d.]+/g)?.map(Number) ?? [255, 255, 255];
  const [red, green, blue] = channels;
  return 0.2126 * red + 0.7152 * green + 0.0722 * blue < 128;
}

export function makeFrame(desk, intake, parent) {
  const { surface, toolbar } = desk;
  surface.append(desk.photo.sheet, desk.stage.svg, desk.loupe.canvas);
  const use = make("p", { id: "surface-use", class: "unseen" }, SURFACE_USE);
  const stageBox = make("div", { class: "stage" }, surface, use, toolbar.zoom, toolbar.decide);
  const bench = make("div", { class: "bench" }, stageBox, desk.status, toolbar.toolRow, desk.chooser.box, toolbar.actionRow);
  const home = make("div", { class: "home" }, bench);
  const dialog = make("dialog", { class: "large", "aria-label": "Photo over the whole screen" });
  const root = make("div", { class: "marking" }, intake.offer, home, desk.list.box, dialog);

  function measure() {
    const { width, height } = surface.getBoundingClientRect();
    desk.view.setStage(width, height);
  }

  function close() {
    home.append(bench);
    home.style.minHeight = "";
    if (dialog.open) dialog.close();
    measure();
    desk.redraw();
    desk.focusStage();
  }

  desk.isLarge = () => dialog.contains(bench);
  desk.toggleLarge = () => {
    if (desk.isLarge()) {
      close();
      return;
    }
    home.style.minHeight = `${home.offsetHeight}px`; // the page below must not jump
    dialog.append(bench);
    dialog.showModal();
    measure();
    desk.redraw();
    desk.focusStage();
  };
  dialog.addEventListener("close", () => desk.isLarge() && close());

  listenToPointers(desk, surface);
  listenToKeys(desk, surface);
  const observer = new ResizeObserver(measure);
  observer.observe(surface);
  parent.append(root);

  return {
    refresh(data) {
      root.style.setProperty("--photo-shape", String(data.height / data.width));
      root.style.colorScheme = isDark(root) ? "dark" : "light";
      root.classList.toggle("readonly", data.readonly);
      measure();
    },
    dispose() {
      observer.disconnect();
      if (dialog.open) dialog.close();
      root.remove();
    },
  };
}
