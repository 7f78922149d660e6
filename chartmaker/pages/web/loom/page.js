// What only the page at the loom is put together with: its yarns, lengths, lists of words.

import { byId, element, facts } from "../common/page.js";

export const yarns = facts.yarns;
/** The byte of a place without a knot. */
export const NO_KNOT = 255;

const tenths = new Intl.NumberFormat(facts.language, { minimumFractionDigits: 1, maximumFractionDigits: 1 });

/** Foreign words among ours, whichever way their letters run. */
export const foreign = (words) => element("bdi", "", words);

/** A length in centimetres, in the figures of the language. */
export const centimetres = (mm) => tenths.format(mm / 10);

/** Show a list of words beside each other, each isolated. */
export function fill(id, ...inside) {
  byId(id).replaceChildren(...inside);
}

export function show(id, wanted) {
  byId(id).hidden = !wanted;
}
