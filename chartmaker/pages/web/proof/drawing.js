// The picture on the screen: the rug with the artwork and the lines over it.

import { cloth, recolour, TILE, tileAt } from "../common/tiles.js";
import { facts } from "../common/page.js";
import { columns, rows, rug } from "../common/rug.js";
import {
  canvas,
  fittingScale,
  knotHigh,
  knotWide,
  ROW_RULE,
  RULE,
  rugHigh,
  rugWide,
  size,
  view,
} from "./view.js";

const pen = canvas.getContext("2d");

// The colours of the page; whether a frame is asked for; the pattern of the pile once it is made; the scale that the
// whole rug had when the canvas was last fitted.
export const drawing = { colours: {}, asked: false, stamp: null, wholeScale: null };

export function takeColours() {
  const style = getComputedStyle(document.documentElement);
  for (const name of ["paper", "ink", "quiet", "hair", "cloth", "accent"]) {
    drawing.colours[name] = style.getPropertyValue(`--${name}`).trim();
  }
  cloth.colour = drawing.colours.cloth;
  recolour();
  view.drawSoon();
}

function drawSoon() {
  if (drawing.asked || !rug.knots) return;
  drawing.asked = true;
  requestAnimationFrame(() => {
    drawing.asked = false;
    draw();
  });
}

/** Device pixels of the rug's left and top, and of one knot. */
function ground() {
  const dense = canvas.width / Math.max(1, canvas.clientWidth);
  const scale = view.scale * dense;
  return {
    dense,
    left: canvas.width / 2 - view.x * scale,
    top: canvas.height / 2 - view.y * scale,
    kw: knotWide * scale,
    kh: knotHigh * scale,
  };
}

function draw() {
  if (!rug.knots) return;
  const g = ground();
  pen.setTransform(1, 0, 0, 1, 0, 0);
  pen.globalCompositeOperation = "source-over";
  pen.clearRect(0, 0, canvas.width, canvas.height);
  const whole = drawTiles(g);
  if (!cloth.differenceView) drawPile(g);
  pen.globalCompositeOperation = "destination-over";
  if (!facts.empty) {
    pen.save();
    pen.shadowColor = "rgb(40 30 20 / .35)";
    pen.shadowBlur = 16 * g.dense;
    pen.shadowOffsetY = 3 * g.dense;
    pen.fillStyle = drawing.colours.cloth;
    pen.fillRect(g.left, g.top, columns * g.kw, rows * g.kh);
    pen.restore();
  }
  pen.fillStyle = drawing.colours.paper;
  pen.fillRect(0, 0, canvas.width, canvas.height);
  pen.globalCompositeOperation = "source-over";
  if (rug.artwork && view.wipe > 0) drawArtwork(g);
  drawTens(g);
  if (rug.artwork && view.wipe > 0 && view.wipe < 1) drawDivide(g);
  drawOutlines(g);
  drawCursor(g);
  if (view.lines) {
    drawRules(g);
    drawScale(g);
  }
  if (!whole) view.drawSoon();
}

/** Draw the tiles in view; return whether all were up to date. A frame paints new tiles for a short while only. */
function drawTiles(g) {
  const least = Math.min(g.kw, g.kh);
  const level = least >= 1 ? 0 : Math.floor(Math.log2(1 / least));
  const span = TILE << level;
  const first = (offset, knot) => Math.max(0, Math.floor(-offset / (knot * span)));
  const last = (offset, knot, number, room) =>
    Math.min(Math.ceil(number / span), Math.ceil((room - offset) / (knot * span)));
  pen.imageSmoothingEnabled = least < 3;
  pen.imageSmoothingQuality = "high";
  const until = performance.now() + 30;
  let whole = true;
  for (let tileRow = first(g.top, g.kh); tileRow < last(g.top, g.kh, rows, canvas.height); tileRow++) {
    for (let tileColumn = first(g.left, g.kw); tileColumn < last(g.left, g.kw, columns, canvas.width); tileColumn++) {
      const tile = tileAt(level, tileRow, tileColumn, performance.now() < until);
      if (tile.age !== cloth.age) whole = false;
      if (!tile.canvas) continue;
      const x = Math.round(g.left + tileColumn * span * g.kw);
      const y = Math.round(g.top + tileRow * span * g.kh);
      const right = Math.round(g.left + Math.min(columns, (tileColumn + 1) * span) * g.kw);
      const bottom = Math.round(g.top + Math.min(rows, (tileRow + 1) * span) * g.kh);
      pen.drawImage(tile.canvas, x, y, right - x, bottom - y);
    }
  }
  return whole;
}

