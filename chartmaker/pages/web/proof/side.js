// The lists beside the rug: views, findings, yarns.

import { byId, element, grouped, say } from "../shared/page.js";
import { columns, facts, findings, rows, rug, yarns } from "../shared/rug.js";
import { CLASSES, cloth, recolour, shown } from "../shared/tiles.js";
import { showReadout } from "./readout.js";
import { besideArtwork, glideTo, knotHigh, knotWide, size, view } from "./view.js";

const SEVERITIES = { error: "Error", warning: "Warning", note: "Note" };
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
  say(only === null ? "All yarns shown" : `Only ${yarns[number].code} ${yarns[number].name} shown`);
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
  names.append(element("span", "more", `${grouped.format(yarn.knots)} knots, ${yarn.share}`));
  if (yarn.difference !== null) {
    names.append(" ", element("span", "more", `half of them within ${yarn.difference} of the artwork`));
  }
  if (yarn.figures) names.append(" ", element("bdi", "more", yarn.figures));
  label.append(box, swatch, names);
  const button = Object.assign(element("button", "", "Only"), { type: "button" });
  button.setAttribute("aria-label", `Only ${yarn.code} ${yarn.name}`);
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
  const which = finding.places.length > 1 ? `Place ${at + 1} of ${finding.places.length}: ` : "";
  const span = (name, from, to) => (to > from + 1 ? `${name}s ${from + 1} to ${to}` : `${name} ${from + 1}`);
  say(`${which}${span("row", rowFrom, rowTo)}, ${span("column", columnFrom, columnTo)}`);
  button.textContent =
    finding.places.length > 1 ? `Place ${at + 1} of ${finding.places.length} – show the next` : "Shown on the rug";
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
  item.append(element("span", `severity ${finding.severity}`, SEVERITIES[finding.severity] ?? "Note"));
  const what = element("p");
  what.append(element("bdi", "", finding.what));
  const where = element("p", "where");
  where.append(element("bdi", "", finding.where));
  item.append(what, where);
  if (finding.places.length) {
    const words = finding.places.length > 1 ? `Show its ${finding.places.length} places` : "Show on the rug";
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
  for (const { colour, words } of CLASSES) {
    const step = element("span");
    const patch = element("i", "swatch-band");
    patch.style.backgroundColor = colour;
    step.append(patch, words);
    scale.append(step);
  }
  scale.append(
    element(
      "p",
      "",
      "CIEDE2000 between the yarn and the average of what its knot covers of the artwork. A difference of 1 is just " +
        "visible side by side. Along outlines, where a knot covers two colours, it is always high.",
    ),
  );
}

export function fillSide() {
  byId("facts").replaceChildren(...facts.facts.map((words) => element("span", "", words)));
  byId("yarns").replaceChildren(...yarns.map(yarnRow));
  if (findings.length) byId("findings").replaceChildren(...findings.map(findingRow));
  else byId("findings").replaceChildren(element("li", "quiet", "Nothing to remark."));
  byId("go-row").max = rows;
  byId("go-column").max = columns;
  fillScale();
}
