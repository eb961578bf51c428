// A magnifier beside the finger: a finger hides exactly the place it points at.
import { clamp, outlineOf, CLOSED } from "./geometry.js";
import { make } from "./elements.js";

const LOUPE_SIZE = 132;
const LOUPE_GAP = 40; // between fingertip and rim
const MAGNIFIED = 2.5;

export function makeLoupe(desk) {
  const canvas = make("canvas", { class: "loupe", "aria-hidden": "true", hidden: true });
  const pen = canvas.getContext("2d");

  function trace(shape, centre, scale, colour, width) {
    const points = outlineOf(shape);
    if (points.length < 2) return;
    pen.beginPath();
    points.forEach(([x, y], i) => {
      const at = [(x - centre[0]) * scale + LOUPE_SIZE / 2, (y - centre[1]) * scale + LOUPE_SIZE / 2];
      if (i) pen.lineTo(...at);
      else pen.moveTo(...at);
    });
    if (CLOSED.has(shape.type)) pen.closePath();
    pen.strokeStyle = colour;
    pen.lineWidth = width;
    pen.stroke();
  }

  function paint(centre) {
    const density = globalThis.devicePixelRatio || 1;
    const pixels = Math.round(LOUPE_SIZE * density);
    if (canvas.width !== pixels) canvas.width = canvas.height = pixels;
    pen.setTransform(density, 0, 0, density, 0, 0);
    pen.fillStyle = "#20242a";
    pen.fillRect(0, 0, LOUPE_SIZE, LOUPE_SIZE);
    const scale = Math.max(desk.view.scale * MAGNIFIED, 0.5);
    const best = desk.photo.best();
    if (best) {
      const side = (LOUPE_SIZE / scale) * best.ratio;
      const left = centre[0] * best.ratio - side / 2;
      const top = centre[1] * best.ratio - side / 2;
      pen.imageSmoothingEnabled = scale / best.ratio < 3;
      pen.drawImage(best.image, left, top, side, side, 0, 0, LOUPE_SIZE, LOUPE_SIZE);
    }
    const shape = desk.drawing?.shape() ?? desk.selectedMark()?.shape;
    if (shape) {
      trace(shape, centre, scale, "#000000", 3);
      trace(shape, centre, scale, "#ffffff", 1.5);
    }
    const half = LOUPE_SIZE / 2;
    const arms = [[half - 16, half, half - 4, half], [half + 4, half, half + 16, half], [half, half - 16, half, half - 4], [half, half + 4, half, half + 16]];
    for (const [colour, width] of [["#000000", 4], ["#ffffff", 2]]) {
      pen.strokeStyle = colour;
      pen.lineWidth = width;
      for (const [x0, y0, x1, y1] of arms) {
        pen.beginPath();
        pen.moveTo(x0, y0);
        pen.lineTo(x1, y1);
        pen.stroke();
      }
    }
  }

  return {
    canvas,
    /** `screen` is where the finger is; `point` the photo point that will count. */
    show(screen, point) {
      const { width, height } = desk.view.stage;
      const above = screen[1] - LOUPE_SIZE - LOUPE_GAP;
      const beside = screen[0] < width / 2 ? screen[0] + LOUPE_GAP : screen[0] - LOUPE_SIZE - LOUPE_GAP;
      const left = above >= 4 ? screen[0] - LOUPE_SIZE / 2 : beside;
      canvas.style.left = `${clamp(left, 4, width - LOUPE_SIZE - 4)}px`;
      canvas.style.top = `${clamp(above, 4, height - LOUPE_SIZE - 4)}px`;
      canvas.hidden = false;
      paint(point);
    },
    hide() {
      canvas.hidden = true;
    },
  };
}
