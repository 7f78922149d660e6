// A place as twelve letters and figures, to be read out, typed in, or kept in an address.

import { facts } from "../common/page.js";

// Figures and letters that nobody takes for one another (Crockford's base 32).
const LETTERS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ";
/** What can be chosen; a code holds the number of each. */
export const WAYS = ["whole", "half", "ends"];
export const ORDERS = ["row", "lift"];
export const MOST = [0, 2, 4, 5, 10, 20];
export const READINGS = ["left to right", "right to left"];
/** How many bits each part takes: 60 in all, five a letter. The last is there to notice what was mistyped. */
const PARTS = [17, 14, 5, 2, 1, 3, 1, 11, 6];
const [LETTER_BITS, CHECK_BITS] = [5, 6];

const bitsOf = (value, count) => value.toString(2).padStart(count, "0").slice(-count);
const mapMark = () => parseInt(facts.sha256.slice(0, 3), 16) >> 1;

function checkOf(bits) {
  let sum = 7;
  for (let at = 0; at < bits.length; at++) sum = (sum * 31 + (bits[at] === "1" ? 17 + at : 3)) % 1021;
  return sum % (1 << CHECK_BITS);
}

export function codeOf(choices, row, call) {
  const values = [
    row,
    Math.min(call, (1 << PARTS[1]) - 1),
    choices.strip + 1,
    WAYS.indexOf(choices.way),
    ORDERS.indexOf(choices.order),
    MOST.indexOf(choices.most),
    READINGS.indexOf(choices.reading),
    mapMark(),
  ];
  const bits = values.map((value, number) => bitsOf(value, PARTS[number])).join("");
  const all = bits + bitsOf(checkOf(bits), CHECK_BITS);
  const letters = all.match(/.{5}/g).map((five) => LETTERS[parseInt(five, 2)]);
  return letters.join("").replace(/(.{4})(?=.)/g, "$1-");
}

/** What a code says; null where it is none. Small letters will do, and O, I, L are read as the figures. */
export function placeOfCode(text) {
  const plain = text.toUpperCase().replace(/[\s-]/g, "").replace(/O/g, "0").replace(/[IL]/g, "1");
  if (plain.length !== 12 || [...plain].some((letter) => !LETTERS.includes(letter))) return null;
  const bits = [...plain].map((letter) => bitsOf(LETTERS.indexOf(letter), LETTER_BITS)).join("");
  const parts = [];
  let at = 0;
  for (const count of PARTS) parts.push(parseInt(bits.slice(at, (at += count)), 2));
  if (checkOf(bits.slice(0, -CHECK_BITS)) !== parts[8]) return null;
  const [row, call, strip, way, order, most, reading, map] = parts;
  const choices = {
    strip: strip - 1,
    way: WAYS[way],
    order: ORDERS[order],
    most: MOST[most],
    reading: READINGS[reading],
  };
  return { row, call, choices, sameMap: map === mapMark() };
}
