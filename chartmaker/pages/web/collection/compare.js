// Two rugs beside each other.

import { byId, element, say, sayN, tell } from "../common/page.js";
import { costWords, kilograms, measure, picture, yarnWords } from "./season.js";

// The rugs that are chosen, the earlier one first, each with its box.
const chosen = { list: [] };
const SIDE_PX = 170;

/** Take a rug in or out; a third takes the place of the first. */
export function choose(set, box) {
  chosen.list = chosen.list.filter((each) => each.set !== set);
  if (box.checked) chosen.list.push({ set, box });
  if (chosen.list.length > 2) chosen.list.shift().box.checked = false;
  show();
}

/** Put both back. */
export function closeBoth() {
  const [first] = chosen.list;
  for (const { box } of chosen.list) box.checked = false;
  chosen.list = [];
  show();
  if (first) first.box.focus();
}

function show() {
  byId("compared").hidden = chosen.list.length === 0;
  if (chosen.list.length === 0) return;
  const [one, other] = chosen.list.map(({ set }) => set);
  if (!other) {
    byId("beside").replaceChildren(element("p", "", say("chooseTwo", { name: one.name })));
    return;
  }
  byId("beside").replaceChildren(table(one, other));
  tell(say("comparing"));
}

function table(one, other) {
  const made = element("table");
  const px = (100 * SIDE_PX) / Math.max(one.length_cm, other.length_cm, one.width_cm, other.width_cm);
  const said = {
    rowName: (set) => element("bdi", "", set.name),
    toScale: (set) => picture(set, px),
    rowSize: measure,
    rowDensity: (set) => set.density,
    rowKnots: (set) => sayN("knots", set.knots),
    rowMass: (set) => say("mass", { kg: kilograms(set.mass_g) }),
    rowPile: (set) => say("mass", { kg: kilograms(set.pile_g) }),
    rowDays: (set) => say("daysOf", { days: sayN("daysN", set.days), weavers: sayN("weaversN", set.weavers) }),
    rowCost: costWords,
    rowMap: (set) => set.map,
  };
  for (const [key, value] of Object.entries(said)) line(made, say(key), value(one), value(other));
  const codes = [...new Set([...one.yarns, ...other.yarns].map((yarn) => yarn.code))].sort();
  for (const code of codes) {
    const [mine, theirs] = [one, other].map((set) => set.yarns.find((yarn) => yarn.code === code));
    const mass = (yarn) => (yarn ? say("mass", { kg: kilograms(yarn.mass_g) }) : say("none"));
    line(made, yarnWords(mine ?? theirs), mass(mine), mass(theirs));
  }
  return made;
}

function line(made, label, one, other) {
  const row = element("tr", typeof one === "string" && one !== other ? "differs" : "");
  const head = element("th");
  head.scope = "row";
  head.append(label);
  row.append(head);
  for (const value of [one, other]) {
    const cell = element("td");
    cell.append(value);
    row.append(cell);
  }
  made.append(row);
}
