// Which part of the photo the stage shows. screen = photo * scale + offset, both in CSS pixels of the stage.
import { clamp } from "./geometry.js";

const EDGE_ROOM = 48; // a photo's edge may be pulled this far in, so that a finger can reach it
const REVEAL_MARGIN = 56;

export function makeView(onChange) {
  const size = { width: 1, height: 1 };
  const stage = { width: 0, height: 0 };
  let scale = 1;
  let offset = [0, 0];

  const fitScale = () => Math.min(stage.width / size.width, stage.height / size.height);
  const mostScale = () => Math.max(6, fitScale() * 6);
  const ready = () => stage.width > 0 && stage.height > 0;

  function held(axis, length, room) {
    const shown = length * scale;
    if (shown <= room) return (room - shown) / 2;
    return clamp(offset[axis], room - shown - EDGE_ROOM, EDGE_ROOM);
  }

  function settle() {
    scale = clamp(scale, fitScale(), mostScale());
    offset = [held(0, size.width, stage.width), held(1, size.height, stage.height)];
    onChange();
  }

  const view = {
    size,
    stage,
    get scale() {
      return scale;
    },
    get offset() {
      return offset;
    },
    get ready() {
      return ready();
    },
    get fitted() {
      return scale <= fitScale() * 1.001;
    },
    get atClosest() {
      return scale >= mostScale() * 0.999;
    },
    toPhoto: ([x, y]) => [(x - offset[0]) / scale, (y - offset[1]) / scale],
    toScreen: ([x, y]) => [x * scale + offset[0], y * scale + offset[1]],
    setPhoto(width, height) {
      size.width = width;
      size.height = height;
      if (ready()) view.fit();
    },
    /** A stage without a size (hidden tab, collapsed section) is ignored: the old view stays. */
    setStage(width, height) {
      if (width < 1 || height < 1) return;
      const wasFitted = !ready() || view.fitted;
      const centre = view.toPhoto([stage.width / 2, stage.height / 2]);
      stage.width = width;
      stage.height = height;
      if (wasFitted) view.fit();
      else {
        offset = [width / 2 - centre[0] * scale, height / 2 - centre[1] * scale];
        settle();
      }
    },
    fit() {
      if (!ready()) return;
      scale = fitScale();
      settle();
    },
    /** Brings a photo point under a screen point at the wanted scale, as far as the limits allow. */
    hold(point, screen, wantedScale) {
      if (!ready()) return;
      scale = clamp(wantedScale, fitScale(), mostScale());
      offset = [screen[0] - point[0] * scale, screen[1] - point[1] * scale];
      settle();
    },
    zoomAt(factor, screen = [stage.width / 2, stage.height / 2]) {
      view.hold(view.toPhoto(screen), screen, scale * factor);
    },
    panBy(dx, dy) {
      offset = [offset[0] + dx, offset[1] + dy];
      settle();
    },
    /** Pans just enough to bring a photo point well inside the stage. */
    reveal(point) {
      const [x, y] = view.toScreen(point);
      const margin = Math.min(REVEAL_MARGIN, stage.width / 4, stage.height / 4);
      const dx = clamp(x, margin, stage.width - margin) - x;
      const dy = clamp(y, margin, stage.height - margin) - y;
      if (dx || dy) view.panBy(dx, dy);
    },
  };
  return view;
}
