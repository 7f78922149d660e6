// What is said of a knot, for the eye and for the ear.

import { byId, element, grouped } from "../shared/page.js";
import { columns, facts, NOTHING, rug, runAt, yarns } from "../shared/rug.js";
import { shown } from "../shared/tiles.js";
import { view } from "./view.js";

/** What there is to say of a knot: parts for the eye, one sentence for the ear. Numbers count from 1. */
export function describe(row, column) {
  const yarn = rug.knots[row * columns + column];
  const parts = [`row ${grouped.format(row + 1)}`, `column ${grouped.format(column + 1)}`];
  if (yarn === NOTHING) return { yarn: null, parts: [...parts, "no knot"], words: `${parts.join(", ")}: no knot` };
  const [first, last] = runAt(row, column);
  const [length, from, to] = [last - first + 1, first + 1, last + 1].map((number) => grouped.format(number));
  const run = last > first ? `run of ${length}, columns ${from} to ${to}` : "single knot";
  const said = [run];
  const step = rug.differences ? rug.differences[row * columns + column] : NOTHING;
  if (step !== NOTHING) {
    const digits = facts.difference.step < 1 ? 1 : 0;
    said.push(`difference ${(step * facts.difference.step).toFixed(digits)}${step === NOTHING - 1 ? " or more" : ""}`);
  }
  const { code, name } = yarns[yarn];
  const hidden = shown[yarn] ? "" : " (hidden)";
  return {
    yarn,
    parts: [...parts, `${code} ${name}${hidden}`, ...said],
    words: `row ${row + 1}, column ${column + 1}: ${code} ${name}${hidden}; ${said.join("; ")}`,
  };
}

export function showReadout(knot) {
  if (!knot) {
    if (view.cursor) return showReadout(view.cursor);
    byId("readout").replaceChildren(element("span", "quiet", "Point at the rug, or move with the arrow keys."));
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
