// The calls of a row: what is read aloud, one after another, and what they are in words.

import { facts, say, sayN } from "../common/page.js";
import { NO_KNOT, yarns } from "./page.js";
import { cellsOf, endColumn, firstColumn } from "./rows.js";

/** Places in reading order of the chosen strip, or of all the page has: the first column, the one behind the last. */
export function spanOf(strip) {
  return strip < 0 ? [firstColumn, endColumn] : facts.strips[strip];
}

/** Whether the row can be called by halves: only all of a rug whose left half mirrors its right. */
export const canHalve = (strip) => facts.alike.across && strip < 0 && endColumn - firstColumn === facts.columns;

/** The column, counted from 1, of a place counted from 0 in reading order. */
export function columnOf(choices, place) {
  const [from, to] = spanOf(choices.strip);
  return choices.reading === "right to left" ? to - place : from + place + 1;
}

function runsOf(row, choices) {
  const [from, to] = spanOf(choices.strip);
  const cells = cellsOf(row).subarray(from - firstColumn, to - firstColumn);
  const halved = choices.way !== "whole" && canHalve(choices.strip);
  const length = halved ? Math.ceil(cells.length / 2) : cells.length;
  const middle = halved && cells.length % 2 ? length - 1 : -1;
  const back = choices.reading === "right to left";
  const runs = [];
  let run = null;
  for (let at = 0; at < length; at++) {
    const yarn = cells[back ? cells.length - 1 - at : at];
    if (!run || run.yarn !== yarn || at === middle) {
      run = { at, knots: 0, yarn, middle: at === middle };
      runs.push(run);
    }
    run.knots++;
  }
  return runs.filter((each) => each.yarn !== NO_KNOT);
}

/** Runs in the order in which they are called, each with the places passed over before it. */
function ordered(runs, order) {
  let reached = 0;
  if (order === "row") {
    return runs.map((run) => {
      const lift = run.at - reached;
      reached = run.at + run.knots;
      return { ...run, lift, fromEdge: false };
    });
  }
  const colours = [...new Set(runs.map((run) => run.yarn))];
  const called = [];
  for (const yarn of colours) {
    reached = 0;
    for (const run of runs.filter((each) => each.yarn === yarn)) {
      called.push({ ...run, lift: run.at - reached, fromEdge: reached === 0 && called.length > 0 });
      reached = run.at + run.knots;
    }
  }
  return called;
}

/**
 * The calls of a row. Each has `at`, the place of its first knot in reading order, `knots`, `yarn`, `lift` places passed
 * over before it, the knots of its whole `run`, and how many of them are tied `before` it.
 */
export function callsOf(row, choices) {
  const calls = [];
  for (const run of ordered(runsOf(row, choices), choices.order)) {
    const most = choices.most || run.knots;
    for (let before = 0; before < run.knots; before += most) {
      calls.push({
        at: run.at + before,
        knots: Math.min(most, run.knots - before),
        yarn: run.yarn,
        lift: before ? 0 : run.lift,
        fromEdge: !before && run.fromEdge,
        run: run.knots,
        before,
        middle: run.middle,
      });
    }
  }
  return calls;
}

/** The knots that all calls of a row tie; of a row called by halves those of both. */
export function knotsOf(calls, choices) {
  const twice = choices.way !== "whole" && canHalve(choices.strip);
  return calls.reduce((sum, call) => sum + call.knots * (twice && !call.middle ? 2 : 1), 0);
}

/** What is passed over before a call, in words; nothing where nothing is. */
export function liftWords(call, choices) {
  const words = [];
  if (call.fromEdge) words.push(say("fromEdge"));
  if (call.lift) words.push(sayN(choices.order === "lift" ? "lift" : "skip", call.lift));
  return words.join(say("between"));
}

/** A call as it is read aloud. */
export function callWords(call, choices) {
  const words = say(call.middle ? "callMiddle" : "call", { knots: call.knots, name: yarns[call.yarn].call });
  const before = liftWords(call, choices);
  return before ? before + say("between") + words : words;
}
