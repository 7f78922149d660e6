// The place: which call of which row is next, how it moves, and that it is kept at every step.

import { facts } from "../common/page.js";
import { callsOf, canHalve, knotsOf } from "./calls.js";
import { allMarks, endRow, firstRow, holds, readyFor, rows } from "./rows.js";
import { codeInAddress, keep, keepInAddress, keeping, onOtherTab, recordOf, tab } from "./store.js";
import { codeOf, MOST, ORDERS, placeOfCode, READINGS, WAYS } from "./code.js";

const UNITS = ["call", "row"];
const MOST_DAYS = 4000;

/** `call` counts the calls that are tied; where it is their number, the row waits for its weft. */
export const state = {
  row: firstRow,
  call: 0,
  choices: { strip: facts.pageStrip, way: "whole", order: "row", most: 20, reading: facts.reading },
  unit: "call",
  places: {},
  log: {},
  lengths: [],
  serial: 0,
  /** What another tab kept while this one went on from an older place. */
  conflict: null,
  changed: () => {},
};
const known = { key: "", calls: [] };

/** The calls of the row that is being tied. */
export function calls() {
  const key = JSON.stringify([state.row, state.choices]);
  if (known.key !== key) {
    known.calls = holds(state.row) ? callsOf(state.row, state.choices) : [];
    known.key = key;
  }
  return known.calls;
}

export const finished = () => state.row >= endRow;
export const tied = () => !finished() && state.call >= calls().length;

/** The local day, as it is kept: the year first. */
export function today() {
  const now = new Date();
  const two = (number) => String(number).padStart(2, "0");
  return `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}`;
}

/** The days of the chosen strip: the rows and knots finished on each. */
export function days() {
  const { strip } = state.choices;
  if (!state.log[strip]) state.log[strip] = {};
  return state.log[strip];
}

function finishRow() {
  const day = today();
  const entry = days()[day] || { rows: 0, knots: 0 };
  entry.rows += 1;
  entry.knots += knotsOf(calls(), state.choices);
  days()[day] = entry;
  state.row += 1;
  state.call = 0;
}

function takeBackRow() {
  state.row -= 1;
  state.call = calls().length;
  const last = Object.keys(days()).sort().pop();
  if (!last) return;
  const entry = days()[last];
  entry.rows -= 1;
  entry.knots -= knotsOf(calls(), state.choices);
  if (entry.rows <= 0) delete days()[last];
}

/** Done with the call, or with the row's weft; with `wholeRow`, with all that is left of the row. */
export function forward(wholeRow = state.unit === "row") {
  if (state.conflict || finished()) return false;
  if (tied()) finishRow();
  else state.call = wholeRow ? calls().length : state.call + 1;
  save();
  return true;
}

export function back() {
  if (state.conflict) return false;
  if (state.call > 0) state.call = state.unit === "row" ? 0 : state.call - 1;
  else if (state.row > firstRow) takeBackRow();
  else return false;
  save();
  return true;
}

/** Go to a call of a row, counted from 0, without counting anything as done. */
export function goTo(row, call = 0) {
  state.row = Math.max(firstRow, Math.min(endRow, row));
  state.call = Math.max(0, Math.min(calls().length, call));
  save();
}

/**
 * Call in another way. The place in the row is kept where the order of the knots is the same; returns whether the row
 * has to be called from its beginning.
 */
export function choose(next) {
  const before = { choices: state.choices, row: state.row, list: calls(), call: state.call };
  state.places[before.choices.strip] = { row: state.row, call: state.call };
  const choices = { ...before.choices, ...next };
  if (!canHalve(choices.strip)) choices.way = "whole";
  state.choices = choices;
  if (choices.strip !== before.choices.strip) {
    const there = state.places[choices.strip] || { row: state.row, call: 0 };
    state.row = there.row;
    state.call = Math.min(there.call, calls().length);
    save();
    return false;
  }
  const begun = before.call > 0 && before.call < before.list.length;
  const comparable = before.choices.order === "row" && choices.order === "row" && before.choices.reading === choices.reading;
  if (before.call >= before.list.length) state.call = calls().length;
  else if (!begun || !comparable) state.call = 0;
  else {
    const reached = before.list[before.call].at;
    const index = calls().findIndex((call) => call.at + call.knots > reached);
    state.call = index < 0 ? 0 : index;
  }
  save();
  return begun && !comparable;
}

