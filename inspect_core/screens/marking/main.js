// The door between Streamlit and the desk. Streamlit calls the default export on the first mount and again when the
// data or the theme changes, always with the same parent element; one desk lives there until the clean-up.
import { speak } from "./tongue.js";
import { makeDesk } from "./desk.js";
import { makeIntake } from "./intake.js";
import { makeFrame } from "./frame.js";

const READINGS = Symbol.for("bartack.readings"); // Map of photo id -> {mark id: text}, filled by readings.js
const READINGS_EVENT = "bartack-readings";
const mounted = new WeakMap();

function mount(parent) {
  const desk = makeDesk();
  const intake = makeIntake(desk);
  const frame = makeFrame(desk, intake, parent);
  const takeReadings = () => {
    desk.readings = globalThis[READINGS]?.get(desk.data.photo_id) ?? {};
    desk.redraw();
  };
  globalThis.addEventListener(READINGS_EVENT, takeReadings);
  const dispose = () => {
    globalThis.removeEventListener(READINGS_EVENT, takeReadings);
    frame.dispose();
    mounted.delete(parent);
  };
  return { desk, intake, frame, takeReadings, dispose };
}

export default function marking({ parentElement, data, setStateValue }) {
  if (speak(data.phrases)) mounted.get(parentElement)?.dispose();
  if (!mounted.has(parentElement)) mounted.set(parentElement, mount(parentElement));
  const { desk, intake, frame, takeReadings, dispose } = mounted.get(parentElement);
  desk.send = (payload) => setStateValue("marking", payload);
  intake.receive(data);
  frame.refresh(data);
  takeReadings();
  return dispose;
}
