"""Reads a folder of pictures one by one and compares each with an independent decoder.

    python tests/soak/samples.py FOLDER [--refused]

PNG is compared with pypng, the rest (and PNG with a profile) with ImageMagick. A file is right, refused with a reason,
different (silently wrong, unless the other decoder is), unconfirmed (the other decoder does not read it), or it lets
out an exception that no reader documents. Good folders: the test pictures in the sources of imaging libraries.
"""

from __future__ import annotations

import argparse
import collections
import sys
from pathlib import Path

ROOT = Path(__file__).parent.parent.parent
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

from support.judging import judge

SUFFIXES = (".png", ".apng", ".jpg", ".jpeg", ".mpo", ".tif", ".tiff", ".webp")


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--refused", action="store_true", help="list refused files too")
    options = parser.parse_args()
    counts: collections.Counter[str] = collections.Counter()
    for path in sorted(options.folder.rglob("*")):
        if path.suffix.lower() not in SUFFIXES or not path.is_file():
            continue
        kind, detail = judge(path)
        counts[kind] += 1
        if kind != "right" and (kind != "refused" or options.refused):
            print(f"{kind:14} {path.name}: {detail}", flush=True)
    print(", ".join(f"{number} {kind}" for kind, number in counts.most_common()), f"of {counts.total()} files")
    return 1 if counts["different"] or counts["undocumented"] or not counts else 0


if __name__ == "__main__":
    sys.exit(main())
