// The rows below as they should look, with the row that is being tied on top: a slip is seen before it is tied in.

import { byId, facts, say } from "../common/page.js";
import { NO_KNOT, yarns } from "./page.js";
import { columnOf, spanOf } from "./calls.js";
import { cellsOf, columns, firstColumn, holds } from "./rows.js";

const LEAST_CELL_PX = 15;
const [ROW_NUMBERS_PX, COLUMN_NUMBERS_PX] = [44, 22];
const sprites = new Map();
const shapes = yarns.map((yarn) => new Path2D(yarn.shape));

const inks = {};

/** Ask the style for the colours, but only when they can have changed: each question makes the browser reckon anew. */
export function takeInks() {
  const style = getComputedStyle(document.documentElement);
  for (const name of ["--ink", "--rule", "--card"]) inks[name] = style.getPropertyValue(name).trim();
}

const colour = (name) => inks[name];

/** A knot as the chart has it, its colour with its symbol; painted once for a size. */
export function sprite(yarn, wide, high) {
  const key = `${yarn}/${wide}/${high}`;
  if (!sprites.has(key)) {
    if (sprites.size > 600) sprites.clear();
    const canvas = Object.assign(document.createElement("canvas"), { width: wide, height: high });
    paintKnot(canvas.getContext("2d"), yarn, wide, high);
    sprites.set(key, canvas);
  }
  return sprites.get(key);
}

const SVG = "http://www.w3.org/2000/svg";
const patches = yarns.map(() => null);

function drawn(tag, attributes) {
  const made = document.createElementNS(SVG, tag);
  for (const [name, value] of Object.entries(attributes)) made.setAttribute(name, value);
  return made;
}

/** A yarn's colour with its symbol, for a line of words; built once and then copied, which costs a step far less. */
export function patch(yarn) {
  if (!patches[yarn]) {
    const { srgb, dark, shape } = yarns[yarn];
    const made = drawn("svg", { class: "patch", viewBox: "-258 -258 1516 1516", "aria-hidden": "true" });
    made.append(
      drawn("rect", { x: -258, y: -258, width: 1516, height: 1516, fill: srgb }),
      drawn("path", { d: shape, fill: dark ? "#ffffff" : "#000000" }),
    );
    patches[yarn] = made;
  }
  return patches[yarn].cloneNode(true);
}

function paintKnot(pen, yarn, wide, high) {
  const { srgb, dark } = yarns[yarn];
  pen.fillStyle = srgb;
  pen.fillRect(0, 0, wide, high);
  const side = 0.66 * Math.min(wide, high);
  pen.fillStyle = dark ? "#ffffff" : "#000000";
  pen.setTransform(side / 1000, 0, 0, side / 1000, (wide - side) / 2, (high - side) / 2);
  pen.fill(shapes[yarn]);
  pen.setTransform(1, 0, 0, 1, 0, 0);
}

/** The first column that is shown, so that the places of a call stand in the middle. */
function windowOf(choices, call, number) {
  const [from, to] = spanOf(choices.strip);
  const places = call ? [call.at, call.at + Math.min(call.knots, number) - 1] : [0, 0];
  const middle = (columnOf(choices, places[0]) + columnOf(choices, places[1])) / 2 - 1;
  const first = Math.round(middle - (number - 1) / 2);
  return Math.max(Math.min(first, to - number), from);
}

/** Which places of the row are tied: of those before the call, as they are called. */
function tiedPlaces(list, done, choices) {
  const found = new Set();
  const [from, to] = spanOf(choices.strip);
  list.slice(0, done).forEach((call) => {
    for (let place = call.at; place < call.at + call.knots; place++) {
      const column = columnOf(choices, place) - 1;
      found.add(column);
      if (choices.way !== "whole") found.add(from + to - 1 - column);
    }
  });
  return found;
}

function callPlaces(call, choices) {
  const found = new Set();
  for (let place = call.at; place < call.at + call.knots; place++) found.add(columnOf(choices, place) - 1);
  return found;
}

function paintNumbers(pen, layout, row, first, number) {
  const { left, high, wide, cellHigh, cellWide, shown, ratio } = layout;
  pen.fillStyle = colour("--ink");
  pen.font = `${13 * ratio}px system-ui, sans-serif`;
  pen.textBaseline = "middle";
  pen.textAlign = "right";
  for (let at = 0; at < shown; at++) {
    if (at === 0 || (row - at + 1) % 5 === 0) pen.fillText(String(row - at + 1), left - 5 * ratio, (at + 0.5) * cellHigh);
  }
  pen.textAlign = "center";
  for (let at = 0; at < number; at++) {
    const column = first + at + 1;
    if (column % 10 && column !== 1 && column !== columns) continue;
    const x = Math.min(Math.max(left + (at + 0.5) * cellWide, left + 8 * ratio), wide - 14 * ratio);
    pen.fillText(String(column), x, high - (COLUMN_NUMBERS_PX / 2) * ratio);
  }
}

