// The rugs: a card each, found, sorted, to scale.

import { byId, element, say, sayN } from "../common/page.js";
import { choose } from "./compare.js";
import { costWords, fit, graded, kilograms, measure, picture, sets } from "./season.js";

const cards = [];
const KINDS = ["design", "size", "colourway", "quality"];
const pixels = () => Number(byId("scale").value);

function findingWords(set) {
  const line = element("span");
  const { error, warning, note } = set.findings;
  const counts = [["error", "errorsN", error], ["warning", "warningsN", warning], ["note", "notesN", note]];
  for (const [name, key, number] of counts) {
    if (number) line.append(element("span", `severity ${name}`, sayN(key, number)), " ");
  }
  if (!error && !warning && !note) line.append(say("noFindings"));
  return line;
}

function fact(list, label, value) {
  const said = element("dd");
  said.append(value);
  list.append(element("dt", "", label), said);
}

function remarks(set) {
  const made = element("details");
  made.append(element("summary", "", say("allRemarks")));
  made.addEventListener("toggle", () => {
    if (made.children.length > 1) return;
    const list = element("ul");
    for (const [severity, what, where] of set.remarks) {
      list.append(element("li", severity, say("remark", { severity: say(severity), what, where })));
    }
    made.append(list);
  });
  return made;
}

function card(set) {
  const item = element("li", set.state === "failed" ? "failed" : "");
  const title = element("h3");
  title.append(element("bdi", "", set.name));
  if (set.state === "failed") {
    item.append(title, element("p", "error", say("failed")), element("p", "", set.error));
    return { set, item, image: null, box: null };
  }
  const image = picture(set, pixels());
  const list = element("dl");
  fact(list, say("rowSize"), measure(set));
  fact(list, say("rowKnots"), sayN("knots", set.knots));
  fact(list, say("rowMass"), say("mass", { kg: kilograms(set.mass_g) }));
  fact(list, say("rowDays"), say("daysOf", { days: sayN("daysN", set.days), weavers: sayN("weaversN", set.weavers) }));
  fact(list, say("rowCost"), costWords(set));
  fact(list, say("rowFindings"), findingWords(set));
  const foot = element("div", "foot");
  const link = element("a", "", say("open"));
  link.href = `${encodeURIComponent(set.name)}/${set.set === "all" ? "proof.html" : "knots.png"}`;
  link.setAttribute("aria-label", say("openOf", { name: set.name }));
  const label = element("label");
  const box = element("input");
  box.type = "checkbox";
  box.setAttribute("aria-label", say("compareOf", { name: set.name }));
  box.addEventListener("change", () => choose(set, box));
  label.append(box, say("compare"));
  foot.append(link, label);
  item.append(image, title, list);
  if (set.remarks.length) item.append(remarks(set));
  item.append(foot);
  return { set, item, image, box };
}

function wanted(set) {
  if (KINDS.some((kind) => byId(kind).value !== "" && byId(kind).value !== `=${set[kind]}`)) return false;
  const finding = byId("finding").value;
  const worse = set.findings ? set.findings.error + set.findings.warning : 0;
  if (finding === "failed" ? set.state !== "failed" : finding && set.state === "failed") return false;
  if ((finding === "some" && !worse) || (finding === "none" && worse + set.findings.note > 0)) return false;
  const words = byId("find").value.toLowerCase().split(/\s+/).filter(Boolean);
  return words.every((word) => set.words.includes(word));
}

function order(one, other) {
  const key = byId("sort").value;
  if (key === "name") return one.name < other.name ? -1 : one.name > other.name ? 1 : 0;
  if (key === "file") return one.number - other.number;
  const value = (set) => (key === "findings" ? graded(set) : (set[key] ?? -1));
  return value(one) - value(other) || one.number - other.number;
}

/** Show the rugs that are asked for, in the order that is asked for. */
export function showRugs() {
  const turned = byId("downward").checked ? -1 : 1;
  const those = cards.filter(({ set }) => wanted(set)).sort((a, b) => turned * order(a.set, b.set));
  byId("rugs").replaceChildren(...those.map(({ item }) => item));
  const all = sayN("sets", cards.length);
  byId("shown").textContent = those.length ? say("shownOf", { shown: those.length, all }) : say("noneShown");
}

export function rescale() {
  for (const { set, image } of cards) if (image) fit(image, set, pixels());
}

export function fillRugs() {
  cards.push(...sets.map(card));
  for (const kind of KINDS) {
    const select = byId(kind);
    const values = [...new Set(sets.map((set) => set[kind]))];
    select.append(new Option(say("any"), ""), ...values.filter(Boolean).map((value) => new Option(value, `=${value}`)));
    select.parentElement.hidden = values.length < 2;
  }
}
