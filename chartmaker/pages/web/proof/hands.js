// Keys, mouse and fingers on the rug.

const readout = byId("readout");
const live = byId("live");
const wipeSlider = byId("wipe");

function say(words) {
  live.textContent = words;
}

function element(tag, className, words) {
  const made = document.createElement(tag);
  if (className) made.className = className;
  if (words !== undefined) made.textContent = words;
  return made;
}

function showReadout(knot) {
  if (!knot) {
    if (cursor) return showReadout(cursor);
    readout.replaceChildren(element("span", "quiet", "Point at the rug, or move with the arrow keys."));
    return;
  }
  const told = describe(knot.row, knot.column);
  readout.replaceChildren(
    ...told.parts.map((part, number) => {
      const span = element("span");
      if (number === 2 && told.yarn !== null) {
        const swatch = element("i", "swatch");
        swatch.style.backgroundColor = yarns[told.yarn].srgb;
        span.append(swatch);
      }
      span.append(element("bdi", "", part));
      return span;
    }),
  );
}

/** Choose a knot, bring it into view, tell it. */
function setCursor(row, column) {
  cursor = {
    row: Math.min(rows - 1, Math.max(0, row)),
    column: Math.min(columns - 1, Math.max(0, column)),
  };
  const { x, y } = middleOf(cursor);
  const { wide, high } = size();
  const roomX = Math.max(0, (wide / 2 - 3 * RULE) / view.scale);
  const roomY = Math.max(0, (high / 2 - 2 * RULE) / view.scale);
  moveTo({
    x: Math.min(x + roomX, Math.max(x - roomX, view.x)),
    y: Math.min(y + roomY, Math.max(y - roomY, view.y)),
  });
  showReadout(cursor);
  const told = describe(cursor.row, cursor.column);
  say(told.words);
  markYarn(told.yarn);
}

function zoomToKnots() {
  const knot = cursor ?? knotAt(size().wide / 2, size().high / 2);
  const { scale } = limited({ ...view, scale: Math.max(view.scale, 18 / Math.min(knotWide, knotHigh)) });
  const { x, y } = knot ? middleOf(knot) : view;
  glideTo({ scale, x: x - besideArtwork(scale), y });
}

/** Zoom at the chosen knot if it is in view, else in the middle. */
function zoomHere(factor) {
  const { wide, high } = size();
  let [atX, atY] = [wide / 2, high / 2];
  if (cursor) {
    const { x, y } = middleOf(cursor);
    const [toX, toY] = [atX + (x - view.x) * view.scale, atY + (y - view.y) * view.scale];
    if (toX > 0 && toY > 0 && toX < wide && toY < high) [atX, atY] = [toX, toY];
  }
  zoomAt(factor, atX, atY);
}

function setWipe(percent) {
  const value = Math.min(100, Math.max(0, Math.round(percent)));
  wipeSlider.value = value;
  wipe = value / 100;
  wipeSlider.setAttribute("aria-valuetext", `artwork over the left ${value} percent`);
  askDraw();
}

/** The column where the next run of another yarn begins, in the direction of `step`. */
function nextChange({ row, column }, step) {
  const [first, last] = runAt(row, column);
  return step > 0 ? last + 1 : first - 1;
}

function onKey(event) {
  if (event.altKey || event.metaKey || event.ctrlKey) return;
  const at = cursor ?? knotAt(size().wide / 2, size().high / 2) ?? { row: 0, column: 0 };
  const far = event.shiftKey ? 10 : 1;
  const sideways = (step) => setCursor(at.row, at.column + (cursor ? step : 0));
  const upwards = (step) => setCursor(at.row + (cursor ? step : 0), at.column);
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
    ",": () => artwork && setWipe(Number(wipeSlider.value) - 5),
    ".": () => artwork && setWipe(Number(wipeSlider.value) + 5),
    n: () => setCursor(at.row, nextChange(at, 1)),
    p: () => setCursor(at.row, nextChange(at, -1)),
    o: () => cursor && onlyYarn(describe(cursor.row, cursor.column).yarn),
  };
  const action = actions[event.key.length === 1 ? event.key.toLowerCase() : event.key];
  if (!action) return;
  event.preventDefault();
  action();
}

const fingers = new Map();
let grip = "rug"; // what a drag moves: "rug" or "divide"

function place(event) {
  const box = canvas.getBoundingClientRect();
  return { x: event.clientX - box.left, y: event.clientY - box.top };
}

const nearDivide = ({ x }, reach) => artwork && wipe > 0 && wipe < 1 && Math.abs(x - wipe * size().wide) < reach;

function onDown(event) {
  if (event.button > 0) return;
  canvas.setPointerCapture(event.pointerId);
  const at = place(event);
  fingers.set(event.pointerId, { ...at, began: at, moved: false });
  grip = fingers.size === 1 && nearDivide(at, event.pointerType === "touch" ? 18 : 7) ? "divide" : "rug";
}

function spread() {
  const [a, b] = [...fingers.values()];
  return { x: (a.x + b.x) / 2, y: (a.y + b.y) / 2, apart: Math.max(8, Math.hypot(a.x - b.x, a.y - b.y)) };
}

function onMove(event) {
  const at = place(event);
  const finger = fingers.get(event.pointerId);
  if (!finger) {
    canvas.classList.toggle("wiping", Boolean(nearDivide(at, 7)));
    showReadout(knotAt(at.x, at.y));
    return;
  }
  if (fingers.size >= 2) {
    const before = spread();
    Object.assign(finger, at);
    const after = spread();
    for (const each of fingers.values()) each.moved = true;
    grip = "rug";
    moveTo({ x: view.x - (after.x - before.x) / view.scale, y: view.y - (after.y - before.y) / view.scale });
    zoomAt(after.apart / before.apart, after.x, after.y);
    return;
  }
  const [dx, dy] = [at.x - finger.x, at.y - finger.y];
  if (Math.hypot(at.x - finger.began.x, at.y - finger.began.y) > 4) finger.moved = true;
  if (!finger.moved) return; // it may still be a click
  Object.assign(finger, at);
  if (grip === "divide") setWipe((100 * at.x) / size().wide);
  else moveTo({ x: view.x - dx / view.scale, y: view.y - dy / view.scale });
  canvas.classList.toggle("moving", grip === "rug");
}

function onUp(event) {
  const finger = fingers.get(event.pointerId);
  fingers.delete(event.pointerId);
  if (finger && !finger.moved && event.type === "pointerup") {
    const knot = knotAt(finger.x, finger.y);
    if (knot) setCursor(knot.row, knot.column);
  }
  if (!fingers.size) canvas.classList.remove("moving");
}

function onWheel(event) {
  event.preventDefault();
  const lines = event.deltaMode === 1 ? 20 : 1;
  const at = place(event);
  zoomAt(Math.exp(-event.deltaY * lines * (event.ctrlKey ? 0.01 : 0.0016)), at.x, at.y);
  showReadout(knotAt(at.x, at.y));
}
