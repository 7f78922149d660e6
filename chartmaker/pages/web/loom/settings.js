// How the row is called, how the page looks and sounds: what was chosen stays chosen on this device.

import { byId, element, facts, say, sayN, tell } from "../common/page.js";
import { fill, show } from "./page.js";
import { canHalve } from "./calls.js";
import { MOST, ORDERS, READINGS, WAYS } from "./code.js";
import { canShow, choose, state } from "./place.js";
import { keep, recordOf } from "./store.js";
import { canSpeak, connectVoices, hush, sameCalls, SPEAKING, speak, voice } from "./speech.js";

const KEY = "settings";
const LOOKS = ["device", "light", "dark"];
const SIZES = ["1", "1.25", "1.5", "2"];
export const settings = { look: "device", contrast: false, size: "1", tap: true, awake: true };

function options(id, values, words) {
  fill(id, ...values.map((value) => Object.assign(element("option", "", words(value)), { value: String(value) })));
}

function fillChoices() {
  const strips = facts.strips.map((_, number) => number).filter(canShow);
  const span = ([from, to]) => ({ first: from + 1, last: to });
  options("strip", facts.pageStrip < 0 ? [-1, ...strips] : strips, (strip) =>
    strip < 0 ? say("allStrips") : say("strip", { strip: strip + 1, ...span(facts.strips[strip]) }),
  );
  show("strip-line", strips.length > 1);
  options("way", WAYS, (way) => say(`way-${way}`));
  options("order", ORDERS, (order) => say(`order-${order}`));
  options("most", [...MOST].reverse(), (most) => (most ? sayN("most", most) : say("mostAll")));
  options("reading", READINGS, (reading) => say(reading === READINGS[0] ? "fromLeft" : "fromRight"));
  options("unit", ["call", "row"], (unit) => say(`unit-${unit}`));
  options("look", LOOKS, (look) => say(`look-${look}`));
  options("size", SIZES, (size) => say("percent", { number: Math.round(Number(size) * 100) }));
  options("speaking", SPEAKING, (speaking) => say(`speaking-${speaking}`));
  const same = sameCalls();
  show("same-calls", same.length > 0);
  byId("same-calls").textContent = same.length ? say("sameCalls", { codes: same.map((yarn) => yarn.code).join(", ") }) : "";
}

const fields = { shown: "" };

/** Let the fields say what is chosen; a step that changed no choice leaves them alone. */
export function showChoices() {
  const chosen = JSON.stringify([state.choices, state.unit, settings, voice]);
  if (fields.shown === chosen) return;
  fields.shown = chosen;
  for (const [id, value] of Object.entries(state.choices)) byId(id).value = String(value);
  byId("unit").value = state.unit;
  byId("way").disabled = !canHalve(state.choices.strip);
  show("way-missing", !canHalve(state.choices.strip));
  byId("look").value = settings.look;
  byId("contrast").checked = settings.contrast;
  byId("size").value = settings.size;
  byId("tap").checked = settings.tap;
  byId("awake").checked = settings.awake;
  byId("speaking").value = voice.speaking;
  byId("rate").value = String(voice.rate);
}

export function applyLook() {
  const page = document.documentElement;
  page.dataset.look = settings.look;
  page.dataset.contrast = settings.contrast ? "more" : "";
  page.style.fontSize = `${Number(settings.size) * 100}%`;
}

function keepSettings() {
  keep(KEY, { ...settings, speaking: voice.speaking, rate: voice.rate, voice: voice.name });
}

function takeSettings() {
  const kept = recordOf(KEY) || {};
  if (LOOKS.includes(kept.look)) settings.look = kept.look;
  if (SIZES.includes(kept.size)) settings.size = kept.size;
  for (const key of ["contrast", "tap", "awake"]) if (typeof kept[key] === "boolean") settings[key] = kept[key];
  if (SPEAKING.includes(kept.speaking) && canSpeak) voice.speaking = kept.speaking;
  if (kept.rate >= 0.5 && kept.rate <= 2) voice.rate = kept.rate;
  if (typeof kept.voice === "string") voice.name = kept.voice;
}

function onChoice(id) {
  const value = byId(id).value;
  const again = choose({ [id]: id === "strip" || id === "most" ? Number(value) : value });
  byId("choice-note").textContent = again ? say("rowAgain", { row: state.row + 1 }) : "";
  if (again) tell(byId("choice-note").textContent);
  showChoices();
}

function onLook(shown) {
  settings.look = byId("look").value;
  settings.size = byId("size").value;
  for (const id of ["contrast", "tap", "awake"]) settings[id] = byId(id).checked;
  applyLook();
  keepSettings();
  shown();
}

function onVoice() {
  voice.speaking = byId("speaking").value;
  voice.rate = Number(byId("rate").value);
  voice.name = byId("voice").value;
  keepSettings();
  if (voice.speaking === "off") hush();
  else speak();
}

/** Take over what was chosen before, and what is chosen from now on; `shown` shows the page anew. */
export function connectSettings(shown) {
  takeSettings();
  fillChoices();
  connectVoices();
  applyLook();
  showChoices();
  for (const id of ["strip", "way", "order", "most", "reading"]) byId(id).addEventListener("change", () => onChoice(id));
  byId("unit").addEventListener("change", () => {
    state.unit = byId("unit").value;
    choose({});
  });
  for (const id of ["look", "contrast", "size", "tap", "awake"]) byId(id).addEventListener("change", () => onLook(shown));
  for (const id of ["speaking", "rate", "voice"]) byId(id).addEventListener("change", onVoice);
}
