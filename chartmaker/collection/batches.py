"""Sets that share one conversion and are made together, which is the unit of work of every engine."""

from __future__ import annotations

import base64
import contextlib
import time
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from chartmaker import __version__
from chartmaker.checks import check_map
from chartmaker.collection.colourways import in_colourway, recast_in
from chartmaker.collection.records import record_of
from chartmaker.collection.resting import settings_hash
from chartmaker.ground.errors import ChartmakerError, OutputError
from chartmaker.ground.findings import Finding
from chartmaker.ground.foreign import read_whole
from chartmaker.ground.language import say
from chartmaker.ground.targets import Replacing, is_folder
from chartmaker.ground.textsafe import inert
from chartmaker.jobs.making import Asked, Converted, convert_order, findings_of, write_converted
from chartmaker.jobs.sealing import sealed_files
from chartmaker.knots.knotmap import KnotMap
from chartmaker.knots.swaps import swaps_between
from chartmaker.order.rugfile import RugFile
from chartmaker.pages.collection.thumbnail import thumbnail_png
from chartmaker.paper.symbols.assigning import with_symbols
from chartmaker.yarns.card import read_card

#: The files of a set that holds only figures.
FIGURES_ONLY = ("knots.png", "yarns.csv", "summary.json")
#: The exit code for a fault in chartmaker itself, as on the command line.
OWN_FAULT = 70
_MOST_SENT_BYTES = 4_000_000_000


@dataclass(frozen=True)
class SetTask:
    """One set of a batch: its folder's name, its rug's title, its colourway, its files, and what it rests on."""

    name: str
    title: str
    swaps: tuple[tuple[str, str], ...]
    kind: str
    rests_on: str


@dataclass(frozen=True)
class Batch:
    """Sets that differ only in the colourway.

    Attributes
    ----------
    order : RugFile
        The order that is converted.
    sets : tuple of SetTask
    out : str
        The folder that the sets go to.
    replace_changed : bool
        Whether files of a set that were changed since it was made may be replaced.
    sent : dict of bytes, optional
        The files that the order names, by their role, if the sets are made on another machine and handed back.
    version : str
        The version of chartmaker that is to make them.
    """

    order: RugFile
    sets: tuple[SetTask, ...]
    out: str
    replace_changed: bool = False
    sent: dict[str, tuple[str, bytes]] | None = None
    version: str = __version__


@dataclass(frozen=True)
class Outcome:
    """What became of a set: its record, or why there is none.

    Attributes
    ----------
    name : str
    record : dict, optional
        As `record_of` gives it.
    error : str
        What was wrong; empty if nothing was.
    exit_code : int
        The exit code that `make` would have ended with.
    seconds : float
    files : dict of bytes
        The files of the set if they were made on another machine.
    """

    name: str
    record: dict[str, Any] | None = None
    error: str = ""
    exit_code: int = 0
    seconds: float = 0.0
    files: dict[str, bytes] = field(default_factory=dict)


@dataclass(frozen=True)
class BatchDone:
    """What became of each set of a batch, and the most memory that it took; 0 if the system does not say.

    `elsewhere` says that the disk of the machine failed, so that another machine may do better.
    """

    outcomes: tuple[Outcome, ...]
    peak_bytes: int = 0
    elsewhere: bool = False


def make_batch(batch: Batch) -> BatchDone:
    """Convert once and write each set; whatever goes wrong is reported and not raised."""
    if batch.version != __version__:
        message = say("this worker has chartmaker {here}, not {there}", here=__version__, there=batch.version)
        return BatchDone(tuple(Outcome(each.name, None, message, OWN_FAULT) for each in batch.sets))
    if batch.sent is None and not is_folder(Path(batch.out)):
        message = say("this worker does not see the folder {out}: share it, or give --send", out=inert(batch.out))
        return BatchDone(tuple(Outcome(each.name, None, message, OutputError.exit_code) for each in batch.sets))
    _forget_peak()
    try:
        with _at_hand(batch) as there:
            outcomes = tuple(_outcomes(there))
    except OSError as error:
        outcomes = tuple(_out_of_disk(each.name, error) for each in batch.sets)
    short = batch.sent is not None and any(each.exit_code == OutputError.exit_code for each in outcomes)
    return BatchDone(outcomes, _peak_bytes(), elsewhere=short)


def _out_of_disk(name: str, error: OSError) -> Outcome:
    message = say("the disk of the worker failed: {reason}", reason=error.strerror or inert(error))
    return Outcome(name, None, message, OutputError.exit_code)


