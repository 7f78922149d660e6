// Places from elsewhere: of an older map of the rug, of another device, of a file, of a code.

import { facts } from "../common/page.js";
import { markOf, rows } from "./rows.js";
import { otherRecords } from "./store.js";
import { placeOfCode } from "./code.js";
import { calls, record, save, state, takeRecord, usableChoices } from "./place.js";

/** Finished rows, counted from 0, that this map has otherwise than the one that a record belongs to. */
export function differingRows(old, row) {
  const marks = typeof old.marks === "string" ? old.marks : "";
  const found = [];
  for (let number = 0; number < Math.min(row, rows); number++) {
    if (marks.substr(4 * number, 4) !== markOf(number)) found.push(number);
  }
  return found;
}

/** Rows as ranges, `3-5, 9`, counted from 1, the first few. */
export function ranges(numbers, most = 12) {
  const spans = [];
  for (const number of numbers) {
    const last = spans[spans.length - 1];
    if (last && last[1] === number - 1) last[1] = number;
    else spans.push([number, number]);
  }
  const told = spans.slice(0, most).map(([a, b]) => (a === b ? `${a + 1}` : `${a + 1}–${b + 1}`));
  return told.join(", ") + (spans.length > most ? ", …" : "");
}

const rowOf = (old) => {
  const strip = old.choices && old.choices.strip;
  const there = old.places && (old.places[strip] || old.places[-1]);
  return there && Number.isInteger(there.row) ? there.row : 0;
};

/** The record of an older map of this rug that got farthest; null where there is none. */
export function olderRecord() {
  const found = otherRecords(facts.sha256).filter((old) => old.rug === facts.name && rowOf(old) > 0);
  return found.sort((a, b) => rowOf(b) - rowOf(a))[0] || null;
}

/** What there is to say of a record that does not belong to this very map. */
export const comparedWith = (old) => ({
  code: String(old.map || "").slice(0, 8),
  row: rowOf(old),
  rows: old.rows,
  differing: differingRows(old, rowOf(old)),
});

/** Go on from the record of an older map: at its row, from the row's beginning. */
export function takeOlder(old) {
  const places = {};
  for (const [strip, there] of Object.entries(old.places)) places[strip] = { row: Math.min(there.row, rows), call: 0 };
  if (!takeRecord({ ...old, places, serial: state.serial })) return;
  save(true);
}

/** A file's text as a record with a place; null where it is none. */
export function recordOfFile(text) {
  try {
    const found = JSON.parse(text);
    return found && found.what === "chartmaker loom place" && found.places && found.choices ? found : null;
  } catch (fault) {
    return null;
  }
}

/** A code as a record of this map with only its place; null where it is none, or is of another map. */
export function recordOfCode(text) {
  const found = placeOfCode(text);
  if (!found) return { fault: "noCode" };
  if (!found.sameMap || found.row > rows) return { fault: "otherMapCode" };
  const choices = usableChoices(found.choices);
  if (choices.strip !== found.choices.strip) return { fault: "otherPart" };
  return { record: { ...record(), choices, places: { ...state.places, [choices.strip]: { row: found.row, call: found.call } } } };
}

/** Where a record of this map is: its strip, its row, its calls done. */
export function placeOf(found) {
  const choices = usableChoices(found.choices);
  return { choices, ...(found.places[choices.strip] || { row: 0, call: 0 }) };
}

/** Whether a record says another place than this page. */
export function disagrees(found) {
  const there = placeOf(found);
  const same = JSON.stringify(there.choices) === JSON.stringify(state.choices);
  return there.row !== state.row || (same && Math.min(there.call, calls().length) !== state.call);
}

/** Take over the place that a record says, with everything that it keeps. */
export function takeOver(found) {
  const { serial } = state;
  takeRecord(found);
  state.serial = Math.max(serial, state.serial);
  state.conflict = null;
  save(true);
}

/** Stay here; what another tab kept is written over. */
export function stay() {
  state.conflict = null;
  save(true);
}
