// What is left: yarn from this row on, the length that the rug should measure, the days, each as rows of a table.

import { facts } from "../common/page.js";
import { NO_KNOT, yarns } from "./page.js";
import { spanOf } from "./calls.js";
import { cellsOf, endRow, firstColumn, firstRow, holds, rows } from "./rows.js";
import { columnOf } from "./calls.js";
import { calls, days, finished, state, today } from "./place.js";

/** The row behind the last of the section that a row is in: sections are those in which yarn is handed out. */
export const sectionEnd = (row) => Math.min(rows, (Math.floor(row / facts.sectionRows) + 1) * facts.sectionRows);

function countRow(counts, row, strip) {
  const [from, to] = spanOf(strip);
  const cells = cellsOf(row);
  for (let at = from - firstColumn; at < to - firstColumn; at++) {
    if (cells[at] !== NO_KNOT) counts[cells[at]]++;
  }
}

/** The knots of each yarn in rows `from` to `to`, of what the page holds. */
function counted(from, to, strip) {
  const counts = yarns.map(() => 0);
  for (let row = Math.max(from, firstRow); row < Math.min(to, endRow); row++) countRow(counts, row, strip);
  return counts;
}

/** Take away what is tied already of the row at hand; a row called by halves counts both. */
function withoutTied(counts) {
  const [from, to] = spanOf(state.choices.strip);
  const cells = finished() || !holds(state.row) ? null : cellsOf(state.row);
  const left = [...counts];
  if (!cells) return left;
  for (const call of calls().slice(0, state.call)) {
    for (let place = call.at; place < call.at + call.knots; place++) {
      const column = columnOf(state.choices, place) - 1;
      left[cells[column - firstColumn]]--;
      if (state.choices.way !== "whole" && !call.middle) left[cells[from + to - 1 - column - firstColumn]]--;
    }
  }
  return left;
}

/** Of an amount of the whole rug, as its figures are printed, what so many of its knots take. */
const share = (amount, knots, yarn) => (yarn.knots ? Math.round((amount * knots) / yarn.knots) : 0);

/** The yarn that is left: knots to the section's end and to that of the rug, with grams and metres, and the bundles. */
export function yarnLeft() {
  const { strip } = state.choices;
  const shown = Math.min(state.row, rows - 1);
  const end = sectionEnd(shown);
  const bundles = facts.bundles[Math.floor(shown / facts.sectionRows)];
  const section = withoutTied(counted(state.row, end, strip));
  const rest = counted(end, rows, strip).map((knots, yarn) => knots + (facts.after[yarn] || 0));
  return yarns.map((yarn, number) => {
    const all = section[number] + rest[number];
    return {
      code: yarn.code,
      name: yarn.name,
      section: section[number],
      sectionGrams: bundles[number],
      all,
      grams: share(yarn.grams, all, yarn),
      metres: share(yarn.metres, all, yarn),
    };
  });
}

/** The millimetres that the rug should measure on the loom after so many rows. */
export const dueMm = (finishedRows) => facts.loomRowMm * finishedRows;

/** What a measured length says: rows per 10 cm so far, how far it is off, where the rug would end. */
export function judged({ row, mm }) {
  const off = mm / dueMm(row) - 1;
  return { row, mm, due: dueMm(row), off, rowsPerDm: (row * 100) / mm, end: (rows * mm) / row, tight: off < 0 };
}

/** The pace so far, in knots a day, of the days before today, or of today where there is no other. */
export function pace() {
  const worked = Object.entries(days()).filter(([, entry]) => entry.rows > 0);
  const before = worked.filter(([day]) => day !== today());
  const used = before.length ? before : worked;
  const knots = used.reduce((sum, [, entry]) => sum + entry.knots, 0);
  return used.length ? { knots: knots / used.length, days: used.length } : null;
}

/** The knots that are left to tie. */
export const knotsLeft = () => yarnLeft().reduce((sum, { all }) => sum + all, 0);

// A spreadsheet takes a cell that begins so for a formula.
const FORMULA = /^[=+\-@\t\r]/;

/** Rows of a table as CSV (RFC 4180). */
export function csv(table) {
  const cell = (value) => {
    const text = typeof value === "number" ? String(Math.round(value * 1000) / 1000) : FORMULA.test(value) ? `'${value}` : value;
    return /[",\r\n]/.test(text) ? `"${text.replace(/"/g, '""')}"` : text;
  };
  return table.map((line) => line.map(cell).join(",")).join("\r\n") + "\r\n";
}
