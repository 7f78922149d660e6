// What pages are put together with: elements, numbers, words for the ear.

export const byId = (id) => document.getElementById(id);

export const grouped = new Intl.NumberFormat("en");

export function element(tag, className, words) {
  const made = document.createElement(tag);
  if (className) made.className = className;
  if (words !== undefined) made.textContent = words;
  return made;
}

/** Let a screen reader say `words`. */
export function say(words) {
  byId("live").textContent = words;
}
