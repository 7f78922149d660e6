"""Coverage-guided fuzzing of the four readers of foreign files, faults that no reader documents kept by kind.

Needs atheris beside chartmaker (`pip install -e '.[tests,soak]'`). The fuzzing itself runs in a second process:

    python tests/soak/fuzz.py TARGET --minutes 60 --cases FOLDER

TARGET is `artwork`, `card`, `rug` or `knots`. A case is kept for each place in the code that lets out an exception
which is not the reader's own, or that breaks its promise (what was read comes back the same when it is written again).
"""

from __future__ import annotations

import argparse
import hashlib
import io
import json
import random
import re
import subprocess
import sys
import traceback
from collections.abc import Callable
from pathlib import Path
from typing import Any

SOAK = Path(__file__).parent
ROOT = SOAK.parent.parent
TARGETS = ("artwork", "card", "rug", "knots")
#: A mutated header asks for any size; above this the fuzzer would only measure the memory of the machine.
MOST_PIXELS = 1_000_000


def arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    parser.add_argument("target", choices=TARGETS)
    parser.add_argument("--minutes", type=float, default=60.0)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--cases", type=Path, default=Path("fuzz-cases"), help="folder for corpus and cases found")
    parser.add_argument("--child", action="store_true", help=argparse.SUPPRESS)
    return parser.parse_args()


# ------------------------------------------------------------------------------------------------------- mutation


def mutate_json(value: Any, rng: random.Random) -> Any:
    """Return `value` with one of its nodes replaced, dropped or doubled."""
    odd = [None, True, -1, 0, 2**63, 1e308, "", "\x1b[31m", "9" * 300, [], {}, [[]], "#12345", "1 cm", "-0", "\ud800"]
    if isinstance(value, dict) and value and rng.random() < 0.85:
        key = rng.choice(list(value))
        if rng.random() < 0.1:
            return {k: v for k, v in value.items() if k != key}
        if rng.random() < 0.1:
            return value | {rng.choice([*value, "size", "heights", "x"]) + rng.choice(["", "_mm", "s"]): value[key]}
        return value | {key: mutate_json(value[key], rng)}
    if isinstance(value, list) and value and rng.random() < 0.85:
        index = rng.randrange(len(value))
        if rng.random() < 0.2:
            return value[:index] + [value[index]] * rng.randrange(4) + value[index + 1 :]
        return [*value[:index], mutate_json(value[index], rng), *value[index + 1 :]]
    return rng.choice(odd)


def mutate_png(data: bytes, most: int, rng: random.Random, mutate: Callable[[bytes, int], bytes]) -> bytes:
    """Return a PNG with one chunk changed inside, its checksum right, so that the change is reached."""
    import zlib

    from pngparts import assemble, split

    chunks = list(split(data))
    if not chunks:
        return bytes(mutate(data, most))
    index = rng.randrange(len(chunks))
    kind, content = chunks[index]
    choice = rng.random()
    if choice < 0.06 and len(chunks) > 1:
        del chunks[index]
    elif choice < 0.12:
        chunks.insert(rng.randrange(len(chunks)), (kind, content))
    elif choice < 0.18:
        names = [b"gAMA", b"cHRM", b"sRGB", b"cICP", b"iCCP", b"tRNS", b"PLTE", b"eXIf", b"acTL", b"iTXt", b"zTXt"]
        chunks[index] = (rng.choice(names), content)
    elif kind == b"IDAT":
        try:
            plain = zlib.decompressobj().decompress(content, MOST_PIXELS * 8)
            chunks[index] = (kind, zlib.compress(bytes(mutate(plain, len(plain) + 64)), 1))
        except zlib.error:
            chunks[index] = (kind, bytes(mutate(content, len(content) + 64)))
    elif kind == b"iTXt" and content.startswith(b"chartmaker\0") and rng.random() < 0.7:
        head, text = content[:15], content[15:]
        try:
            text = json.dumps(mutate_json(json.loads(text), rng), ensure_ascii=rng.random() < 0.5).encode(
                "utf-8", "surrogatepass"
            )
        except (ValueError, RecursionError):
            text = bytes(mutate(text, len(text) + 64))
        chunks[index] = (kind, head + text)
    else:
        chunks[index] = (kind, bytes(mutate(content, len(content) + 64)))
    return assemble(chunks)[:most]


