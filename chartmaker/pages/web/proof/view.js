// Which part of the rug is seen, at which scale, and how it moves.

import { byId, facts } from "../common/page.js";
import { columns, rows, rug } from "../common/rug.js";

export const canvas = byId("rug");
export const knotWide = facts.knotWidthMm;
export const knotHigh = facts.knotHeightMm;
export const rugWide = columns * knotWide;
export const rugHigh = rows * knotHigh;
const stillness = matchMedia("(prefers-reduced-motion: reduce)");

export const view = {
  scale: 1, // CSS pixels a millimetre
  x: rugWide / 2, // what is in the middle, in millimetres from the rug's top left
  y: rugHigh / 2,
  cursor: null, // the chosen knot: { row, column }
  wipe: 0, // share of the width that the artwork covers
  lines: true, // whether rules and every tenth knot are drawn
  outlined: null, // { finding, places, at }: the places of a finding, the one gone to
  gliding: 0, // the frame asked for on the way to somewhere
  drawNow: () => {}, // draws the rug at once
  drawSoon: () => {}, // draws it with the next frame
};

// CSS pixels of the rules along the top, with the columns, and along the left, with the rows.
export const RULE = 24;
export const ROW_RULE = rows < 10000 ? 36 : 44;

export const size = () => ({ wide: canvas.clientWidth, high: canvas.clientHeight });

export function fittingScale() {
  const { wide, high } = size();
  return Math.max(0.001, Math.min((wide - 2 * ROW_RULE - 8) / rugWide, (high - 2 * RULE - 16) / rugHigh));
}

export function limited({ scale, x, y }) {
  const most = 72 / Math.min(knotWide, knotHigh);
  const least = Math.min(fittingScale(), most) * 0.7;
  return {
    scale: Math.min(most, Math.max(least, scale)),
    x: Math.min(rugWide, Math.max(0, x)),
    y: Math.min(rugHigh, Math.max(0, y)),
  };
}

export function moveTo(target) {
  cancelAnimationFrame(view.gliding);
  Object.assign(view, limited({ ...view, ...target }));
  view.drawSoon();
}

/** Move to `target`, gently unless stillness is wished. */
export function glideTo(target) {
  cancelAnimationFrame(view.gliding);
  const end = limited({ ...view, ...target });
  if (stillness.matches) return moveTo(end);
  const start = { ...view };
  const began = performance.now();
  const step = (now) => {
    const t = Math.min(1, Math.max(0, (now - began) / 280));
    const eased = 1 - (1 - t) ** 3;
    view.scale = start.scale * (end.scale / start.scale) ** eased;
    view.x = start.x + (end.x - start.x) * eased;
    view.y = start.y + (end.y - start.y) * eased;
    view.drawNow();
    if (t < 1) view.gliding = requestAnimationFrame(step);
  };
  view.gliding = requestAnimationFrame(step);
}

/** How far right of the middle, in millimetres at `scale`, a knot is clear of the artwork that lies over the rug. */
export const besideArtwork = (scale) => (rug.artwork && view.wipe < 0.75 ? (view.wipe * size().wide) / 2 / scale : 0);

export const showWhole = () => glideTo({ scale: fittingScale(), x: rugWide / 2, y: rugHigh / 2 });

/** Zoom by `factor`, keeping what lies at the CSS pixel (atX, atY) where it is. */
export function zoomAt(factor, atX, atY) {
  const { wide, high } = size();
  const { scale } = limited({ ...view, scale: view.scale * factor });
  const pull = 1 / view.scale - 1 / scale;
  moveTo({ scale, x: view.x + (atX - wide / 2) * pull, y: view.y + (atY - high / 2) * pull });
}

export const middleOf = ({ row, column }) => ({ x: (column + 0.5) * knotWide, y: (rows - row - 0.5) * knotHigh });

/** The knot at a CSS pixel of the canvas, or null beside the rug. */
export function knotAt(atX, atY) {
  const { wide, high } = size();
  const column = Math.floor((view.x + (atX - wide / 2) / view.scale) / knotWide);
  const row = rows - 1 - Math.floor((view.y + (atY - high / 2) / view.scale) / knotHigh);
  return row >= 0 && row < rows && column >= 0 && column < columns ? { row, column } : null;
}
