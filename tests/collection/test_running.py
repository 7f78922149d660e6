"""Each set of a collection is what `make` and `swap` make, and it is made again only where something changed."""

from __future__ import annotations

import csv
import doctest
import inspect
import json
import os
import shutil
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from PIL import Image
from support.seasons import bytes_of, season
from support.small_order import order

from chartmaker import collection
from chartmaker.collection import telling
from chartmaker.collection.admission import BASE_BYTES, KNOT_BYTES, Memory
from chartmaker.collection.batches import FIGURES_ONLY, Batch, BatchDone, SetTask, files_sent, make_batch
from chartmaker.collection.resting import Inputs, rests_on, settings_of
from chartmaker.collection.running import make_collection, read_collection
from chartmaker.ground.engines import Serial
from chartmaker.ground.errors import OutputError, RugError
from chartmaker.jobs import make, read_map, read_order, swap_yarns, verify_folder
from chartmaker.jobs.making import convert_order

NAMES = [f"d{seed}-rug-{size}-{way}" for seed in (0, 1) for size in ("6x8-cm", "3x4-cm") for way in ("dawn", "dusk")]


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of a season with its sets in `out`."""
    folder = tmp_path_factory.mktemp("season")
    told = make_collection(read_collection(season(folder)), folder / "out")
    assert [(each.wanted.name, each.state, each.error) for each in told.sets] == [(name, "made", "") for name in NAMES]
    return folder


@pytest.fixture(scope="module")
def reckoned(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A season of figures alone, which takes less time to make."""
    folder = tmp_path_factory.mktemp("reckoned")
    assert not make_collection(read_collection(season(folder, 'set = "figures"')), folder / "out").failed
    return folder


@pytest.fixture
def copied(made: Path, tmp_path: Path) -> Path:
    """A copy of the season that was made, for a test to change."""
    shutil.copytree(made, tmp_path / "season")
    return tmp_path / "season"


def states(folder: Path, **more: Any) -> dict[str, list[str]]:
    """Make the season in `folder` again, and return the sets by what became of them."""
    found: dict[str, list[str]] = {}
    for each in make_collection(read_collection(folder / "season.toml"), folder / "out", engine=Serial(), **more).sets:
        found.setdefault(each.state, []).append(each.wanted.name)
    return found


def test_a_set_as_drawn_is_the_one_that_make_makes(made: Path, tmp_path: Path) -> None:
    name = "d0-rug-6x8-cm-dawn"
    over = {"rug": {"size": "6x8 cm", "name": "Design 0, dawn"}}
    make(read_order(made / "d0-rug.toml", over), tmp_path / name)
    mine, makes = bytes_of(made / "out" / name), bytes_of(tmp_path / name)
    assert {key for key in makes if mine[key] != makes[key]} == {"summary.json"}
    told, summary = (json.loads((folder / name / "summary.json").read_text()) for folder in (made / "out", tmp_path))
    assert set(told) - set(summary) == {"collection"}
    for key in set(summary) - {"files", "set"}:
        assert told[key] == summary[key], key


def test_a_colourway_is_what_swap_makes_of_the_set_as_drawn(made: Path) -> None:
    out = made / "out"
    drawn = read_map(out / "d1-rug-3x4-cm-dawn" / "knots.png")
    pairs = [("R1", "G1"), ("B1", "W1"), ("W1", "B1")]
    swapped, _ = swap_yarns(drawn, recolour=pairs, card=made / "wool.csv")
    dusk = read_map(out / "d1-rug-3x4-cm-dusk" / "knots.png")
    assert dusk.knot_map.map_code == swapped.knot_map.map_code != drawn.knot_map.map_code
    said = json.loads((out / "d1-rug-3x4-cm-dusk" / "summary.json").read_text())
    assert said["collection"]["colourway"] == [["R1", "G1"], ["B1", "W1"], ["W1", "B1"]]
    assert any("become one, G1" in each["what"] for each in said["findings"])


@pytest.mark.parametrize("name", NAMES[1::3])
def test_every_set_proves_itself(made: Path, name: str) -> None:
    assert verify_folder(made / "out" / name).differences == ()


