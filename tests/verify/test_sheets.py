"""A sheet is plain paper with known letters and nothing else: whatever else a PDF may hold is refused by name."""

from __future__ import annotations

import io
import re
import zlib
from collections.abc import Callable

import numpy as np
import pytest
from support.making import make_map, make_rug
from support.repacking import packed

from chartmaker.order.workshop import Workshop
from chartmaker.readback.content import POINTS_PER_MM
from chartmaker.readback.pdffile import PdfFile, Stream, UnreadableError
from chartmaker.sheets.chart.chart import write_chart
from chartmaker.verify.sheets import Paper


@pytest.fixture(scope="module")
def chart() -> bytes:
    knot_map = make_map(
        np.arange(48).reshape(6, 8) % 3, make_rug(8, 6), Workshop.model_validate({"chart": {"paper": "A5"}})
    )
    stream = io.BytesIO()
    write_chart(stream, knot_map, knot_map.workshop)
    return stream.getvalue()


def read(data: bytes) -> Paper:
    """Look at every sheet of a PDF and at the picture on its cover."""
    paper = Paper(data, 48)
    assert [round(sheet.height_mm) for sheet in paper.sheets()] == [210] * len(paper.pages)
    paper.picture("Rug")
    return paper


def test_a_chart_is_read(chart: bytes) -> None:
    paper = read(packed(chart, {}))
    assert paper.picture("Rug").shape == (6, 8, 3)
    with pytest.raises(UnreadableError, match="its picture of the rug"):
        paper.picture("None")


def once(old: bytes, new: bytes) -> Callable[[bytes], bytes]:
    """Return a function that tells the first object otherwise in which the pattern stands."""
    done: list[bytes] = []

    def told(head: bytes) -> bytes:
        found = re.sub(old, new, head, count=1) if not done else head
        done.extend([head] if found != head else [])
        return found

    return told


PAGE = rb"(/Type /Page\b(?!s))"
BOX = rb"/MediaBox \[[^\]]*\]"
REFUSED: dict[str, tuple[bytes, bytes, str]] = {
    "annotations": (PAGE, rb"\1 /Annots []", "more than paper: it holds Annots"),
    "a thumbnail": (PAGE, rb"\1 /Thumb 1", "not plain paper: Thumb"),
    "a unit of its own": (PAGE, rb"\1 /UserUnit 2", "not plain paper: UserUnit"),
    "turned": (PAGE, rb"\1 /Rotate 90", "not plain paper: Rotate, CropBox"),
    "cropped": (PAGE, rb"\1 /CropBox [0 0 100 100]", "not plain paper: Rotate, CropBox"),
    "no size": (BOX, b"/MediaBox [0 0 400]", "a page has no size"),
    "a size in words": (BOX, b"/MediaBox [0 0 400 /Z]", "a page has no size"),
    "no box": (BOX, b"/MediaBox 5", "a page has no size"),
    "off its corner": (BOX, b"/MediaBox [1 0 400 400]", "does not begin at its corner"),
    "above its corner": (BOX, b"/MediaBox [0 1 400 400]", "does not begin at its corner"),
    "too wide": (BOX, b"/MediaBox [0 0 5670 400]", "larger than any paper"),
    "too high": (BOX, b"/MediaBox [0 0 400 5670]", "larger than any paper"),
    "no width": (BOX, b"/MediaBox [0 0 0 400]", "larger than any paper"),
    "no height": (BOX, b"/MediaBox [0 0 400 -4]", "larger than any paper"),
    "patterns": (rb"(/ProcSet \[[^\]]*\])", rb"\1 /Pattern <<>>", "not plain paper: Pattern"),
    "a form with letters of its own": (
        b"/Resources <<\\s*/Font 1 0 R",
        b"/Resources << /Font << /S 5 0 R >>",
        "another kind",
    ),
    "a form with patterns": (
        b"/Resources <<\\s*/Font 1 0 R",
        b"/Resources << /Pattern 1 0 R",
        "a drawing of another kind",
    ),
    "another font": (rb"/T (\d+ 0 R)", rb"/T \1 /X \1", "charts do not have: X"),
    "fonts changed about": (
        rb"/B (\d+) 0 R(.*)/T (\d+) 0 R",
        rb"/B \3 0 R\2/T \1 0 R",
        "do not look like what they mean",
    ),
    "a simple font": (b"/Subtype /Type0", b"/Subtype /Type1", "a font of another kind"),
    "another encoding": (b"/Encoding /Identity-H", b"/Encoding /Identity-V", "a font of another kind"),
    "widths in words": (rb"/W \[", b"/W [/x ", "a font of another kind"),
    "other widths": (rb"/W \[ 3 \[ 317", b"/W [ 3 [ 617", "do not look like what they mean"),
    "glyphs changed about": (b"/CIDToGIDMap /Identity", b"/CIDToGIDMap 5 0 R", "a font of another kind"),
    "two programs of a font": (rb"(/FontFile2 \d+ 0 R)", rb"\1 /FontFile3 5 0 R", "a font of another kind"),
    "upright widths": (rb"/W \[ 3", b"/W2 [] /W [ 3", "a font of another kind"),
    "a form of another kind": (b"/Subtype /Form", b"/Subtype /PS", "a drawing of another kind"),
    "a form cut off": (rb"/BBox \[[^\]]*\]", b"/BBox [ 0 0 1 1 ]", "is cut off at its box"),
    "a form without a box": (rb"/BBox \[[^\]]*\]", b"/BBox 5", "a drawing of another kind"),
    "a form moved": (b"/Subtype /Form", b"/Subtype /Form /Matrix [1 0 0 1 9 0]", "a drawing of another kind"),
    "a form with a mask": (b"/Subtype /Form", b"/Subtype /Form /Group <<>>", "a drawing of another kind"),
    "a picture in grey": (b"/DeviceRGB", b"/DeviceGray", "its picture of the rug is of another kind"),
    "a picture with a mask": (b"/DeviceRGB", b"/DeviceRGB /SMask 5", "its picture of the rug is of another kind"),
    "a picture of other bits": (
        b"/BitsPerComponent 8",
        b"/BitsPerComponent 4",
        "its picture of the rug is of another kind",
    ),
    "a picture of another width": (b"/Width 8", b"/Width 9", "its picture of the rug is damaged"),
    "a picture of no height": (b"/Height 6", b"/Height 0", "its picture of the rug is damaged"),
    "a picture of half a width": (b"/Width 8", b"/Width 8.0", "its picture of the rug is damaged"),
    "a form that is none": (rb"/(Y\d[^ ]*) \d+ 0 R", rb"/\1 5", "draws what the file does not have"),
}


