"""A folder of pictures read one by one, each compared with a decoder of another make.

    python tests/soak/samples.py FOLDER [--refused]

PNG is compared with pypng, the rest (and PNG with a profile) with ImageMagick. A file is right, refused with a reason,
different (silently wrong, unless the other decoder is), unconfirmed (the other decoder does not read it), or it lets
out an exception that no reader documents. Good folders: the test pictures in the sources of imaging libraries.
"""

from __future__ import annotations

import argparse
import collections
import subprocess
import sys
import tempfile
import traceback
from pathlib import Path

import numpy as np

ROOT = Path(__file__).parent.parent.parent
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

from PIL import ImageCms
from pngparts import split
from pngreader import srgb8_of, stored

from chartmaker.artwork import read_artwork
from chartmaker.errors import ArtworkError

#: Largest differences that decoders of different makes may have: exact, by lossy coding, by a colour profile.
EXACT, LOSSY, PROFILED = 0, 6, 3
SUFFIXES = (".png", ".apng", ".jpg", ".jpeg", ".mpo", ".tif", ".tiff", ".webp")


def by_imagemagick(path: Path, shape: tuple[int, ...], profile: Path) -> np.ndarray | str:
    """Return RGBA bytes of the first frame, upright, in sRGB, or why not."""
    command = ["convert", f"{path}[0]", "-auto-orient", "-profile", str(profile), "-depth", "8", "rgba:-"]
    plain = [*command[:3], "-colorspace", "sRGB", *command[5:]]
    profiled = subprocess.run(["identify", "-format", "%[profile:icc]", f"{path}[0]"], capture_output=True, check=False)
    done = subprocess.run(command if profiled.stdout.strip() else plain, capture_output=True, check=False, timeout=60)
    if done.returncode or len(done.stdout) != shape[0] * shape[1] * 4:
        said = done.stderr.decode(errors="replace").strip().splitlines()
        return said[0] if said else f"{len(done.stdout)} bytes for {shape[1]} x {shape[0]} pixels"
    return np.frombuffer(done.stdout, dtype=np.uint8).reshape(*shape[:2], 4)


def by_pypng(path: Path) -> np.ndarray | str:
    try:
        values, alpha, gamma = stored(path.read_bytes())
    except Exception as error:
        return f"pypng: {error}"
    return np.dstack([srgb8_of(values, gamma), alpha])


def judge(path: Path, profile: Path) -> tuple[str, str]:
    """Return (class, detail) of one file."""
    try:
        artwork, findings = read_artwork(path)
    except ArtworkError as error:
        return "refused", error.message
    except Exception:
        return "undocumented", traceback.format_exc(limit=-2).strip().replace("\n", " | ")
    kinds = {kind for kind, _ in split(path.read_bytes())}
    decided = {b"iCCP", b"sRGB", b"cHRM"} & kinds
    other = by_pypng(path) if kinds and not decided else by_imagemagick(path, artwork.srgb.shape, profile)
    noticed = "; ".join(finding.what for finding in findings)
    if isinstance(other, str):
        return "unconfirmed", f"{other} {noticed}"
    if other.shape[:2] != artwork.srgb.shape[:2]:
        return "different", f"{artwork.srgb.shape[:2]} against {other.shape[:2]}"
    coverage = np.full(other.shape[:2], 255) if artwork.coverage is None else artwork.coverage
    apart = np.abs(artwork.srgb.astype(int) - other[..., :3]).max(axis=-1)
    apart = int(apart[coverage > 0].max(initial=0))
    clear = int(np.abs(coverage.astype(int) - other[..., 3]).max())
    lossy = path.suffix.lower() in (".jpg", ".jpeg", ".mpo", ".webp")
    allowed = LOSSY if lossy else PROFILED if b"iCCP" in kinds or path.suffix.lower().startswith(".tif") else EXACT
    if apart > allowed or clear > (LOSSY if lossy else 1):
        return "different", f"colours by {apart}, coverage by {clear} {noticed}"
    return ("right, noticed" if noticed else "right"), noticed


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--refused", action="store_true", help="list refused files too")
    options = parser.parse_args()
    counts: collections.Counter[str] = collections.Counter()
    with tempfile.TemporaryDirectory() as scratch:
        profile = Path(scratch) / "srgb.icc"
        profile.write_bytes(ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes())
        for path in sorted(options.folder.rglob("*")):
            if path.suffix.lower() not in SUFFIXES or not path.is_file():
                continue
            kind, detail = judge(path, profile)
            counts[kind] += 1
            if kind != "right" and (kind != "refused" or options.refused):
                print(f"{kind:13} {path.name}: {detail}")
    print(", ".join(f"{number} {kind}" for kind, number in counts.most_common()), f"of {counts.total()} files")
    return 1 if counts["different"] or counts["undocumented"] else 0


if __name__ == "__main__":
    sys.exit(main())