const whole = (value, least, most) => Number.isInteger(value) && value >= least && value <= most;
const among = (value, list, other) => (list.includes(value) ? value : other);

/** The choices of a record or a code as far as this page has them. */
export function usableChoices(given) {
  const own = state.choices;
  const from = given || {};
  const strip = whole(from.strip, -1, facts.strips.length - 1) && canShow(from.strip) ? from.strip : own.strip;
  return {
    strip,
    way: canHalve(strip) ? among(from.way, WAYS, "whole") : "whole",
    order: among(from.order, ORDERS, "row"),
    most: among(from.most, MOST, 20),
    reading: among(from.reading, READINGS, own.reading),
  };
}

/** Whether the page holds a strip: a part of a large rug holds one. */
export const canShow = (strip) => facts.pageStrip < 0 || strip === facts.pageStrip;

function usableDays(given) {
  const found = {};
  for (const [day, entry] of Object.entries(given || {}).slice(0, MOST_DAYS)) {
    const sound = /^\d{4}-\d\d-\d\d$/.test(day) && entry && whole(entry.rows, 1, 1e6) && whole(entry.knots, 0, 1e9);
    if (sound) found[day] = { rows: entry.rows, knots: entry.knots };
  }
  return found;
}

/** Take over a record, whoever wrote it: what is not as it should be is left out. Returns whether it held a place. */
export function takeRecord(record) {
  if (!record || !record.places || !record.choices) return false;
  const choices = usableChoices(record.choices);
  const there = record.places[choices.strip];
  if (!there || !whole(there.row, 0, rows) || !whole(there.call, 0, 1e6)) return false;
  state.choices = choices;
  state.unit = among(record.unit, UNITS, "call");
  state.places = {};
  state.log = {};
  for (let strip = -1; strip < facts.strips.length; strip++) {
    const place = record.places[strip];
    if (place && whole(place.row, 0, rows) && whole(place.call, 0, 1e6)) {
      state.places[strip] = { row: place.row, call: place.call };
    }
    state.log[strip] = usableDays(record.log && record.log[strip]);
  }
  const measured = Array.isArray(record.lengths) ? record.lengths : [];
  state.lengths = measured
    .filter((each) => each && whole(each.row, 1, rows) && each.mm > 0 && each.mm < 1e6)
    .map(({ row, mm }) => ({ row, mm }))
    .slice(-MOST_DAYS);
  state.row = there.row;
  state.call = Math.min(there.call, calls().length);
  state.serial = whole(record.serial, 0, 1e12) ? record.serial : 0;
  return true;
}

/** What is kept of the place, and what a file of it holds. */
export function record() {
  state.places[state.choices.strip] = { row: state.row, call: state.call };
  return {
    what: "chartmaker loom place",
    map: facts.sha256,
    rug: facts.name,
    rows,
    marks: allMarks,
    tab,
    serial: state.serial,
    choices: state.choices,
    unit: state.unit,
    places: state.places,
    log: state.log,
    lengths: state.lengths,
  };
}

export const shortCode = () => codeOf(state.choices, state.row, state.call);

/** Keep the place. Another tab that moved meanwhile is not written over: its place becomes the conflict. */
export function save(over = false) {
  const kept = recordOf(facts.sha256);
  if (!over && kept && kept.tab !== tab && kept.serial > state.serial) state.conflict = kept;
  else {
    if (kept && kept.serial > state.serial) state.serial = kept.serial;
    state.serial += 1;
    if (!keep(facts.sha256, record())) keepInAddress(shortCode());
  }
  state.changed();
  setTimeout(() => readyFor(state.row + 1), 0);
}

/** Go where another tab went, if it went anywhere. */
export function follow(kept = recordOf(facts.sha256)) {
  if (!kept || kept.tab === tab || kept.serial <= state.serial || state.conflict) return;
  const before = JSON.stringify(state.places);
  takeRecord(kept);
  state.changed(JSON.stringify(state.places) !== before);
}

/** Find the kept place: on the device, else in the address. Returns whether there was one. */
export function open() {
  onOtherTab(facts.sha256, follow);
  if (takeRecord(recordOf(facts.sha256))) return true;
  const given = placeOfCode(codeInAddress());
  if (!given || !given.sameMap) return false;
  state.choices = usableChoices(given.choices);
  state.row = Math.min(given.row, rows);
  state.call = Math.min(given.call, calls().length);
  return true;
}

export const keptOnDevice = () => keeping.where === "device";
