// The screen stays on while the page is seen, where the browser can do that.

import { settings } from "./settings.js";

const lock = { held: null };

async function hold() {
  if (!navigator.wakeLock || !settings.awake || document.visibilityState !== "visible" || lock.held) return;
  try {
    lock.held = await navigator.wakeLock.request("screen");
    lock.held.addEventListener("release", () => (lock.held = null));
  } catch (fault) {
    lock.held = null; // a low battery, or a browser that asks for a touch first
  }
}

async function letGo() {
  if (lock.held) await lock.held.release();
  lock.held = null;
}

export function stayAwake() {
  if (settings.awake) hold();
  else letGo();
}

export function connectAwake() {
  document.addEventListener("visibilitychange", stayAwake);
  document.addEventListener("click", stayAwake);
  document.addEventListener("keydown", stayAwake);
  stayAwake();
}
