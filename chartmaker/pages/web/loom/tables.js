// The panels of what is left, of the length and of the days: shown as tables, saved as CSV, printed.

import { byId, element, facts, say, sayN } from "../common/page.js";
import { centimetres, foreign, show } from "./page.js";
import { rows } from "./rows.js";
import { days, save, state } from "./place.js";
import { csv, dueMm, judged, knotsLeft, pace, sectionEnd, yarnLeft } from "./left.js";
import { saveFile } from "./files.js";

const TOLERANCE = 0.02;
const whole = (number) => new Intl.NumberFormat(facts.language, { maximumFractionDigits: 0 }).format(number);

function table(id, heads, lines) {
  const cells = (tag, line) => line.map((words, at) => {
    const made = element(at === 0 && tag === "td" ? "th" : tag, at ? "number" : "", words);
    if (made.tagName === "TH") made.scope = tag === "th" ? "col" : "row";
    return made;
  });
  const body = element("tbody", "", ...lines.map((line) => element("tr", "", ...cells("td", line))));
  const heading = element("thead", "", element("tr", "", ...cells("th", heads)));
  byId(id).replaceChildren(heading, body);
}

function showYarn() {
  const left = yarnLeft().filter(({ all }) => all > 0);
  const end = sectionEnd(Math.min(state.row, rows - 1));
  byId("yarn-words").textContent = say("yarnWords", { row: Math.min(state.row + 1, rows), end });
  const heads = ["yarn", "sectionKnots", "sectionGrams", "allKnots", "allGrams", "allMetres"].map((key) => say(key));
  const lines = left.map((each) => {
    const { code, name, section, sectionGrams, all, grams, metres } = each;
    const who = element("span", "", element("b", "", code), " ", foreign(name));
    return [who, whole(section), whole(sectionGrams), whole(all), whole(grams), whole(metres)];
  });
  table("yarn-table", heads, lines);
}

function adviceOf(found) {
  if (Math.abs(found.off) <= TOLERANCE) return say("lengthRight");
  return say(found.tight ? "lengthShort" : "lengthLong");
}

function showLength() {
  byId("length-due").textContent = state.row ? sayN("lengthDue", state.row, { due: centimetres(dueMm(state.row)) }) : "";
  const last = state.lengths[state.lengths.length - 1];
  show("length-found", Boolean(last));
  if (last) {
    const found = judged(last);
    const percent = Math.abs(found.off * 100).toFixed(1);
    const fields = {
      row: found.row,
      measured: centimetres(found.mm),
      due: centimetres(found.due),
      percent,
      density: found.rowsPerDm.toFixed(1),
      wanted: (100 / facts.loomRowMm).toFixed(1),
      end: centimetres(found.end),
      wantedEnd: centimetres(dueMm(rows)),
    };
    byId("length-found").replaceChildren(
      element("p", "strong", adviceOf(found)),
      element("p", "", say(found.tight ? "foundShorter" : "foundLonger", fields)),
    );
  }
  const lines = state.lengths.slice(-8).reverse().map(judged);
  const told = (found) => `${found.off < 0 ? "−" : "+"}${Math.abs(found.off * 100).toFixed(1)} %`;
  show("length-table", lines.length > 0);
  table(
    "length-table",
    ["afterRow", "measuredCm", "dueCm", "off"].map((key) => say(key)),
    lines.map((found) => [String(found.row), centimetres(found.mm), centimetres(found.due), told(found)]),
  );
}

function showDays() {
  const found = pace();
  const left = knotsLeft();
  const expected = say("paceExpected", { knots: whole(facts.knotsPerDay), days: whole(Math.ceil(left / facts.knotsPerDay)) });
  const own = found && sayN("paceFound", found.days, { knots: whole(found.knots), left: whole(Math.ceil(left / found.knots)) });
  byId("pace").textContent = own || expected;
  const lines = Object.entries(days()).sort().reverse();
  show("log-table", lines.length > 0);
  table(
    "log-table",
    ["day", "rowsDone", "knotsDone"].map((key) => say(key)),
    lines.map(([day, entry]) => [day, whole(entry.rows), whole(entry.knots)]),
  );
}

const panels = { "yarn-panel": showYarn, "length-panel": showLength, "days-panel": showDays };

/** Fill the panels that are open. */
export function showTables() {
  for (const [id, fillPanel] of Object.entries(panels)) if (byId(id).open) fillPanel();
}

function measured(event) {
  event.preventDefault();
  const mm = Number(byId("measured").value.replace(",", ".")) * 10;
  const sound = state.row > 0 && mm > dueMm(state.row) / 3 && mm < dueMm(state.row) * 3;
  byId("measured-fault").textContent = sound ? "" : say(state.row > 0 ? "notALength" : "noRowYet");
  if (!sound) return;
  state.lengths = [...state.lengths.filter((each) => each.row !== state.row), { row: state.row, mm }];
  byId("measured").value = "";
  save();
  showLength();
}

function tablesAsCsv() {
  const heads = ["code", "name", "section_knots", "section_bundles_g", "knots", "g", "m"];
  const yarn = yarnLeft().map((each) => [each.code, each.name, each.section, each.sectionGrams, each.all, each.grams, each.metres]);
  return csv([["from_row", state.row + 1], heads, ...yarn]);
}

function daysAsCsv() {
  const lines = Object.entries(days()).sort().map(([day, entry]) => [day, entry.rows, entry.knots]);
  return csv([["day", "rows", "knots"], ...lines]);
}

function lengthsAsCsv() {
  const lines = state.lengths.map(judged).map((found) => [found.row, found.mm / 10, found.due / 10]);
  return csv([["after_row", "measured_cm", "due_cm"], ...lines]);
}

function printed(id, wanted) {
  document.documentElement.classList.toggle("printing", wanted);
  byId(id).classList.toggle("printed", wanted);
}

/** Print one panel alone. Some browsers come back from `print` before they have printed: they tell when they have. */
function printPanel(id) {
  printed(id, true);
  window.addEventListener("afterprint", () => printed(id, false), { once: true });
  window.print();
}

export function connectTables() {
  for (const id of Object.keys(panels)) {
    byId(id).addEventListener("toggle", showTables);
    byId(`${id}-print`).addEventListener("click", () => printPanel(id));
  }
  byId("length-form").addEventListener("submit", measured);
  const files = { "yarn-panel": tablesAsCsv, "length-panel": lengthsAsCsv, "days-panel": daysAsCsv };
  for (const [id, made] of Object.entries(files)) {
    byId(`${id}-csv`).addEventListener("click", () => saveFile(`${facts.code}-${id.replace("-panel", "")}.csv`, "text/csv", made()));
  }
}
