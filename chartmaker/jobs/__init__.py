"""Whole jobs, which are also the Python interface: the command line is its first user.

An order is read, converted and made into a set; a knot map is read back, and its figures are worked out; it is printed,
changed and checked; and a set is verified. A wrong input raises a `ChartmakerError` whose message says what to do, and
nothing is left half written. Paths may be strings or `Path`. Each name is loaded when it is first used, so that a
program which only plans a rug does not wait for the libraries that convert artwork.

Examples
--------
>>> from chartmaker.jobs import make, read_order, verify_folder
>>> order = read_order("rug.toml", {"rug": {"name": "Trial"}})
>>> made = make(order, "rug-charts", replace=True)
>>> made.figures.knot_map.columns, made.figures.knot_map.rows
(48, 80)
>>> verify_folder("rug-charts").differences
()
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from chartmaker.artwork.artwork import Artwork
    from chartmaker.figures.calibration import Calibration
    from chartmaker.figures.reckoning import Figures, Remaining, figures_of, remaining_after
    from chartmaker.ground.errors import ChartmakerError
    from chartmaker.ground.findings import Finding
    from chartmaker.ground.progress import Progress
    from chartmaker.jobs.cards import write_card
    from chartmaker.jobs.carved import write_carving
    from chartmaker.jobs.checking import Checked, check, map_remarks
    from chartmaker.jobs.designs import repeats_of, shown_artwork
    from chartmaker.jobs.layouts import Found, write_layout
    from chartmaker.jobs.making import Converted, Made, convert_order, findings_of, make, make_map
    from chartmaker.jobs.orders import plan_remarks, read_order
    from chartmaker.jobs.patterning import Patterned, drawn_order, write_pattern
    from chartmaker.jobs.reading import read_edited, read_map
    from chartmaker.jobs.revising import Compared, calibrate, compare_maps, swap_yarns
    from chartmaker.jobs.writing import (
        Sheet,
        write_changes,
        write_chart,
        write_loom,
        write_map,
        write_proof,
        write_rows,
        write_sheets,
    )
    from chartmaker.knots.knotmap import KnotMap
    from chartmaker.knots.mapfile import MapFile
    from chartmaker.knots.swaps import Swap
    from chartmaker.order.rugfile import RugFile
    from chartmaker.order.workshop import Workshop
    from chartmaker.paper.symbols.assigning import with_symbols
    from chartmaker.verify.artworks import Shown
    from chartmaker.verify.folder import Verdict, verify_folder
    from chartmaker.yarns.card import Card, read_card, read_whole_card
    from chartmaker.yarns.yarn import Yarn

__all__ = [
    "Artwork",
    "Calibration",
    "Card",
    "ChartmakerError",
    "Checked",
    "Compared",
    "Converted",
    "Figures",
    "Finding",
    "Found",
    "KnotMap",
    "Made",
    "MapFile",
    "Patterned",
    "Progress",
    "Remaining",
    "RugFile",
    "Sheet",
    "Shown",
    "Swap",
    "Verdict",
    "Workshop",
    "Yarn",
    "calibrate",
    "check",
    "compare_maps",
    "convert_order",
    "drawn_order",
    "figures_of",
    "findings_of",
    "make",
    "make_map",
    "map_remarks",
    "plan_remarks",
    "read_card",
    "read_edited",
    "read_map",
    "read_order",
    "read_whole_card",
    "remaining_after",
    "repeats_of",
    "shown_artwork",
    "swap_yarns",
    "verify_folder",
    "with_symbols",
    "write_card",
    "write_carving",
    "write_changes",
    "write_chart",
    "write_layout",
    "write_loom",
    "write_map",
    "write_pattern",
    "write_proof",
    "write_rows",
    "write_sheets",
]

#: Where each name is loaded from; a test holds this to the imports above.
_HOMES = {
    "artwork.artwork": ("Artwork",),
    "figures.calibration": ("Calibration",),
    "figures.reckoning": ("Figures", "Remaining", "figures_of", "remaining_after"),
    "ground.errors": ("ChartmakerError",),
    "ground.findings": ("Finding",),
    "ground.progress": ("Progress",),
    "jobs.carved": ("write_carving",),
    "jobs.cards": ("write_card",),
    "jobs.checking": ("Checked", "check", "map_remarks"),
    "jobs.designs": ("repeats_of", "shown_artwork"),
    "jobs.making": ("Converted", "Made", "convert_order", "findings_of", "make", "make_map"),
    "jobs.layouts": ("Found", "write_layout"),
    "jobs.orders": ("plan_remarks", "read_order"),
    "jobs.patterning": ("Patterned", "drawn_order", "write_pattern"),
    "jobs.reading": ("read_edited", "read_map"),
    "jobs.revising": ("Compared", "calibrate", "compare_maps", "swap_yarns"),
    "jobs.writing": (
        "Sheet",
        "write_changes",
        "write_chart",
        "write_loom",
        "write_map",
        "write_proof",
        "write_rows",
        "write_sheets",
    ),
    "knots.knotmap": ("KnotMap",),
    "knots.mapfile": ("MapFile",),
    "knots.swaps": ("Swap",),
    "order.rugfile": ("RugFile",),
    "order.workshop": ("Workshop",),
    "paper.symbols.assigning": ("with_symbols",),
    "verify.artworks": ("Shown",),
    "verify.folder": ("Verdict", "verify_folder"),
    "yarns.card": ("Card", "read_card", "read_whole_card"),
    "yarns.yarn": ("Yarn",),
}


def __getattr__(name: str) -> object:
    """Load `name` from its home (PEP 562)."""
    for home, names in _HOMES.items():
        if name in names:
            return getattr(importlib.import_module(f"chartmaker.{home}"), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")


def __dir__() -> list[str]:
    return __all__
