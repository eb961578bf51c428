// The desk holds the state of one photo being marked and is the only thing that changes it.
import { makeHistory } from "./history.js";
import { saveCopy } from "./store.js";
import { make } from "./elements.js";
import { clamp, hasNoSize, tidied } from "./geometry.js";
import { makeView } from "./view.js";
import { makePhoto } from "./photo.js";
import { makeStage } from "./stage.js";
import { makeLoupe } from "./loupe.js";
import { makeDrawing, TOOL_NAMES } from "./drawing.js";
import { handlesOf, makeReshape } from "./reshape.js";
import { makeChooser } from "./chooser.js";
import { makeToolbar } from "./toolbar.js";
import { makeList } from "./list.js";
import { tell } from "./tongue.js";

const NO_DATA = { photo_id: null, width: 1, height: 1, categories: [], components: [], marks: [], suggestions: [], readonly: true, purpose: null };

/** What each tool does, about damage on a surface for marks and about what is asked for on any other. */
function toolHint(name, purpose) {
  const what = purpose ? "what is asked for" : "the damage";
  return {
    move: `Move: tap ${purpose ? "a shape" : "a mark"}, then drag it or its corners.`,
    line: `Line: drag along ${what}, or tap both ends.`,
    polyline: `Bent line: tap along ${what}, then Finish.`,
    box: "Box: drag from corner to corner, or tap both.",
    polygon: "Area: tap its corners, then Finish.",
    freehand: `Outline: draw around ${what} in one go.`,
    pan: "Pan: drag the photo. Two fingers do it at any time.",
  }[name];
}

/** Works on plain http too, where crypto.randomUUID does not exist. */
function newId() {
  const bytes = globalThis.crypto.getRandomValues(new Uint8Array(8));
  return `m-${Array.from(bytes, (b) => b.toString(16).padStart(2, "0")).join("")}`;
}