# -------------------------------------------------------------------------------------------------------- targets


def check_artwork(path: Path) -> None:
    from chartmaker.artwork import read_artwork

    artwork, findings = read_artwork(path)
    assert artwork.srgb.shape == (artwork.height, artwork.width, 3)
    assert all(finding.what.isprintable() for finding in findings)


def check_card(path: Path) -> None:
    import math

    from chartmaker.yarncard import read_card

    yarns = read_card(path)
    assert len({yarn.code for yarn in yarns}) == len(yarns)
    for yarn in yarns:
        assert all(map(math.isfinite, yarn.lab))
        assert all(0 <= byte <= 255 for byte in yarn.srgb)
        assert yarn.name.isprintable()


def check_rug(path: Path) -> None:
    from chartmaker.rugfile import from_tables, read_rugfile, to_tables

    order = read_rugfile(path)
    tables = json.loads(json.dumps(to_tables(order.rug, order.workshop), allow_nan=False))
    back = from_tables(tables, where="again")
    assert (back.rug, back.workshop) == (order.rug, order.workshop)


def check_knots(path: Path) -> None:
    from chartmaker.knotpng import read_knotpng, read_touched, write_knotpng

    for snap in (False, True):
        knot_map, _ = read_touched(path, snap=snap)
        stream = io.BytesIO()
        write_knotpng(stream, knot_map)
        path.write_bytes(stream.getvalue())
        assert read_knotpng(path).sha256 == knot_map.sha256


# ---------------------------------------------------------------------------------------------------------- seeds

FULL_RUG = """
[rug]
name = "Every key"
size = "5'3\\" x 7'10\\""
density = "50 raj (7 cm)"
knot = "symmetric"
pile = "9 mm"
shape = "octagon"
technique = "tufted"
[design]
artwork = "a.png"
[yarns]
card = "wool.csv"
keep = ["A1"]
[pile]
heights = { A1 = "12 mm" }
yarn = "Nm 5 x2"
strands = 2
waste = 0.1
length_per_knot = "50 mm"
spread = "5%"
[loom]
shrinkage_across = "-3%"
shrinkage_along = "2%"
fringe = "0 cm"
backing_margin = "15 cm"
stretch = "25 cm"
[dye]
hank = "1/2 lb"
vessels = [{ name = "pot", holds = "5 kg", least = "1 kg", liquor_ratio = 30 }]
[cost]
currency = "EUR"
pile_per_kg = 20
weaving_per_day = 12.5
[chart]
strips = [100, 118]
square = true
counts = true
font = "DejaVu.ttf"
"""

FULL_CARD = """code,name,colour,fibre,count,stock_g,price_per_kg
A,"Rose, deep",#aa2030,wool,Nm 5 x2,1500,12.5
B,Lab,Lab 50 10 -20 D50/10,silk,Ne 10 x12,,
C,LCh,LCh 50 30 120 A,wool,tex 300,1e3,
D,xyY,xyY 0.3 0.4 20,,,,
"""


def seeds(target: str) -> list[bytes]:
    """Return files to begin with: the examples, the fixtures, small files of every kind that is read."""
    examples = ROOT / "examples"
    if target == "rug":
        return [(examples / "quince_garden.toml").read_bytes(), FULL_RUG.encode()]
    if target == "card":
        bands = "code," + ",".join(f"{band}nm" for band in range(400, 701, 10)) + "\nR" + ",0.2" * 31 + "\n"
        return [(examples / "osmerfold_wool.csv").read_bytes()[:900], FULL_CARD.encode(), bands.encode()]
    suite = [path.read_bytes() for path in sorted((ROOT / "fixtures" / "pngsuite").glob("*.png"))]
    return suite + small_pictures() if target == "artwork" else knot_files()


