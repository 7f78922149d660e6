// What lies in the page, unpacked.

import { byId, facts } from "./page.js";

export const NOTHING = 255;
export const { rows, columns, yarns, findings } = facts;

// What is unpacked: `knots` a byte a cell, row 0 = first woven, the number of the yarn or NOTHING; `differences`
// likewise, in steps; `artwork` a picture. Both are null where there is no artwork.
export const rug = { knots: null, differences: null, artwork: null };

function bytesOf(id) {
  const text = byId(id).textContent;
  if (Uint8Array.fromBase64) return Uint8Array.fromBase64(text);
  const letters = atob(text);
  const bytes = new Uint8Array(letters.length);
  for (let i = 0; i < letters.length; i++) bytes[i] = letters.charCodeAt(i);
  return bytes;
}

async function inflated(id) {
  const stream = new Blob([bytesOf(id)]).stream().pipeThrough(new DecompressionStream("deflate"));
  const bytes = new Uint8Array(await new Response(stream).arrayBuffer());
  if (bytes.length !== rows * columns) throw new Error("the file is damaged");
  return bytes;
}

export async function unpack() {
  rug.knots = await inflated("proof-knots");
  if (facts.artwork) {
    rug.differences = await inflated("proof-difference");
    rug.artwork = await createImageBitmap(new Blob([bytesOf("proof-artwork")], { type: facts.artwork.type }));
  }
}

/** The columns, first and last, of the run of one yarn that a knot belongs to. */
export function runAt(row, column) {
  const start = row * columns;
  const yarn = rug.knots[start + column];
  let first = column;
  let last = column;
  while (first > 0 && rug.knots[start + first - 1] === yarn) first--;
  while (last < columns - 1 && rug.knots[start + last + 1] === yarn) last++;
  return [first, last];
}
