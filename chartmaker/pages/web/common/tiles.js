// The rug in square tiles of colour: one point a knot, or one for 2 x 2, 4 x 4 ... knots, averaged in linear light.

import { facts } from "./page.js";
import { columns, NOTHING, rows, rug, yarns } from "./rug.js";

export const TILE = 256;
const MOST_TILES = 400;

// How far a yarn may be from the artwork, in CIEDE2000, with the colour that stands for it.
export const CLASSES = [
  { upTo: 1, colour: "#f3eddf" },
  { upTo: 2, colour: "#efd39a" },
  { upTo: 4, colour: "#e2a159" },
  { upTo: 8, colour: "#bb5a33" },
  { upTo: Infinity, colour: "#64162b" },
];
const NOT_COMPARED = "#8f9aa0";

export const shown = new Uint8Array(NOTHING).fill(1); // which yarns
// What tiles are painted by: the view, the colour of the cloth where yarns are hidden, and the age of both.
export const cloth = { differenceView: false, colour: "#d9d2c4", age: 0 };
const tiles = new Map();

const linearOf = new Float32Array(256);
const byteOf = new Uint8Array(4097);
for (let i = 0; i < 256; i++) linearOf[i] = i <= 10.31475 ? i / 3294.6 : ((i / 255 + 0.055) / 1.055) ** 2.4;
for (let i = 0; i < 4097; i++) {
  const v = i / 4096;
  byteOf[i] = Math.round(255 * (v <= 0.0031308 ? 12.92 * v : 1.055 * v ** (1 / 2.4) - 0.055));
}

// What a cell looks like: its yarn's number, or its difference in steps, or one of these.
const HIDDEN = 256;
const OUTSIDE = 257;
const red = new Uint8Array(258);
const green = new Uint8Array(258);
const blue = new Uint8Array(258);

function setColour(look, hex) {
  red[look] = parseInt(hex.slice(1, 3), 16);
  green[look] = parseInt(hex.slice(3, 5), 16);
  blue[look] = parseInt(hex.slice(5, 7), 16);
}

function classOf(step) {
  return CLASSES.find((c) => step * facts.difference.step < c.upTo);
}

/** Take the colours anew, after a yarn was hidden or the view changed. */
export function recolour() {
  if (cloth.differenceView) {
    for (let step = 0; step < NOTHING; step++) setColour(step, classOf(step).colour);
    setColour(NOTHING, NOT_COMPARED);
  } else {
    yarns.forEach((yarn, number) => setColour(number, yarn.srgb));
  }
  setColour(HIDDEN, cloth.colour);
  cloth.age++;
}

function lookOf(cell) {
  const yarn = rug.knots[cell];
  if (yarn === NOTHING) return OUTSIDE;
  if (!shown[yarn]) return HIDDEN;
  return cloth.differenceView ? rug.differences[cell] : yarn;
}

/** Fill `pixels` with one point for each of the tile's knots. */
function paintKnots(pixels, width, height, top, left) {
  for (let y = 0, at = 0; y < height; y++) {
    let cell = (rows - 1 - top - y) * columns + left;
    for (let x = 0; x < width; x++, at += 4, cell++) {
      const look = lookOf(cell);
      if (look === OUTSIDE) continue;
      pixels[at] = red[look];
      pixels[at + 1] = green[look];
      pixels[at + 2] = blue[look];
      pixels[at + 3] = 255;
    }
  }
}

/** Fill `pixels` with one point for each square of 2 ** level knots, averaged in linear light. */
function paintAverages(pixels, width, height, top, left, level) {
  const side = 1 << level;
  const right = Math.min(left + width * side, columns);
  const sums = new Float32Array(width * 4);
  for (let y = 0; y < height; y++) {
    sums.fill(0);
    const last = Math.min(top + (y + 1) * side, rows);
    for (let row = top + y * side; row < last; row++) {
      const start = (rows - 1 - row) * columns;
      for (let column = left; column < right; column++) {
        const look = lookOf(start + column);
        if (look === OUTSIDE) continue;
        const at = ((column - left) >> level) * 4;
        sums[at] += linearOf[red[look]];
        sums[at + 1] += linearOf[green[look]];
        sums[at + 2] += linearOf[blue[look]];
        sums[at + 3]++;
      }
    }
    const deep = last - (top + y * side);
    for (let x = 0, at = 0, to = y * width * 4; x < width; x++, at += 4, to += 4) {
      const number = sums[at + 3];
      if (!number) continue;
      for (let c = 0; c < 3; c++) pixels[to + c] = byteOf[Math.round((sums[at + c] / number) * 4096)];
      pixels[to + 3] = Math.round((255 * number) / (deep * Math.min(side, right - left - x * side)));
    }
  }
}

/** The tile's canvas, with where it lies in knots from the top left; out of date when it may not be painted now. */
export function tileAt(level, tileRow, tileColumn, mayPaint) {
  const key = `${level}/${tileRow}/${tileColumn}`;
  let tile = tiles.get(key);
  if (tile) tiles.delete(key);
  else tile = { canvas: null, age: -1 };
  tiles.set(key, tile); // the last is the newest
  if (tile.age !== cloth.age && mayPaint) {
    const span = TILE << level;
    const top = tileRow * span;
    const left = tileColumn * span;
    const width = Math.ceil(Math.min(span, columns - left) / (1 << level));
    const height = Math.ceil(Math.min(span, rows - top) / (1 << level));
    tile.canvas ??= Object.assign(document.createElement("canvas"), { width, height });
    const pencil = tile.canvas.getContext("2d");
    const picture = pencil.createImageData(width, height);
    if (level) paintAverages(picture.data, width, height, top, left, level);
    else paintKnots(picture.data, width, height, top, left);
    pencil.putImageData(picture, 0, 0);
    tile.age = cloth.age;
    if (tiles.size > MOST_TILES) tiles.delete(tiles.keys().next().value);
  }
  return tile;
}
