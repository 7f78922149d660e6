// What pages are put together with: elements, the table of words, words for the ear.

export const byId = (id) => document.getElementById(id);

const { language, words } = JSON.parse((byId("proof-facts") ?? byId("page-facts")).textContent);
const grouped = new Intl.NumberFormat(language);

const filled = (sentence, fields) =>
  sentence.replace(/\{(\w+)(:,)?\}/g, (_, name, large) => (large ? grouped.format(fields[name]) : String(fields[name])));

/** A sentence of the page's table of words, with its fields filled in. */
export const say = (key, fields = {}) => filled(words[key], fields);

/** A sentence about `n` things: the table says which of its forms suits the number. */
export function sayN(key, n, fields = {}) {
  const { forms, usual, others } = words[key];
  const form = others[n < 200 ? n : 100 + (n % 100)] ?? usual;
  return filled(forms[form], { n, ...fields });
}

export function element(tag, className, text) {
  const made = document.createElement(tag);
  if (className) made.className = className;
  if (text !== undefined) made.textContent = text;
  return made;
}

/** Let a screen reader tell `sentence`. */
export function tell(sentence) {
  byId("live").textContent = sentence;
}
