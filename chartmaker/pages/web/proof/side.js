// The lists beside the rug: views, findings, yarns.

import { byId, element, facts, say, sayN, tell } from "../common/page.js";
import { columns, findings, rows, rug, yarns } from "../common/rug.js";
import { CLASSES, cloth, recolour, shown } from "../common/tiles.js";
import { showReadout } from "./readout.js";
import { besideArtwork, glideTo, knotHigh, knotWide, size, view } from "./view.js";

// The yarn that alone is shown; the yarn of the chosen knot.
const side = { only: null, here: null };
const yarnRows = [];

/** Show the yarns that `test` says, and no other; `only` is one that is alone. */
export function showYarns(test, only = null) {
  side.only = only;
  shown.forEach((_, number) => (shown[number] = test(number) ? 1 : 0));
  yarnRows.forEach(({ box, button }, number) => {
    box.checked = Boolean(shown[number]);
    button.setAttribute("aria-pressed", String(side.only === number));
  });
  recolour();
  showReadout(view.cursor);
  view.drawSoon();
}

/** Show one yarn alone; all again when it is alone already. */
export function onlyYarn(number) {
  if (number === null) return;
  const only = side.only === number ? null : number;
  showYarns((other) => only === null || other === only, only);
  tell(only === null ? say("allShown") : say("onlyShown", yarns[number]));
}

export function markYarn(number) {
  if (side.here !== null) yarnRows[side.here].item.classList.remove("here");
  side.here = number;
  if (number !== null) yarnRows[number].item.classList.add("here");
}

function yarnRow(yarn, number) {
  const item = element("li");
  const label = element("label");
  const box = Object.assign(element("input"), { type: "checkbox", checked: true });
  const swatch = element("span", "swatch");
  swatch.style.backgroundColor = yarn.srgb;
  const names = element("span", "names");
  names.append(element("bdi", "code", yarn.code), " ", element("bdi", "", yarn.name), " ");
  const knots = sayN("knots", yarn.knots);
  names.append(element("span", "more", say(Number(yarn.share) ? "withShare" : "withLess", { knots, share: yarn.share })));
  if (yarn.difference !== null) names.append(" ", element("span", "more", say("half", yarn)));
  if (yarn.figures) names.append(" ", element("bdi", "more", yarn.figures));
  label.append(box, swatch, names);
  const button = Object.assign(element("button", "", say("only")), { type: "button" });
  button.setAttribute("aria-label", say("onlyYarn", yarn));
  button.setAttribute("aria-pressed", "false");
  box.addEventListener("change", () => {
    const wanted = box.checked;
    showYarns((other) => (other === number ? wanted : shown[other]));
  });
  button.addEventListener("click", () => onlyYarn(number));
  item.append(label, button);
  yarnRows.push({ item, box, button });
  return item;
}

export function clearOutlines() {
  view.outlined = null;
  byId("clear").hidden = true;
  for (const button of byId("findings").querySelectorAll("button")) button.setAttribute("aria-pressed", "false");
  view.drawSoon();
}

/** Go to the next place of a finding, with the knots around it. */
function goToPlace(finding, button) {
  const again = view.outlined?.finding === finding;
  const at = again ? (view.outlined.at + 1) % finding.places.length : 0;
  clearOutlines();
  view.outlined = { finding, places: finding.places, at };
  byId("clear").hidden = false;
  button.setAttribute("aria-pressed", "true");
  const [rowFrom, rowTo, columnFrom, columnTo] = finding.places[at];
  const { wide, high } = size();
  const free = rug.artwork && view.wipe < 0.75 ? wide * (1 - view.wipe) : wide;
  const scale = Math.min(
    (0.6 * free) / (Math.max(24, columnTo - columnFrom) * knotWide),
    (0.6 * high) / (Math.max(24, rowTo - rowFrom) * knotHigh),
    20 / Math.min(knotWide, knotHigh),
  );
  const x = ((columnFrom + columnTo) / 2) * knotWide - besideArtwork(scale);
  glideTo({ scale, x, y: (rows - (rowFrom + rowTo) / 2) * knotHigh });
  const span = (one, many, from, to) => say(to > from + 1 ? many : one, { first: from + 1, last: to });
  const where = say("rowsAndColumns", {
    rows: span("oneRow", "rows", rowFrom, rowTo),
    columns: span("oneColumn", "columns", columnFrom, columnTo),
  });
  const which = { place: at + 1, places: finding.places.length, where };
  tell(which.places > 1 ? say("placeOf", which) : where);
  button.textContent = which.places > 1 ? say("showNext", which) : say("shown");
}

/** The parts of places that lie on the rug. */
function onRug(places) {
  return places
    .map(([a, b, c, d]) => [Math.max(0, a), Math.min(rows, b), Math.max(0, c), Math.min(columns, d)])
    .filter(([a, b, c, d]) => a < b && c < d);
}

function findingRow(found) {
  const finding = { ...found, places: onRug(found.places) };
  const item = element("li");
  item.append(element("span", `severity ${finding.severity}`, say(finding.severity)));
  const what = element("p");
  what.append(element("bdi", "", finding.what));
  const where = element("p", "where");
  where.append(element("bdi", "", finding.where));
  item.append(what, where);
  if (finding.places.length) {
    const { length } = finding.places;
    const words = length > 1 ? sayN("places", length) : say("show");
    const button = Object.assign(element("button", "", words), { type: "button" });
    button.setAttribute("aria-pressed", "false");
    button.addEventListener("click", () => goToPlace(finding, button));
    item.append(button);
  }
  return item;
}

export function setView(name) {
  cloth.differenceView = name === "difference";
  byId("scale").hidden = !cloth.differenceView;
  recolour();
  view.drawSoon();
}

function fillScale() {
  const scale = byId("scale");
  let from = 0;
  for (const { colour, upTo: to } of CLASSES) {
    const step = element("span");
    const patch = element("i", "swatch-band");
    patch.style.backgroundColor = colour;
    step.append(patch, say(from === 0 ? "under" : to === Infinity ? "over" : "between", { from, to }));
    from = to;
    scale.append(step);
  }
  scale.append(element("p", "", say("scale")));
}

export function fillSide() {
  byId("facts").replaceChildren(...facts.facts.map((words) => element("span", "", words)));
  byId("yarns").replaceChildren(...yarns.map(yarnRow));
  if (findings.length) byId("findings").replaceChildren(...findings.map(findingRow));
  else byId("findings").replaceChildren(element("li", "quiet", say("noFindings")));
  byId("go-row").max = rows;
  byId("go-column").max = columns;
  fillScale();
}