export function makeDesk() {
  const history = makeHistory([]);
  let rev = 0;
  let previewed = null; // shape of the chosen mark while a finger drags it
  let frame = 0;
  let stale = { all: false };

  const status = make("p", { class: "status", role: "status", "aria-live": "polite" });
  const surface = make("div", {
    class: "surface",
    tabindex: "0",
    role: "application",
    "aria-label": "Photo to mark",
    "aria-describedby": "surface-use",
  });

  const desk = {
    data: NO_DATA,
    looks: new Map(),
    readings: {},
    undecided: new Set(),
    choice: { category: "", component: "" },
    choosesFirst: false, // the person sets up the next mark and then draws, rather than the other way round
    tool: "line",
    selected: null,
    corner: null,
    crosshair: null,
    drawing: null,
    spaceHeld: false,
    send: () => {},
    view: null,

    marks: () => history.marks,
    numberOf: (id) => history.marks.findIndex((mark) => mark.id === id) + 1,
    selectedMark: () => desk.shown().find((mark) => mark.id === desk.selected) ?? null,
    categoryNames: () => desk.data.categories.map((category) => category.name),
    /** Suggestions not taken over, each with its number among those of its kind. */
    hints() {
      const open = (desk.data.suggestions ?? []).filter((hint) => !desk.numberOf(`hint-${hint.id}`));
      return open.map((hint, i) => ({ ...hint, number: open.slice(0, i).filter((other) => other.kind === hint.kind).length + 1 }));
    },
    /** The word on a shape: what the mark shows, or what this surface asks for in that place. */
    nameOf: (mark, number) => (desk.data.purpose ? desk.data.purpose.names[number - 1] ?? "one too many" : mark.category),
    /** What a person has still to say about a mark, or an empty text. */
    lackOf(mark) {
      const lacks = [desk.undecided.has(mark.id) && "what it shows", !mark.component && "on which part"];
      return lacks.filter(Boolean).join(" and ");
    },
    describe: (mark) => `${mark.category}${mark.component ? ` on ${mark.component}` : ""}`,
    mayUse: (tool) => !desk.data.purpose || tool === "move" || tool === "pan" || desk.data.purpose.tools.includes(tool),
    get editing() {
      return desk.tool === "move" && !desk.data.readonly;
    },
    shown() {
      if (!previewed) return history.marks;
      return history.marks.map((mark) => (mark.id === desk.selected ? { ...mark, shape: previewed } : mark));
    },
    handles() {
      const mark = desk.editing ? desk.selectedMark() : null;
      return mark ? handlesOf(mark.shape, desk.view, desk.corner) : [];
    },

    say(words) {
      status.textContent = tell(words);
    },

    get rev() {
      return rev;
    },
    /** Another photo, or marks that changed outside this browser: the steps so far no longer apply. */
    restart(marks, atRev) {
      history.restart(marks);
      rev = atRev;
      previewed = null;
      Object.assign(desk, { selected: null, corner: null, crosshair: null, undecided: new Set() });
      const drawn = desk.drawing && desk.mayUse(desk.tool) ? desk.tool : (desk.data.purpose?.tool ?? "line");
      desk.chooseTool(desk.data.readonly ? "pan" : drawn);
      if (desk.data.readonly) desk.say("");
      else if (desk.data.purpose) desk.say(desk.data.purpose.sentence);
    },
    /** Marks from the copy on this device; the step before can be had back with Undo. */
    bringBack(marks, copyRev) {
      rev = Math.max(rev, copyRev);
      desk.commit(marks);
    },

    // --- marks -------------------------------------------------------------------------------------------------
    commit(next, kind = null) {
      history.push(next, kind);
      desk.publish();
    },
    publish() {
      rev += 1;
      // A mark without a part is no mark yet: it stays on this device until somebody says where it lies.
      const placed = history.marks.filter((mark) => mark.component);
      const payload = { photo_id: desk.data.photo_id, rev, marks: placed, unplaced: history.marks.length - placed.length };
      saveCopy(desk.data.photo_id, { draft: desk.data.draft, rev, marks: history.marks });
      desk.send(payload);
      desk.redraw();
    },
    addMark(shape) {
      const names = desk.categoryNames();
      // Undecided counts as "other", which no rule clears, until the person says what it shows.
      const fallback = names.includes("other") ? "other" : names[0];
      const mark = { id: newId(), component: desk.choice.component, category: desk.choice.category || fallback, note: "", shape };
      if (!desk.choice.category) desk.undecided.add(mark.id);
      const lack = desk.lackOf(mark);
      // Whoever chooses first goes on to the next mark: a further choice must not change the one just drawn.
      desk.selected = !lack && desk.choosesFirst ? null : mark.id;
      desk.corner = null;
      const number = history.marks.length + 1;
      if (desk.data.purpose) desk.sayNext(number);
      else desk.say(lack ? `Mark ${number} drawn. Now say ${lack}.` : `Mark ${number} added: ${desk.describe(mark)}.`);
      desk.commit([...history.marks, mark]);
    },
    /** On a surface that asks for shapes in turn: which one comes next. */
    sayNext(number) {
      const { names } = desk.data.purpose;
      const done = desk.nameOf(null, number);
      desk.say(names[number] ? `Drawn: ${done}. Now: ${names[number]}.` : `Drawn: ${done}.`);
    },
    editMark(id, change) {
      const before = history.marks.find((mark) => mark.id === id);
      if (!before || desk.data.readonly) return;
      if (change.category) desk.undecided.delete(id);
      const after = { ...before, ...change };
      const lack = desk.lackOf(after);
      desk.say(lack ? `Now say ${lack}.` : `Mark ${desk.numberOf(id)} is now ${desk.describe(after)}.`);
      desk.commit(history.marks.map((mark) => (mark.id === id ? after : mark)));
    },
    changeShape(id, shape, kind = null) {
      desk.commit(history.marks.map((mark) => (mark.id === id ? { ...mark, shape } : mark)), kind);
    },
    remove(id = desk.selected) {
      if (desk.data.readonly || (id === desk.selected && desk.corner !== null && desk.reshape.removeCorner())) return;
      const number = desk.numberOf(id);
      if (!number) return;
      if (id === desk.selected) desk.selected = null;
      desk.corner = null;
      desk.say(`Mark ${number} deleted. Undo brings it back.`);
      desk.commit(history.marks.filter((mark) => mark.id !== id));
    },
    acceptHint(hintId) {
      const hint = desk.hints().find((one) => one.id === hintId);
      if (!hint) return;
      const mark = { id: `hint-${hint.id}`, component: hint.component, category: hint.category, note: "", shape: hint.shape };
      desk.selected = mark.id;
      desk.say(`${hint.kind === "earlier" ? "Earlier mark taken over" : "Hint accepted"} as mark ${history.marks.length + 1}. Check its outline.`);
      desk.commit([...history.marks, mark]);
    },
    canUndo: () => Boolean(desk.drawing?.active) || history.canUndo,
    canRedo: () => !desk.drawing?.active && history.canRedo,
    undo() {
      if (desk.data.readonly || desk.drawing?.takeBack() || !history.undo()) return;
      desk.afterStep("Undone.");
    },
    redo() {
      if (desk.data.readonly || desk.drawing?.active || !history.redo()) return;
      desk.afterStep("Redone.");
    },
    afterStep(words) {
      if (!desk.numberOf(desk.selected)) desk.selected = null;
      desk.corner = null;
      desk.say(`${words} ${history.marks.length} marks.`);
      desk.publish();
    },

    // --- choosing ----------------------------------------------------------------------------------------------
    choose(change) {
      Object.assign(desk.choice, change);
      desk.choosesFirst = desk.selectedMark() === null;
      if (desk.choosesFirst) desk.redraw();
      else desk.editMark(desk.selected, change);
    },
    select(id) {
      const mark = history.marks.find((one) => one.id === id);
      desk.selected = mark ? id : null;
      desk.corner = null;
      if (mark) {
        desk.view.reveal(mark.shape.points[0]);
        desk.say(`Mark ${desk.numberOf(id)}: ${desk.nameOf(mark, desk.numberOf(id))}${desk.data.purpose ? "" : ` on ${mark.component || "no part yet"}`}.`);
      }
      desk.redraw();
    },
    selectUnder(point) {
      if (!point) return desk.setCrosshair(desk.startOfCrosshair());
      const at = desk.view.toScreen(point);
      desk.reshape.press(at, true);
      return desk.reshape.release(at);
    },
    chooseTool(name) {
      if ((desk.data.readonly && name !== "pan" && name !== "move") || !desk.mayUse(name)) return;
      desk.drawing?.abandonPress();
      desk.tool = name;
      desk.corner = null;
      desk.drawing = TOOL_NAMES[name] ? makeDrawing(desk, name) : null;
      if (!desk.drawing) desk.hideCrosshair();
      else if (!desk.selectedMark() || !desk.lackOf(desk.selectedMark())) desk.selected = null;
      desk.say(toolHint(name, desk.data.purpose));
      desk.redraw();
    },
    somethingToCancel: () => Boolean(desk.drawing?.active || desk.corner !== null || desk.selectedMark() || desk.crosshair),
    cancel() {
      if (desk.drawing?.active) {
        desk.drawing.abandonPress();
        desk.drawing = makeDrawing(desk, desk.tool);
        desk.say("Shape cancelled.");
      } else if (desk.corner !== null) desk.corner = null;
      else if (desk.selectedMark()) desk.selected = null;
      else desk.hideCrosshair();
      desk.redraw();
    },

    // --- reshaping ---------------------------------------------------------------------------------------------
    preview(shape) {
      previewed = shape;
      desk.redraw();
    },
    settlePreview(words) {
      const shape = previewed;
      previewed = null;
      const id = desk.selected;
      if (!shape || !desk.numberOf(id) || hasNoSize(shape)) {
        if (shape) desk.say("A mark needs a size: it stays as it was.");
        return desk.redraw();
      }
      desk.say(`Mark ${desk.numberOf(id)} ${words}.`);
      return desk.changeShape(id, tidied(shape));
    },

    // --- crosshair, view ---------------------------------------------------------------------------------------
    startOfCrosshair() {
      const { stage, size } = desk.view;
      const [x, y] = desk.view.toPhoto([stage.width / 2, stage.height / 2]);
      return [clamp(Math.round(x), 0, size.width), clamp(Math.round(y), 0, size.height)];
    },
    setCrosshair(point) {
      desk.crosshair = point;
      desk.view.reveal(point);
      desk.say(`Crosshair at ${Math.round(point[0])}, ${Math.round(point[1])}.`);
      desk.redraw();
    },
    hideCrosshair() {
      desk.crosshair = null;
    },
    zoomCentre: () => (desk.crosshair ? desk.view.toScreen(desk.crosshair) : undefined),
    holdSpace(held) {
      desk.spaceHeld = held;
      surface.classList.toggle("pannable", held || desk.tool === "pan");
    },
    focusStage: () => surface.focus({ preventScroll: true }),

    // --- drawing the page --------------------------------------------------------------------------------------
    redraw(all = true) {
      stale.all ||= all;
      frame ||= requestAnimationFrame(() => {
        frame = 0;
        desk.photo.place();
        if (stale.all) desk.redrawAll();
        else desk.stage.place();
        stale = { all: false };
      });
    },
    redrawAll() {
      desk.stage.redraw();
      desk.chooser.redraw();
      desk.toolbar.redraw();
      desk.list.redraw();
      surface.dataset.tool = desk.tool;
      surface.classList.toggle("pannable", desk.spaceHeld || desk.tool === "pan");
    },
  };

  desk.view = makeView(() => desk.redraw(false));
  desk.photo = makePhoto(desk.view, desk.say);
  desk.stage = makeStage(desk);
  desk.loupe = makeLoupe(desk);
  desk.reshape = makeReshape(desk);
  desk.chooser = makeChooser(desk);
  desk.toolbar = makeToolbar(desk);
  desk.list = makeList(desk);
  desk.surface = surface;
  desk.status = status;
  return desk;
}
