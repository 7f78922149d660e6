"""The private parts of reportlab that are used exist in the release that is installed."""

from __future__ import annotations

import pytest
import reportlab

from chartmaker.paper.pdfobjects import INSIDE, TRIED, pdfdoc


@pytest.mark.parametrize(("what", "name"), [(what, name) for what, names in INSIDE.items() for name in names])
def test_the_private_parts_of_reportlab_that_are_used_exist(what: str, name: str) -> None:
    document, stream = pdfdoc.PDFDocument(), pdfdoc.PDFStream(content=b"")
    document.Reference(stream)
    assert hasattr({"document": document, "object": stream}[what], name), (
        f"reportlab {reportlab.__version__} has no {name} of a {what} any more, which gave: {INSIDE[what][name]}. "
        f"Tried were {', '.join(TRIED)}; mend chartmaker/paper/pdfobjects.py"
    )


def test_the_installed_release_of_reportlab_is_among_the_major_ones_tried() -> None:
    """Attributes have stayed within a major release; a newer one is a reason to look, and then to list it as tried."""
    installed, newest = (int(version.split(".")[0]) for version in (reportlab.__version__, TRIED[-1]))
    assert installed <= newest, f"reportlab {reportlab.__version__} is newer than those tried, {', '.join(TRIED)}"
