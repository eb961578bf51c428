// What is drawn over the photo: marks, hints, the shape being drawn, handles, the keyboard's crosshair.
import { boundsOf, clamp, outlineOf, pathText } from "./geometry.js";
import { makeSvg } from "./elements.js";

const LABEL_HEIGHT = 22;
const PLAIN_LOOK = { colour: "#CC79A7", dashes: [] };

function strokes(shape, look, thin) {
  const d = pathText(shape);
  const dashes = look.dashes.join(" ") || "none";
  const extra = thin ? " thin" : "";
  return [
    makeSvg("path", { d, class: `halo-dark${extra}` }),
    makeSvg("path", { d, class: `halo-light${extra}` }),
    makeSvg("path", { d, class: `stroke${extra}`, stroke: look.colour, "stroke-dasharray": dashes }),
  ];
}

function makeLabel(text, look, chosen) {
  const words = makeSvg("text", { x: 10, y: 15 });
  words.textContent = text;
  const width = 16 + text.length * 7.2;
  const label = makeSvg(
    "g",
    { class: chosen ? "label chosen" : "label" },
    makeSvg("rect", { class: "label-back", width, height: LABEL_HEIGHT, rx: 4 }),
    makeSvg("rect", { class: "label-bar", width: 5, height: LABEL_HEIGHT, rx: 2, fill: look.colour }),
    words,
  );
  label.dataset.width = width;
  return label;
}

/** Where a label belongs: beside the shape's highest point, so that it hides as little of the damage as it can. */
function labelPlace(shape, view, width) {
  const corners = outlineOf(shape).map(view.toScreen);
  const top = corners.reduce((best, p) => (p[1] < best[1] ? p : best));
  const bounds = boundsOf(corners);
  const gone = bounds.right < 0 || bounds.bottom < 0 || bounds.left > view.stage.width || bounds.top > view.stage.height;
  const x = clamp(top[0] - 6, 2, Math.max(2, view.stage.width - width - 2));
  const above = top[1] - LABEL_HEIGHT - 10;
  const y = above >= 2 ? above : bounds.bottom + 10;
  return { x, y: clamp(y, 2, Math.max(2, view.stage.height - LABEL_HEIGHT - 2)), gone };
}

export function makeStage(desk) {
  const shapes = makeSvg("g");
  const labels = makeSvg("g");
  const handles = makeSvg("g");
  const cross = makeSvg("g", { class: "cross" });
  const svg = makeSvg("svg", { class: "ink", "aria-hidden": "true", focusable: "false" }, shapes, labels, handles, cross);
  let placed = []; // [shape, label element]
  let drawn = new Map(); // id -> {key, mark, group}: a mark that has not changed keeps its elements

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
    return { key, mark, group, label: makeLabel(`${number} ${mark.category}`, look, chosen) };
  }

  function drawMarks() {
    const next = new Map();
    desk.shown().forEach((mark, i) => next.set(mark.id, groupFor(mark, i + 1)));
    drawn = next;
    const nodes = [...next.values()];
    placed = nodes.map((node) => [node.mark.shape, node.label]);
    const hints = desk.hints().map((hint, i) => {
      const group = makeSvg("g", { class: "hint" }, ...strokes(hint.shape, { colour: "#ffffff", dashes: [1, 5] }, true));
      const label = makeLabel(`hint ${i + 1}`, { colour: "#ffffff" }, false);
      label.classList.add("hint-label");
      placed.push([hint.shape, label]);
      return group;
    });
    const current = desk.drawing?.shape();
    const draft = current?.points.length ? [makeSvg("g", { class: "draft" }, ...strokes(current, lookOf(desk.choice.category), true))] : [];
    shapes.replaceChildren(...hints, ...nodes.map((node) => node.group), ...draft);
    labels.replaceChildren(...placed.map(([, label]) => label));
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
      this.place();
    },
    /** After a change of view only. */
    place() {
      const { view } = desk;
      shapes.setAttribute("transform", `translate(${view.offset[0]} ${view.offset[1]}) scale(${view.scale})`);
      for (const [shape, label] of placed) {
        const { x, y, gone } = labelPlace(shape, view, Number(label.dataset.width));
        label.setAttribute("transform", `translate(${x} ${y})`);
        label.toggleAttribute("hidden", gone);
      }
      drawHandles();
      drawCross();
    },
  };
}