def test_the_table_and_the_record_agree_with_the_sets(made: Path) -> None:
    with (made / "out" / "collection.csv").open(newline="", encoding="utf-8") as stream:
        rows = list(csv.DictReader(stream))
    record = json.loads((made / "out" / "collection.json").read_text())
    assert record["collection"] == {"name": "Small season", "sets": 8, "made": 8, "failed": 0}
    assert [row["set"] for row in rows] == [each["name"] for each in record["sets"]] == NAMES
    for row, each in zip(rows, record["sets"], strict=True):
        said = json.loads((made / "out" / row["set"] / "summary.json").read_text())
        assert int(row["knots"]) == each["knots"] == said["map"]["knots"]
        assert row["map"] == said["map"]["sha256"][:8]
        assert float(row["pile_kg"]) == pytest.approx(said["pile"]["mass_g"]["best"] / 1000, abs=5e-4)
        assert float(row["days"]) == said["labour"]["days"]
        assert row["rug"] == said["rug"]["name"] == f"Design {each['design'][1]}, {each['colourway']}"
        assert sum(yarn["mass_g"] for yarn in each["yarns"]) == pytest.approx(sum(y["mass_g"] for y in said["yarns"]))


def test_nothing_is_made_twice(copied: Path) -> None:
    before = {path: path.stat().st_mtime_ns for path in (copied / "out").glob("*/*")}
    told = bytes_of(copied / "out")
    assert states(copied) == {"kept": NAMES}
    assert {path: path.stat().st_mtime_ns for path in (copied / "out").glob("*/*")} == before
    assert bytes_of(copied / "out") == told


def changed_artwork(folder: Path) -> None:
    with Image.open(folder / "d1-rug.png") as picture:
        picture.transpose(Image.Transpose.FLIP_LEFT_RIGHT).save(folder / "d1-rug.png")


def changed_settings(folder: Path) -> None:
    path = folder / "d1-rug.toml"
    path.write_text(path.read_text() + "[loom]\npicks = 3\n")


def changed_colourway(folder: Path) -> None:
    path = folder / "season.toml"
    path.write_text(path.read_text().replace('R1 = "G1"\n', ""))


def changed_card(folder: Path) -> None:
    path = folder / "wool.csv"
    path.write_text(path.read_text().replace("#a02820", "#a02821"))


def changed_version(folder: Path) -> None:
    for path in (folder / "out").glob("d0*/summary.json"):
        said = json.loads(path.read_text())
        said["collection"]["rests_on"] = "0" * 64
        path.write_text(json.dumps(said))


def lost_file(folder: Path) -> None:
    (folder / "out" / NAMES[3] / "knots.png").unlink()


@pytest.mark.parametrize(
    ("change", "remade"),
    [
        (changed_artwork, NAMES[4:]),
        (changed_settings, NAMES[4:]),
        (changed_colourway, NAMES[1::2]),
        (changed_card, NAMES),
        (changed_version, NAMES[:4]),
        (lost_file, NAMES[3:4]),
    ],
)
def test_only_sets_that_rest_on_a_change_are_made_again(
    reckoned: Path, tmp_path: Path, change: Callable[[Path], None], remade: list[str]
) -> None:
    copied = shutil.copytree(reckoned, tmp_path / "season")
    change(copied)
    before = bytes_of(copied)
    assert states(copied, dry_run=True).get("to make") == remade
    assert bytes_of(copied) == before  # a dry run writes nothing
    found = states(copied)
    assert found == {"made": remade} | ({"kept": kept} if (kept := [n for n in NAMES if n not in remade]) else {})
    for name in remade:
        assert sorted(path.name for path in (copied / "out" / name).iterdir()) == sorted(FIGURES_ONLY)
    assert states(copied) == {"kept": NAMES}


def test_a_comment_changes_nothing(copied: Path) -> None:
    path = copied / "d1-rug.toml"
    path.write_text(path.read_text() + "# ordered in spring\n")
    assert states(copied) == {"kept": NAMES}


def test_a_set_that_somebody_edited_is_not_lost_and_fails_alone(copied: Path) -> None:
    edited = copied / "out" / NAMES[0] / "rows.csv"
    edited.write_text(edited.read_text() + "\n")
    os.utime(edited, (time.time() + 60, time.time() + 60))
    found = states(copied)
    assert found == {"failed": NAMES[:1], "kept": NAMES[1:]}
    record = json.loads((copied / "out" / "collection.json").read_text())
    assert record["collection"]["failed"] == 1
    assert "changed since" in record["sets"][0]["error"] and record["sets"][0]["exit_code"] == 7
    assert states(copied, replace_changed=True) == {"made": NAMES[:1], "kept": NAMES[1:]}


