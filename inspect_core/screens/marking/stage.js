// What is drawn over the photo: marks, hints, the shape being drawn, handles, the keyboard's crosshair.
import { boundsOf, clamp, outlineOf, pathText } from "./geometry.js";
import { isBright, makeSvg } from "./elements.js";
import { tell } from "./tongue.js";

const LABEL_HEIGHT = 22;
const LABEL_GAP = 10;
const LABEL_FONT = "600 13px";
const PLAIN_LOOK = { colour: "#CC79A7", dashes: [] };

function strokes(shape, look, thin) {
  const d = pathText(shape);
  const dashes = look.dashes.join(" ") || "none";
  const extra = (thin ? " thin" : "") + (isBright(look.colour) ? " bright" : "");
  return [
    makeSvg("path", { d, class: `halo-rim${extra}` }),
    makeSvg("path", { d, class: `halo-core${extra}` }),
    makeSvg("path", { d, class: `stroke${extra}`, stroke: look.colour, "stroke-dasharray": dashes }),
  ];
}

function makeLabel(text, look, chosen, textWidth) {
  const words = makeSvg("text", { x: 11, y: 15 });
  const said = tell(text);
  words.textContent = said;
  const width = Math.ceil(textWidth(said)) + 18;
  const node = makeSvg(
    "g",
    { class: chosen ? "label chosen" : "label" },
    makeSvg("rect", { class: "label-back", width, height: LABEL_HEIGHT, rx: 4 }),
    makeSvg("rect", { class: "label-bar", width: 5, height: LABEL_HEIGHT, rx: 2, fill: look.colour }),
    words,
  );
  return { node, width };
}

function overlaps(a, b) {
  return a.x < b.x + b.width && b.x < a.x + a.width && a.y < b.y + b.height && b.y < a.y + a.height;
}

function screenBox(shape, view) {
  const b = boundsOf(outlineOf(shape).map(view.toScreen));
  return { x: b.left, y: b.top, width: b.right - b.left, height: b.bottom - b.top };
}

/** Where a label goes: outside its shape, off the labels `taken` so far, and if it can be off the other shapes. */
function labelPlace(shape, view, width, taken, shapes) {
  const corners = outlineOf(shape).map(view.toScreen);
  const b = boundsOf(corners);
  if (b.right < 0 || b.bottom < 0 || b.left > view.stage.width || b.top > view.stage.height) return null;
  const top = corners.reduce((best, p) => (p[1] < best[1] ? p : best));
  const middle = (b.top + b.bottom - LABEL_HEIGHT) / 2;
  const wanted = [
    [top[0] - 6, b.top - LABEL_HEIGHT - LABEL_GAP],
    [top[0] - width + 6, b.top - LABEL_HEIGHT - LABEL_GAP],
    [top[0] - 6, b.bottom + LABEL_GAP],
    [b.right + LABEL_GAP, middle],
    [b.left - width - LABEL_GAP, middle],
    [top[0] - 6, b.top - 2 * (LABEL_HEIGHT + LABEL_GAP)],
  ];
  const places = wanted.map(([x, y]) => ({
    x: clamp(x, 2, Math.max(2, view.stage.width - width - 2)),
    y: clamp(y, 2, Math.max(2, view.stage.height - LABEL_HEIGHT - 2)),
    width,
    height: LABEL_HEIGHT,
  }));
  const cost = (place) =>
    10 * taken.filter((other) => overlaps(place, other)).length + shapes.filter((box) => overlaps(place, box)).length;
  let best = null;
  for (const place of places) {
    const price = cost(place);
    if (best === null || price < best.price) best = { place, price };
    if (price === 0) break;
  }
  return best.place;
}

