"""Every word of the loom page, said in the language in force: what stands on the page and what is called aloud."""

from __future__ import annotations

from chartmaker.ground.language import phrase
from chartmaker.reports.words import SAME_KNOT

#: Sentences of the page by the key that its scripts and its frame know them by.
SENTENCES = {
    # the call
    "call": phrase("{knots} {name}"),
    "callMiddle": phrase("in the middle, for one weaver alone, {knots} {name}"),
    "fromEdge": phrase("from the edge again"),
    "between": phrase(", "),
    "sentence": phrase("{words}."),
    "row": phrase("Row {row}"),
    "rowBoth": phrase("Row {row}, which is also row {other}"),
    "rowThenCall": phrase("{row}: {call}."),
    "alsoRow": phrase("also row {row}"),
    "rowTied": phrase("Row {row} is tied."),
    "rugDone": phrase("All rows are woven."),
    "sectionDone": phrase("All rows of this part are woven."),
    "reached": phrase("to column {column}"),
    "reachedBoth": phrase("to column {column}, and to column {other} from the other end"),
    "partOfRun": phrase("{done} of {run} in this run"),
    "middle": phrase("the middle knot: one weaver ties it"),
    "ofRows": phrase("of {rows:,} rows; {due} cm are due"),
    "ofRowsYet": phrase("of {rows:,} rows; none is finished yet"),
    "openPart": phrase("Row {row} stands in another part of this rug: open it"),
    "pile": phrase("pile cut {cut} mm, finished {pile} mm"),
    "newLot": phrase("from row {row} on {code} is of the new lot"),
    "lotNow": phrase("{code}: the new lot begins with row {row}. Give back what is left of the stock."),
    "sameKnot": SAME_KNOT,
    "pileOf": phrase("{codes} cut {cut} mm, finished {pile} mm"),
    "noScript": phrase("This page needs scripts: allow them for this file, or use the printed row script."),
    "broken": phrase("The rows cannot be shown: {fault}. Copy the file to this device again."),
    # titles and keys
    "cardTitle": phrase("What to tie now"),
    "keysTitle": phrase("Keys"),
    "before": phrase("Just tied:"),
    "after": phrase("Then:"),
    "pictureTitle": phrase("The woven rows"),
    "picture": phrase("The woven picture: rows {low} to {high}, columns {first} to {last}"),
    "done": phrase("Done"),
    "doneRow": phrase("Whole row done"),
    "doneWeft": phrase("Weft is in, next row"),
    "back": phrase("Back"),
    "again": phrase("Say again"),
    # how the row is called
    "callingTitle": phrase("How the row is called"),
    "stripLabel": phrase("Strip"),
    "allStrips": phrase("the whole width"),
    "strip": phrase("strip {strip}, columns {first} to {last}"),
    "readingLabel": phrase("Begin"),
    "fromLeft": phrase("at the left"),
    "fromRight": phrase("at the right"),
    "wayLabel": phrase("Call"),
    "way-whole": phrase("the whole row"),
    "way-half": phrase("half the row, whose other half is its mirror image"),
    "way-ends": phrase("for two weavers, from both ends to the middle"),
    "wayMissing": phrase(
        "Halves can be called where the whole width is chosen and its left half mirrors its right half."
    ),
    "orderLabel": phrase("Order"),
    "order-row": phrase("along the row, colour after colour"),
    "order-lift": phrase("all places of one colour first, lifting over the others"),
    "mostLabel": phrase("In one call"),
    "mostAll": phrase("the whole run, however long"),
    "unitLabel": phrase("One step is"),
    "unit-call": phrase("one call"),
    "unit-row": phrase("one row"),
    "rowAgain": phrase("Row {row} begins again, because its calls come in another order now."),
    "sameCalls": phrase(
        "These yarns are called by the same name: {codes}. Give each a call of its own on the yarn card."
    ),
    # speech
    "voiceTitle": phrase("Reading aloud"),
    "speakingLabel": phrase("Read aloud"),
    "speaking-off": phrase("nothing"),
    "speaking-call": phrase("each call"),
    "speaking-row": phrase("the whole row at its beginning"),
    "voiceLabel": phrase("Voice"),
    "ownVoice": phrase("the device's own"),
    "rateLabel": phrase("How fast"),
    "speechMissing": phrase("This browser has no voice. Everything else works without it."),
    "listeningLabel": phrase("Listen for the answer: done, back, again"),
    "heardDone": phrase("done|tied|ready"),
    "heardBack": phrase("back"),
    "heardAgain": phrase("again|repeat"),
    # the place
    "placeTitle": phrase("The place: go to a row, copy it to another device"),
    "goLabel": phrase("Go to row"),
    "goButton": phrase("Go"),
    "noSuchRow": phrase("This page has rows {first} to {last}."),
    "shortCode": phrase("The place as a short code:"),
    "savePlace": phrase("Save the place as a file"),
    "placeSaved": phrase("Saved. The short code of the same place is {code}."),
    "typedCode": phrase("Short code of another device"),
    "compare": phrase("Compare"),
    "placeFile": phrase("File of another device"),
    "noCode": phrase("This is not a short code: it has twelve letters and figures. Type it once more."),
    "otherMapCode": phrase("This short code belongs to another map. Look for the map code on both devices."),
    "otherPart": phrase("This short code belongs to another strip, which is not on this page."),
    "noPlaceFile": phrase("This is not a file of a place at the loom."),
    "otherRugFile": phrase("This file belongs to another rug."),
    "notKept": phrase(
        "This browser does not keep the place on the device: it is full, or does not allow it. The place stands in the "
        "page's address, and as a code to write down:"
    ),
    "followed": phrase("Another tab went to row {row}; this one followed."),
    "agree": phrase("Both are at the same place: {place}."),
    "rowAndCall": phrase("row {row}, call {call}"),
    "disagreeTitle": phrase("Two places of one rug"),
    "otherDevice": phrase("The other device is at {there}, this one at {here}."),
    "otherTab": phrase("Another tab went on to {there}, while this one stood at {here}."),
    "sameRow": phrase("They are in the same row."),
    "countOnLoom": phrase("Count on the loom, from the last marked row, which of them is right."),
    "take": phrase("Take {place}"),
    "stay": phrase("Stay at {place}"),
    "revisedTitle": phrase("The map was revised"),
    "revisedWords": phrase(
        "A place of this rug is kept at row {row}, but it belongs to map {old}. This page is map {code}."
    ),
    "noneDiffers": phrase("None of the finished rows differs."),
    "differAdvice": phrase(
        "Look at those rows on the rug before you go on: leave them as they are, or unpick them, as the master decides."
    ),
    "otherLength": phrase("The old map has {old} rows, this one has {rows}."),
    "goOn": phrase("Go on at row {row}"),
    "beginAnew": phrase("Begin at the first row"),
    # what is left
    "yarnTitle": phrase("Yarn that is left to tie"),
    "yarnWords": phrase("From row {row} on. The section ends with row {end}."),
    "yarn": phrase("Yarn"),
    "sectionKnots": phrase("Section, knots"),
    "sectionGrams": phrase("Section's bundles, g"),
    "allKnots": phrase("To the end, knots"),
    "allGrams": phrase("To the end, g"),
    "allMetres": phrase("To the end, m"),
    "yarnBasis": phrase(
        "Knots are counted. The bundles are those of all weavers for the whole section, as they are printed and handed "
        "out. Grams and metres to the end are the best estimate with the waste of clipping: weigh a sample before you "
        "rely on them."
    ),
    "saveCsv": phrase("Save as CSV"),
    "print": phrase("Print"),
    "lengthTitle": phrase("Length of the woven part"),
    "measuredLabel": phrase("It measures, in cm"),
    "measuredButton": phrase("Compare"),
    "notALength": phrase("This is not a length that the woven part can have. Give it in centimetres."),
    "noRowYet": phrase("No row is finished yet."),
    "lengthRight": phrase("The length is right, within 2 %."),
    "lengthShort": phrase(
        "The rug is beaten too tight: beat more lightly, or take thicker weft, and measure again soon."
    ),
    "lengthLong": phrase("The rug is beaten too loosely: beat harder, or take thinner weft, and measure again soon."),
    "foundShorter": phrase(
        "After row {row} it measures {measured} cm where {due} cm are due: {percent} % too short. So far there are "
        "{density} rows in 10 cm, not {wanted}. At this rate the rug ends at {end} cm, not at {wantedEnd} cm."
    ),
    "foundLonger": phrase(
        "After row {row} it measures {measured} cm where {due} cm are due: {percent} % too long. So far there are "
        "{density} rows in 10 cm, not {wanted}. At this rate the rug ends at {end} cm, not at {wantedEnd} cm."
    ),
    "afterRow": phrase("After row"),
    "measuredCm": phrase("Measured, cm"),
    "dueCm": phrase("Due, cm"),
    "off": phrase("Off"),
    "lengthBasis": phrase(
        "Measure on the loom, under its usual tension, from the first row of knots, at three places, and take the mean."
        " Change the beating little by little: a sudden change shows as a band."
    ),
    "daysTitle": phrase("Days"),
    "paceExpected": phrase(
        "No row is finished yet. At the {knots} knots a day that were planned, {days} days are left."
    ),
    "day": phrase("Day"),
    "rowsDone": phrase("Rows"),
    "knotsDone": phrase("Knots"),
    "daysBasis": phrase(
        "Days are days with finished rows, by this device's calendar. What is left at the pace so far is arithmetic, "
        "not a promise; hours, breaks and pay follow local labour law."
    ),
    # how it looks
    "lookTitle": phrase("How the page looks"),
    "lookLabel": phrase("Light or dark"),
    "look-device": phrase("as the device"),
    "look-light": phrase("light"),
    "look-dark": phrase("dark"),
    "sizeLabel": phrase("Size of letters"),
    "percent": phrase("{number} %"),
    "contrastLabel": phrase("Strongest contrast"),
    "tapLabel": phrase("A tap anywhere on the call means done"),
    "awakeLabel": phrase("Keep the screen on"),
    "keysHelp": phrase(
        "Keys: space, Page Down or an arrow to the right is done (foot pedals send Page Down); Page Up or an arrow to "
        "the left goes back; E ends the row; R says it again."
    ),
}

