// What arrives from Python, and how it meets the copy on this device.
import { dropCopy, loadCopy } from "./store.js";
import { make } from "./elements.js";
import { tell } from "./tongue.js";

export function makeIntake(desk) {
  const words = make("p", {});
  const back = make("button", { type: "button", class: "accept" }, "Bring back");
  const discard = make("button", { type: "button", class: "accept" }, "Discard");
  const offer = make("div", { class: "offer", role: "group", "aria-label": "Marks kept on this device", hidden: true }, words, back, discard);

  function known(marks) {
    const categories = new Set(desk.categoryNames());
    const components = new Set(desk.data.components);
    return marks.filter((mark) => categories.has(mark.category) && (!mark.component || components.has(mark.component)));
  }

  function offerCopy(copy) {
    const have = new Set(desk.marks().map((mark) => mark.id));
    const lost = known(copy.marks).filter((mark) => !have.has(mark.id));
    offer.hidden = !lost.length;
    if (!lost.length) return;
    words.textContent = tell(`This device kept ${lost.length} ${lost.length === 1 ? "mark" : "marks"} drawn on this photo earlier and not recorded.`);
    back.onclick = () => {
      offer.hidden = true;
      desk.say(`${lost.length} brought back.`);
      desk.bringBack([...desk.marks(), ...lost], copy.rev);
    };
    discard.onclick = () => {
      offer.hidden = true;
      dropCopy(desk.data.photo_id);
      desk.focusStage();
    };
  }

  function meetCopy() {
    offer.hidden = true;
    const { photo_id: photoId, draft, readonly } = desk.data;
    const copy = readonly ? null : loadCopy(photoId);
    if (!copy) return;
    if (copy.draft !== draft) offerCopy(copy);
    else if (copy.rev > desk.rev || copy.marks.some((mark) => !mark.component)) {
      // The same draft, further on than the server knows: a reload overtook the last stroke, or a mark has no part yet.
      desk.say("Brought back what was drawn last on this device.");
      desk.bringBack(known(copy.marks), copy.rev);
    }
  }

  return {
    offer,
    receive(data) {
      const other = data.photo_id !== desk.data.photo_id;
      const newer = data.rev > desk.rev;
      desk.data = data;
      desk.looks = new Map(data.categories.map((category) => [category.name, category]));
      if (data.recorded) dropCopy(data.photo_id);
      if (other) {
        desk.choosesFirst = false;
        desk.choice = { category: data.default_category ?? "", component: data.default_component ?? "" };
        desk.view.setPhoto(data.width, data.height);
        desk.restart(data.marks, data.rev);
        meetCopy();
      } else if (newer) desk.restart(data.marks, data.rev);
      desk.photo.show(data.preview_url, data.full_url);
      desk.redraw();
    },
  };
}
