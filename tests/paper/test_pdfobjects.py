"""What is used of reportlab's inside is there, in the release that is installed."""

from __future__ import annotations

import pytest
import reportlab

from chartmaker.paper.pdfobjects import INSIDE, TRIED, pdfdoc


@pytest.mark.parametrize(("what", "name"), [(what, name) for what, names in INSIDE.items() for name in names])
def test_what_is_used_of_its_inside_is_there(what: str, name: str) -> None:
    document, stream = pdfdoc.PDFDocument(), pdfdoc.PDFStream(content=b"")
    document.Reference(stream)
    assert hasattr({"document": document, "object": stream}[what], name), (
        f"reportlab {reportlab.__version__} has no {name} of a {what} any more, which gave: {INSIDE[what][name]}. "
        f"Tried were {', '.join(TRIED)}; mend chartmaker/paper/pdfobjects.py"
    )


def test_the_installed_release_is_not_far_from_those_tried() -> None:
    """Within a major release attributes stayed; a newer one is a reason to look, then to add it to those tried."""
    installed, newest = (int(version.split(".")[0]) for version in (reportlab.__version__, TRIED[-1]))
    assert installed <= newest, f"reportlab {reportlab.__version__} is newer than those tried, {', '.join(TRIED)}"
