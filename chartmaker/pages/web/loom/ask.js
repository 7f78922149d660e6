// Questions that only a person can answer, because two places disagree.

import { byId, element, facts, say, sayN, tell } from "../common/page.js";
import { calls, save, state } from "./place.js";
import { comparedWith, disagrees, placeOf, ranges, stay, takeOlder, takeOver } from "./revised.js";
import { rows } from "./rows.js";

/** Ask above everything else; each answer is its words with what it does. */
function ask(title, words, answers) {
  const buttons = answers.map(([label, act]) => {
    const button = Object.assign(element("button", "", label), { type: "button" });
    button.addEventListener("click", () => {
      byId("question").hidden = true;
      act();
      byId("done").focus();
    });
    return button;
  });
  byId("question-title").textContent = title;
  byId("question-words").replaceChildren(...words.map((each) => element("p", "", each)));
  byId("question-answers").replaceChildren(...buttons);
  byId("question").hidden = false;
  byId("question").scrollIntoView({ block: "start" });
  byId("question-title").focus();
}

export const asking = () => !byId("question").hidden;

const placeOfRow = (row, call) => (call ? say("rowAndCall", { row: row + 1, call: call + 1 }) : say("row", { row: row + 1 }));

/** A place of this map from elsewhere: taken over at once where it agrees, asked about where it does not. */
export function askOther(found, whose) {
  const there = placeOf(found);
  if (!disagrees(found)) {
    byId("place-answer").textContent = say("agree", { place: placeOfRow(state.row, state.call) });
    tell(byId("place-answer").textContent);
    return;
  }
  const fields = { there: placeOfRow(there.row, there.call), here: placeOfRow(state.row, state.call) };
  const apart = Math.abs(there.row - state.row);
  ask(
    say("disagreeTitle"),
    [say(whose, fields), apart ? sayN("rowsApart", apart) : say("sameRow"), say("countOnLoom")],
    [
      [say("take", { place: fields.there }), () => takeOver(found)],
      [say("stay", { place: fields.here }), stay],
    ],
  );
}

/** The place of an older map of the rug: which finished rows this map has otherwise. */
export function askOlder(old) {
  const { code, row, differing } = comparedWith(old);
  const words = [say("revisedWords", { old: code, code: facts.code, row })];
  if (differing.length) words.push(sayN("rowsDiffer", differing.length, { which: ranges(differing), finished: row }), say("differAdvice"));
  else words.push(say("noneDiffers"));
  if (old.rows !== rows) words.push(say("otherLength", { old: old.rows, rows }));
  ask(say("revisedTitle"), words, [
    [say("goOn", { row: Math.min(row, rows - 1) + 1 }), () => takeOlder(old)],
    [say("beginAnew"), () => save()],
  ]);
}

/** Ask, where this tab went on from a place that another tab has left meanwhile. */
export function askConflict() {
  if (state.conflict && !asking()) askOther(state.conflict, "otherTab");
  if (state.conflict && !disagrees(state.conflict)) {
    takeOver(state.conflict);
    calls();
  }
}
