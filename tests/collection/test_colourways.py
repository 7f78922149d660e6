"""The pattern of a tufted rug in another colourway has the fields of the artwork, in the yarns that took over."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from PIL import Image, ImageDraw

from chartmaker.collection.colourways import in_colourway, recast_in
from chartmaker.jobs.making import convert_order
from chartmaker.jobs.yarnareas import yarn_areas
from chartmaker.order.rugfile import from_tables
from chartmaker.yarns.card import read_card

#: Madder becomes olive. Of the yarns that are left, rust is nearer to madder's colour than olive is.
CARD = "code,name,colour\nR1,Madder,#a02820\nO1,Rust,#b05a30\nW1,Ivory,#f0e8d8\nG1,Olive,#707030\n"


def test_a_field_has_the_yarn_that_its_own_became_and_not_the_nearest(tmp_path: Path) -> None:
    (tmp_path / "wool.csv").write_text(CARD)
    picture = Image.new("RGB", (120, 120), "#f0e8d8")
    pen = ImageDraw.Draw(picture)
    pen.rectangle((20, 20, 59, 99), fill="#a02820")
    pen.rectangle((60, 20, 99, 99), fill="#b05a30")
    picture.save(tmp_path / "art.png")
    tables = {
        "rug": {"size": "12x12 cm", "density": "25x25 per dm", "technique": "tufted"},
        "design": {"artwork": str(tmp_path / "art.png"), "style": "flat"},
        "yarns": {"card": str(tmp_path / "wool.csv")},
    }
    order = from_tables(tables, where="the test")
    conversion, card = convert_order(order).conversion, read_card(tmp_path / "wool.csv")
    swaps = (("R1", "G1"),)
    recast = recast_in(conversion, in_colourway(conversion.knot_map, swaps, card)[0], swaps, card)
    codes = np.array([yarn.code for yarn in recast.knot_map.yarns])
    areas = codes[yarn_areas(recast, order.design)]
    assert [str(areas[60, column]) for column in (5, 40, 80)] == ["W1", "G1", "O1"]
    assert (areas[2::4, 2::4] == codes[recast.knot_map.knots[::-1]]).all()
