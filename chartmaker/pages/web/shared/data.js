// What lies in the page, unpacked.

const NOTHING = 255;
const byId = (id) => document.getElementById(id);
const facts = JSON.parse(byId("proof-facts").textContent);
const { rows, columns, yarns, findings } = facts;

let knots; // a byte a cell, row 0 = first woven: number of the yarn, or NOTHING
let differences = null; // likewise, in steps
let artwork = null; // a picture

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

async function unpack() {
  knots = await inflated("proof-knots");
  if (facts.artwork) {
    differences = await inflated("proof-difference");
    artwork = await createImageBitmap(new Blob([bytesOf("proof-artwork")], { type: facts.artwork.type }));
  }
}

/** The columns, first and last, of the run of one yarn that a knot belongs to. */
function runAt(row, column) {
  const start = row * columns;
  const yarn = knots[start + column];
  let first = column;
  let last = column;
  while (first > 0 && knots[start + first - 1] === yarn) first--;
  while (last < columns - 1 && knots[start + last + 1] === yarn) last++;
  return [first, last];
}

const grouped = new Intl.NumberFormat("en");

/** What there is to say of a knot: parts for the eye, one sentence for the ear. Numbers count from 1. */
function describe(row, column) {
  const yarn = knots[row * columns + column];
  const parts = [`row ${grouped.format(row + 1)}`, `column ${grouped.format(column + 1)}`];
  if (yarn === NOTHING) return { yarn: null, parts: [...parts, "no knot"], words: `${parts.join(", ")}: no knot` };
  const [first, last] = runAt(row, column);
  const [length, from, to] = [last - first + 1, first + 1, last + 1].map((number) => grouped.format(number));
  const run = last > first ? `run of ${length}, columns ${from} to ${to}` : "single knot";
  const said = [run];
  const step = differences ? differences[row * columns + column] : NOTHING;
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