def small_pictures() -> list[bytes]:
    import numpy as np
    from PIL import Image, ImageCms

    rgba = Image.fromarray(np.random.default_rng(1).integers(0, 256, (12, 16, 4)).astype(np.uint8))
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    files = []
    for mode, kind, options in (
        ("RGB", "JPEG", {"exif": b"Exif\0\0II*\0\x08\0\0\0\1\0\x12\1\3\0\1\0\0\0\6\0\0\0\0\0\0\0"}),
        ("CMYK", "JPEG", {"icc_profile": profile}),
        ("RGB", "TIFF", {"compression": "tiff_lzw"}),
        ("RGBA", "TIFF", {"compression": "tiff_adobe_deflate"}),
        ("P", "TIFF", {}),
        ("1", "TIFF", {"compression": "group4"}),
        ("RGBA", "WEBP", {"lossless": True, "icc_profile": profile}),
        ("RGB", "WEBP", {}),
        ("RGB", "PNG", {"icc_profile": profile}),
        ("PA", "PNG", {}),
    ):
        stream = io.BytesIO()
        rgba.convert("RGB").convert(mode).save(stream, kind, **options) if mode != "PA" else rgba.quantize(8).save(
            stream, kind
        )
        files.append(stream.getvalue())
    return files


def knot_files() -> list[bytes]:
    import numpy as np
    from making import make_map, make_rug
    from PIL import Image, PngImagePlugin

    from chartmaker.knotmap import NO_KNOT
    from chartmaker.knotpng import write_knotpng
    from chartmaker.workshop import Workshop

    cells = np.random.default_rng(2).integers(0, 5, (16, 14)).astype(np.uint16)
    holed = np.where(cells == 4, NO_KNOT, cells)
    workshop = Workshop.model_validate({"loom": {"weavers": 3}, "pile": {"cut": "9.5 mm"}, "chart": {"strips": [5, 9]}})
    files = []
    for knots in (cells, holed):
        stream = io.BytesIO()
        write_knotpng(stream, make_map(knots, make_rug(14, 16, pile="12 mm"), workshop))
        files.append(stream.getvalue())
        text = PngImagePlugin.PngInfo()
        picture = Image.open(io.BytesIO(stream.getvalue()))
        text.add_itxt("chartmaker", picture.text["chartmaker"])
        stream = io.BytesIO()
        picture.convert("RGBA").save(stream, "PNG", pnginfo=text)
        files.append(stream.getvalue())
    return files


def words(target: str) -> list[str]:
    """Return what the fuzzer puts into texts as a whole: keys, units, notations, odd characters."""
    from chartmaker import units, yarncard
    from chartmaker.rugfile import _Tables

    odd = ["\x1b[31m", "\u202e", "²", "٣", "nan", "inf", "1e999", "9" * 60, "=1+1", "\ufeff", "'", '"', "/0", "-0", "½"]
    if target == "card":
        spaces = ["Lab ", "LCh ", "xyY ", " D50/10", " A/2", "#aabbcc", "400nm", '"a\nb"', "Nm 5 x2", "6/2"]
        return [*odd, *yarncard.COLUMNS, *spaces]
    keys = [
        field.alias or name
        for table in _Tables.model_fields.values()
        for name, field in getattr(table.annotation, "model_fields", {}).items()
    ]
    values = ["true", "1979-05-27T07:32:00Z", "[[", "]]", " = ", "= {", "100 kpsi", "9/60 indian", "60 knot tibetan"]
    return [*odd, *keys, *values, *(f"1 {unit}" for unit in units.LENGTH_UNITS_MM), "Nm 5 x2", "5x8ft", "15%"]


# ------------------------------------------------------------------------------------------------------------ run


