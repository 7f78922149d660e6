"""Every message goes through the one catalogue, so that another language can have all of them."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from chartmaker.ground.errors import ChartmakerError

PACKAGE = Path(__file__).parents[2] / "chartmaker"
FILES = sorted(PACKAGE.rglob("*.py"))

#: Functions that look a sentence up, mark one to be looked up later, or keep one with its fields.
SAYING = {"say", "say_n", "told", "told_n", "field", "phrase", "later", "later_n"}


def own_errors() -> set[str]:
    names, waiting = set(), [ChartmakerError]
    while waiting:
        error = waiting.pop()
        names.add(error.__name__)
        waiting += error.__subclasses__()
    return names


#: Calls that carry words to the user. `error_class` is one of the house's own errors; the readers of files put what
#: they are given into their messages.
CARRYING = own_errors() | {"error_class", "read_whole", "text_of", "decode", "open_raster"}
CARRYING |= {"UsageError", "BadParameter", "ClickException", "Finding", "Difference"}
#: Faults of our own code, which are messages to nobody but us.
OURS = {"AttributeError", "AssertionError", "NotImplementedError", "TypeError"}
#: Names rather than words: a key of the rug file, an option, a file, a format, or a severity.
NAME = re.compile(r"\[\[?[a-z]+\]\]?( [a-z_]+)?|--[a-z-]+|[a-z]+\.(json|png|pdf|csv|html)|PNG|note|warning|error")
#: By file and call: these carry the keys of a table of the rug file, or a fault in the scripts of the pages.
NO_WORDS = {
    ("order/rug.py", "TableError"),
    ("order/design.py", "TableError"),
    ("order/carve.py", "TableError"),
    ("order/design.py", "TableError"),
    ("order/workshop.py", "TableError"),
    ("order/pattern.py", "TableError"),
    ("pages/modules.py", "ValueError"),
}


def called(node: ast.Call) -> str:
    return node.func.id if isinstance(node.func, ast.Name) else getattr(node.func, "attr", "")


def is_of_text(node: ast.Call) -> bool:
    """Return whether a call is the method that turns text into bytes or back, which takes the name of an encoding."""
    return isinstance(node.func, ast.Attribute) and node.func.attr in ("encode", "decode")


def bare_words(node: ast.AST) -> Iterator[ast.AST]:
    """Yield the strings in `node` that nothing looks up."""
    if isinstance(node, ast.Call) and called(node) in SAYING:
        return
    if isinstance(node, ast.Subscript | ast.Compare):
        return  # this is a key, or something that a value is compared with
    if isinstance(node, ast.Call) and is_of_text(node):
        return
    if isinstance(node, ast.JoinedStr):
        words = "".join(str(part.value) for part in node.values if isinstance(part, ast.Constant)).strip()
        if re.search("[a-z]{2}", words) and not NAME.fullmatch(words):
            yield node
        return
    if isinstance(node, ast.Constant):
        if isinstance(node.value, str) and re.search("[A-Za-z]{2}", node.value) and not NAME.fullmatch(node.value):
            yield node
        return
    for child in ast.iter_child_nodes(node):
        yield from bare_words(child)


def carriers(tree: ast.Module) -> Iterator[ast.Call]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Raise) and isinstance(node.exc, ast.Call) and called(node.exc) not in OURS:
            yield node.exc
        elif isinstance(node, ast.Call) and called(node) in CARRYING and not is_of_text(node):
            yield node


def unsaid(source: str, place: str) -> list[str]:
    found = []
    for call in carriers(ast.parse(source)):
        if (place, called(call)) not in NO_WORDS:
            for argument in (*call.args, *(keyword.value for keyword in call.keywords)):
                found += [f"{place}, line {words.lineno}: {ast.unparse(words)}" for words in bare_words(argument)]  # type: ignore[attr-defined]
    return sorted(set(found))


#: Calls that show words as they stand, on stdout, on a terminal or on paper, with the object that shows them where the
#: name of the method alone is not enough.
SHOWING = {("report", "lines"), ("report", "table"), ("click", "echo"), ("sheet", "text"), ("sheet", "labels")}
SHOWING |= {("inner", "text"), ("", "FigureTable"), ("", "pairs"), ("", "doing")}
#: Names of standards, of units and of the program, which are the same in every language, and what a ruler says.
STANDARD = re.compile(r"sRGB|CIEDE2000|L\*|mm|chartmaker: ")


def constants(tree: ast.Module) -> dict[str, ast.expr]:
    """Return what stands at the top of a module under a name of its own."""
    assigned = [node for node in tree.body if isinstance(node, ast.Assign) and isinstance(node.targets[0], ast.Name)]
    return {node.targets[0].id: node.value for node in assigned if isinstance(node.targets[0], ast.Name)}


def showing(tree: ast.Module) -> Iterator[ast.Call]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Call):
            of = node.func.value if isinstance(node.func, ast.Attribute) else None
            owner = of.id if isinstance(of, ast.Name) else ""
            if (owner, called(node)) in SHOWING or ("", called(node)) in SHOWING:
                yield node


def unlabelled(source: str) -> list[str]:
    """Return the words that are shown as they stand in the code, either directly or by the name of a constant."""
    tree, found = ast.parse(source), []
    named = constants(tree)
    for call in showing(tree):
        for argument in call.args:
            every = [
                argument,
                *(named[each.id] for each in ast.walk(argument) if isinstance(each, ast.Name) and each.id in named),
            ]
            for words in (each for value in every for each in bare_words(value)):
                text = words.value if isinstance(words, ast.Constant) else ast.unparse(words)
                if not STANDARD.fullmatch(str(text)) and not re.fullmatch(r"f'\{.*\} mm'", str(text)):
                    found.append(f"line {call.lineno}: {ast.unparse(words)}")
    return found


def test_no_label_bypasses_the_catalogue() -> None:
    found = {path.relative_to(PACKAGE).as_posix(): unlabelled(path.read_text(encoding="utf-8")) for path in FILES}
    assert {place: words for place, words in found.items() if words} == {}


@pytest.mark.parametrize(
    "source",
    [
        'report.lines([("Map", words)])',
        'HEADER = ("code", "name")\nreport.table(say("Yarns"), HEADER, rows)',
        'sheet.text(x, y, "weave upwards", 8)',
        'click.echo(f"{n} sheets written")',
        'FigureTable(say("Yarns"), ("code", say("name")), rows)',
        'part.doing("reading")',
    ],
)
def test_a_bare_label_is_noticed(source: str) -> None:
    assert len(unlabelled(source)) >= 1


def test_no_message_bypasses_the_catalogue() -> None:
    places = {path: path.relative_to(PACKAGE).as_posix() for path in FILES}
    assert [line for path, place in places.items() for line in unsaid(path.read_text(encoding="utf-8"), place)] == []


@pytest.mark.parametrize(
    "source",
    [
        'raise CardError("the card is empty")',
        'raise CardError(f"the card has {n} yarns")',
        'raise RugError(say("{code} is not there", code=code), where="the command line")',
        'raise RugError(say("{code} is not there", code="no code"), where=f"line {n} of the card") ',
        'raise ValueError("its header is " + "damaged")',
        'yield Finding("a speck", place, "note")',
        'read_whole(path, 100, CardError, "yarn card")',
    ],
)
def test_a_message_that_bypasses_the_catalogue_is_noticed(source: str) -> None:
    assert len(unsaid(source, "there.py")) >= 1


@pytest.mark.parametrize(
    "source",
    [
        'raise CardError(say("the card is empty"), where=inert(path))',
        'raise RugError(say_n("{n} yarn", "{n} yarns", n), where="[yarns] keep")',
        'yield Finding(later("a speck"), "[design] tidy", "note" if few else "warning")',
    ],
)
def test_a_message_from_the_catalogue_is_let_pass(source: str) -> None:
    assert unsaid(source, "there.py") == []
