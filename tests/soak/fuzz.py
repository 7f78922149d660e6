"""Fuzzes the four readers of foreign files, guided by coverage, and keeps undocumented faults by their kind.

Needs atheris beside chartmaker (`pip install -e '.[tests,soak]'`). The fuzzing itself runs in a second process:

    python tests/soak/fuzz.py TARGET --minutes 60 --cases FOLDER

TARGET is `artwork`, `card`, `rug` or `knots`. A case is kept for each place in the code that lets out an exception
which is not the reader's own, or that breaks its promise (what was read comes back the same when it is written again).
"""

from __future__ import annotations

import argparse
import hashlib
import os
import random
import re
import subprocess
import sys
import traceback
from pathlib import Path

SOAK = Path(__file__).parent
ROOT = SOAK.parent.parent
TARGETS = ("artwork", "card", "rug", "knots")


def arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    parser.add_argument("target", choices=TARGETS)
    parser.add_argument("--minutes", type=float, default=60.0)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--cases", type=Path, default=Path("fuzz-cases"), help="folder for corpus and cases found")
    parser.add_argument("--child", action="store_true", help=argparse.SUPPRESS)
    return parser.parse_args()


class Collector:
    """Keeps the exceptions that should not have come out, one file for each place in the code."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.known: set[str] = set()

    def add(self, data: bytes, error: BaseException) -> None:
        frames = [
            f
            for f in traceback.extract_tb(error.__traceback__)
            if "chartmaker" in f.filename or "fuzzing" in f.filename
        ]
        place = f"{Path(frames[-1].filename).stem}-{frames[-1].lineno}" if frames else "nowhere"
        name = f"{type(error).__name__}-{place}"
        if name in self.known:
            return
        self.known.add(name)
        (self.folder / f"{name}.case").write_bytes(data)
        report = "".join(traceback.format_exception(error))
        (self.folder / f"{name}.txt").write_text(report, encoding="utf-8", errors="backslashreplace")
        print(f"\nFOUND {name}\n{report}".encode("ascii", "backslashreplace").decode(), flush=True)


def child(target: str, options: argparse.Namespace) -> None:
    """Fuzz in this process, which never returns."""
    import atheris

    sys.path[:0] = [str(ROOT), str(ROOT / "tests")]
    with atheris.instrument_imports(include=["chartmaker", "PIL", "tomllib"]):
        from PIL import Image, ImageOps  # noqa: F401
        from support import fuzzing

        from chartmaker.artwork.reading import raster

        # otherwise its readers would be loaded when first needed, and the fuzzer could not instrument them
        Image.init()

    raster.MOST_PIXELS = fuzzing.MOST_PIXELS
    folder = options.cases / target
    corpus = folder / "corpus"
    corpus.mkdir(parents=True, exist_ok=True)
    for data in fuzzing.seeds(target):
        (corpus / hashlib.sha256(data).hexdigest()[:16]).write_bytes(data)
    dictionary = folder / "words.dict"
    lines = ["".join(f"\\x{byte:02x}" for byte in word.encode()) for word in fuzzing.words(target)]
    dictionary.write_text("".join(f'"{line}"\n' for line in lines), encoding="ascii")
    collector = Collector(folder)
    shared_memory = Path("/dev/shm")  # in memory, so that millions of small files do not wear out a disk
    scratch = (shared_memory if shared_memory.is_dir() else folder) / f"fuzz-{target}-{os.getpid()}.in"

    def one(data: bytes) -> None:
        scratch.write_bytes(data)
        try:
            fuzzing.attempt(target, scratch)
        except Exception as error:
            collector.add(data, error)

    def mutator(data: bytes, most: int, seed: int) -> bytes:
        rng = random.Random(seed)
        if data[:4] == b"\x89PNG" and rng.random() < 0.9:
            return fuzzing.mutate_png(data, most, rng, atheris.Mutate)
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
