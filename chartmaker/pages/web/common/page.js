// What every page is put together with: its facts, its elements, its table of words, words for the ear.
// Old browsers at a loom read this as well, so that it keeps to what they know.

export const byId = (id) => document.getElementById(id);

export const facts = JSON.parse(byId("page-facts").textContent);

const grouped = new Intl.NumberFormat(facts.language);

const filled = (sentence, fields) =>
  sentence.replace(/\{(\w+)(:,)?\}/g, (_, name, large) => (large ? grouped.format(fields[name]) : String(fields[name])));

/** A sentence of the page's table of words, with its fields filled in. */
export const say = (key, fields = {}) => filled(facts.words[key], fields);

/** A sentence about `n` things: the table says which of its forms suits the number. */
export function sayN(key, n, fields = {}) {
  const { forms, usual, others } = facts.words[key];
  const short = n < 200 ? n : 100 + (n % 100);
  const form = Object.prototype.hasOwnProperty.call(others, short) ? others[short] : usual;
  return filled(forms[form], { n, ...fields });
}

export function element(tag, className, ...inside) {
  const made = document.createElement(tag);
  if (className) made.className = className;
  made.append(...inside);
  return made;
}

/** Let a screen reader tell `sentence`. */
export function tell(sentence) {
  byId("live").textContent = sentence;
}