/** The knots in view: rows counted from the top. */
function inView(g) {
  return {
    top: Math.max(0, Math.floor(-g.top / g.kh)),
    bottom: Math.min(rows, Math.ceil((canvas.height - g.top) / g.kh)),
    left: Math.max(0, Math.floor(-g.left / g.kw)),
    right: Math.min(columns, Math.ceil((canvas.width - g.left) / g.kw)),
  };
}

const STAMP_KNOTS = 6;
const STAMP_KNOT = 32; // pixels
const BRIGHTEST = 0.2; // by how much the lightest fibre is lighter than its yarn

/** A few tufts of pile, no two alike: grey, by which colours are multiplied; the mean is 1 / (1 + BRIGHTEST). */
function pileStamp() {
  const side = STAMP_KNOTS * STAMP_KNOT;
  const made = Object.assign(document.createElement("canvas"), { width: side, height: side });
  const pencil = made.getContext("2d");
  const picture = pencil.createImageData(side, side);
  const grain = (a, b) => {
    const mixed = Math.imul(a + 11, 668265263) ^ Math.imul(b + 7, 374761393);
    return ((Math.imul(mixed ^ (mixed >>> 13), 1274126177) >>> 8) & 0xffff) / 32767.5 - 1;
  };
  const round = (turns) => Math.cos(2 * Math.PI * turns) - 0.3 * Math.cos(4 * Math.PI * turns);
  for (let y = 0, at = 0; y < side; y++) {
    for (let x = 0; x < side; x++, at += 4) {
      const [row, column] = [Math.floor(y / STAMP_KNOT), Math.floor(x / STAMP_KNOT)];
      const across = round(x / STAMP_KNOT - 0.5 + 0.09 * grain(row, column));
      const along = round(y / STAMP_KNOT - 0.43 + 0.09 * grain(row + 100, column));
      const shade = 0.07 * across + 0.1 * along + 0.05 * grain((y >> 3) + 500, x >> 1);
      const grey = Math.round((255 * (1 + shade)) / (1 + BRIGHTEST));
      picture.data.set([grey, grey, grey, 255], at);
    }
  }
  pencil.putImageData(picture, 0, 0);
  return pen.createPattern(made, "repeat");
}

/** Lay the pile over knots that are large enough to show it; the mean colour of a yarn stays. */
function drawPile(g) {
  const strength = Math.min(1, (Math.min(g.kw, g.kh) / g.dense - 6) / 6);
  if (strength <= 0) return;
  drawing.stamp ??= pileStamp();
  drawing.stamp.setTransform(new DOMMatrix([g.kw / STAMP_KNOT, 0, 0, g.kh / STAMP_KNOT, g.left, g.top]));
  const outline = facts.empty ? new OffscreenCanvas(canvas.width, canvas.height) : null;
  outline?.getContext("2d").drawImage(canvas, 0, 0);
  const whole = [Math.round(g.left), Math.round(g.top), Math.round(columns * g.kw), Math.round(rows * g.kh)];
  pen.imageSmoothingEnabled = true;
  pen.globalCompositeOperation = "multiply";
  pen.globalAlpha = strength;
  pen.fillStyle = drawing.stamp;
  pen.fillRect(...whole);
  pen.globalAlpha = 1;
  // What multiplying took from the mean is given back: dodging by d divides by 1 - d.
  pen.globalCompositeOperation = "color-dodge";
  const grey = (255 * strength * BRIGHTEST) / (1 + BRIGHTEST);
  pen.fillStyle = `rgb(${grey} ${grey} ${grey})`;
  pen.fillRect(...whole);
  if (outline) {
    pen.globalCompositeOperation = "destination-in";
    pen.drawImage(outline, 0, 0);
  }
}

