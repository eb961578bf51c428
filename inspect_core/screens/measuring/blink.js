// Two pictures of one size shown in turn. One every PERIOD: half a flash a second at most, where WCAG 2.3.1 allows
// three; it can be stopped (2.2.2) and does not begin by itself for whoever wants less motion.

const PERIOD_MS = 1200;
const STYLE = `
  .blink { font: 16px/1.4 var(--st-font, system-ui, sans-serif); color: var(--st-text-color, #1a1a1a); }
  .blink .sheets { position: relative; border-radius: 6px; overflow: hidden; background: #20242a; }
  .blink img { display: block; width: 100%; }
  .blink img + img { position: absolute; inset: 0; }
  .blink img[data-away] { visibility: hidden; }
  .blink .which {
    position: absolute; left: 8px; top: 8px; margin: 0; padding: 4px 10px; border-radius: 4px;
    background: #14171b; color: #ffffff; font-weight: 600;
  }
  .blink .row { display: flex; gap: 8px; margin-top: 8px; flex-wrap: wrap; }
  .blink button {
    flex: 1 1 140px; min-height: 48px; font: inherit; color: inherit; cursor: pointer; border-radius: 8px;
    background: var(--st-background-color, #ffffff);
    border: 1px solid color-mix(in srgb, currentColor 45%, var(--st-background-color, #ffffff));
  }
  .blink button:focus-visible { outline: 3px solid currentColor; outline-offset: 2px; }
`;
const shows = new WeakMap();

function node(tag, attributes = {}, ...children) {
  const made = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) made.setAttribute(name, value);
  made.append(...children);
  return made;
}

function makeShow(parent) {
  const then = node("img", { alt: "" });
  const today = node("img", { alt: "" });
  const which = node("p", { class: "which", role: "status", "aria-live": "off" });
  const run = node("button", { type: "button" });
  const other = node("button", { type: "button" });
  const style = node("style");
  style.textContent = STYLE;
  const root = node("div", { class: "blink" }, style, node("div", { class: "sheets" }, then, today, which), node("div", { class: "row" }, run, other));
  parent.append(root);
  let words = { then: "", today: "" };
  let said = { stop: "Stop", blink: "Blink", other: "Show the other" };
  let front = "today";
  let timer = 0;

  function draw() {
    then.toggleAttribute("data-away", front !== "then");
    today.toggleAttribute("data-away", front !== "today");
    which.textContent = words[front];
    run.textContent = timer ? said.stop : said.blink;
    other.textContent = said.other;
    run.setAttribute("aria-pressed", String(Boolean(timer)));
  }
  function turn() {
    front = front === "then" ? "today" : "then";
    draw();
  }
  function stop() {
    clearInterval(timer);
    timer = 0;
    which.setAttribute("aria-live", "polite"); // while it blinks a reader must not be told every change
    draw();
  }
  function start() {
    which.setAttribute("aria-live", "off");
    timer = setInterval(turn, PERIOD_MS);
    draw();
  }
  run.addEventListener("click", () => (timer ? stop() : start()));
  other.addEventListener("click", () => {
    stop();
    turn();
  });
  const calm = globalThis.matchMedia("(prefers-reduced-motion: reduce)");
  const calmed = () => calm.matches && stop();
  calm.addEventListener("change", calmed);
  if (calm.matches) stop();
  else start();

  return {
    show(data) {
      words = { then: data.then_words, today: data.today_words };
      said = data.said;
      for (const [image, url, alt] of [[then, data.then_url, data.then_words], [today, data.today_url, data.today_words]]) {
        if (image.getAttribute("src") !== url) image.src = url;
        image.alt = alt;
      }
      draw();
    },
    dispose() {
      clearInterval(timer);
      calm.removeEventListener("change", calmed);
      root.remove();
      shows.delete(parent);
    },
  };
}

export default function blink({ parentElement, data }) {
  if (!shows.has(parentElement)) shows.set(parentElement, makeShow(parentElement));
  shows.get(parentElement).show(data);
  return shows.get(parentElement).dispose;
}
