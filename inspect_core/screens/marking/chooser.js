// What the mark shows and on which part: for the chosen mark, or for the next one when none is chosen.
import { fillSelect, make } from "./elements.js";
import { icon } from "./icons.js";
import { tell } from "./tongue.js";

export function makeChooser(desk) {
  const legend = make("legend", {});
  const category = make("select", { onchange: () => category.value && desk.choose({ category: category.value }) });
  const component = make("select", { onchange: () => component.value && desk.choose({ component: component.value }) });
  const next = make(
    "button",
    { type: "button", class: "tool next", title: "Leave this mark as it is and set up the next one", onclick: () => desk.select(null) },
    icon("closer"),
    make("span", {}, "Next"),
  );
  const box = make(
    "fieldset",
    { class: "chooser" },
    legend,
    make("label", { class: "field" }, make("span", {}, "Shows"), category),
    make("label", { class: "field" }, make("span", {}, "On part"), component),
    next,
  );
  let shown = [];
  return {
    box,
    redraw() {
      const now = [desk.marks(), desk.selected, desk.data, desk.choice.category, desk.choice.component];
      if (now.every((part, i) => part === shown[i])) return;
      shown = now;
      // Where there is one category and one part, there is nothing to choose.
      box.hidden = desk.data.readonly || (desk.data.categories.length === 1 && desk.data.components.length === 1);
      const mark = desk.selectedMark();
      const undecided = mark ? desk.undecided.has(mark.id) : !desk.choice.category;
      const number = mark ? desk.numberOf(mark.id) : null;
      if (!mark) legend.textContent = tell("Next mark");
      else legend.textContent = tell(desk.lackOf(mark) ? `Mark ${number}: say ${desk.lackOf(mark)}` : `Mark ${number}`);
      box.classList.toggle("ask", Boolean(mark && desk.lackOf(mark)));
      fillSelect(category, desk.categoryNames(), undecided ? "" : (mark ?? desk.choice).category, undecided ? "Choose…" : null);
      const part = (mark ?? desk.choice).component;
      fillSelect(component, desk.data.components, part, part ? null : "Choose…");
      next.hidden = !mark;
    },
  };
}
