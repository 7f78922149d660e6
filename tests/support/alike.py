"""Rugs whose names, codes and counts are drawn from each other's words, as maps and as orders for whole sets."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
from PIL import Image

from chartmaker.figures.reckoning import figures_of
from chartmaker.jobs import make, read_map, read_order, verify_folder, write_sheets
from chartmaker.knots.knotmap import NO_KNOT
from support.generated import generated_map
from support.making import SettledMap

CODES = ("101", "600", "103", "1", "2", "12", "SHEET", "ROWS", "STRIP", "SKIP", "MAP", "3-1", "0")
NAMES = (
    *("sheet 2 of 3", "rows 1–40 · columns 1–30", "Strip 1 of 1 · step 1 of 2", "read right to left", "skip 12"),
    *("= 60", "4 × (", "1,200", "600", "101", "map 12345678", "under 0.01 %", "Columns 3–4: again (3 is like 2)."),
    *("12 to 14 kg", "in all", "0 g", "1 of 2", "wool, tex 300", "120 litres", "…"),
)
#: What a vessel may be called.
VESSELS = ("1 of 2", "in all", "300 g in pot, 12 litres", "open pot", "7")

#: From this set on, what the figures rest on and how a rug is shown are drawn by lot, too.
VARIED = 50_000


def named_alike(number: int) -> SettledMap:
    """Return a map whose codes are counts of its yarns or words of sheets, and whose names are codes or headings."""
    rng = np.random.default_rng(number)
    plain = generated_map(9, number, most=20)
    words = dict.fromkeys((*(str(int(knots)) for knots in plain.counts), *CODES, *map(str, range(200, 500))))
    pool = [word for word in words if len(word) <= 6][: len(plain.yarns) + 10]
    codes = [str(code) for code in rng.permutation(pool)[: len(plain.yarns)]]
    named = zip(plain.yarns, codes, strict=True)
    yarns = tuple(replace(yarn, code=code, name=str(rng.choice([*NAMES, *codes]))) for yarn, code in named)
    rug = plain.rug.model_copy(update={"name": str(rng.choice(NAMES))})
    return SettledMap(plain.knots, yarns, rug, plain.workshop)


def order_alike(folder: Path, number: int) -> Path:
    """Write an artwork, a card and a rug file as in map `number`, with a varied workshop, and return the rug file."""
    rng, plain = np.random.default_rng([7, number]), named_alike(number)
    colours = np.array([[*yarn.srgb, 255] for yarn in plain.yarns], np.uint8)
    cells = colours[np.minimum(plain.knots, len(plain.yarns) - 1)]
    cells[plain.knots == NO_KNOT] = 0
    Image.fromarray(np.kron(cells[::-1], np.ones((3, 3, 1), np.uint8))).save(folder / "art.png")
    lines = ["code,name,colour,fibre,stock_g"]
    for yarn in plain.yarns:
        stock = "" if rng.random() < 0.5 else str(int(rng.integers(0, 300)))
        name = yarn.name.replace('"', '""')
        guarded = f"'{name}" if name[:1] in "=+-@" else name
        lines.append(f'{yarn.code},"{guarded}",#{yarn.srgb[0]:02x}{yarn.srgb[1]:02x}{yarn.srgb[2]:02x},wool,{stock}')
    (folder / "card.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    rug = {"name": plain.rug.name, "size": _size(plain), "density": plain.rug.density.notation}
    rug |= {"technique": str(rng.choice(["knotted", "knotted", "knotted", "tufted"]))}
    chart = {"paper": str(rng.choice(["A4", "A3", "Letter"])), "marks": str(rng.choice(["both", "symbol", "colour"]))}
    section = str(rng.choice(["1 cm", "2 cm"])) if plain.rug.woven_length_mm > 25 else "1 cm"
    tables: dict[str, dict[str, Any]] = {
        "rug": rug,
        "design": {"artwork": "art.png", "style": "flat", "fit": "stretch", "tidy": 0, "fitted": False},
        "yarns": {"card": "card.csv"},
        "loom": {"section": section, "shrinkage_along": float(rng.choice([0, 0.04]))},
        "dye": {"hank": str(rng.choice(["50 g", "500 g"])), "undyed": [str(plain.yarns[0].code)]},
        "cost": {"currency": str(rng.choice(["12", "EUR"])), "warp_per_kg": 9.5, "weaving_per_1000_knots": 2.25},
        "chart": chart | {"reading": str(rng.choice(["left to right", "right to left"]))},
    }
    if rng.random() < 0.5:
        names = rng.choice(VESSELS, 2, replace=False)
        tables["dye"]["vessels"] = [{"name": str(name), "holds": "3 kg", "liquor_ratio": 20} for name in names]
    if number >= VARIED:
        for name, keys in _varied(np.random.default_rng([8, number]), [yarn.code for yarn in plain.yarns]).items():
            tables[name] = tables.get(name, {}) | keys
    (folder / "rug.toml").write_text("\n".join(_toml(tables)), encoding="utf-8")
    return folder / "rug.toml"


def _varied(rng: np.random.Generator, codes: list[str]) -> dict[str, dict[str, Any]]:
    """Return more keys of a rug file, some of each table: of pile, loom, ends, mirrors, counts, and carving."""

    def some(**every: list[Any]) -> dict[str, Any]:
        return {name: each[int(rng.integers(len(each)))] for name, each in every.items() if rng.random() < 0.4}

    carved = {"carved": {str(rng.choice(codes)): "4 mm"}} if rng.random() < 0.2 else {}
    return {
        "pile": some(cut=["8.5 mm", "14 mm"], waste=[0, 0.3], yarn=["Nm 5 x2", "Nm 30"], strands=[1, 2]) | carved,
        "loom": some(
            weavers=[1, 2, 3], kilim=["0 cm", "3 cm"], binding=["0 mm", "7 mm"], picks=[2, 3], shrinkage_across=[0.03]
        ),
        "design": some(mirror=["across", "along", "both"]),
        "chart": some(counts=[True], whole=[True], cell=["4 mm", "7 mm"], bold_every=[5, 8]),
        "pattern": some(side=["front", "back"], paper=["A3", "A4"], ground=["first", "last"]),
    }


def _size(plain: SettledMap) -> str:
    rug = plain.rug
    return f"{float(rug.woven_width_mm):.3f}x{float(rug.woven_length_mm):.3f} mm"


def _toml(tables: dict[str, dict[str, Any]]) -> list[str]:
    lines: list[str] = []
    for name, table in tables.items():
        lines.append(f"[{name}]")
        for key, value in table.items():
            if isinstance(value, list) and value and isinstance(value[0], dict):
                each = (", ".join(f"{inner} = {json.dumps(told)}" for inner, told in one.items()) for one in value)
                lines.append(f"{key} = [{', '.join(f'{{ {one} }}' for one in each)}]")
            elif isinstance(value, dict):
                pairs = (f"{json.dumps(inner)} = {json.dumps(told)}" for inner, told in value.items())
                lines.append(f"{key} = {{ {', '.join(pairs)} }}")
            else:
                lines.append(f"{key} = {json.dumps(value, ensure_ascii=False)}")
    return lines


def alarms_of(folder: Path, number: int) -> list[str]:
    """Make set `number` in an empty folder with one kind of figure sheet, in turn, and return what verify reports."""
    rug_file = order_alike(folder, number)
    make(read_order(rug_file), folder / "set")
    found = read_map(folder / "set" / "knots.png", rug_file)
    sheet, units = ("figures", "dye", "issue")[number % 3], ("metric", "imperial")[number // 3 % 2]
    sheets = []
    if sheet != "issue" or figures_of(found.knot_map, found.workshop).issue.need_g.any():
        sheets.append(folder / f"{sheet}.pdf")
        write_sheets(found, sheets[0], sheet, units)  # type: ignore[arg-type]
    return [f"{each.file}: {each.what}" for each in verify_folder(folder / "set", sheets=sheets).differences]
