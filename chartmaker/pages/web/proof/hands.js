// Keys, mouse and fingers on the rug.

import { byId, say, tell } from "../common/page.js";
import { columns, rows, rug, runAt } from "../common/rug.js";
import { describe, showReadout } from "./readout.js";
import { clearOutlines, markYarn, onlyYarn } from "./side.js";
import { besideArtwork, canvas, glideTo, knotAt, knotHigh, knotWide, limited, middleOf, moveTo } from "./view.js";
import { RULE, showWhole, size, view, zoomAt } from "./view.js";

/** Choose a knot, bring it into view, tell it. */
export function setCursor(row, column) {
  view.cursor = {
    row: Math.min(rows - 1, Math.max(0, row)),
    column: Math.min(columns - 1, Math.max(0, column)),
  };
  const { x, y } = middleOf(view.cursor);
  const { wide, high } = size();
  const roomX = Math.max(0, (wide / 2 - 3 * RULE) / view.scale);
  const roomY = Math.max(0, (high / 2 - 2 * RULE) / view.scale);
  moveTo({
    x: Math.min(x + roomX, Math.max(x - roomX, view.x)),
    y: Math.min(y + roomY, Math.max(y - roomY, view.y)),
  });
  showReadout(view.cursor);
  const told = describe(view.cursor.row, view.cursor.column);
  tell(told.words);
  markYarn(told.yarn);
}

export function zoomToKnots() {
  const knot = view.cursor ?? knotAt(size().wide / 2, size().high / 2);
  const { scale } = limited({ ...view, scale: Math.max(view.scale, 18 / Math.min(knotWide, knotHigh)) });
  const { x, y } = knot ? middleOf(knot) : view;
  glideTo({ scale, x: x - besideArtwork(scale), y });
}

/** Zoom at the chosen knot if it is in view, else in the middle. */
export function zoomHere(factor) {
  const { wide, high } = size();
  let [atX, atY] = [wide / 2, high / 2];
  if (view.cursor) {
    const { x, y } = middleOf(view.cursor);
    const [toX, toY] = [atX + (x - view.x) * view.scale, atY + (y - view.y) * view.scale];
    if (toX > 0 && toY > 0 && toX < wide && toY < high) [atX, atY] = [toX, toY];
  }
  zoomAt(factor, atX, atY);
}

export function setWipe(percent) {
  const value = Math.min(100, Math.max(0, Math.round(percent)));
  byId("wipe").value = value;
  view.wipe = value / 100;
  byId("wipe").setAttribute("aria-valuetext", say("wiped", { percent: value }));
  view.drawSoon();
}

/** The column where the next run of another yarn begins, in the direction of `step`. */
function nextChange({ row, column }, step) {
  const [first, last] = runAt(row, column);
  return step > 0 ? last + 1 : first - 1;
}

export function onKey(event) {
  if (event.altKey || event.metaKey || event.ctrlKey) return;
  const at = view.cursor ?? knotAt(size().wide / 2, size().high / 2) ?? { row: 0, column: 0 };
  const far = event.shiftKey ? 10 : 1;
  const sideways = (step) => setCursor(at.row, at.column + (view.cursor ? step : 0));
  const upwards = (step) => setCursor(at.row + (view.cursor ? step : 0), at.column);
  const actions = {
    ArrowLeft: () => sideways(-far),
    ArrowRight: () => sideways(far),
    ArrowUp: () => upwards(far),
    ArrowDown: () => upwards(-far),
    Home: () => setCursor(at.row, 0),
    End: () => setCursor(at.row, columns - 1),
    PageUp: () => upwards(50),
    PageDown: () => upwards(-50),
    Escape: clearOutlines,
    "+": () => zoomHere(1.5),
    "=": () => zoomHere(1.5),
    "-": () => zoomHere(1 / 1.5),
    "0": showWhole,
    "1": zoomToKnots,
    ",": () => rug.artwork && setWipe(Number(byId("wipe").value) - 5),
    ".": () => rug.artwork && setWipe(Number(byId("wipe").value) + 5),
    n: () => setCursor(at.row, nextChange(at, 1)),
    p: () => setCursor(at.row, nextChange(at, -1)),
    o: () => view.cursor && onlyYarn(describe(view.cursor.row, view.cursor.column).yarn),
  };
  const action = actions[event.key.length === 1 ? event.key.toLowerCase() : event.key];
  if (!action) return;
  event.preventDefault();
  action();
}

// The fingers, or the mouse, that are down; what a drag moves: "rug" or "divide".
const hands = { fingers: new Map(), grip: "rug" };

export function place(event) {
  const box = canvas.getBoundingClientRect();
  return { x: event.clientX - box.left, y: event.clientY - box.top };
}

const nearDivide = ({ x }, reach) => rug.artwork && view.wipe > 0 && view.wipe < 1 && Math.abs(x - view.wipe * size().wide) < reach;

export function onDown(event) {
  if (event.button > 0) return;
  canvas.setPointerCapture(event.pointerId);
  const at = place(event);
  hands.fingers.set(event.pointerId, { ...at, began: at, moved: false });
  hands.grip = hands.fingers.size === 1 && nearDivide(at, event.pointerType === "touch" ? 18 : 7) ? "divide" : "rug";
}

function spread() {
  const [a, b] = [...hands.fingers.values()];
  return { x: (a.x + b.x) / 2, y: (a.y + b.y) / 2, apart: Math.max(8, Math.hypot(a.x - b.x, a.y - b.y)) };
}

export function onMove(event) {
  const at = place(event);
  const finger = hands.fingers.get(event.pointerId);
  if (!finger) {
    canvas.classList.toggle("wiping", Boolean(nearDivide(at, 7)));
    showReadout(knotAt(at.x, at.y));
    return;
  }
  if (hands.fingers.size >= 2) {
    const before = spread();
    Object.assign(finger, at);
    const after = spread();
    for (const each of hands.fingers.values()) each.moved = true;
    hands.grip = "rug";
    moveTo({ x: view.x - (after.x - before.x) / view.scale, y: view.y - (after.y - before.y) / view.scale });
    zoomAt(after.apart / before.apart, after.x, after.y);
    return;
  }
  const [dx, dy] = [at.x - finger.x, at.y - finger.y];
  if (Math.hypot(at.x - finger.began.x, at.y - finger.began.y) > 4) finger.moved = true;
  if (!finger.moved) return; // it may still be a click
  Object.assign(finger, at);
  if (hands.grip === "divide") setWipe((100 * at.x) / size().wide);
  else moveTo({ x: view.x - dx / view.scale, y: view.y - dy / view.scale });
  canvas.classList.toggle("moving", hands.grip === "rug");
}

export function onUp(event) {
  const finger = hands.fingers.get(event.pointerId);
  hands.fingers.delete(event.pointerId);
  if (finger && !finger.moved && event.type === "pointerup") {
    const knot = knotAt(finger.x, finger.y);
    if (knot) setCursor(knot.row, knot.column);
  }
  if (!hands.fingers.size) canvas.classList.remove("moving");
}

export function onWheel(event) {
  event.preventDefault();
  const lines = event.deltaMode === 1 ? 20 : 1;
  const at = place(event);
  zoomAt(Math.exp(-event.deltaY * lines * (event.ctrlKey ? 0.01 : 0.0016)), at.x, at.y);
  showReadout(knotAt(at.x, at.y));
}