class Collector:
    """Exceptions that should not have come out, one file a place."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.known: set[str] = set()

    def add(self, data: bytes, error: BaseException) -> None:
        frames = [
            f for f in traceback.extract_tb(error.__traceback__) if "chartmaker" in f.filename or "soak" in f.filename
        ]
        place = f"{Path(frames[-1].filename).stem}-{frames[-1].lineno}" if frames else "nowhere"
        name = f"{type(error).__name__}-{place}"
        if name in self.known:
            return
        self.known.add(name)
        (self.folder / f"{name}.case").write_bytes(data)
        report = "".join(traceback.format_exception(error))
        (self.folder / f"{name}.txt").write_text(report, encoding="utf-8", errors="backslashreplace")
        print(f"\nFOUND {name}\n{report}", flush=True)


def child(target: str, options: argparse.Namespace) -> None:
    """Fuzz in this process; does not return."""
    import atheris

    sys.path[:0] = [str(ROOT), str(ROOT / "tests"), str(SOAK)]
    with atheris.instrument_imports(include=["chartmaker", "PIL", "tomllib"]):
        import chartmaker.artwork
        import chartmaker.knotpng
        import chartmaker.rugfile
        import chartmaker.yarncard  # noqa: F401
        from chartmaker import errors, raster

    raster.MOST_PIXELS = MOST_PIXELS
    check: Callable[[Path], None] = globals()[f"check_{target}"]
    expected = {
        "artwork": errors.ArtworkError,
        "card": errors.CardError,
        "rug": errors.RugError,
        "knots": errors.KnotFileError,
    }[target]
    folder = options.cases / target
    corpus = folder / "corpus"
    corpus.mkdir(parents=True, exist_ok=True)
    for data in seeds(target):
        (corpus / hashlib.sha256(data).hexdigest()[:16]).write_bytes(data)
    dictionary = folder / "words.dict"
    lines = ["".join(f"\\x{byte:02x}" for byte in word.encode()) for word in words(target)]
    dictionary.write_text("".join(f'"{line}"\n' for line in lines), encoding="ascii")
    collector = Collector(folder)
    shared_memory = Path("/dev/shm")
    scratch = (shared_memory if shared_memory.is_dir() else folder) / f"fuzz-{target}-{options.seed}.in"

    def one(data: bytes) -> None:
        scratch.write_bytes(data)
        try:
            check(scratch)
        except expected as error:
            if not str(error).isprintable():
                collector.add(data, AssertionError(f"a message that is not printable: {error!r}"))
        except Exception as error:
            collector.add(data, error)

    def mutator(data: bytes, most: int, seed: int) -> bytes:
        rng = random.Random(seed)
        if data[:4] == b"\x89PNG" and rng.random() < 0.9:
            return mutate_png(data, most, rng, atheris.Mutate)
        return bytes(atheris.Mutate(data, most))

    flags = [
        sys.argv[0],
        str(corpus),
        f"-max_total_time={round(options.minutes * 60)}",
        f"-seed={options.seed}",
        f"-dict={dictionary}",
        f"-artifact_prefix={folder}/",
        "-timeout=30",
        "-rss_limit_mb=3000",
        f"-max_len={4096 if target in ('card', 'rug') else 65536}",
        "-print_final_stats=1",
    ]
    if target in ("artwork", "knots"):
        atheris.Setup(flags, one, custom_mutator=mutator)
    else:
        atheris.Setup(flags, one)
    atheris.Fuzz()


def main() -> int:
    options = arguments()
    if options.child:
        child(options.target, options)
    folder = options.cases / options.target
    folder.mkdir(parents=True, exist_ok=True)
    command = [sys.executable, __file__, options.target, "--child", "--minutes", str(options.minutes)]
    command += ["--seed", str(options.seed), "--cases", str(options.cases)]
    log = folder / "log.txt"
    with log.open("w", encoding="utf-8") as stream:
        code = subprocess.run(command, stdout=stream, stderr=subprocess.STDOUT, check=False).returncode
    said = log.read_text(encoding="utf-8", errors="replace")
    runs = re.findall(r"number_of_executed_units:\s*(\d+)", said)
    covered = re.findall(r"cov: (\d+)", said)
    hard = [p.name for p in folder.iterdir() if p.name.split("-")[0] in ("crash", "oom", "timeout", "leak")]
    cases = sorted(path.stem for path in folder.glob("*.case"))
    print(
        f"{options.target}: {int(runs[-1]) if runs else 0:,} files in {options.minutes:g} minutes, "
        f"{covered[-1] if covered else 0} edges covered, {len(cases)} undocumented exceptions, "
        f"{len(hard)} crashes, hangs or memory faults, exit {code}"
    )
    for name in (*cases, *hard):
        print(f"  {name}")
    return 1 if cases or hard or code or not runs else 0


if __name__ == "__main__":
    sys.exit(main())