#: Sentences about a number of things, for one and for many.
COUNTED = {
    "skip": (phrase("skip {n}"), phrase("skip {n}")),
    "lift": (phrase("lift {n}"), phrase("lift {n}")),
    "most": (phrase("at most {n} knot"), phrase("at most {n} knots")),
    "callsLeft": (phrase("{n} call left in this row"), phrase("{n:,} calls left in this row")),
    "knotsInRow": (phrase("{n} knot in it."), phrase("{n:,} knots in it.")),
    "weft": (phrase("Now {n} pass of weft."), phrase("Now {n} passes of weft.")),
    "rowsApart": (phrase("They are {n} row apart."), phrase("They are {n:,} rows apart.")),
    "rowsDiffer": (
        phrase("Of the {finished} finished rows {n} differs in this map: row {which}."),
        phrase("Of the {finished} finished rows {n} differ in this map: rows {which}."),
    ),
    "lengthDue": (
        phrase("After {n} finished row the rug should measure {due} cm on the loom."),
        phrase("After {n:,} finished rows the rug should measure {due} cm on the loom."),
    ),
    "paceFound": (
        phrase("{knots} knots a day so far, on {n} day. At this pace {left} days are left."),
        phrase("{knots} knots a day so far, over {n} days. At this pace {left} days are left."),
    ),
}
