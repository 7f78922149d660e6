"""The whole job of a collection: read what is asked for, keep what is made, make the rest, and report on all of it."""

from __future__ import annotations

import glob
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from pathlib import Path
from typing import Any

from chartmaker.collection.admission import USUAL_SHARE, Memory
from chartmaker.collection.batches import OWN_FAULT, Batch, Outcome, SetTask, files_sent, make_batch
from chartmaker.collection.combining import Wanted, wanted_of
from chartmaker.collection.keeping import alone_at, check_reports, kept_record, sets_before
from chartmaker.collection.pieces import check_orders
from chartmaker.collection.resting import Inputs, rests_on
from chartmaker.collection.stock import read_stock
from chartmaker.collection.telling import BESIDE, write_reports
from chartmaker.collection.told import Season, SetTold, State, Told
from chartmaker.ground import files, targets
from chartmaker.ground.crew import Crew
from chartmaker.ground.durable import Writer
from chartmaker.ground.engines import Engine, Lost, cores
from chartmaker.ground.errors import ChartmakerError, RugError
from chartmaker.ground.language import say
from chartmaker.ground.progress import SILENT, Progress
from chartmaker.ground.room import free_bytes
from chartmaker.ground.textsafe import inert
from chartmaker.jobs.orders import read_order
from chartmaker.jobs.sealing import sealed_files
from chartmaker.order.collectionfile import CollectionFile, read_collectionfile
from chartmaker.order.rugfile import RugFile
from chartmaker.order.workshop import Dye


@dataclass
class _Planned:
    """The batches to be made, and what is known of the other sets."""

    told: dict[str, SetTold] = field(default_factory=dict)
    batches: list[tuple[Batch, int]] = field(default_factory=list)
    dyes: list[Dye] = field(default_factory=list)


def read_collection(path: Path | str) -> Season:
    """Return the sets that the file of a collection asks for.

    Raises
    ------
    RugError
        If the file is wrong, a rug file is missing, or two sets have the same name.
    """
    file = read_collectionfile(Path(path))
    wanted = wanted_of(file, _rug_files(file))
    check_orders(file, wanted)
    return Season(file, wanted)


def make_collection(
    season: Season,
    out: Path | str,
    *,
    engine: Engine | None = None,
    memory_bytes: int | None = None,
    dry_run: bool = False,
    replace_changed: bool = False,
    send: bool = False,
    orders: tuple[str, ...] = (),
    progress: Progress = SILENT,
) -> Told:
    """Make the sets that are missing or rest on something that has changed, then report on the whole collection.

    Parameters
    ----------
    season : Season
        As `read_collection` gives it.
    out : Path or str
        The folder for the sets and the reports on them; made if it does not exist.
    engine : Engine, optional
        The engine that carries the work; left out, a process on each core.
    memory_bytes : int, optional
        The memory that those processes may take together; left out, most of what is free.
    dry_run : bool
        Whether only to say what would be made.
    replace_changed : bool
        Whether files that were changed since they were made may be replaced, of the sets and of the reports.
    send : bool
        Whether the files go to the workers and come back through the engine instead of a shared folder.
    orders : tuple of str
        The orders for which yarn and looms are worked out; none stands for all.
    progress : Progress
        Told how far the job has come.

    Returns
    -------
    Told
        What became of every set. A set that cannot be made is not an error: it says why, and the others are made.

    Raises
    ------
    ChartmakerError
        If the folder cannot be used, or the reports cannot be written.
    """
    out = Path(out).absolute()
    check_orders(season.file, season.wanted, orders)
    stock = season.file.store.stock
    stock_g = None if stock is None else read_stock(season.file.folder / stock)
    if dry_run:
        return _told(season, out, _planned(season, out, replace_changed))
    with alone_at(out):
        check_reports(out, BESIDE, changed=replace_changed)
        planned = _planned(season, out, replace_changed)
        memory = Memory(memory_bytes or int((free_bytes() or 2**40) * USUAL_SHARE))
        batches = _let_in(planned, memory) if engine is None else [batch for batch, _ in planned.batches]
        carrier = engine or Crew(max(min(cores(), len(batches)), 1), memory)
        tasks = (_sending(batch) if send else batch for batch in batches)
        _make(planned, carrier, tasks, sum(len(batch.sets) for batch in batches), progress)
        told = replace(_told(season, out, planned), stock_g=stock_g, orders=orders)
        write_reports(told, out, replace_changed=replace_changed)
    return told


def _rug_files(file: CollectionFile) -> tuple[Path, ...]:
    """Return the rug files that a collection names, each once, in its order; those of one pattern sorted by name."""
    found: dict[Path, None] = {}
    for pattern in file.sets.rugs:
        if glob.has_magic(pattern):
            names = sorted(glob.glob(pattern, root_dir=file.folder, recursive=True))  # noqa: PTH207
        else:
            names = [pattern] if (file.folder / pattern).is_file() else []
        if not names:
            message = say("there is no rug file {pattern}", pattern=inert(pattern))
            raise RugError(message, where=", ".join((inert(file.path), "[collection] rugs")))
        found |= dict.fromkeys(file.folder / name for name in names)
    return tuple(found)


