// Hands the readings of a photo's marks to the marking component. A component of its own, because new data re-sends a
// component's whole script: this one is short, and a new reading leaves the large one alone.

export default function readings({ data }) {
  const key = Symbol.for("bartack.readings");
  globalThis[key] ??= new Map();
  globalThis[key].set(data.photo_id, data.readings);
  globalThis.dispatchEvent(new Event("bartack-readings"));
}