@pytest.mark.parametrize("what", REFUSED)
def test_what_is_no_plain_paper_is_refused(chart: bytes, what: str) -> None:
    old, new, words = REFUSED[what]
    data = packed(chart, {}, once(old, new))
    assert data != packed(chart, {}), "nothing was told otherwise"
    with pytest.raises(UnreadableError, match=words):
        read(data)


def test_paper_may_be_as_large_as_a_sheet_of_the_largest_format_and_no_larger(chart: bytes) -> None:
    for mm, right in ((1999.9, True), (2000.1, False)):
        data = packed(chart, {}, once(BOX, b"/MediaBox [0 0 %.3f 419.5]" % (mm * POINTS_PER_MM)))
        if right:
            assert next(Paper(data, 48).sheets()).width_mm == pytest.approx(mm, abs=0.01)
        else:
            with pytest.raises(UnreadableError, match="larger than any paper"):
                next(Paper(data, 48).sheets())


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("<0013> <0030>", "<0013> <0031>", "do not look like what they mean"),
        ("<0013> <0030>", "<0013> <0030> <0013> <0030>", "means two letters"),
        ("endcmap", "1 beginbfrange\nendbfrange\nendcmap", "a font of another kind"),
        ("begincmap", "/X usecmap begincmap", "a font of another kind"),
    ],
)
def test_a_letter_that_means_another_is_refused(chart: bytes, old: str, new: str, words: str) -> None:
    """The map of glyphs to letters is that of ISO 32000-1, 9.10.3."""
    pdf = PdfFile(chart)
    streams = {number: pdf.object(number) for number in pdf.offsets}
    plain = {
        n: zlib.decompress(each.raw)
        for n, each in streams.items()
        if isinstance(each, Stream) and each.entries.get("Filter")
    }
    number, cmap = next((n, each.decode()) for n, each in plain.items() if old.encode() in each)
    with pytest.raises(UnreadableError, match=words):
        read(packed(chart, {number: cmap.replace(old, new)}))
