"""The artwork of an order before it is converted: read with its masks, and laid anew where the order asks for that."""

from __future__ import annotations

import hashlib

from chartmaker.artwork.artwork import Artwork
from chartmaker.artwork.masks import mask_bytes, mask_of, with_regions
from chartmaker.artwork.placing import place
from chartmaker.artwork.raster import pixels_said
from chartmaker.artwork.reading import artwork_bytes, artwork_of
from chartmaker.checks.bordersizes import sizes_of_borders
from chartmaker.colours.evening import evened
from chartmaker.convert.conversion import repeats_in
from chartmaker.convert.notes import repeat_findings
from chartmaker.convert.report import RepeatReport
from chartmaker.ground.errors import ArtworkError, RugError
from chartmaker.ground.findings import Finding
from chartmaker.ground.language import say
from chartmaker.ground.sentence import later
from chartmaker.ground.textsafe import inert
from chartmaker.jobs.foreseeing import check_room
from chartmaker.order.rugfile import RugFile
from chartmaker.order.wholesizes import BorderSizes
from chartmaker.relay.masterly import remarks_on_drawn
from chartmaker.relay.relaid import Relaid, relaid, taken_apart
from chartmaker.verify.artworks import Shown

#: With fewer pixels a knot than this, pixels stand for knots, and none of them lies on an edge.
LEAST_TO_EVEN = 2.0


def artwork_of_order(order: RugFile, read: dict[str, str], yarns: int = 0) -> tuple[Artwork, tuple[Finding, ...]]:
    """Return the order's artwork, its regions marked, with what was noticed.

    The bytes that are hashed are those that are converted. A rug that would not fit into memory is refused, before any
    work, with so many `yarns` to choose from.
    """
    if order.artwork is None:
        raise ArtworkError(say("no artwork: give [design] artwork in the rug file, or an artwork on the command line"))
    data = artwork_bytes(order.artwork)
    read["artwork"] = hashlib.sha256(data).hexdigest()
    check_room(order.rug.knots, pixels_said(data), yarns)
    artwork, noticed = artwork_of(data, order.artwork)
    masks = {}
    for number, path in order.masks.items():
        data = mask_bytes(path, number)
        read[f"mask {number}"] = hashlib.sha256(data).hexdigest()
        masks[number] = mask_of(data, path, number)
    artwork, notes = _without_losses(artwork, order)
    return with_regions(artwork, order.regions, masks), (*noticed, *notes)


def _without_losses(artwork: Artwork, order: RugFile) -> tuple[Artwork, tuple[Finding, ...]]:
    """Return the artwork with what compression did to a drawing undone, and a note if anything was done to it."""
    pixels_a_knot = artwork.height * artwork.width / order.rug.knots
    if order.artwork is None or order.design.style == "shaded" or pixels_a_knot < LEAST_TO_EVEN:
        return artwork, ()
    even, colours = evened(artwork, pixels_a_knot)
    if not colours:
        return artwork, ()
    said = later(
        "Compression roughened this drawing, so each pixel got back one of the {n} even colours that were found, "
        "and edges are sharp again. A PNG or TIFF straight from the drawing program shows more.",
        n=colours,
    )
    return even, (Finding(said, inert(order.artwork.name), "note"),)


def relaid_order(artwork: Artwork, order: RugFile) -> Relaid | None:
    """Return the design laid anew for the size of the order, if it asks for that."""
    if order.design.fit != "relay":
        return None
    if order.regions:
        raise RugError(
            say("[[region]] marks places on the artwork, which fit = 'relay' takes apart; leave one of them out")
        )
    return relaid(artwork, order.rug, order.design, order.layout)


def shown_artwork(order: RugFile) -> Shown:
    """Read what a rug shows of its order's artwork, so that `verify_folder` can hold a pattern against it.

    Parameters
    ----------
    order : RugFile
        As `read_order` gives it.

    Returns
    -------
    Shown
        The artwork, turned and cut, or laid anew, as the order asks, with the SHA-256 of what was read.

    Raises
    ------
    ChartmakerError
        If the artwork cannot be read, or does not fit the rug.

    Examples
    --------
    >>> shown = shown_artwork(read_order("rug.toml"))
    >>> shown.artwork.height, shown.artwork.width
    (256, 192)
    """
    read: dict[str, str] = {}
    artwork, _ = artwork_of_order(order, read)
    anew = relaid_order(artwork, order)
    placed = place(artwork, order.rug, order.design) if anew is None else anew.placed
    return Shown(placed.shown, read)


def repeats_of(order: RugFile) -> tuple[RepeatReport | None, BorderSizes | None, tuple[Finding, ...]]:
    """Return what repeats in an order's artwork, and the notes on it, with the sizes at which repeats are whole.

    Parameters
    ----------
    order : RugFile
        As `read_order` gives it.

    Returns
    -------
    RepeatReport or None
        What repeats all over it. None if nothing does, it is not flat, it is laid anew, or it is not there yet.
    BorderSizes or None
        What repeats along its borders, if nothing repeats all over it.
    tuple of Finding
        What there is to say about it.

    Raises
    ------
    ChartmakerError
        If the artwork cannot be read, or does not fit the rug.

    Examples
    --------
    >>> repeats_of(read_order("rug.toml"))
    (None, None, ())
    """
    if order.artwork is None or not order.artwork.exists() or order.design.fit == "relay":
        return None, None, ()
    artwork, _ = artwork_of_order(order, {})
    repeat, borders, warnings = repeats_in(artwork, order.rug, order.design, order.regions, order.repeats)
    return repeat, borders, (*warnings, *repeat_findings(repeat, order.rug), *sizes_of_borders(borders))


def drawn_remarks(order: RugFile, artwork: Artwork) -> tuple[Finding, ...]:
    """Return what a master would remark on the borders and the field of an order's artwork, turned, as they are drawn.

    Nothing where the design is laid anew, which tells as much by itself; nor of a painting, of a rug that is no
    rectangle, or of an artwork that is cropped or filled up.
    """
    design = order.design
    if design.fit not in (None, "stretch") or order.rug.shape != "rectangle" or order.regions:
        return ()
    drawn = order.rug.woven_width_mm, order.rug.woven_length_mm
    try:
        apart = taken_apart(artwork, order.rug, design, order.layout.model_copy(update={"drawn_mm": drawn}))
    except ArtworkError:  # a painting has no parts
        return ()
    return remarks_on_drawn(apart.drawing, apart.parts, apart.knot_px, order.rug)
