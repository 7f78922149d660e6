// The page wakes up.

import { byId, element, say, sayN } from "../common/page.js";
import { closeBoth } from "./compare.js";
import { fillRugs, rescale, showRugs } from "./rugs.js";
import { collection, kilograms, sets } from "./season.js";
import { fillLaid } from "./laid.js";
import { fillTogether } from "./together.js";

function fillFacts() {
  const made = sets.filter((set) => set.state !== "failed");
  const sum = (key) => made.reduce((total, set) => total + set[key], 0);
  const words = [sayN("sets", collection.sets)];
  words.push(say("totals", { kg: kilograms(sum("pile_g")), days: Math.round(sum("weaver_days")) }));
  if (collection.failed) words.push(say("cannot", { n: collection.failed }));
  byId("facts").append(...words.map((each) => element("span", "", each)));
}

fillFacts();
fillRugs();
showRugs();
fillLaid();
fillTogether();
byId("controls").addEventListener("input", (event) => (event.target.id === "scale" ? rescale() : showRugs()));
byId("controls").addEventListener("submit", (event) => event.preventDefault());
byId("close").addEventListener("click", closeBoth);
document.addEventListener("keydown", (event) => {
  if (event.key === "Escape" && !byId("compared").hidden) closeBoth();
  if (event.key === "/" && !/INPUT|SELECT/.test(document.activeElement.tagName)) {
    event.preventDefault();
    byId("find").focus();
  }
});
document.documentElement.dataset.ready = "yes";