export function makeStage(desk) {
  const shapes = makeSvg("g");
  const draft = makeSvg("g", { class: "draft" });
  const labels = makeSvg("g");
  const handles = makeSvg("g");
  const cross = makeSvg("g", { class: "cross" });
  const svg = makeSvg("svg", { class: "ink", "aria-hidden": "true", focusable: "false" }, shapes, labels, handles, cross);
  const pen = document.createElement("canvas").getContext("2d"); // measures text without a layout
  let placed = []; // [shape, label]
  let built = []; // what the marks were last drawn from
  let drawn = new Map(); // id -> {key, mark, group}: a mark that has not changed keeps its elements

  function textWidth(text) {
    pen.font = `${LABEL_FONT} ${getComputedStyle(svg).fontFamily}`;
    return pen.measureText(text).width;
  }

  function lookOf(category) {
    return desk.looks.get(category) ?? PLAIN_LOOK;
  }

  function groupFor(mark, number) {
    const chosen = mark.id === desk.selected;
    const key = `${number} ${chosen} ${desk.editing}`;
    const old = drawn.get(mark.id);
    if (old && old.mark === mark && old.key === key) return old;
    const look = lookOf(mark.category);
    const group = makeSvg("g", { class: chosen ? "mark chosen" : "mark" }, ...strokes(mark.shape, look, chosen && desk.editing));
    group.dataset.mark = mark.id;
    return { key, mark, group, label: makeLabel(`${number} ${desk.nameOf(mark, number)}`, look, chosen, textWidth) };
  }

  function drawMarks() {
    const now = [desk.shown(), desk.selected, desk.editing, desk.data];
    if (now.every((part, i) => part === built[i])) return; // a stroke in progress leaves the marks alone
    built = now;
    const next = new Map();
    desk.shown().forEach((mark, i) => next.set(mark.id, groupFor(mark, i + 1)));
    drawn = next;
    const nodes = [...next.values()];
    placed = nodes.map((node) => [node.mark.shape, node.label]);
    const hints = desk.hints().map((hint) => {
      const earlier = hint.kind === "earlier";
      const look = { colour: "#ffffff", dashes: earlier ? [9, 6] : [1, 5] };
      const group = makeSvg("g", { class: earlier ? "hint earlier" : "hint" }, ...strokes(hint.shape, look, true));
      const label = makeLabel(`${earlier ? "then" : "hint"} ${hint.number}`, { colour: "#ffffff" }, false, textWidth);
      label.node.classList.add("hint-label");
      placed.push([hint.shape, label]);
      return group;
    });
    shapes.replaceChildren(...hints, ...nodes.map((node) => node.group), draft);
    labels.replaceChildren(...placed.map(([, label]) => label.node));
  }

  function drawDraft() {
    const shape = desk.drawing?.shape();
    draft.replaceChildren(...(shape?.points.length ? strokes(shape, lookOf(desk.choice.category), true) : []));
  }

  function drawHandles() {
    const nodes = desk.handles().map((handle) => {
      const [x, y] = desk.view.toScreen(handle.point);
      const classes = ["handle", handle.between ? "between" : "corner", handle.held ? "held" : ""].join(" ").trim();
      return makeSvg("circle", { cx: x, cy: y, r: handle.between ? 6 : 9, class: classes });
    });
    for (const point of desk.drawing?.placed() ?? []) {
      const [x, y] = desk.view.toScreen(point);
      nodes.push(makeSvg("circle", { cx: x, cy: y, r: 5, class: "handle placed" }));
    }
    handles.replaceChildren(...nodes);
  }

  function drawCross() {
    cross.replaceChildren();
    if (!desk.crosshair) return;
    const [x, y] = desk.view.toScreen(desk.crosshair);
    const d = `M${x - 18} ${y}h13m10 0h13M${x} ${y - 18}v13m0 10v13`;
    cross.append(makeSvg("path", { d, class: "cross-dark" }), makeSvg("path", { d, class: "cross-light" }));
  }

  return {
    svg,
    /** After a change of marks, selection or drawing. */
    redraw() {
      drawMarks();
      drawDraft();
      this.place();
    },
    /** After a change of view only. */
    place() {
      const { view } = desk;
      shapes.setAttribute("transform", `translate(${view.offset[0]} ${view.offset[1]}) scale(${view.scale})`);
      const taken = [];
      const boxes = placed.map(([shape]) => screenBox(shape, view));
      for (const [shape, { node, width }] of placed) {
        const place = labelPlace(shape, view, width, taken, boxes);
        node.toggleAttribute("hidden", place === null);
        if (place === null) continue;
        node.setAttribute("transform", `translate(${place.x} ${place.y})`);
        taken.push(place);
      }
      drawHandles();
      drawCross();
    },
  };
}
