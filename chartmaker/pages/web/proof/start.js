// The page wakes up.

import { byId, say, tell } from "../common/page.js";
import { rug, unpack } from "../common/rug.js";
import { fitCanvas, takeColours } from "./drawing.js";
import { onDown, onKey, onMove, onUp, onWheel, place, setCursor, setWipe, zoomHere, zoomToKnots } from "./hands.js";
import { showReadout } from "./readout.js";
import { clearOutlines, fillSide, setView, showYarns } from "./side.js";
import { canvas, showWhole, view, zoomAt } from "./view.js";

function connect() {
  canvas.addEventListener("keydown", onKey);
  canvas.addEventListener("pointerdown", onDown);
  canvas.addEventListener("pointermove", onMove);
  canvas.addEventListener("pointerup", onUp);
  canvas.addEventListener("pointercancel", onUp);
  canvas.addEventListener("pointerleave", () => showReadout(null));
  canvas.addEventListener("wheel", onWheel, { passive: false });
  canvas.addEventListener("dblclick", (event) => zoomAt(2, place(event).x, place(event).y));
  byId("wipe").addEventListener("input", (event) => setWipe(Number(event.target.value)));
  byId("closer").addEventListener("click", () => zoomHere(1.5));
  byId("farther").addEventListener("click", () => zoomHere(1 / 1.5));
  byId("whole").addEventListener("click", showWhole);
  byId("single").addEventListener("click", zoomToKnots);
  byId("lines").addEventListener("change", (event) => {
    view.lines = event.target.checked;
    view.drawSoon();
  });
  for (const choice of document.querySelectorAll("input[name=view]")) {
    choice.addEventListener("change", () => setView(choice.value));
  }
  byId("go").addEventListener("submit", (event) => {
    event.preventDefault();
    setCursor(Number(byId("go-row").value) - 1, Number(byId("go-column").value) - 1);
    zoomToKnots();
  });
  for (const [id, wanted] of [["all", true], ["none", false]]) {
    byId(id).addEventListener("click", () => {
      showYarns(() => wanted);
      tell(say(wanted ? "allShown" : "allHidden"));
    });
  }
  byId("clear").addEventListener("click", clearOutlines);
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", takeColours);
  matchMedia("print").addEventListener("change", takeColours);
  new ResizeObserver(fitCanvas).observe(canvas);
}

async function start() {
  fillSide();
  try {
    await unpack();
  } catch (fault) {
    byId("wait").textContent = say("broken", { fault: fault.message });
    return;
  }
  byId("wait").remove();
  if (rug.artwork) {
    byId("views").hidden = false;
    byId("wipe-line").hidden = false;
    setWipe(50);
  }
  takeColours();
  showReadout(null);
  fitCanvas();
  connect();
  document.documentElement.dataset.ready = "yes";
}

start();
