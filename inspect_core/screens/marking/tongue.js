// What the component says, in the language of the page. The texts stay English in the code; on their way to a person
// they are recognised among the phrases that the page hands in, and what stands in their places is told as well.
let exact = new Map();
let templates = [];
let spoken = "[]";

const PLACE = /\{(\w+)\}/g;

function patternOf(phrase) {
  const parts = phrase.split(PLACE); // text, name, text, name, ...
  const source = parts.map((part, i) => (i % 2 ? `(?<${part}>.+?)` : part.replace(/[.*+?^${}()|[\]\\]/g, "\\$&"))).join("");
  return new RegExp(`^${source}$`, "s");
}

/** Takes the phrases as [English, told]; true where they are others than before. */
export function speak(phrases = []) {
  const now = JSON.stringify(phrases);
  if (now === spoken) return false;
  spoken = now;
  exact = new Map(phrases.filter(([english]) => !english.includes("{")));
  templates = phrases
    .filter(([english]) => english.includes("{"))
    .map(([english, told]) => ({ pattern: patternOf(english), told, weight: english.replace(PLACE, "").length }))
    .sort((one, other) => other.weight - one.weight);
  return true;
}

const upper = (text) => text.charAt(0).toUpperCase() + text.slice(1);
const lower = (text) => text.charAt(0).toLowerCase() + text.slice(1);

export function tell(text) {
  if (typeof text !== "string" || !templates.length) return text;
  if (exact.has(text)) return exact.get(text);
  if (exact.has(lower(text))) return upper(exact.get(lower(text)));
  for (const { pattern, told } of templates) {
    const places = pattern.exec(text)?.groups;
    if (places) return told.replace(PLACE, (_, name) => tell(places[name] ?? ""));
  }
  return text;
}
