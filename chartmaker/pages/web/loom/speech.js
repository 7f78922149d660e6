// The calls read aloud by the browser's own voice, and the weavers' answer heard where the device itself can do that.

import { byId, element, facts, say } from "../common/page.js";
import { show, yarns } from "./page.js";
import { callWords } from "./calls.js";
import { calls, finished, state, tied } from "./place.js";
import { placeWords, rowWords } from "./view.js";

export const SPEAKING = ["off", "call", "row"];
export const voice = { speaking: "off", rate: 1, name: "", listening: false };
const engine = window.speechSynthesis;
const Utterance = window.SpeechSynthesisUtterance;
export const canSpeak = Boolean(engine && Utterance);
const hearing = { recognition: null };

function utter(words) {
  const spoken = new Utterance(words);
  const chosen = engine.getVoices().find((each) => each.name === voice.name);
  if (chosen) spoken.voice = chosen;
  spoken.lang = chosen ? chosen.lang : facts.language;
  spoken.rate = voice.rate;
  engine.speak(spoken);
}

/** What is read aloud for the place: a call, or every call that is left of the row. */
export function spokenWords() {
  if (voice.speaking !== "row" || finished() || tied()) return [placeWords()];
  const words = calls().slice(state.call).map((call) => say("sentence", { words: callWords(call, state.choices) }));
  return [say("sentence", { words: rowWords() }), ...words];
}

/** Read the place aloud; what was being read before is broken off. */
export function speak() {
  if (!canSpeak) return;
  engine.cancel();
  spokenWords().forEach(utter);
}

/** The row's calls are read once in a whole: after a step within the row there is nothing new to read. */
export function speakStep(newRow) {
  if (voice.speaking === "call" || (voice.speaking === "row" && (newRow || tied() || finished()))) speak();
}

export function hush() {
  if (canSpeak) engine.cancel();
}

/** List the voices; they may come late, and there may be none. */
export function fillVoices() {
  if (!canSpeak) return;
  const own = element("option", "", say("ownVoice"));
  own.value = "";
  const voices = engine.getVoices().map((each) => {
    const option = element("option", "", `${each.name} (${each.lang})`);
    option.value = each.name;
    return option;
  });
  byId("voice").replaceChildren(own, ...voices);
  byId("voice").value = voice.name;
}

export function connectVoices() {
  show("speech-missing", !canSpeak);
  if (!canSpeak) {
    for (const id of ["speaking", "rate", "voice", "again"]) byId(id).disabled = true;
    return;
  }
  fillVoices();
  if (engine.addEventListener) engine.addEventListener("voiceschanged", fillVoices);
}

const Recognition = window.SpeechRecognition || window.webkitSpeechRecognition;

/** Whether the device hears answers by itself: what would send them to a network is not used. */
export async function canHear() {
  if (!Recognition || !Recognition.available || !("processLocally" in Recognition.prototype)) return false;
  try {
    return (await Recognition.available({ langs: [facts.language], processLocally: true })) === "available";
  } catch (fault) {
    return false;
  }
}

/** Listen for the answers of the table, each of which does one thing. */
export function listen(wanted, answers) {
  voice.listening = wanted;
  if (hearing.recognition) hearing.recognition.abort();
  hearing.recognition = null;
  if (!wanted) return;
  const recognition = new Recognition();
  Object.assign(recognition, { processLocally: true, continuous: true, interimResults: false, lang: facts.language });
  recognition.onresult = (event) => {
    const heard = event.results[event.results.length - 1][0].transcript.trim().toLowerCase();
    const answer = Object.keys(answers).find((key) => say(key).split("|").includes(heard));
    if (answer) answers[answer]();
  };
  recognition.onend = () => {
    if (voice.listening && hearing.recognition === recognition) recognition.start();
  };
  hearing.recognition = recognition;
  recognition.start();
}

/** The yarns that no caller can say apart: two that have one call name. */
export const sameCalls = () =>
  yarns.filter((yarn) => yarns.some((other) => other !== yarn && other.call.toLowerCase() === yarn.call.toLowerCase()));
