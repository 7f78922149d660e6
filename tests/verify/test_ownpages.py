"""A page whose script, style, policy or markup is not this program's own is found, and which of them it is."""

from __future__ import annotations

import base64
import hashlib
import re

import numpy as np
import pytest
from support.looming import page_of
from support.making import make_map, make_rug

from chartmaker import __version__
from chartmaker.verify.ownpages import own_page_differences, script_of


@pytest.fixture(scope="module")
def page() -> str:
    cells = np.random.default_rng(2).integers(0, 3, (12, 16))
    return page_of(make_map(cells, make_rug(16, 12, name="Pond")))


def parts(page: str, made_by: object = __version__, kind: str = "loom") -> str:
    """Return which parts of a page are found to be another's, one after another, or all that is said."""
    found = list(own_page_differences(page.encode(), kind, made_by))
    assert len(found) <= 1
    said = re.fullmatch(
        rf"its (.*) are not those of a page of this chartmaker, {re.escape(__version__)}", "".join(found)
    )
    return said[1] if said else "".join(found)


def test_a_page_of_this_program_has_nothing_of_another(page: str) -> None:
    assert parts(page) == parts(page, "0.0") == parts(page, None) == ""
    assert parts(page.replace("Pond", "Teich")) == "", "words may be in any language"


def test_the_policy_lets_nothing_run_but_the_page_s_own_script(page: str) -> None:
    """A source is named by the base64 of the SHA-256 of what stands in its element (W3C CSP 3, 6.7.3)."""
    digest = base64.b64encode(hashlib.sha256(script_of("loom").encode()).digest()).decode()
    assert f"default-src 'none'; script-src 'sha256-{digest}'; style-src 'sha256-" in page


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("</style>", " </style>", "style"),
        ("</style>", "</style><style></style>", "style, markup"),
        ("base-uri 'none'", "base-uri *", "policy"),
        ("form-action 'none'", "form-action *", "policy"),
        ("<body>", "<body id=x>", "markup"),
        ("</body>", "<p>More</p></body>", "markup"),
    ],
)
def test_each_part_of_another_page_is_named(page: str, old: str, new: str, said: str) -> None:
    assert page.count(old) >= 1
    assert parts(page.replace(old, new, 1)) == said


def test_a_script_that_the_page_s_policy_names_too_is_found(page: str) -> None:
    own, other = script_of("loom"), script_of("loom") + "\n"
    digests = [base64.b64encode(hashlib.sha256(each.encode()).digest()).decode() for each in (own, other)]
    assert page.count(own) == page.count(digests[0]) == 1
    assert parts(page.replace(own, other).replace(*digests)) == "script, policy"


def test_a_page_of_another_version_cannot_be_judged(page: str) -> None:
    """Whoever has only this version is told which one to take."""
    altered = page.replace("</style>", " </style>")
    assert parts(altered, "9.9.9").startswith(
        "its style cannot be judged, since its set says that chartmaker 9.9.9 made"
    )
    assert f"and this is {__version__}: verify it with that version" in parts(altered, "9.9.9")
    assert parts(altered, 9) == parts(altered, None) == parts(altered, __version__) == "style"
    assert "x" * 40 + " made" in parts(altered, "x" * 99)


def test_what_its_reader_refuses_is_left_to_it(page: str) -> None:
    assert list(own_page_differences(b"\xff\xfe", "loom", None)) == []
    assert parts(page, kind="proof") == parts(page.replace("</body>", "<script>1</script></body>")) == ""


def test_a_script_is_its_modules_each_in_a_room_behind_those_that_it_needs() -> None:
    """Every name is known before it is taken, and no room is furnished twice."""
    for kind in ("loom", "proof"):
        script = script_of(kind)
        rooms = re.findall(r"^const (of_\w+) = \(\(\) => \{$", script, re.MULTILINE)
        assert rooms[-1] == f"of_{kind}_start" and len(set(rooms)) == len(rooms) > 3
        for taken, of in re.findall(r"^const \{ (.*) \} = (of_\w+);$", script, re.MULTILINE):
            assert rooms.index(of) < len(rooms) - 1 and taken
            given = re.search(
                rf"^const {of} = \(\(\) => \{{\n.*?^return \{{ (.*?) \}};\n\}}\)\(\);$", script, re.M | re.S
            )
            assert given is not None and set(taken.split(", ")) <= set(given[1].split(", "))
            assert script.index(f"const {of} =") < script.index(f"}} = {of};")
        assert script.startswith('"use strict";\n{\n') and script.endswith("})();\n}\n")
        assert not re.search(r"^(import|export) ", script, re.MULTILINE)
