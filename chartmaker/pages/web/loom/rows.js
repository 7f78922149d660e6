// The rows of the map, unpacked a block at a time, and only when they are needed.

import { byId, facts } from "../common/page.js";
import { inflated } from "./inflate.js";

export const { rows, columns, firstRow, endRow, firstColumn, endColumn } = facts;
const wide = endColumn - firstColumn;
const MOST_BLOCKS = 6;
const packed = byId("loom-rows").textContent.split("\n");
const blocks = new Map();
const marks = byId("loom-marks").textContent;

function block(number) {
  let cells = blocks.get(number);
  if (cells) blocks.delete(number);
  else {
    const text = atob(packed[number]);
    const bytes = new Uint8Array(text.length);
    for (let at = 0; at < bytes.length; at++) bytes[at] = text.charCodeAt(at);
    const first = facts.lowestRow + number * facts.blockRows;
    cells = inflated(bytes, (Math.min(first + facts.blockRows, endRow) - first) * wide);
  }
  blocks.set(number, cells); // the last is the newest
  if (blocks.size > MOST_BLOCKS) blocks.delete(blocks.keys().next().value);
  return cells;
}

/** The cells of a row, counted from 0: a byte each, the first is that of column `firstColumn`. */
export function cellsOf(row) {
  const number = Math.floor((row - facts.lowestRow) / facts.blockRows);
  const at = row - facts.lowestRow - number * facts.blockRows;
  return block(number).subarray(at * wide, (at + 1) * wide);
}

/** Whether the page holds a row. */
export const holds = (row) => row >= facts.lowestRow && row < endRow;

/** Unpack what the next rows need, so that no step waits for it. */
export function readyFor(row) {
  if (holds(row)) cellsOf(row);
}

/** Four letters for each row: rows that differ between two maps have different marks, but for one chance in millions. */
export const markOf = (row) => marks.substr(4 * row, 4);
export const allMarks = marks;