def _outcomes(batch: Batch) -> Iterator[Outcome]:
    converted: Converted | None = None
    for task in batch.sets:
        began = time.perf_counter()
        try:
            if converted is None:
                converted = convert_order(batch.order)
            record = _make_set(converted, task, batch)
            files = {} if batch.sent is None else _read_back(Path(batch.out) / task.name)
            yield Outcome(task.name, record, seconds=time.perf_counter() - began, files=files)
        except ChartmakerError as error:
            yield Outcome(task.name, None, str(error), error.exit_code)
        except OSError as error:
            yield _out_of_disk(task.name, error)
        except MemoryError:
            message = say("this machine has too little memory for this rug")
            yield Outcome(task.name, None, message, OWN_FAULT)
        except Exception as error:  # a fault of ours with one rug must not stop the others
            message = "a fault of chartmaker itself ({kind}: {error}); please report it"
            yield Outcome(task.name, None, say(message, kind=type(error).__name__, error=inert(error)), OWN_FAULT)


def _make_set(converted: Converted, task: SetTask, batch: Batch) -> dict[str, Any]:
    """Write one set and return its record."""
    order, conversion = converted.order, converted.conversion
    rug = order.rug.model_copy(update={"name": task.title})
    order = replace(order, rug=rug)
    before = KnotMap(conversion.knot_map.knots, conversion.knot_map.yarns, rug)
    card = () if order.card is None or not task.swaps else with_symbols(read_card(order.card))
    knot_map, own = in_colourway(before, task.swaps, card)
    read = {name: sha256 for name, sha256 in converted.read.items() if name != "rug file"}
    recast = replace(
        converted,
        order=order,
        conversion=recast_in(conversion, knot_map, task.swaps, card),
        read={**read, "settings": settings_hash(order)},
    )

    def findings(of: Converted) -> tuple[Finding, ...]:
        if not task.swaps:
            return findings_of(of)
        noticed = tuple(finding for finding in converted.findings if finding not in conversion.findings)
        return (*noticed, *own, *check_map(knot_map, order.workshop))

    said = {
        "rests_on": task.rests_on,
        "set": task.kind,
        "colourway": [[swap.before.code, swap.after.code] for swap in swaps_between(before, knot_map)],
    }
    asked = Asked(
        names=FIGURES_ONLY if task.kind == "figures" else None,
        compared=not task.swaps,
        findings=findings,
        more={"collection": said},
    )
    may = Replacing(True, batch.replace_changed, sealed_files, order.inputs)
    made = write_converted(recast, Path(batch.out) / task.name, may, asked)
    picture = base64.b64encode(thumbnail_png(knot_map)).decode("ascii")
    return record_of(made.summary) | {"thumbnail": picture}


@contextlib.contextmanager
def _at_hand(batch: Batch) -> Iterator[Batch]:
    """Give the batch with files that can be opened: where they are, or if they were sent, in a folder of its own."""
    if batch.sent is None:
        yield batch
        return
    with TemporaryDirectory(prefix="chartmaker-") as name:
        folder = Path(name)
        order = batch.order
        paths = {}
        for what, (called, data) in batch.sent.items():
            (folder / what).mkdir()
            (folder / what / called).write_bytes(data)
            paths[what] = f"{what}/{called}"
        design = order.design.model_copy(update={"artwork": paths.get("artwork")})
        yarns = order.yarns.model_copy(update={"card": paths.get("card")})
        chart = order.workshop.chart
        if "font" in paths:
            chart = chart.model_copy(update={"font": paths["font"]})
        workshop = order.workshop.model_copy(update={"chart": chart})
        regions = tuple(
            region if region.mask is None else region.model_copy(update={"mask": paths[_mask_name(number)]})
            for number, region in enumerate(order.regions, start=1)
        )
        order = replace(order, design=design, yarns=yarns, workshop=workshop, regions=regions, folder=folder)
        (folder / "sets").mkdir()
        yield replace(batch, order=order, out=str(folder / "sets"))


def _mask_name(number: int) -> str:
    return f"mask {number}"


def files_sent(order: RugFile) -> dict[str, tuple[str, bytes]]:
    """Return the name and the content of each file that an order names, by its role."""
    font = order.workshop.chart.font
    named = {"artwork": order.artwork, "card": order.card, "font": None if font is None else order.folder / font}
    named |= {_mask_name(number): path for number, path in order.masks.items()}
    return {
        what: (path.name, read_whole(path, _MOST_SENT_BYTES, ChartmakerError, what))
        for what, path in named.items()
        if path is not None
    }


def _read_back(folder: Path) -> dict[str, bytes]:
    """Return the files of a set in the order in which they were written, the summary last."""
    names = sorted((path.name for path in folder.iterdir()), key=lambda name: (name == "summary.json", name))
    return {name: (folder / name).read_bytes() for name in names}


def _forget_peak() -> None:
    """Let the system count the most memory of this process afresh (Linux, Documentation/filesystems/proc.rst)."""
    with contextlib.suppress(OSError):
        Path("/proc/self/clear_refs").write_text("5")


def _peak_bytes() -> int:
    """Return the most memory that this process has taken since; 0 if the system does not say."""
    with contextlib.suppress(OSError, ValueError, StopIteration):
        lines = Path("/proc/self/status").read_text().splitlines()
        return int(next(line.split()[1] for line in lines if line.startswith("VmHWM"))) * 1024
    return 0
