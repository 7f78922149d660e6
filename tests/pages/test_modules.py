"""Modules that are put together see only what they import, and the page's own modules keep to the rules."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from support.browsing import chromium

from chartmaker.pages.modules import joined

ROOT = Path(__file__).parents[2]
WEB = ROOT / "chartmaker" / "pages" / "web"
MODULES = sorted(path.relative_to(WEB).as_posix() for path in WEB.rglob("*.js"))
EXPORTED = re.compile(r"^export (?:async )?(?:function|const) (?:(\w+)|\{([^}]*)\})", re.MULTILINE)


def test_each_module_sees_what_it_imports_and_nothing_else() -> None:
    """A browser shows that names of one module hide none of another, and that state is shared by the object with it."""
    modules = {
        "page/start.js": """
import { count, state } from "../common/state.js";
import {
  twice,
} from "./more.js";
const own = 5;
count();
twice();
window.told = [state.number, own, typeof hidden, typeof base];
""",
        "page/more.js": """
import { count } from "../common/state.js";
const own = 7;
export const twice = () => count(own);
""",
        "common/state.js": """
const hidden = 1;
export const state = { number: 0 };
export const { base, other } = { base: 1, other: 2 };
export function count(by = base) {
  state.number += by * hidden;
}
""",
    }
    script = joined("page/start.js", modules.__getitem__)
    with chromium() as browser:
        page = browser.new_page()
        page.add_script_tag(content=script)
        assert page.evaluate("window.told") == [8, 5, "undefined", "undefined"]
        assert page.evaluate("typeof own + typeof of_common_state") == "undefinedundefined"


@pytest.mark.parametrize(
    ("modules", "words"),
    [
        ({"a.js": 'import { b } from "./b.js";\n', "b.js": 'import { a } from "./a.js";\n'}, "a.js -> b.js -> a.js"),
        ({"a.js": 'import { b } from "./b.js";\n', "b.js": "const b = 1;\n"}, "imports b, which b.js does not export"),
    ],
)
def test_a_broken_package_is_refused(modules: dict[str, str], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        joined("a.js", modules.__getitem__)


def test_every_module_is_part_of_a_page() -> None:
    pages = [path.parent.name for path in WEB.glob("*/start.js")]
    script = "".join(joined(f"{page}/start.js", lambda name: (WEB / name).read_text()) for page in pages)
    assert [name for name in MODULES if f"of_{re.sub(r'[^a-z]', '_', name.removesuffix('.js'))} = " not in script] == []


TOKEN = re.compile(
    r"""//[^\n]*|/\*.*?\*/|"(?:\\.|[^"\\])*"|`(?P<template>[^`]*)`"""
    r"""|(?P<key>(?<=[{,])\s*\w+\s*:)|(?<![\w$])(?<!(?<!\.\.)\.)(?P<name>[A-Za-z_]\w*)""",
    re.DOTALL,
)


def bare_names(code: str) -> set[str]:
    """Return the names that code uses, leaving out properties, keys, and words in comments and strings."""
    found: set[str] = set()
    for token in TOKEN.finditer(code):
        if token["name"]:
            found.add(token["name"])
        for within in re.findall(r"\$\{([^}]*)\}", token["template"] or ""):
            found |= bare_names(within)
    return found


@pytest.mark.parametrize("name", MODULES)
def test_a_module_imports_what_it_uses_of_others_and_uses_what_it_imports(name: str) -> None:
    exported = {
        each.strip(): other
        for other in MODULES
        for found in EXPORTED.findall((WEB / other).read_text())
        for each in (found[0] or found[1]).split(",")
    }
    text = (WEB / name).read_text()
    imports = re.findall(r"^import \{([^}]*)\} from .*\n", text, re.MULTILINE)
    imported = {each.strip() for names in imports for each in names.split(",") if each.strip()}
    body = re.sub(r"^import \{[^}]*\} from .*\n", "", text, flags=re.MULTILINE)
    used = bare_names(body)
    local = set(re.findall(r"\b(?:const|let|function) (\w+)", body))
    for parameters in re.findall(r"[({\[]([\w\s,:]+)[)}\]]\s*(?:=>|=|\{)", body):
        local |= {each.split(":")[-1].strip() for each in parameters.split(",")}
    foreign = {each for each in used if each in exported and exported[each] != name}
    assert foreign - local - imported == set()
    assert imported - used == set()


@pytest.mark.parametrize("name", MODULES)
def test_a_module_keeps_what_changes_in_one_object(name: str) -> None:
    assert re.findall(r"^(?:export )?(?:let|var) .*", (WEB / name).read_text(), re.MULTILINE) == []
