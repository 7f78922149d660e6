// What keys, pedals, fingers and answers do.

import { byId, facts, say, tell } from "../common/page.js";
import { show } from "./page.js";
import { rows } from "./rows.js";
import { askOlder, askOther, asking } from "./ask.js";
import { readFile, saveFile } from "./files.js";
import { back, forward, goTo, record, shortCode, state } from "./place.js";
import { recordOfCode, recordOfFile } from "./revised.js";
import { settings } from "./settings.js";
import { canHear, listen, speak, speakStep } from "./speech.js";

const MOST_FILE_BYTES = 2000000;
/** A trembling finger, a bouncing pedal: what comes sooner is the same touch (estimate). */
const SAME_TOUCH_MS = 180;
const last = { ms: -1e9 };

function step(move) {
  const ms = performance.now();
  if (asking() || ms - last.ms < SAME_TOUCH_MS) return;
  last.ms = ms;
  const row = state.row;
  if (move()) speakStep(state.row !== row);
}

const done = () => step(() => forward());
const rowDone = () => step(() => forward(true));
const undo = () => step(back);

const KEYS = {
  " ": done,
  Spacebar: done,
  PageDown: done,
  ArrowRight: done,
  ArrowDown: done,
  PageUp: undo,
  ArrowLeft: undo,
  ArrowUp: undo,
  Backspace: undo,
  r: speak,
  e: rowDone,
};

/** Pedals send Page Down and Page Up whatever has the focus; other keys are left to what has it. */
function onKey(event) {
  if (event.ctrlKey || event.altKey || event.metaKey) return;
  const pedal = event.key === "PageDown" || event.key === "PageUp";
  const busy = event.target.closest(event.key === " " ? "button, input, select, summary, a" : "input, select");
  const act = KEYS[event.key.length === 1 ? event.key.toLowerCase() : event.key];
  if (!act || (busy && !pedal)) return;
  event.preventDefault();
  if (!event.repeat) act();
}

function onTap(event) {
  const held = window.getSelection && String(window.getSelection());
  if (settings.tap && !held && !event.target.closest("button, input, select, summary, a")) done();
}

function onGo(event) {
  event.preventDefault();
  const row = Number(byId("go-row").value);
  const sound = Number.isInteger(row) && row >= facts.firstRow + 1 && row <= facts.endRow;
  byId("go-fault").textContent = sound ? "" : say("noSuchRow", { first: facts.firstRow + 1, last: facts.endRow });
  if (!sound) return;
  goTo(row - 1);
  byId("go-row").value = "";
  byId("done").focus();
}

function answer(words) {
  byId("place-answer").textContent = words;
  tell(words);
}

function onCode(event) {
  event.preventDefault();
  const found = recordOfCode(byId("typed-code").value);
  if (found.fault) answer(say(found.fault));
  else askOther(found.record, "otherDevice");
}

function onFile() {
  const [file] = byId("place-file").files;
  if (!file) return;
  readFile(file, MOST_FILE_BYTES, (text) => {
    byId("place-file").value = "";
    const found = recordOfFile(text);
    if (!found || found.rug !== facts.name) answer(say(found ? "otherRugFile" : "noPlaceFile"));
    else if (found.map !== facts.sha256) askOlder(found);
    else askOther(found, "otherDevice");
  });
}

/** The answers that are heard, by their key in the table of words. */
const ANSWERS = { heardDone: done, heardBack: undo, heardAgain: speak };

export function connectHands() {
  document.addEventListener("keydown", onKey);
  byId("card").addEventListener("click", onTap);
  byId("done").addEventListener("click", done);
  byId("row-done").addEventListener("click", rowDone);
  byId("back").addEventListener("click", undo);
  byId("again").addEventListener("click", speak);
  byId("go").addEventListener("submit", onGo);
  byId("go-row").max = rows;
  byId("code-form").addEventListener("submit", onCode);
  byId("place-file").addEventListener("change", onFile);
  byId("save-place").addEventListener("click", () => {
    saveFile(`${facts.code}-row-${state.row + 1}.json`, "application/json", JSON.stringify(record()));
    answer(say("placeSaved", { code: shortCode() }));
  });
  canHear().then((can) => show("listening-line", can));
  byId("listening").addEventListener("change", () => listen(byId("listening").checked, ANSWERS));
}
