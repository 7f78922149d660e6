// What all rugs take together: the dye order, what must be bought, the looms as a picture and as a table.

import { byId, element, say } from "../common/page.js";
import { kilograms, looms, store, table, yarnWords } from "./season.js";

const MOST_NAMED = 12;
const SVG = "http://www.w3.org/2000/svg";

function rugs(lot) {
  const named = Object.entries(lot.rugs).map(([name, number]) => (number > 1 ? say("times", { number, name }) : name));
  const shown = named.slice(0, MOST_NAMED).join(", ");
  return named.length > MOST_NAMED ? `${shown}, …` : shown;
}

function source(shade, lot) {
  if (lot.from_stock) return say("stock");
  return shade.undyed ? say("bought") : (lot.vessel ?? say("pot"));
}

function fillDye() {
  const header = ["yarn", "takes", "lot", "from", "mass_kg", "hanks", "liquor", "by", "for"].map((key) => say(key));
  const rows = store.shades.flatMap((shade) =>
    shade.lots.map((lot, number) => [
      number ? "" : yarnWords(shade),
      number ? "" : kilograms(shade.mass_g),
      String(number + 1),
      source(shade, lot),
      kilograms(lot.mass_g),
      lot.hanks ? String(lot.hanks) : "",
      lot.liquor_l ? lot.liquor_l.toFixed(1) : "",
      lot.by ?? "",
      rugs(lot),
    ]),
  );
  const remarks = store.remarks.map((words) => element("p", "warning", words));
  const care = element("div", "care");
  care.append(...store.cautions.map((words) => element("p", "", words)));
  byId("dye-order").append(table(header, rows, [1, 2, 4, 5, 6]), ...remarks, care);
}

function fillPurchases() {
  const header = ["what", "count", "amount", "by", "inAll"].map((key) => say(key));
  const amount = ({ amount, unit }) =>
    unit === "g" ? say("kilograms", { kg: kilograms(amount) }) : say("squareMetres", { m2: amount.toFixed(2) });
  const rows = store.purchases.map((each) => {
    const { what, count, unit, by, in_all } = each;
    return [what, count, amount(each), by ?? "", amount({ amount: in_all, unit })];
  });
  byId("purchases").append(table(header, rows, [2, 4]));
}

function drawn(tag, attributes, text) {
  const made = document.createElementNS(SVG, tag);
  for (const [name, value] of Object.entries(attributes)) made.setAttribute(name, value);
  if (text !== undefined) made.textContent = text;
  return made;
}

const dayOf = (iso) => Date.parse(`${iso}T00:00:00Z`) / 864e5;

function gantt(turns) {
  const names = [...new Set(turns.map((turn) => turn.loom))];
  const [first, last] = [Math.min(...turns.map((t) => dayOf(t.start))), Math.max(...turns.map((t) => dayOf(t.late_end) + 1))];
  const [left, top, high, width] = [110, 26, 34, 1000];
  const x = (day) => left + ((day - first) * (width - left - 8)) / Math.max(last - first, 1);
  const height = top + names.length * high + 8;
  const svg = drawn("svg", { viewBox: `0 0 ${width} ${height}`, class: "gantt", role: "img", "aria-label": say("plan") });
  const begin = new Date(first * 864e5);
  const months = (last - first) / 30.4;
  const step = Math.max(1, Math.ceil(months / 14));
  for (let month = 0; month <= months + 1; month += step) {
    const day = Date.UTC(begin.getUTCFullYear(), begin.getUTCMonth() + month, 1) / 864e5;
    if (day < first || x(day) > width - 60) continue;
    svg.append(drawn("line", { x1: x(day), x2: x(day), y1: top - 6, y2: height - 4, class: "rule" }));
    const label = new Date(day * 864e5).toISOString().slice(0, 7);
    svg.append(drawn("text", { x: x(day) + 3, y: 15, class: "month" }, label));
  }
  names.forEach((name, row) => {
    svg.append(drawn("text", { x: 6, y: top + row * high + 20 }, name.length > 15 ? `${name.slice(0, 14)}…` : name));
  });
  for (const turn of turns) {
    const y = top + names.indexOf(turn.loom) * high + 4;
    const [from, to, late] = [x(dayOf(turn.start)), x(dayOf(turn.end) + 1), x(dayOf(turn.late_end) + 1)];
    const group = drawn("g", {});
    const words = { name: turn.set, start: turn.start, end: turn.end, late: turn.late_end };
    group.append(drawn("title", {}, say("turn", words)));
    const isLast = !turns.some((other) => other.loom === turn.loom && other.start > turn.start);
    if (isLast) group.append(drawn("rect", { x: to, y: y + 8, width: Math.max(late - to, 0), height: 10, class: "late" }));
    group.append(drawn("rect", { x: from, y, width: Math.max(to - from - 1, 1), height: high - 8, class: "turn" }));
    const letters = Math.floor((to - from - 8) / 6.2);
    if (letters > 3) {
      const shown = turn.set.length > letters ? `${turn.set.slice(0, letters - 1)}…` : turn.set;
      group.append(drawn("text", { x: from + 4, y: y + 17, class: "on" }, shown));
    }
    svg.append(group);
  }
  const scroll = element("div", "scroll");
  scroll.append(svg);
  return scroll;
}

function fillLooms() {
  const place = byId("loom-plan");
  if (!looms.turns.length && !looms.unplaced.length) {
    place.append(element("p", "", say("noLooms")));
    return;
  }
  place.append(element("p", "care", looms.honest));
  if (looms.turns.length) {
    const header = ["loom", "rowName", "weavers", "rowDays", "start", "end", "lateEnd", "yarnBy"].map((key) => say(key));
    const rows = looms.turns.map((t) => [t.loom, t.set, String(t.weavers), String(t.days), t.start, t.end, t.late_end, t.yarn_by]);
    place.append(gantt(looms.turns), table(header, rows, [2, 3]));
  }
  for (const { set, why } of looms.unplaced) place.append(element("p", "error", say("unplaced", { name: set, why })));
}

export function fillTogether() {
  fillDye();
  fillPurchases();
  fillLooms();
}
