"""Artwork with any kind of pixel is either read right or refused with a reason."""

from __future__ import annotations

import io
import struct
import zlib
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageCms, ImageFile, TiffImagePlugin, TiffTags
from support.pngparts import assemble

from chartmaker.artwork import raster
from chartmaker.artwork.reading import read_artwork
from chartmaker.ground.errors import ArtworkError

RNG = np.random.default_rng(16)
RGB = RNG.integers(0, 256, (30, 40, 3)).astype(np.uint8)


def srgb_of(path: Path) -> np.ndarray:
    artwork, findings = read_artwork(path)
    assert not findings
    assert artwork.coverage is None
    return artwork.srgb


@pytest.mark.parametrize(
    ("name", "options"), [("a.png", {}), ("a.tif", {"compression": "tiff_lzw"}), ("a.webp", {"lossless": True})]
)
def test_lossless_files_are_exact(tmp_path: Path, name: str, options: dict[str, object]) -> None:
    Image.fromarray(RGB).save(tmp_path / name, **options)  # type: ignore[arg-type]
    assert np.array_equal(srgb_of(tmp_path / name), RGB)


def test_a_jpeg_is_read_as_its_decoder_gives_it(tmp_path: Path) -> None:
    Image.fromarray(RGB).save(tmp_path / "a.jpg", quality=95)
    assert np.array_equal(srgb_of(tmp_path / "a.jpg"), np.asarray(Image.open(tmp_path / "a.jpg")))


def test_grey_pictures_bilevel_pictures_and_palettes_are_read(tmp_path: Path) -> None:
    grey = RGB[..., 0]
    Image.fromarray(grey).save(tmp_path / "l.png")
    assert np.array_equal(srgb_of(tmp_path / "l.png"), np.repeat(grey[..., None], 3, axis=2))
    Image.fromarray(grey > 100).save(tmp_path / "1.png")
    assert np.array_equal(srgb_of(tmp_path / "1.png")[..., 1], np.where(grey > 100, 255, 0))
    indexed = Image.fromarray(grey % 5)
    indexed.putpalette([7, 8, 9, 200, 0, 0, 0, 200, 0, 0, 0, 200, 1, 1, 1])
    indexed.save(tmp_path / "p.png")
    table = np.array([[7, 8, 9], [200, 0, 0], [0, 200, 0], [0, 0, 200], [1, 1, 1]])
    assert np.array_equal(srgb_of(tmp_path / "p.png"), table[grey % 5])


def png(width: int, height: int, depth: int, kind: int, rows: bytes, *extra: tuple[bytes, bytes]) -> bytes:
    """Return a PNG that is put together by hand after the W3C specification."""
    head = struct.pack(">IIBBBBB", width, height, depth, kind, 0, 0, 0)
    return assemble([(b"IHDR", head), *extra, (b"IDAT", zlib.compress(rows)), (b"IEND", b"")])


def test_sixteen_bits_are_scaled_not_clipped(tmp_path: Path) -> None:
    values = [0, 128, 256, 257, 32768, 65278, 65535]
    rows = b"\0" + struct.pack(">7H", *values)
    (tmp_path / "grey.png").write_bytes(png(7, 1, 16, 0, rows))
    expected = [round(value * 255 / 65535) for value in values]
    assert srgb_of(tmp_path / "grey.png")[0, :, 0].tolist() == expected
    coloured = b"\0" + struct.pack(">21H", *[v for value in values for v in (value, 0, 65535)])
    (tmp_path / "rgb.png").write_bytes(png(7, 1, 16, 2, coloured))
    got = srgb_of(tmp_path / "rgb.png")[0]
    # only eight of the sixteen bits may be kept, which can be off by one
    assert np.abs(got[:, 0].astype(int) - expected).max() <= 1
    assert (got[:, 1] == 0).all()
    assert (got[:, 2] == 255).all()
    Image.fromarray(np.array([values], dtype=np.uint16)).save(tmp_path / "grey.tif")
    assert srgb_of(tmp_path / "grey.tif")[0, :, 0].tolist() == expected