function drawArtwork(g) {
  const edge = Math.round(canvas.width * view.wipe);
  pen.save();
  pen.beginPath();
  pen.rect(0, 0, edge, canvas.height);
  pen.clip();
  pen.fillStyle = drawing.colours.paper;
  pen.fillRect(0, 0, edge, canvas.height);
  pen.imageSmoothingEnabled = (columns * g.kw) / rug.artwork.width < 2.5;
  pen.imageSmoothingQuality = "high";
  pen.drawImage(rug.artwork, g.left, g.top, columns * g.kw, rows * g.kh);
  pen.restore();
}

function lettering(g, anchor = "left", baseline = "middle") {
  pen.font = `${12 * g.dense}px system-ui, sans-serif`;
  pen.textAlign = anchor;
  pen.textBaseline = baseline;
}

/** Write on a slip of paper so that it can be read on any colour. */
function slip(g, words, x, y, anchor) {
  lettering(g, anchor);
  const wide = pen.measureText(words).width + 14 * g.dense;
  const left = anchor === "left" ? x : x - wide;
  pen.globalAlpha = 0.9;
  pen.fillStyle = drawing.colours.paper;
  pen.beginPath();
  pen.roundRect(left, y - 11 * g.dense, wide, 22 * g.dense, 3 * g.dense);
  pen.fill();
  pen.globalAlpha = 1;
  pen.fillStyle = drawing.colours.ink;
  pen.fillText(words, anchor === "left" ? x + 7 * g.dense : x - 7 * g.dense, y);
}

function drawDivide(g) {
  const x = Math.round(canvas.width * view.wipe);
  pen.fillStyle = "rgb(0 0 0 / .45)";
  pen.fillRect(x - 2 * g.dense, 0, 4 * g.dense, canvas.height);
  pen.fillStyle = "#fff";
  pen.fillRect(x - g.dense, 0, 2 * g.dense, canvas.height);
  const y = ((view.lines ? RULE : 0) + 20) * g.dense;
  const room = 76 * g.dense;
  if (x > room + ROW_RULE * g.dense) slip(g, "artwork", x - 8 * g.dense, y, "right");
  if (canvas.width - x > room) slip(g, cloth.differenceView ? "difference" : "as woven", x + 8 * g.dense, y, "left");
}

/** Rule off every ten knots once these are wide enough, counted from row 1 and column 1. */
function drawTens(g) {
  if (!view.lines || 10 * Math.min(g.kw, g.kh) < 44 * g.dense) return;
  const seen = inView(g);
  const [left, right] = [g.left + seen.left * g.kw, g.left + seen.right * g.kw];
  const [top, bottom] = [g.top + seen.top * g.kh, g.top + seen.bottom * g.kh];
  const wide = Math.max(1, Math.round(g.dense));
  for (const [colour, shift] of [["rgb(255 255 255 / .5)", wide], ["rgb(0 0 0 / .6)", 0]]) {
    pen.fillStyle = colour;
    for (let column = Math.ceil(seen.left / 10) * 10; column <= seen.right; column += 10) {
      pen.fillRect(Math.round(g.left + column * g.kw) + shift, top, wide, bottom - top);
    }
    const lowest = rows - seen.bottom;
    for (let row = Math.ceil(lowest / 10) * 10; row <= rows - seen.top; row += 10) {
      pen.fillRect(left, Math.round(g.top + (rows - row) * g.kh) + shift, right - left, wide);
    }
  }
}

function ruleStep(knot, room) {
  return [1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000].find((step) => step * knot >= room) ?? 10000;
}

/** Number the rows along the left edge, the columns along the top. */
function drawRules(g) {
  const thick = RULE * g.dense;
  const side = ROW_RULE * g.dense;
  const seen = inView(g);
  pen.fillStyle = drawing.colours.paper;
  pen.globalAlpha = 0.92;
  pen.fillRect(0, 0, canvas.width, thick);
  pen.fillRect(0, thick, side, canvas.height - thick);
  pen.globalAlpha = 1;
  pen.fillStyle = drawing.colours.quiet;
  lettering(g, "center");
  pen.font = `${11 * g.dense}px system-ui, sans-serif`;
  const marks = (step, from, to) => {
    const numbers = step > 1 && from === 0 ? [1] : [];
    for (let n = Math.max(step, Math.ceil((from + 1) / step) * step); n <= to; n += step) numbers.push(n);
    return numbers;
  };
  for (const n of marks(ruleStep(g.kw, 52 * g.dense), seen.left, seen.right)) {
    const x = g.left + (n - 0.5) * g.kw;
    if (x < side * 1.3) continue;
    pen.fillText(n, x, thick * 0.42);
    pen.fillRect(x - g.dense / 2, thick * 0.78, g.dense, thick * 0.22);
  }
  for (const n of marks(ruleStep(g.kh, 34 * g.dense), rows - seen.bottom, rows - seen.top)) {
    const y = g.top + (rows - n + 0.5) * g.kh;
    if (y < thick * 1.3) continue;
    pen.fillText(n, side * 0.46, y);
    pen.fillRect(side - 3 * g.dense, y - g.dense / 2, 3 * g.dense, g.dense);
  }
}

