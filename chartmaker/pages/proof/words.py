"""Every word of the proof page, said in the language in force: what stands on the page and what is told for the ear."""

from __future__ import annotations

from chartmaker.ground.language import phrase

#: Sentences of the page by the key that its scripts and its frame know them by.
SENTENCES = {
    # the frame
    "skip": phrase("Skip to the rug"),
    "kind": phrase("Proof"),
    "stage": phrase("The rug"),
    "rug": phrase("The rug, knot by knot"),
    "wait": phrase("Unrolling the rug…"),
    "help": phrase(
        "Arrow keys move from knot to knot. Shift with an arrow moves ten knots. N and P move to the next and the "
        "previous change of yarn in the row. Plus and minus zoom. 0 shows the whole rug, 1 single knots. All keys are "
        "listed under Keys."
    ),
    "wipe": phrase("Artwork over the rug, from the left"),
    "rugOnly": phrase("Rug only"),
    "artworkOnly": phrase("Artwork only"),
    "zoom": phrase("Zoom"),
    "grid": phrase("Grid"),
    "single": phrase("Single knots"),
    "whole": phrase("Whole rug"),
    "farther": phrase("Zoom out"),
    "closer": phrase("Zoom in"),
    "views": phrase("Under the artwork"),
    "woven": phrase("The rug as woven"),
    "difference": phrase("The difference in colour"),
    "goTitle": phrase("Go to a knot"),
    "goRow": phrase("Row"),
    "goColumn": phrase("Column"),
    "go": phrase("Go"),
    "goNote": phrase("Row 1 is the first woven, column 1 the leftmost seen from the pile side."),
    "findings": phrase("Findings"),
    "clear": phrase("Take the outlines off"),
    "yarns": phrase("Yarns"),
    "whichYarns": phrase("Which yarns are shown"),
    "showAll": phrase("Show all"),
    "hideAll": phrase("Hide all"),
    "noScript": phrase("This page draws the rug with JavaScript; please allow it."),
    # the keys
    "keys": phrase("Keys"),
    "keysNote": phrase("With the rug in focus:"),
    "keyArrow": phrase("one knot on"),
    "shiftArrow": phrase("Shift + arrow"),
    "keyShiftArrow": phrase("ten knots on"),
    "keyChange": phrase("to the next or the previous change of yarn in the row"),
    "homeEnd": phrase("Home, End"),
    "keyHomeEnd": phrase("first or last column"),
    "pages": phrase("Page up, Page down"),
    "keyPages": phrase("fifty rows up or down"),
    "keyZoom": phrase("zoom in or out at the knot"),
    "keyWhole": phrase("the whole rug"),
    "keySingle": phrase("single knots"),
    "keyWipe": phrase("less or more of the artwork"),
    "keyOnly": phrase("only the yarn of this knot; again: all yarns"),
    "escape": phrase("Esc"),
    "keyEscape": phrase("take the outlines of findings off"),
    "mouse": phrase(
        "With a mouse or a finger: drag to move, wheel or pinch to zoom, click to choose a knot, drag the divide to "
        "wipe."
    ),
    # the lists beside the rug
    "error": phrase("Error"),
    "warning": phrase("Warning"),
    "note": phrase("Note"),
    "allShown": phrase("All yarns shown"),
    "allHidden": phrase("All yarns hidden"),
    "onlyShown": phrase("Only {code} {name} shown"),
    "only": phrase("Only"),
    "onlyYarn": phrase("Only {code} {name}"),
    "withShare": phrase("{knots}, {share} %"),
    "withLess": phrase("{knots}, under 0.01 %"),
    "half": phrase("half of them within {difference} of the artwork"),
    "show": phrase("Show on the rug"),
    "shown": phrase("Shown on the rug"),
    "showNext": phrase("Place {place} of {places} – show the next"),
    "placeOf": phrase("Place {place} of {places}: {where}"),
    "oneRow": phrase("row {first}"),
    "rows": phrase("rows {first} to {last}"),
    "oneColumn": phrase("column {first}"),
    "columns": phrase("columns {first} to {last}"),
    "rowsAndColumns": phrase("{rows}, {columns}"),
    "noFindings": phrase("There is nothing to remark on."),
    "under": phrase("under {to}"),
    "between": phrase("{from} to {to}"),
    "over": phrase("over {from}"),
    "scale": phrase(
        "CIEDE2000 between the yarn and the average of what its knot covers of the artwork. A difference of 1 is just "
        "visible side by side. Along outlines, where a knot covers two colours, it is always high. Of flat artwork the "
        "conversion says less: it holds each yarn against the even colour that its knot was given to, not an average."
    ),
    # the readout
    "row": phrase("row {row:,}"),
    "column": phrase("column {column:,}"),
    "noKnot": phrase("no knot"),
    "noKnotAt": phrase("row {row}, column {column}: no knot"),
    "knotAt": phrase("row {row}, column {column}: {yarn}; {said}"),
    "yarn": phrase("{code} {name}"),
    "hiddenYarn": phrase("{code} {name} (hidden)"),
    "run": phrase("run of {knots:,}, columns {first:,} to {last:,}"),
    "lone": phrase("single knot"),
    "away": phrase("difference {difference}"),
    "awayMore": phrase("difference {difference} or more"),
    "height": phrase("pile {height} mm high"),
    "groove": phrase("groove beside it, {depth} mm deep, {width} mm wide"),
    "pointAt": phrase("Point at the rug, or move with the arrow keys."),
    "wiped": phrase("artwork over the left {percent} percent"),
    "broken": phrase("The rug cannot be shown: {fault}. A current browser is needed."),
}
#: Sentences that count things, for one and for many.
COUNTED = {
    "knots": (phrase("{n} knot"), phrase("{n:,} knots")),
    "places": (phrase("Show its {n} place"), phrase("Show its {n} places")),
}
