// Icons drawn for this component: 24 by 24, one stroke, the colour of the text around them.
import { makeSvg } from "./elements.js";

const ICON_PATHS = {
  move: "M6 3l12 9-6 1.2L9.5 19z",
  pan: "M12 3v18M3 12h18M12 3l-3 3M12 3l3 3M12 21l-3-3M12 21l3-3M3 12l3-3M3 12l3 3M21 12l-3-3M21 12l-3 3",
  line: "M5 19L19 5M3.5 19a1.5 1.5 0 1 0 3 0a1.5 1.5 0 1 0-3 0M17.5 5a1.5 1.5 0 1 0 3 0a1.5 1.5 0 1 0-3 0",
  polyline: "M4 18l5-9 5 6 6-10",
  box: "M4 6h16v12H4z",
  polygon: "M12 3l9 7-4 10H6L3 10z",
  freehand: "M7 18c-5-3-3-10 2-9s3-6 8-4 4 8 2 11-7 5-12 2z",
  undo: "M9 5L4 10l5 5M4 10h10a6 6 0 0 1 0 11h-3",
  redo: "M15 5l5 5-5 5M20 10H10a6 6 0 0 0 0 11h3",
  remove: "M5 7h14M10 7V4h4v3M7 7l1 13h8l1-13M10.5 11v5M13.5 11v5",
  closer: "M12 5v14M5 12h14",
  farther: "M5 12h14",
  whole: "M4 9V4h5M15 4h5v5M20 15v5h-5M9 20H4v-5",
  large: "M14 4h6v6M20 4l-7 7M10 20H4v-6M4 20l7-7",
  small: "M20 10h-6V4M14 10l7-7M4 14h6v6M10 14l-7 7",
  finish: "M4 13l5 5L20 6",
  cancel: "M6 6l12 12M18 6L6 18",
  edit: "M4 20l1-5L16 4l4 4L9 19z",
};

export function icon(name) {
  return makeSvg(
    "svg",
    { class: "icon", viewBox: "0 0 24 24", "aria-hidden": "true", focusable: "false" },
    makeSvg("path", { d: ICON_PATHS[name] }),
  );
}
