// Building the page without ever parsing text as markup: whatever a person typed stays text.

import { tell } from "./tongue.js";

const SVG_NAMESPACE = "http://www.w3.org/2000/svg";

const TOLD = new Set(["title", "aria-label", "alt", "placeholder"]);

function filled(node, attributes, children) {
  for (const [name, value] of Object.entries(attributes)) {
    if (value === null || value === undefined || value === false) continue;
    if (name.startsWith("on")) node.addEventListener(name.slice(2), value);
    else node.setAttribute(name, value === true ? "" : TOLD.has(name) ? tell(value) : value);
  }
  for (const child of children) if (child !== null) node.append(tell(child));
  return node;
}

export function make(tag, attributes = {}, ...children) {
  return filled(document.createElement(tag), attributes, children);
}

export function makeSvg(tag, attributes = {}, ...children) {
  return filled(document.createElementNS(SVG_NAMESPACE, tag), attributes, children);
}

export function capital(text) {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

/** Fills a select with the names; `empty` adds a first entry that stands for "not chosen yet". */
export function fillSelect(select, names, chosen, empty = null) {
  const options = names.map((name) => make("option", { value: name }, capital(tell(name))));
  if (empty !== null) options.unshift(make("option", { value: "" }, empty));
  select.replaceChildren(...options);
  select.value = chosen ?? "";
}

/** Bright colours get dark gaps and a light rim, dark ones the reverse: the pattern must show without the colour. */
export function isBright(colour) {
  const [red, green, blue] = [1, 3, 5].map((at) => (parseInt(colour.slice(at, at + 2), 16) / 255) ** 2.2);
  return 0.2126 * red + 0.7152 * green + 0.0722 * blue > 0.35;
}

/** A short piece of line in the category's colour and pattern. */
export function lineSample(look) {
  const dashes = look.dashes.join(" ") || "none";
  return makeSvg(
    "svg",
    { class: isBright(look.colour) ? "sample bright" : "sample", viewBox: "0 0 40 12", "aria-hidden": "true", focusable: "false" },
    makeSvg("path", { d: "M0 6H40", class: "halo-rim" }),
    makeSvg("path", { d: "M0 6H40", class: "halo-core" }),
    makeSvg("path", { d: "M0 6H40", class: "sample-line", stroke: look.colour, "stroke-dasharray": dashes }),
  );
}