def test_transparency_is_outside_the_rug(tmp_path: Path) -> None:
    alpha = RNG.integers(0, 256, RGB.shape[:2]).astype(np.uint8)
    Image.fromarray(np.dstack([RGB, alpha])).save(tmp_path / "a.png")
    artwork, _ = read_artwork(tmp_path / "a.png")
    assert artwork.coverage is not None
    assert np.array_equal(artwork.coverage, alpha)
    assert np.array_equal(artwork.srgb, RGB)
    # Here tRNS names one colour as transparent, in 8 and in 16 bits of grey.
    rows = b"\0" + bytes([5, 6, 7])
    (tmp_path / "key.png").write_bytes(png(3, 1, 8, 0, rows, (b"tRNS", struct.pack(">H", 6))))
    artwork, _ = read_artwork(tmp_path / "key.png")
    assert artwork.coverage is not None
    assert artwork.coverage.tolist() == [[255, 0, 255]]
    rows = b"\0" + struct.pack(">3H", 500, 600, 700)
    (tmp_path / "key16.png").write_bytes(png(3, 1, 16, 0, rows, (b"tRNS", struct.pack(">H", 600))))
    artwork, _ = read_artwork(tmp_path / "key16.png")
    assert artwork.coverage is not None
    assert artwork.coverage.tolist() == [[255, 0, 255]]


@pytest.mark.parametrize("orientation", range(1, 9))
@pytest.mark.parametrize("suffix", ["png", "tif", "webp"])
def test_orientation_is_applied_once(tmp_path: Path, orientation: int, suffix: str) -> None:
    # EXIF 2.3, tag 274 says which edge of the stored picture is its visual top.
    undo: dict[int, Callable[[np.ndarray], np.ndarray]] = {
        1: lambda a: a,
        2: lambda a: a[:, ::-1],
        3: lambda a: a[::-1, ::-1],
        4: lambda a: a[::-1],
        5: lambda a: a.transpose(1, 0, 2),
        6: lambda a: np.rot90(a, -1),
        7: lambda a: a[::-1, ::-1].transpose(1, 0, 2),
        8: lambda a: np.rot90(a, 1),
    }
    exif = Image.Exif()
    exif[274] = orientation
    path = tmp_path / f"a.{suffix}"
    Image.fromarray(RGB).save(path, exif=exif, **({"lossless": True} if suffix == "webp" else {}))
    assert np.array_equal(srgb_of(path), undo[orientation](RGB))


def test_profiles_lead_to_srgb(tmp_path: Path) -> None:
    # The profile describes linear light with sRGB's primaries: 0.5 of it is sRGB 188 (IEC 61966-2-1).
    srgb = ImageCms.createProfile("sRGB")
    profile = bytearray(ImageCms.ImageCmsProfile(srgb).tobytes())
    flat = np.full((4, 4, 3), 128, np.uint8)
    path = tmp_path / "a.png"
    Image.fromarray(flat).save(path, icc_profile=bytes(profile))
    assert np.abs(srgb_of(path).astype(int) - 128).max() <= 1  # a profile of sRGB itself changes nothing
    linear = _with_gamma_one(bytes(profile))
    Image.fromarray(flat).save(path, icc_profile=linear)
    assert np.abs(srgb_of(path).astype(int) - 188).max() <= 1
    alpha = np.dstack([flat, np.full((4, 4), 200, np.uint8)])
    Image.fromarray(alpha).save(path, icc_profile=linear)
    artwork, _ = read_artwork(path)
    assert np.abs(artwork.srgb.astype(int) - 188).max() <= 1
    assert artwork.coverage is not None
    assert (artwork.coverage == 200).all()
    indexed = Image.fromarray(np.zeros((4, 4), np.uint8))
    indexed.putpalette([128, 128, 128])
    indexed.save(path, icc_profile=linear)
    assert np.abs(srgb_of(path).astype(int) - 188).max() <= 1


def _with_gamma_one(profile: bytes) -> bytes:
    """Return the profile with linear tone curves (ICC.1: a curve without entries is the identity)."""
    count = int.from_bytes(profile[128:132], "big")
    data = bytearray(profile)
    for index in range(count):
        tag, offset, size = struct.unpack_from(">4sII", profile, 132 + 12 * index)
        if tag in (b"rTRC", b"gTRC", b"bTRC"):
            data[offset : offset + 12] = b"curv" + bytes(8)
            assert size >= 12
    return bytes(data)


def test_a_broken_profile_is_reported(tmp_path: Path) -> None:
    Image.fromarray(RGB).save(tmp_path / "a.png", icc_profile=b"no profile")
    artwork, findings = read_artwork(tmp_path / "a.png")
    assert np.array_equal(artwork.srgb, RGB)
    assert "profile cannot be used" in findings[0].what