/** Lines under every tenth row and beside every tenth column, as on the chart. */
function paintTens(pen, layout, row, first, number) {
  const { left, cellHigh, cellWide, shown, ratio } = layout;
  pen.fillStyle = colour("--rule");
  for (let at = 0; at <= number; at++) {
    if ((first + at) % 10 === 0) pen.fillRect(left + at * cellWide - ratio, 0, 2 * ratio, shown * cellHigh);
  }
  for (let at = 0; at < shown; at++) {
    if ((row - at) % 10 === 0) pen.fillRect(left, (at + 1) * cellHigh - ratio, number * cellWide, 2 * ratio);
  }
}

function frame(pen, x, y, wide, high, ratio) {
  for (const [width, name] of [[7, "--card"], [4, "--ink"]]) {
    pen.strokeStyle = colour(name);
    pen.lineWidth = width * ratio;
    pen.strokeRect(x, y, wide, high);
  }
}

function paintTop(pen, layout, cells, { list, call, choices }, first, number) {
  const { left, cellHigh, cellWide, ratio } = layout;
  const tied = tiedPlaces(list, call, choices);
  const now = call < list.length ? callPlaces(list[call], choices) : new Set();
  const other = (column) => spanOf(choices.strip)[0] + spanOf(choices.strip)[1] - 1 - column;
  for (let at = 0; at < number; at++) {
    const column = first + at;
    const yarn = cells[column - firstColumn];
    const here = now.has(column) || (choices.way === "ends" && now.has(other(column)));
    if (yarn === NO_KNOT || !(here || tied.has(column))) continue;
    pen.drawImage(sprite(yarn, Math.ceil(cellWide), cellHigh), left + at * cellWide, 0, cellWide, cellHigh);
  }
  for (let at = 0; at < number; at++) {
    if (!now.has(first + at)) continue;
    let end = at;
    while (end < number && now.has(first + end)) end++;
    frame(pen, left + at * cellWide, 2 * ratio, (end - at) * cellWide, cellHigh - 2 * ratio, ratio);
    at = end;
  }
}

/** Paint the row with those below it. */
export function paintPicture(row, view) {
  const canvas = byId("picture");
  const ratio = window.devicePixelRatio || 1;
  const wide = Math.round(canvas.clientWidth * ratio);
  const high = Math.round(canvas.clientHeight * ratio);
  if (!wide || !high) return;
  if (canvas.width !== wide || canvas.height !== high) Object.assign(canvas, { width: wide, height: high });
  const pen = canvas.getContext("2d");
  pen.clearRect(0, 0, wide, high);
  if (!holds(row)) return;
  const [from, to] = spanOf(view.choices.strip);
  const left = ROW_NUMBERS_PX * ratio;
  const proportion = facts.rowMm / facts.columnMm;
  const number = Math.max(1, Math.min(to - from, Math.floor((wide - left) / (LEAST_CELL_PX * ratio))));
  const cellWide = Math.min((wide - left) / number, 48 * ratio);
  const cellHigh = Math.max(10 * ratio, Math.round(cellWide * proportion));
  const shown = Math.max(1, Math.min(Math.floor((high - COLUMN_NUMBERS_PX * ratio) / cellHigh), row - facts.lowestRow + 1));
  const layout = { left, wide, high, cellWide, cellHigh, shown, ratio };
  const first = windowOf(view.choices, view.list[Math.min(view.call, view.list.length - 1)], number);
  paintTop(pen, layout, cellsOf(row), view, first, number);
  for (let at = 1; at < shown; at++) {
    const cells = cellsOf(row - at);
    for (let x = 0; x < number; x++) {
      const yarn = cells[first + x - firstColumn];
      if (yarn === NO_KNOT) continue;
      pen.drawImage(sprite(yarn, Math.ceil(cellWide), cellHigh), left + x * cellWide, at * cellHigh, cellWide, cellHigh);
    }
  }
  paintTens(pen, layout, row, first, number);
  paintNumbers(pen, layout, row, first, number);
  canvas.setAttribute("aria-label", say("picture", { first: first + 1, last: first + number, low: row - shown + 2, high: row + 1 }));
}
