// Buttons: tools and actions below the photo where a thumb reaches them, zoom and Finish on the photo itself.
import { make } from "./elements.js";
import { icon } from "./icons.js";
import { TOOL_KEYS } from "./keyboard.js";
import { tell } from "./tongue.js";

const BUTTON_ZOOM = 1.6;
const TOOL_WORDS = {
  move: ["Move", "Select, move and reshape marks"],
  line: ["Line", "Straight line between two ends"],
  polyline: ["Bent", "Bent line through several points"],
  box: ["Box", "Box between two corners"],
  polygon: ["Area", "Area from corner to corner"],
  freehand: ["Outline", "Outline drawn by hand around an area"],
  pan: ["Pan", "Move the photo under the finger"],
};

function button(name, words, title, action, extra = "") {
  const node = make("button", { type: "button", class: `tool ${extra}`.trim(), title, onclick: action }, icon(name));
  if (words) node.append(make("span", {}, words));
  else node.setAttribute("aria-label", tell(title));
  return node;
}

export function makeToolbar(desk) {
  const tools = new Map(
    TOOL_KEYS.map((name, i) => {
      const [word, title] = TOOL_WORDS[name];
      return [name, button(name, word, `${title} (key ${i + 1})`, () => desk.chooseTool(name))];
    }),
  );
  const undo = button("undo", "Undo", "Undo (Ctrl+Z)", () => desk.undo());
  const redo = button("redo", "Redo", "Redo (Ctrl+Y)", () => desk.redo());
  const remove = button("remove", "Delete", "Delete the chosen mark (Delete)", () => desk.remove());
  const large = button("large", "Large", "Photo over the whole screen", () => desk.toggleLarge());
  const zoom = make(
    "div",
    { class: "zoom", role: "group", "aria-label": "Zoom" },
    button("closer", "", "Closer (+)", () => desk.view.zoomAt(BUTTON_ZOOM, desk.zoomCentre())),
    button("farther", "", "Farther (−)", () => desk.view.zoomAt(1 / BUTTON_ZOOM, desk.zoomCentre())),
    button("whole", "", "Whole photo (0)", () => desk.view.fit()),
  );
  const finish = button("finish", "Finish", "Finish this shape (Enter twice in one place)", () => desk.drawing?.finish(), "wide");
  const cancel = button("cancel", "Cancel", "Cancel this shape (Escape)", () => desk.cancel(), "wide");
  const decide = make("div", { class: "decide", role: "group", "aria-label": "Shape being drawn" }, cancel, finish);
  const toolRow = make("div", { class: "row tools", role: "group", "aria-label": "Tools" }, ...tools.values());
  const actionRow = make("div", { class: "row actions", role: "group", "aria-label": "Actions" }, undo, redo, remove, large);

  let sizeShown = false;
  /** Only on a real change: a button whose inside is replaced under a finger loses the tap. */
  function showSize(isLarge) {
    if (isLarge === sizeShown) return;
    sizeShown = isLarge;
    large.replaceChildren(icon(isLarge ? "small" : "large"), make("span", {}, isLarge ? "Close" : "Large"));
    large.title = tell(isLarge ? "Back to the page" : "Photo over the whole screen");
  }

  return {
    toolRow,
    actionRow,
    zoom,
    decide,
    redraw() {
      const { readonly } = desk.data;
      toolRow.hidden = readonly;
      for (const node of [undo, redo, remove]) node.hidden = readonly;
      for (const [name, node] of tools) {
        node.hidden = !desk.mayUse(name);
        node.setAttribute("aria-pressed", String(name === desk.tool));
      }
      undo.disabled = !desk.canUndo();
      redo.disabled = !desk.canRedo();
      remove.disabled = desk.selectedMark() === null;
      decide.hidden = !desk.drawing?.waiting;
      finish.hidden = !desk.drawing?.canFinish;
      showSize(desk.isLarge());
    },
  };
}