def test_each_wrong_set_fails_alone_with_its_own_error(tmp_path: Path) -> None:
    path = season(
        tmp_path, tail='[colourways.odd]\nR1 = "R9"\n[qualities.plain]\n[qualities.thick]\ndensity = "9/60"\n'
    )
    (tmp_path / "d1-rug.png").write_bytes(b"no picture")
    (tmp_path / "d2-rug.toml").write_text("[rug]\nsize = 7\n")
    told = make_collection(read_collection(path), tmp_path / "out", engine=Serial())
    codes: dict[int, list[str]] = {}
    for each in told.sets:
        codes.setdefault(each.exit_code, []).append(each.wanted.name)
    assert sorted(codes[0]) == sorted(f"d0-rug-{s}-{w}-plain" for s in ("6x8-cm", "3x4-cm") for w in ("dawn", "dusk"))
    assert {name.rsplit("-", 2)[1] for name in codes[4]} == {"odd"}
    assert all("thick" in name or "d2" in name for name in codes[3])
    assert all(name.startswith("d1") for name in codes[5]) and len(codes[5]) >= 6
    assert set(codes) == {0, 3, 4, 5}
    assert all(each.error for each in told.failed)


def test_colourways_share_one_conversion(copied: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    import chartmaker.collection.batches as module

    seen: list[object] = []
    real = module.convert_order
    monkeypatch.setattr(module, "convert_order", lambda order: (seen.append(order), real(order))[1])
    make_collection(read_collection(copied / "season.toml"), copied / "other", engine=Serial())
    assert len(seen) == 4
    assert bytes_of(copied / "other") == bytes_of(copied / "out")  # and each engine makes the same bytes


def test_masks_are_sent_to_workers_and_belong_to_what_a_set_rests_on(tmp_path: Path) -> None:
    rug = order(tmp_path, "d0", 3)
    rug.write_text(rug.read_text() + '[[region]]\nmask = "m.png"\ntidy = 0\nmirror = "across"\n', encoding="utf-8")
    rests = []
    for wide in (60, 120):
        mask = Image.new("L", (240, 320))
        mask.paste(255, (0, 0, wide, 320))
        mask.save(tmp_path / "m.png")
        asked = read_order(rug)
        rests.append(rests_on(asked, (), "full", Inputs()))
    assert rests[0] != rests[1]
    assert str(tmp_path) not in str(settings_of(asked))
    task = SetTask("set", "Rug", (), "figures", "")
    (outcome,) = make_batch(Batch(asked, (task,), "", sent=files_sent(asked))).outcomes
    assert outcome.error == ""
    (tmp_path / "sent.png").write_bytes(outcome.files["knots.png"])
    made = convert_order(asked).conversion
    assert read_map(tmp_path / "sent.png").knot_map.sha256 == made.knot_map.sha256
    assert made.regions[0].knots == made.knot_map.knots.size // 2


def test_figures_alone_are_three_files_that_prove_themselves(tmp_path: Path) -> None:
    told = make_collection(read_collection(season(tmp_path, 'set = "figures"', designs=1)), tmp_path / "out")
    for each in told.sets:
        folder = tmp_path / "out" / each.wanted.name
        assert sorted(path.name for path in folder.iterdir()) == ["knots.png", "summary.json", "yarns.csv"]
        assert verify_folder(folder).differences == ()


def test_sets_that_are_no_longer_asked_for_are_left_and_named(copied: Path) -> None:
    path = copied / "season.toml"
    path.write_text(path.read_text().replace('rugs = ["*-rug.toml"]', 'rugs = ["d0-rug.toml"]'))
    told = make_collection(read_collection(path), copied / "out")
    assert list(told.left) == NAMES[4:]
    assert (copied / "out" / NAMES[7] / "summary.json").is_file()


def test_a_folder_of_something_else_is_left_alone(tmp_path: Path) -> None:
    asked = read_collection(season(tmp_path, designs=1))
    (tmp_path / "out" / "d0-rug-6x8-cm-dawn").mkdir(parents=True)
    (tmp_path / "out" / "d0-rug-6x8-cm-dawn" / "mine.txt").write_text("mine")
    told = make_collection(asked, tmp_path / "out", engine=Serial())
    assert [each.exit_code for each in told.sets] == [7, 0, 0, 0]
    assert (tmp_path / "out" / "d0-rug-6x8-cm-dawn" / "mine.txt").read_text() == "mine"
    (tmp_path / "out" / "collection.json").write_text("{}")
    with pytest.raises(OutputError, match="not of a collection"):
        make_collection(asked, tmp_path / "out", engine=Serial())
    with pytest.raises(RugError, match="no rug file"):
        (tmp_path / "d0-rug.toml").unlink()
        read_collection(tmp_path / "season.toml")


def test_one_run_at_a_time_and_nothing_of_a_killed_one_is_left(copied: Path) -> None:
    from chartmaker.collection.keeping import alone_at

    left = copied / "out" / f".{NAMES[0]}.0123456789ab.part"
    left.mkdir()
    with alone_at(copied / "out"), pytest.raises(OutputError, match="another run"):
        states(copied)
    assert not left.exists()


def batch(size: str) -> Batch:
    order = read_order(None, {"rug": {"size": size, "density": "40x50 per dm"}})
    return Batch(order, (SetTask("a", "a", (), "all", ""),), "out")


def test_batches_are_admitted_by_expected_memory_which_measurements_correct() -> None:
    memory = Memory(800_000_000)
    small, other, large = batch("2x2.5 m"), batch("2x2.5 m"), batch("10x20 m")
    assert memory.admit(small) and not memory.is_too_large(small)
    assert memory.need_bytes(small) == BASE_BYTES + KNOT_BYTES * small.order.rug.knots
    assert not memory.admit(other)
    memory.leave(small, BatchDone((), 0))
    assert memory.admit(other)
    assert memory.is_too_large(large)
    expected = memory.need_bytes(other)
    memory.leave(other, BatchDone((), int(2 * expected)))
    assert memory.need_bytes(other) == pytest.approx(2 * expected)


def test_a_set_that_does_not_fit_into_memory_is_named_and_not_tried(copied: Path) -> None:
    shutil.rmtree(copied / "out")
    told = make_collection(read_collection(copied / "season.toml"), copied / "out", memory_bytes=1000)
    assert {each.state for each in told.sets} == {"failed"}
    assert all("--memory" in each.error for each in told.sets)


def test_reports_of_another_origin_or_with_changes_are_kept(copied: Path, tmp_path: Path) -> None:
    other = tmp_path / "other"
    other.mkdir()
    (other / "purchases.csv").write_text("mine")
    with pytest.raises(OutputError, match=r"purchases\.csv: this file is not of a collection"):
        make_collection(read_collection(copied / "season.toml"), other, engine=Serial())
    assert [(path.name, path.read_text()) for path in other.iterdir()] == [("purchases.csv", "mine")]
    out = copied / "out"
    before = bytes_of(out)
    with (out / "looms.csv").open("a") as stream:
        stream.write("a note of mine\n")
    with pytest.raises(OutputError, match=r"looms\.csv: was changed since the collection was made"):
        states(copied)
    assert (out / "looms.csv").read_text().endswith("a note of mine\n")
    assert states(copied, replace_changed=True) == {"kept": NAMES}
    assert bytes_of(out) == before


def test_a_record_that_somebody_edited_is_not_overwritten(copied: Path) -> None:
    """Notes that somebody wrote into collection.json are lost only if that is asked for, as with every other file."""
    record = copied / "out" / "collection.json"
    written = record.read_text()
    edited = written.replace('"error": null', '"error": "looked at on Monday"', 1)
    without_seal = {key: value for key, value in json.loads(edited).items() if key != "record"}
    for text in (edited, json.dumps(without_seal)):
        assert text != written
        record.write_text(text)
        with pytest.raises(OutputError, match=r"collection\.json: was changed since the collection was made"):
            states(copied)
        assert record.read_text() == text
    assert states(copied, replace_changed=True) == {"kept": NAMES} and record.read_text() == written
    record.write_text(json.dumps(json.loads(written)))  # the same values, saved by another program
    assert states(copied) == {"kept": NAMES} and record.read_text() == written


def test_after_a_run_that_was_killed_among_the_reports_the_next_goes_through(
    copied: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    out, plain = copied / "out", telling.files.write_file
    text = (copied / "season.toml").read_text()
    (copied / "season.toml").write_text(text.replace('name = "Small', 'name = "New small', 1))
    for written in range(1, 7):

        def killed(path: Path, *rest: Any, left: list[int] = [written], **more: Any) -> None:  # noqa: B006
            if not left[0]:
                raise KeyboardInterrupt
            left[0] -= 1
            plain(path, *rest, **more)

        monkeypatch.setattr(telling.files, "write_file", killed)
        with pytest.raises(KeyboardInterrupt):
            states(copied)
        monkeypatch.undo()
    states(copied)
    assert "before" not in json.loads((out / "collection.json").read_text())["files"]


def test_the_example_in_the_docstring_of_the_package_holds(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    season(tmp_path, designs=1)
    monkeypatch.chdir(tmp_path)
    examples = doctest.DocTestParser().get_doctest(inspect.getdoc(collection) or "", {}, "collection", None, None)
    told: list[str] = []
    assert doctest.DocTestRunner().run(examples, out=told.append).attempted == 5
    assert not told, "".join(told)
