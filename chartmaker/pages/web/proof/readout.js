// What is said of a knot, for the eye and for the ear.

import { byId, element, facts, say } from "../common/page.js";
import { columns, NOTHING, rug, runAt, yarns } from "../common/rug.js";
import { shown } from "../common/tiles.js";
import { view } from "./view.js";

/** What there is to say of a knot: parts for the eye, one sentence for the ear. Numbers count from 1. */
export function describe(row, column) {
  const yarn = rug.knots[row * columns + column];
  const at = { row: row + 1, column: column + 1 };
  const parts = [say("row", at), say("column", at)];
  if (yarn === NOTHING) return { yarn: null, parts: [...parts, say("noKnot")], words: say("noKnotAt", at) };
  const [first, last] = runAt(row, column);
  const run = { knots: last - first + 1, first: first + 1, last: last + 1 };
  const said = [say(last > first ? "run" : "lone", run)];
  const step = rug.differences ? rug.differences[row * columns + column] : NOTHING;
  if (step !== NOTHING) {
    const digits = facts.difference.step < 1 ? 1 : 0;
    const difference = (step * facts.difference.step).toFixed(digits);
    said.push(say(step === NOTHING - 1 ? "awayMore" : "away", { difference }));
  }
  said.push(...carvedAt(row, column, yarn));
  const named = say(shown[yarn] ? "yarn" : "hiddenYarn", yarns[yarn]);
  return {
    yarn,
    parts: [...parts, named, ...said],
    words: say("knotAt", { ...at, yarn: named, said: said.join("; ") }),
  };
}

/** What is carved at a knot: the height of its pile where heights differ, and a groove along one of its sides. */
function carvedAt(row, column, yarn) {
  const carved = facts.carved;
  if (!carved) return [];
  const said = carved.heights.length ? [say("height", { height: carved.heights[yarn] })] : [];
  const beside = [
    [row - 1, column],
    [row + 1, column],
    [row, column - 1],
    [row, column + 1],
  ];
  const parted = beside.some(([r, c]) => {
    if (r < 0 || c < 0 || r >= facts.rows || c >= columns) return false;
    const other = rug.knots[r * columns + c];
    if (other === yarn || other === NOTHING) return false;
    return carved.grooves.some(([one, two]) =>
      two === null ? one === yarn || one === other : (one === yarn && two === other) || (one === other && two === yarn),
    );
  });
  return parted ? [...said, say("groove", carved)] : said;
}

export function showReadout(knot) {
  if (!knot) {
    if (view.cursor) return showReadout(view.cursor);
    byId("readout").replaceChildren(element("span", "quiet", say("pointAt")));
    return;
  }
  const told = describe(knot.row, knot.column);
  byId("readout").replaceChildren(
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
