// The parts of the page, the data that it carries, and the words that it was given.

export const facts = JSON.parse(document.getElementById("loom-facts").textContent);
export const yarns = facts.yarns;
/** The byte of a place without a knot. */
export const NO_KNOT = 255;

const numbers = new Intl.NumberFormat(facts.language);
const tenths = new Intl.NumberFormat(facts.language, { minimumFractionDigits: 1, maximumFractionDigits: 1 });

export const byId = (id) => document.getElementById(id);

export function element(tag, className, ...inside) {
  const made = document.createElement(tag);
  if (className) made.className = className;
  made.append(...inside);
  return made;
}

/** Foreign words among ours, whichever way their letters run. */
export const foreign = (words) => element("bdi", "", words);

function filled(template, fields) {
  return template.replace(/\{(\w+)(:,)?\}/g, (_, name, large) =>
    large ? numbers.format(fields[name]) : String(fields[name]),
  );
}

/** A sentence of the table, with its fields filled in. */
export const say = (key, fields = {}) => filled(facts.words[key], fields);

/** A sentence about `n` things: the table says which of its forms suits the number. */
export function sayN(key, n, fields = {}) {
  const { forms, usual, others } = facts.words[key];
  const short = n < 200 ? n : 100 + (n % 100);
  const form = Object.prototype.hasOwnProperty.call(others, short) ? others[short] : usual;
  return filled(forms[form], { n, ...fields });
}

/** A length in centimetres, in the figures of the language. */
export const centimetres = (mm) => tenths.format(mm / 10);

/** What a screen reader says next. */
export function tell(words) {
  byId("told").textContent = words;
}

/** Show a list of words beside each other, each isolated. */
export function fill(id, ...inside) {
  byId(id).replaceChildren(...inside);
}

export function show(id, wanted) {
  byId(id).hidden = !wanted;
}