function drawScale(g) {
  const roomMm = Math.min(130, 0.24 * size().wide) / view.scale;
  const lengths = [1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000];
  const mm = lengths.findLast((length) => length <= roomMm) ?? 1;
  const wide = mm * view.scale * g.dense;
  const x = canvas.width - wide - 16 * g.dense;
  const y = canvas.height - 14 * g.dense;
  const words = mm < 10 ? `${mm} mm` : mm < 1000 ? `${mm / 10} cm` : `${mm / 1000} m`;
  pen.globalAlpha = 0.9;
  pen.fillStyle = drawing.colours.paper;
  pen.fillRect(x - 8 * g.dense, y - 22 * g.dense, wide + 16 * g.dense, 30 * g.dense);
  pen.globalAlpha = 1;
  pen.fillStyle = drawing.colours.ink;
  pen.fillRect(x, y - g.dense, wide, 2 * g.dense);
  pen.fillRect(x, y - 5 * g.dense, 1.5 * g.dense, 6 * g.dense);
  pen.fillRect(x + wide - 1.5 * g.dense, y - 5 * g.dense, 1.5 * g.dense, 6 * g.dense);
  lettering(g, "center", "bottom");
  pen.fillText(words, x + wide / 2, y - 5 * g.dense);
}

/** Outline cells with a dark and a light line, never too small to be seen. */
function frame(g, [rowFrom, rowTo, columnFrom, columnTo], least, thick) {
  let x = g.left + columnFrom * g.kw;
  let y = g.top + (rows - rowTo) * g.kh;
  let wide = (columnTo - columnFrom) * g.kw;
  let high = (rowTo - rowFrom) * g.kh;
  const wider = Math.max(0, least * g.dense - wide) / 2 + thick * g.dense;
  const higher = Math.max(0, least * g.dense - high) / 2 + thick * g.dense;
  [x, y, wide, high] = [x - wider, y - higher, wide + 2 * wider, high + 2 * higher];
  if (x > canvas.width || y > canvas.height || x + wide < 0 || y + high < 0) return;
  pen.strokeStyle = "rgb(0 0 0 / .8)";
  pen.lineWidth = (thick + 2) * g.dense;
  pen.strokeRect(x, y, wide, high);
  pen.strokeStyle = "#fff";
  pen.lineWidth = thick * g.dense;
  pen.strokeRect(x, y, wide, high);
}

function drawOutlines(g) {
  if (!view.outlined) return;
  view.outlined.places.forEach((place, number) => number !== view.outlined.at && frame(g, place, 8, 1.2));
  frame(g, view.outlined.places[view.outlined.at], 14, 3);
}

function drawCursor(g) {
  if (view.cursor) frame(g, [view.cursor.row, view.cursor.row + 1, view.cursor.column, view.cursor.column + 1], 7, 2);
}

/** Keep the canvas as fine as the screen. */
export function fitCanvas() {
  const dense = window.devicePixelRatio || 1;
  const wasWhole = Math.abs(view.scale / (drawing.wholeScale ?? view.scale) - 1) < 1e-6;
  canvas.width = Math.max(1, Math.round(canvas.clientWidth * dense));
  canvas.height = Math.max(1, Math.round(canvas.clientHeight * dense));
  drawing.wholeScale = fittingScale();
  if (wasWhole) Object.assign(view, { scale: drawing.wholeScale, x: rugWide / 2, y: rugHigh / 2 });
  draw();
}

view.drawNow = draw;
view.drawSoon = drawSoon;
