// The page wakes up at the place that was kept.

import { byId, facts, say, tell } from "../common/page.js";
import { askConflict, askOlder } from "./ask.js";
import { connectAwake, stayAwake } from "./awake.js";
import { connectHands } from "./hands.js";
import { follow, open, save, state } from "./place.js";
import { olderRecord } from "./revised.js";
import { connectSettings, showChoices } from "./settings.js";
import { connectTables, showTables } from "./tables.js";
import { showAfresh, showPile, showPlace } from "./view.js";

function showAll() {
  showPlace();
  showTables();
  askConflict();
}

function showAllAfresh() {
  showAfresh();
  showTables();
  askConflict();
}

function start() {
  const kept = open();
  state.changed = (byAnother) => {
    showAll();
    showChoices();
    if (byAnother) tell(say("followed", { row: state.row + 1 }));
  };
  connectSettings(() => {
    stayAwake();
    showAllAfresh();
  });
  connectHands();
  connectTables();
  connectAwake();
  showPile();
  showAllAfresh();
  const older = kept ? null : olderRecord();
  if (older) askOlder(older);
  else save();
  document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && follow());
  window.addEventListener("focus", () => follow());
  window.addEventListener("resize", showAfresh);
  matchMedia("(prefers-color-scheme: dark)").addListener(showAfresh);
  document.documentElement.dataset.ready = "yes";
}

try {
  start();
} catch (fault) {
  byId("broken").hidden = false;
  byId("broken").textContent = facts.words.broken.replace("{fault}", String(fault.message));
  throw fault;
}
