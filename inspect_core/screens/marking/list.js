// The marks in words: complete by itself, so that nobody needs to see or touch the photo to work with them.
import { capital, fillSelect, lineSample, make } from "./elements.js";
import { icon } from "./icons.js";
import { KEY_HELP } from "./keyboard.js";
import { TOOL_NAMES } from "./drawing.js";
import { tell } from "./tongue.js";

const NOTE_MOST = 500;

function suggestionBox(title, note) {
  const items = make("ul", { class: "marks" });
  const box = make("section", { class: "hints" }, make("h3", {}, title), make("p", { class: "quiet" }, note), items);
  return { box, items };
}

function named(node, focusName) {
  node.dataset.focus = focusName;
  return node;
}

export function makeList(desk) {
  const heading = make("h3", {});
  const items = make("ol", { class: "marks" });
  const hintBox = suggestionBox("Hints from the photo", "A program found these. They are no marks until you accept them.");
  const earlierBox = suggestionBox(
    "Marked on the earlier photo",
    "Where the earlier marks lie on today's photo, dashed. They are no marks until you take them over. Look before you do.",
  );
  const help = make(
    "details",
    { class: "help" },
    make("summary", {}, "Keys and gestures"),
    make("dl", {}, ...KEY_HELP.flatMap(([keys, use]) => [make("dt", {}, keys), make("dd", {}, use)])),
  );
  const box = make("section", { class: "list" }, heading, items, earlierBox.box, hintBox.box, help);
  let shown = []; // what the list was last built from; a stroke in progress rebuilds nothing
  const readingOf = new Map(); // mark id -> its line in the list
  let open = null; // id of the mark whose fields are shown

  function fields(mark, number) {
    const category = make("select", { onchange: () => desk.editMark(mark.id, { category: category.value }) });
    fillSelect(category, desk.categoryNames(), mark.category);
    const component = make("select", { onchange: () => desk.editMark(mark.id, { component: component.value }) });
    fillSelect(component, desk.data.components, mark.component, mark.component ? null : "Choose…");
    const note = make("input", { type: "text", maxlength: NOTE_MOST, onchange: () => desk.editMark(mark.id, { note: note.value }) });
    note.value = mark.note;
    return make(
      "div",
      { class: "fields", role: "group", "aria-label": `Mark ${number}` },
      make("label", { class: "field" }, make("span", {}, "Shows"), named(category, `category ${mark.id}`)),
      make("label", { class: "field" }, make("span", {}, "On part"), named(component, `component ${mark.id}`)),
      make("label", { class: "field full-width" }, make("span", {}, "Note"), named(note, `note ${mark.id}`)),
    );
  }

  function pickButton(mark, number) {
    const part = desk.data.purpose || !mark.component ? "" : ` on ${mark.component}`;
    const lack = desk.data.purpose ? "" : desk.lackOf(mark);
    const words = make(
      "span",
      { class: "words" },
      make("strong", {}, `${number} ${capital(desk.nameOf(mark, number))}`),
      `${part}, ${TOOL_NAMES[mark.shape.type]}`,
      lack ? make("em", {}, ` (say ${lack}${mark.component ? "" : "; it is not kept before"})`) : null,
    );
    const current = mark.id === desk.selected ? "true" : null;
    const pick = make("button", { type: "button", class: "pick", "aria-current": current, onclick: () => desk.select(mark.id) });
    pick.append(lineSample(desk.looks.get(mark.category)), words);
    return named(pick, `pick ${mark.id}`);
  }

  function smallButton(iconName, label, action) {
    return make("button", { type: "button", class: "tool small", "aria-label": label, onclick: action }, icon(iconName));
  }

  function item(mark, i) {
    const number = i + 1;
    const row = make("div", { class: "item-row" }, pickButton(mark, number));
    if (!desk.data.readonly) {
      const edit = smallButton("edit", `Edit mark ${number}`, () => toggle(mark.id));
      edit.setAttribute("aria-expanded", String(open === mark.id));
      const remove = smallButton("remove", `Delete mark ${number}`, () => desk.remove(mark.id));
      if (!desk.data.purpose) row.append(named(edit, `edit ${mark.id}`)); // there is nothing to say about other shapes
      row.append(named(remove, `remove ${i}`));
    }
    const reading = make("p", { class: "reading", hidden: true });
    readingOf.set(mark.id, reading);
    const node = make("li", { class: mark.id === desk.selected ? "chosen" : null }, row, reading);
    if (mark.note && open !== mark.id) node.append(make("p", { class: "quiet" }, document.createTextNode(mark.note)));
    if (open === mark.id && !desk.data.readonly) node.append(fields(mark, number));
    return node;
  }

  function hintItem(hint) {
    const earlier = hint.kind === "earlier";
    const name = `${earlier ? "then" : "hint"} ${hint.number}`;
    const words = `${capital(name)}: ${hint.category} on ${hint.component}${hint.by ? ` (${hint.by})` : ""}`;
    const verb = earlier ? "Take over" : "Accept";
    const accept = make("button", { type: "button", class: "accept", onclick: () => desk.acceptHint(hint.id) }, `${verb} as my mark`);
    accept.setAttribute("aria-label", tell(`${verb} ${name} as my mark`));
    return make("li", {}, make("div", { class: "item-row" }, make("span", { class: "words" }, words), desk.data.readonly ? null : named(accept, `accept ${name}`)));
  }

  function fillBox({ box: section, items: list }, hints) {
    section.hidden = !hints.length;
    list.replaceChildren(...hints.map(hintItem));
  }

  function headline(count) {
    if (desk.data.purpose) return count ? "Drawn here" : "Nothing drawn here yet";
    return count ? `Marks on this photo (${count})` : "No marks on this photo yet";
  }

  function toggle(id) {
    open = open === id ? null : id;
    redraw();
  }

  /** Rebuilding must not throw the keyboard's focus away. */
  function keepFocus(change) {
    const before = box.getRootNode().activeElement?.dataset?.focus;
    const had = Boolean(before) && box.contains(box.getRootNode().activeElement);
    change();
    if (!had) return;
    const again = box.querySelector(`[data-focus="${CSS.escape(before)}"]`) ?? [...box.querySelectorAll("[data-focus^='remove ']")].at(-1);
    if (again) again.focus({ preventScroll: true });
    else desk.focusStage();
  }

  /** In place, since readings arrive while a finger may already be on a button of the list. */
  function showReadings() {
    for (const [id, node] of readingOf) {
      const words = desk.readings[id] ?? "";
      if (node.textContent !== words) node.textContent = words;
      node.hidden = !words;
    }
  }

  function redraw() {
    const now = [desk.marks(), desk.selected, desk.data, open];
    if (!now.every((part, i) => part === shown[i])) rebuild(now);
    showReadings();
  }

  function rebuild(now) {
    shown = now;
    readingOf.clear();
    keepFocus(() => {
      const marks = desk.marks();
      heading.textContent = tell(headline(marks.length));
      items.hidden = !marks.length;
      items.replaceChildren(...marks.map(item));
      const hints = desk.hints();
      fillBox(hintBox, hints.filter((hint) => hint.kind !== "earlier"));
      fillBox(earlierBox, hints.filter((hint) => hint.kind === "earlier"));
      help.hidden = desk.data.readonly;
    });
  }

  return { box, redraw };
}
