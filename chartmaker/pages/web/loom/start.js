// The page wakes up at the place that was kept.

import { byId, facts, say, tell } from "./page.js";
import { askConflict, askOlder } from "./ask.js";
import { connectAwake, stayAwake } from "./awake.js";
import { connectHands } from "./hands.js";
import { follow, open, save, state } from "./place.js";
import { olderRecord } from "./revised.js";
import { connectSettings, showChoices } from "./settings.js";
import { connectTables, showTables } from "./tables.js";
import { showPlace } from "./view.js";

function showAll(telling) {
  showPlace(telling);
  showTables();
  askConflict();
}

function start() {
  const kept = open();
  state.changed = (byAnother) => {
    showAll(true);
    showChoices();
    if (byAnother) tell(say("followed", { row: state.row + 1 }));
  };
  connectSettings(() => {
    stayAwake();
    showAll(false);
  });
  connectHands();
  connectTables();
  connectAwake();
  showAll(false);
  const older = kept ? null : olderRecord();
  if (older) askOlder(older);
  else save();
  document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && follow());
  window.addEventListener("focus", () => follow());
  window.addEventListener("resize", () => showPlace(false));
  matchMedia("(prefers-color-scheme: dark)").addListener(() => showPlace(false));
  document.documentElement.dataset.ready = "yes";
}

try {
  start();
} catch (fault) {
  byId("broken").hidden = false;
  byId("broken").textContent = facts.words.broken.replace("{fault}", String(fault.message));
  throw fault;
}