def test_colours_that_are_not_followed_are_reported(tmp_path: Path) -> None:
    # Interoperability index R03 of EXIF 2.3 means Adobe RGB (DCF 2.0); PrimaryChromaticities is in TIFF 6.0, section
    # 20.
    one_entry = [(0x8769, 4, 1, 26), (0xA005, 4, 1, 44), (1, 2, 4, int.from_bytes(b"R03\0", "big"))]
    tables = b"".join(struct.pack(">HHHIII", 1, *entry, 0) for entry in one_entry)
    Image.fromarray(RGB).save(tmp_path / "a.jpg", exif=b"Exif\0\0MM\0*\0\0\0\x08" + tables)
    _, findings = read_artwork(tmp_path / "a.jpg")
    assert [finding.severity for finding in findings] == ["warning"]
    assert "Adobe RGB" in findings[0].what
    primaries = {319: (0.64, 0.33, 0.21, 0.71, 0.15, 0.06)}
    Image.fromarray(RGB).save(tmp_path / "a.tif", tiffinfo=primaries)
    _, findings = read_artwork(tmp_path / "a.tif")
    assert [finding.severity for finding in findings] == ["warning"]
    assert "primaries" in findings[0].what
    Image.fromarray(RGB).save(tmp_path / "a.tif", tiffinfo={319: (0.64, 0.33, 0.3, 0.6, 0.15, 0.06)})
    assert np.array_equal(srgb_of(tmp_path / "a.tif"), RGB)


def test_primaries_of_a_tiff_that_are_no_numbers_are_ignored(tmp_path: Path) -> None:
    """In TIFF 6.0 the primaries are fractions; here they are letters."""
    details = TiffImagePlugin.ImageFileDirectory_v2()
    details[319], details.tagtype[319] = "words", TiffTags.ASCII
    Image.fromarray(RGB).save(tmp_path / "a.tif", tiffinfo=details)
    artwork, findings = read_artwork(tmp_path / "a.tif")
    assert np.array_equal(artwork.srgb, RGB)
    assert findings == ()


def test_damaged_exif_tables_are_ignored(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    asked = []

    def damaged(_: Image.Exif, table: int) -> dict[int, object]:
        asked.append(table)
        raise KeyError(40_965)

    Image.fromarray(RGB).save(tmp_path / "a.tif", tiffinfo={319: (0.64, 0.33, 0.21, 0.71, 0.15, 0.06)})
    Image.fromarray(RGB).save(tmp_path / "b.tif")
    monkeypatch.setattr(Image.Exif, "get_ifd", damaged)
    _, findings = read_artwork(tmp_path / "a.tif")
    # the primaries are reported all the same, because the TIFF tags give them
    assert ["primaries" in finding.what for finding in findings] == [True]
    assert read_artwork(tmp_path / "b.tif")[1] == ()
    assert asked == [0x8769, 0xA005]  # the tables of details and of interoperability of EXIF 2.3


def test_cmyk_with_a_broken_profile_is_refused(tmp_path: Path) -> None:
    """Without its profile nobody knows the colours of CMYK, whereas RGB without one may be taken for sRGB."""
    Image.fromarray(RGB).convert("CMYK").save(tmp_path / "a.tif", icc_profile=b"no profile")
    with pytest.raises(ArtworkError, match=r"CMYK with an unusable colour profile.*save it as RGB"):
        read_artwork(tmp_path / "a.tif")


@pytest.mark.parametrize(("space", "name"), [("sRGB", "RGB"), ("LAB", "Lab")])
def test_cmyk_with_a_profile_of_other_colours_is_refused_by_name(tmp_path: Path, space: str, name: str) -> None:
    """Read through a profile of RGB or Lab, the inks would become other colours, and nobody would see why."""
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile(space)).tobytes()  # type: ignore[arg-type]
    for file in ("a.tif", "a.jpg"):
        Image.fromarray(RGB).convert("CMYK").save(tmp_path / file, icc_profile=profile)
        with pytest.raises(ArtworkError, match=f"is CMYK, and its colour profile is for {name}; save it as RGB"):
            read_artwork(tmp_path / file)