def _planned(season: Season, out: Path, replace_changed: bool) -> _Planned:
    """Return which sets are already there, which are to be made, and which cannot be made."""
    planned, inputs, before = _Planned(), Inputs(), sets_before(out)
    groups: dict[tuple[str, str, str], list[Wanted]] = {}
    for each in season.wanted:
        groups.setdefault(each.conversion, []).append(each)
    for group in groups.values():
        try:
            order = read_order(group[0].rug_file, group[0].over)
            order = replace(order, folder=order.folder.absolute())
            planned.dyes += [order.workshop.dye] if order.workshop.dye not in planned.dyes else []
            tasks = [task for each in group if (task := _task(each, order, inputs, out, before, planned)) is not None]
            pixels = inputs.artwork(order)[1]
        except ChartmakerError as error:
            planned.told |= {each.name: SetTold(each, "failed", None, str(error), error.exit_code) for each in group}
            continue
        if tasks:
            planned.batches.append((Batch(order, tuple(tasks), str(out), replace_changed), pixels))
    return planned


def _task(
    wanted: Wanted, order: RugFile, inputs: Inputs, out: Path, before: dict[str, dict[str, Any]], planned: _Planned
) -> SetTask | None:
    """Return the task of a set, or None if it is already there; record what is known of it either way."""
    title = wanted.title.replace("{name}", order.rug.name)
    titled = replace(order, rug=order.rug.model_copy(update={"name": title}))
    hashed = rests_on(titled, wanted.swaps, wanted.kind, inputs)
    record = kept_record(out / wanted.name, hashed, before.get(wanted.name))
    if record is not None:
        planned.told[wanted.name] = SetTold(wanted, "kept", record)
        return None
    planned.told[wanted.name] = SetTold(wanted, "to make")
    return SetTask(wanted.name, title, wanted.swaps, wanted.kind, hashed)


def _let_in(planned: _Planned, memory: Memory) -> list[Batch]:
    """Return the batches that have room in memory, and say of the others why they are not made."""
    kept = []
    for batch, pixels in planned.batches:
        memory.pixels[id(batch)] = pixels
        if not memory.is_too_large(batch):
            kept.append(batch)
            continue
        need = memory.need_bytes(batch) / 1e9
        message = say("it takes about {need:.1f} GB of memory; give more with --memory", need=need)
        _put_down(planned, (Outcome(task.name, None, message, OWN_FAULT) for task in batch.sets))
    return kept


def _sending(batch: Batch) -> Batch:
    """Return a batch with its files in it; if they cannot be read, its worker will find that out too and say so."""
    try:
        return replace(batch, sent=files_sent(batch.order))
    except ChartmakerError:
        return batch


def _make(planned: _Planned, carrier: Engine, tasks: Iterator[Batch], number: int, progress: Progress) -> None:
    """Let the engine make the batches, and record what becomes of their sets."""
    done = 0
    progress.doing(say("making the sets"))
    for batch, result in carrier.as_done(make_batch, tasks):
        if isinstance(result, Lost):
            outcomes: Sequence[Outcome] = [Outcome(task.name, None, result.why, OWN_FAULT) for task in batch.sets]
        else:
            outcomes = [_brought_home(outcome, batch) for outcome in result.outcomes]
        _put_down(planned, outcomes)
        done += len(outcomes)
        progress.done(done, number)


def _brought_home(outcome: Outcome, batch: Batch) -> Outcome:
    """Write the files of a set that was made on another machine."""
    if not outcome.files:
        return outcome
    writers: dict[str, Writer] = {name: partial(_put, data) for name, data in outcome.files.items()}
    try:
        may = targets.Replacing(True, batch.replace_changed, sealed_files)
        files.write_set(Path(batch.out) / outcome.name, writers, may)
    except ChartmakerError as error:
        return Outcome(outcome.name, None, str(error), error.exit_code)
    return replace(outcome, files={})


def _put(data: bytes, stream: Any) -> None:
    stream.write(data)


def _put_down(planned: _Planned, outcomes: Any) -> None:
    for outcome in outcomes:
        wanted = planned.told[outcome.name].wanted
        state: State = "failed" if outcome.record is None else "made"
        planned.told[outcome.name] = SetTold(wanted, state, outcome.record, outcome.error, outcome.exit_code)


def _told(season: Season, out: Path, planned: _Planned) -> Told:
    names = {each.name for each in season.wanted}
    left = tuple(name for name in sets_before(out) if name not in names and targets.is_folder(out / Path(name).name))
    dye = season.file.dye or next(iter(planned.dyes), Dye())
    sets = tuple(_placeless(planned.told[each.name], season.file.folder, out) for each in season.wanted)
    return Told(season, sets, left, dye, dyes_differ=len(planned.dyes) > 1)


def _placeless(told: SetTold, *folders: Path) -> SetTold:
    """Return the report without the folders of this machine, which concern only its owner."""
    error = told.error
    for folder in folders:
        error = error.replace(f"{inert(folder)}/", "")
    return replace(told, error=error)
