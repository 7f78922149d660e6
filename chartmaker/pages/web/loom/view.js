// What is seen and told of the place: the row, the call, what was tied, what comes.

import { byId, element, facts, say, sayN, tell } from "../common/page.js";
import { centimetres, fill, foreign, show, yarns } from "./page.js";
import { callsOf, callWords, columnOf, knotsOf, liftWords, spanOf } from "./calls.js";
import { endRow, firstRow, holds, rows } from "./rows.js";
import { calls, finished, keptOnDevice, shortCode, state, tied } from "./place.js";
import { paintPicture, patch, sprite, takeInks } from "./picture.js";

const [BEFORE, AFTER] = [2, 4];

/** The other number that a row has on the chart of a rug whose upper half mirrors the lower. */
export function otherNumber(row) {
  const other = rows - row;
  return facts.alike.along && other !== row + 1 ? other : null;
}

function paintSwatch(yarn) {
  const canvas = byId("swatch");
  const pen = canvas.getContext("2d");
  pen.clearRect(0, 0, canvas.width, canvas.height);
  if (yarn !== null) pen.drawImage(sprite(yarn, canvas.width, canvas.height), 0, 0);
}

/** A call on one line: its knots, its yarn, a patch of its colour. */
function shortCall(call) {
  return element("span", "short", patch(call.yarn), foreign(callWords(call, state.choices)));
}

function reachedWords(call) {
  const last = columnOf(state.choices, call.at + call.knots - 1);
  if (state.choices.way === "ends" && !call.middle) {
    const [from, to] = spanOf(state.choices.strip);
    return say("reachedBoth", { column: last, other: from + to + 1 - last });
  }
  return say("reached", { column: last });
}

function showCall() {
  const list = calls();
  const call = list[state.call];
  byId("count").textContent = String(call.knots);
  fill("name", foreign(yarns[call.yarn].call));
  byId("code").textContent = yarns[call.yarn].code;
  paintSwatch(call.yarn);
  byId("lift").textContent = liftWords(call, state.choices);
  show("lift", Boolean(byId("lift").textContent));
  const parts = [reachedWords(call)];
  if (call.run > call.knots) parts.unshift(say("partOfRun", { done: call.before + call.knots, run: call.run }));
  if (call.middle) parts.unshift(say("middle"));
  fill("reached", ...parts.map((words) => element("span", "", words)));
  byId("left-in-row").textContent = sayN("callsLeft", list.length - state.call);
}

/** The row waits for its weft, or the page's rows are all woven. */
function showPause() {
  byId("count").textContent = finished() ? "" : "✓";
  const words = finished() ? endWords() : say("rowTied", { row: state.row + 1 });
  fill("name", words);
  byId("code").textContent = "";
  paintSwatch(null);
  show("lift", false);
  const parts = finished() ? [] : [sayN("knotsInRow", knotsOf(calls(), state.choices)), sayN("weft", facts.picks)];
  fill("reached", ...parts.map((part) => element("span", "", part)));
  byId("left-in-row").textContent = finished() ? "" : sayN("callsLeft", 0);
}

export const endWords = () => say(endRow === rows ? "rugDone" : "sectionDone");

/** How high the pile is cut, and finished, of all yarns or of those that are alike; and where new lots begin. */
export function showPile() {
  const alike = new Map();
  for (const { code, cutMm: cut, pileMm: pile } of yarns) {
    const key = `${cut} ${pile}`;
    alike.set(key, { cut, pile, codes: [...(alike.get(key)?.codes || []), code] });
  }
  const told = [...alike.values()].map((each) => say(alike.size > 1 ? "pileOf" : "pile", { ...each, codes: each.codes.join(", ") }));
  byId("pile").textContent = [...told, ...facts.lots.map((lot) => say("newLot", lot))].join("; ");
  show("same-knot", facts.oneHanded && (facts.alike.across || facts.alike.along));
}

/** The link to the part of a large rug that holds the row; none where this page holds it. */
function showPart() {
  const strip = state.choices.strip;
  const wanted = holds(state.row) && state.row >= firstRow ? null : facts.parts.find((part) => part.strip === strip && state.row >= part.firstRow && state.row < part.endRow);
  show("next-part", Boolean(wanted));
  if (!wanted) return;
  byId("next-part").href = `${wanted.file}#${shortCode()}`;
  byId("next-part").textContent = say("openPart", { row: state.row + 1 });
}

/** What a caller says for the place: the whole of it, or only the next call. */
export function placeWords() {
  if (finished()) return endWords();
  if (tied()) return `${say("rowTied", { row: state.row + 1 })} ${sayN("weft", facts.picks)}`;
  const words = callWords(calls()[state.call], state.choices);
  return state.call === 0 ? say("rowThenCall", { row: rowWords(), call: words }) : say("sentence", { words });
}

/** The row that comes, after the yarns of which a new lot begins with it. */
export function rowWords() {
  const other = otherNumber(state.row);
  return `${lotWords()}${other ? say("rowBoth", { row: state.row + 1, other }) : say("row", { row: state.row + 1 })}`;
}

/** Which yarns are of a new lot from this row on; nothing in most rows. */
function lotWords() {
  return facts.lots.filter((lot) => lot.row === state.row + 1).map((lot) => `${say("lotNow", lot)} `).join("");
}

function showRow() {
  const shown = Math.min(state.row, rows - 1);
  byId("row").textContent = say("row", { row: shown + 1 });
  show("lot-now", Boolean(lotWords()));
  byId("lot-now").textContent = lotWords().trim();
  const other = otherNumber(shown);
  byId("other").textContent = other ? say("alsoRow", { row: other }) : "";
  const due = centimetres(facts.loomRowMm * Math.min(state.row, rows));
  byId("of-rows").textContent = say(state.row ? "ofRows" : "ofRowsYet", { rows, due });
}

/** Show the place, and tell it once. */
export function showPlace(telling = true) {
  showRow();
  if (finished() || tied() || !holds(state.row)) showPause();
  else showCall();
  const list = calls();
  const before = list.slice(Math.max(0, state.call - BEFORE), state.call);
  fill("before", ...before.map(shortCall));
  show("before-line", before.length > 0);
  const after = list.slice(state.call + 1, state.call + 1 + AFTER);
  fill("after", ...after.map(shortCall));
  show("after-line", after.length > 0);
  byId("done").textContent = say(tied() ? "doneWeft" : state.unit === "row" && !finished() ? "doneRow" : "done");
  byId("done").setAttribute("aria-disabled", String(finished()));
  show("row-done", state.unit === "call");
  showPart();
  byId("short-code").textContent = shortCode();
  show("not-kept", !keptOnDevice());
  byId("not-kept-code").textContent = shortCode();
  document.documentElement.dataset.place = `${state.row}/${state.call}`;
  const { choices } = state;
  if (!finished()) paintPicture(state.row, { list, call: state.call, choices });
  else paintPicture(endRow - 1, { list: callsOf(endRow - 1, choices), call: Infinity, choices });
  if (telling) tell(placeWords());
}

/** Show the place after the page's look or size changed; there is nothing to tell. */
export function showAfresh() {
  takeInks();
  showPlace(false);
}
