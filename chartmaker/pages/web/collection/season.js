// What lies in the page: the sets, what they take together, the looms.

import { element, facts, say } from "../common/page.js";

export const { collection, sets, store, looms } = facts;

sets.forEach((set, number) => {
  set.number = number;
  set.area = (set.width_cm ?? 0) * (set.length_cm ?? 0);
  const yarns = (set.yarns ?? []).flatMap((yarn) => [yarn.code, yarn.name]);
  const remarks = (set.remarks ?? []).map((remark) => remark[1]);
  set.words = [set.name, set.title, set.design, set.size, set.colourway, set.quality, set.error, ...yarns, ...remarks]
    .filter(Boolean)
    .join(" ")
    .toLowerCase();
});

export const kilograms = (grams) => (grams / 1000).toFixed(2);
export const measure = (set) => say("measure", { width: set.width_cm.toFixed(0), length: set.length_cm.toFixed(0) });
export const graded = (set) => (set.findings ? set.findings.error * 1e6 + set.findings.warning * 1e3 + set.findings.note : 1e9);

export function costWords(set) {
  if (set.cost === null || set.cost === undefined) return say("none");
  const fields = { amount: set.cost.toFixed(2), currency: set.currency };
  const key = set.currency ? "cost" : "costBare";
  return say(set.cost_complete ? key : `${key}Part`, fields);
}

/** The picture of a rug, `px` pixels a metre. */
export function picture(set, px) {
  const image = element("img");
  image.alt = "";
  image.src = `data:image/png;base64,${set.thumbnail}`;
  fit(image, set, px);
  return image;
}

export function fit(image, set, px) {
  image.style.width = `${((set.width_cm * px) / 100).toFixed(1)}px`;
  image.style.aspectRatio = `${set.width_cm} / ${set.length_cm}`;
}

/** A table with a header and lines of words or elements; columns of numbers stand to the right. */
export function table(header, lines, numbers = []) {
  const made = element("table");
  const head = element("tr");
  header.forEach((words, column) => {
    const cell = element("th", numbers.includes(column) ? "number" : "", words);
    cell.scope = "col";
    head.append(cell);
  });
  const body = element("tbody");
  for (const each of lines) {
    const line = element("tr");
    each.forEach((cell, column) => {
      const made = element("td", numbers.includes(column) ? "number" : "");
      made.append(cell);
      line.append(made);
    });
    body.append(line);
  }
  const top = element("thead");
  top.append(head);
  made.append(top, body);
  const scroll = element("div", "scroll");
  scroll.append(made);
  return scroll;
}

export function yarnWords(yarn) {
  const line = element("span");
  const swatch = element("span", "swatch");
  swatch.style.background = yarn.srgb;
  line.append(swatch, element("bdi", "", say("yarnLine", yarn)));
  return line;
}
