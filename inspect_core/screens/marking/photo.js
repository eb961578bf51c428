// The picture itself: the small copy first, the full one once, when the small one no longer has the pixels.
import { make } from "./elements.js";

export function makePhoto(view, say) {
  const preview = make("img", { alt: "", draggable: "false", decoding: "async" });
  const full = make("img", { alt: "", draggable: "false", decoding: "async", class: "full", hidden: true });
  const sheet = make("div", { class: "sheet", "aria-hidden": "true" }, preview, full);
  let urls = { preview: "", full: "" };
  let fullAsked = false;
  let fullReady = false;

  preview.addEventListener("error", () => {
    if (urls.preview) say("The photo could not be loaded. Reload the page; the marks are kept.");
  });
  preview.addEventListener("load", () => photo.place());
  full.addEventListener("load", () => {
    fullReady = true;
    full.hidden = false;
  });
  full.addEventListener("error", () => {
    if (urls.full) say("The full photo could not be loaded. The small copy stays; marks are exact all the same.");
  });

  const photo = {
    sheet,
    get fullReady() {
      return fullReady;
    },
    show(previewUrl, fullUrl) {
      if (urls.preview === previewUrl && urls.full === fullUrl) return;
      urls = { preview: previewUrl, full: fullUrl };
      fullAsked = false;
      fullReady = false;
      full.hidden = true;
      full.removeAttribute("src");
      preview.src = previewUrl;
    },
    place() {
      const { width, height } = view.size;
      sheet.style.width = `${width}px`;
      sheet.style.height = `${height}px`;
      sheet.style.transform = `translate(${view.offset[0]}px, ${view.offset[1]}px) scale(${view.scale})`;
      const shown = preview.naturalWidth;
      if (!shown || fullAsked || !urls.full || urls.full === urls.preview || shown >= width) return;
      if (view.fitted || view.scale * globalThis.devicePixelRatio <= shown / width) return;
      fullAsked = true;
      full.src = urls.full;
    },
    /** The sharpest picture at hand and its pixels per photo pixel; null before the first load. */
    best() {
      const image = fullReady ? full : preview;
      return image.naturalWidth ? { image, ratio: image.naturalWidth / view.size.width } : null;
    },
  };
  return photo;
}
