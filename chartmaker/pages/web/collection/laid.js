// What differs between the parts of designs that are laid anew in several sizes.

import { byId, say } from "../common/page.js";
import { sets, table } from "./season.js";

/** Show a line for each part that is not the same in all sizes; nothing if no design is laid anew. */
export function fillLaid() {
  const laid = sets.filter((set) => (set.parts ?? []).length);
  if (laid.length < 2) return;
  const words = laid.map((set) => new Map(set.parts));
  const names = [...new Set(laid.flatMap((set) => set.parts.map(([name]) => name)))];
  const rows = names
    .map((name) => [name, ...words.map((each) => each.get(name) ?? say("none"))])
    .filter(([, first, ...others]) => others.some((other) => other !== first));
  if (!rows.length) return;
  byId("laid").append(table([say("part"), ...laid.map((set) => set.size || set.name)], rows));
  byId("laid-part").hidden = false;
  document.querySelector('a[href="#laid-part"]').hidden = false;
}