def test_a_profile_of_lab_is_refused_on_any_picture(tmp_path: Path) -> None:
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("LAB")).tobytes()
    for file in ("a.png", "a.tif", "a.jpg"):
        Image.fromarray(RGB).save(tmp_path / file, icc_profile=profile)
        with pytest.raises(ArtworkError, match="colour profile is for Lab, and its pixels are RGB; save it as RGB"):
            read_artwork(tmp_path / file)


def test_cmyk_without_a_profile_is_refused(tmp_path: Path) -> None:
    Image.fromarray(RGB).convert("CMYK").save(tmp_path / "a.tif")
    with pytest.raises(ArtworkError, match="CMYK without a colour profile"):
        read_artwork(tmp_path / "a.tif")


def content(image: Image.Image, kind: str, **options: object) -> bytes:
    stream = io.BytesIO()
    image.save(stream, kind, **options)  # type: ignore[arg-type]
    return stream.getvalue()


GOOD = content(Image.fromarray(RGB), "PNG")


@pytest.mark.parametrize(
    ("name", "data", "message"),
    [
        ("missing.png", None, "cannot read the artwork"),
        ("empty.png", b"", "not a picture"),
        ("text.png", b"hello", "not a picture"),
        ("cut.png", GOOD[: len(GOOD) // 2], "damaged or cut short"),
        ("noend.png", GOOD[:-12], "damaged or cut short"),
        ("checksum.png", GOOD[:60] + bytes([GOOD[60] ^ 1]) + GOOD[61:], "damaged or cut short"),
        ("cut.jpg", content(Image.fromarray(RGB), "JPEG")[:-200], "damaged or cut short"),
        ("gif.png", content(Image.fromarray(RGB[..., 0]), "GIF"), "not a picture"),
        ("zero.png", png(0, 1, 8, 0, b""), "damaged|not a picture"),
        ("bomb.png", png(60_000, 60_000, 8, 0, b""), "the limit is 250 million"),
        ("float.tif", content(Image.fromarray(np.ones((4, 4), np.float32)), "TIFF"), "floating-point"),
        ("palette.png", png(2, 1, 8, 3, b"\0\0\5", (b"PLTE", bytes(6))), "colour 5 of a palette of 2"),
        ("clear.png", content(Image.new("RGBA", (4, 4)), "PNG"), "transparent everywhere"),
        (
            "pages.tif",
            content(Image.fromarray(RGB), "TIFF", save_all=True, append_images=[Image.fromarray(RGB)]),
            "2 frames",
        ),
        (
            "hollow.png",
            png(5000, 5000, 8, 0, b""),
            "claims 5,000 x 5,000 pixels in .* bytes, so it is empty or cut short",
        ),
        (
            "moving.png",
            content(Image.fromarray(RGB), "PNG", save_all=True, append_images=[Image.fromarray(RGB[::-1])]),
            "2 frames",
        ),
    ],
)
def test_a_file_that_cannot_be_trusted_is_refused_with_its_reason(
    tmp_path: Path, name: str, data: bytes | None, message: str
) -> None:
    path = tmp_path / name
    if data is not None:
        path.write_bytes(data)
    with pytest.raises(ArtworkError, match=message) as caught:
        read_artwork(path)
    assert name in str(caught.value)


def test_a_file_of_over_2_gb_is_not_even_read(tmp_path: Path) -> None:
    with (tmp_path / "a.png").open("wb") as stream:
        stream.truncate(2_000_000_001)  # the file takes no room on the disk, because nothing was written into it
    with pytest.raises(ArtworkError, match="larger than 2 GB"):
        read_artwork(tmp_path / "a.png")


def test_a_picture_for_which_there_is_no_memory_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def none_left(_: object) -> None:
        raise MemoryError

    (tmp_path / "a.png").write_bytes(GOOD)
    monkeypatch.setattr(ImageFile.ImageFile, "load", none_left)
    with pytest.raises(ArtworkError, match="too large for this machine's memory"):
        read_artwork(tmp_path / "a.png")


def test_a_folder_is_refused_as_artwork(tmp_path: Path) -> None:
    with pytest.raises(ArtworkError, match="must be a file"):
        read_artwork(tmp_path)


def test_reading_leaves_the_pixel_limit_of_pillow_as_it_was(tmp_path: Path) -> None:
    before = Image.MAX_IMAGE_PIXELS
    (tmp_path / "a.png").write_bytes(GOOD)
    raster.open_raster(tmp_path / "a.png", ("PNG",), ArtworkError, "artwork")
    assert before == Image.MAX_IMAGE_PIXELS
