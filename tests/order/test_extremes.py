"""Every value of every key of the rug file gives either figures or one refusal that names the key."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from support.making import make_map, settled

from chartmaker.figures.reckoning import figures_of
from chartmaker.ground.errors import ChartmakerError, RugError
from chartmaker.order.design import Design, YarnChoice
from chartmaker.order.rug import Rug
from chartmaker.order.rugfile import read_rugfile
from chartmaker.order.workshop import Vessel, Workshop
from chartmaker.reports.records.figures import bundle_dicts, summary_of
from chartmaker.reports.tables import tables_of

#: Values in TOML's notation, most of which no key can have.
VALUES = (
    "9" * 5000,
    "-" + "9" * 5000,
    "0x" + "f" * 5000,
    "1" + "0" * 400,
    "9223372036854775808",
    "1e308",
    "-1e308",
    "1e400",
    "5e-324",
    "1e-300",
    "-0.0",
    "inf",
    "nan",
    "true",
    "1979-05-27",
    "07:32:00",
    "[]",
    "[" * 40 + "]" * 40,
    "[1, 'a', 2.5]",
    '""',
    "' '",
    '"\\u0000"',
    "'" + "9" * 190 + " m'",
    "'" + "9" * 5000 + " mm'",
    "'0." + "0" * 180 + "1 mm'",
    "'1/3 mm'",
    "'1/0 m'",
    "'" + "9" * 150 + " kg'",
    "'0." + "0" * 150 + "1 g'",
    "'tex " + "9" * 150 + "'",
    "'Nm 0." + "0" * 150 + "1'",
    "'Nm 5 x" + "9" * 150 + "'",
    "'" + "9" * 150 + "%'",
    "'1e5%'",
    "'" + "9" * 100 + "x" + "9" * 100 + " per dm'",
    "'100 kpsi'",
    "{}",
    "{ a = 1 }",
    "{ 'W-01' = '1e9 mm' }",
    "{a=" * 60 + "1" + "}" * 60,
)
MODELS = {"rug": Rug, "design": Design, "yarns": YarnChoice}
MODELS |= {name: field.annotation for name, field in Workshop.model_fields.items()}  # type: ignore[misc]
KEYS = [(table, field.alias or name) for table, model in MODELS.items() for name, field in model.model_fields.items()]
KEYS += [("rug", "size"), ("loom", "stretch")]
KEYS += [("vessel", field.alias or name) for name, field in Vessel.model_fields.items()]


def rugfile(table: str, key: str, value: str) -> str:
    base = {"rug": {"width": '"20 cm"', "length": '"30 cm"', "density": '"30x30 per dm"'}}
    if key == "size":
        base["rug"] = {"density": '"30x30 per dm"'}
    if table == "vessel":
        vessel = {"name": '"pot"', "holds": '"3 kg"', key: value}
        base["dye"] = {"vessels": "[{" + ", ".join(f"{name} = {each}" for name, each in vessel.items()) + "}]"}
    else:
        base.setdefault(table, {})[key] = value
    lines = [f"[{name}]\n" + "".join(f"{k} = {each}\n" for k, each in keys.items()) for name, keys in base.items()]
    return "\n".join(lines)


@pytest.mark.parametrize(("table", "key"), KEYS)
def test_every_value_of_every_key_gives_figures_or_one_refusal(table: str, key: str, tmp_path: Path) -> None:
    path = tmp_path / "rug.toml"
    for value in VALUES:
        path.write_text(rugfile(table, key, value), encoding="utf-8")
        try:
            order = read_rugfile(path)
            if order.rug.knots > 100_000:
                continue
            cells = np.zeros((order.rug.rows, order.rug.columns), dtype=np.uint16)
            figures = figures_of(*settled(make_map(cells, order.rug, order.workshop)))
        except ChartmakerError as error:
            assert len(str(error)) < 2000, value[:40]
        else:  # a value that is accepted can be shown, on paper and to programs
            assert summary_of(figures)["pile"]["knots"] == order.rug.knots
            assert tables_of(figures) and bundle_dicts(figures)
            assert np.isfinite([figures.mass_g.high, figures.labour.days.high, figures.dye.order_g]).all()


@pytest.mark.parametrize("table", list(MODELS))
def test_keys_nested_thousands_deep_are_refused(table: str, tmp_path: Path) -> None:
    path = tmp_path / "rug.toml"
    for text in (
        f"[{table}]\n" + ".".join(["a"] * 5000) + " = 1\n",
        f"[{table}." + ".".join(["b"] * 5000) + "]\nc = 1\n",
        f"[{table}]\nx = " + "{a = " * 5000 + "1" + "}" * 5000 + "\n",
        f"[{table}]\nx = " + "[" * 5000 + "]" * 5000 + "\n",
    ):
        path.write_text(text, encoding="utf-8")
        with pytest.raises(RugError):
            read_rugfile(path)


@pytest.mark.parametrize("table", [*MODELS, "vessel"])
def test_a_misspelt_key_is_refused_with_the_one_that_was_meant(table: str, tmp_path: Path) -> None:
    path = tmp_path / "rug.toml"
    keys = [key for name, key in KEYS if name == table and len(key) > 4 and key not in ("size", "stretch")]
    for key in keys:
        path.write_text(rugfile(table, key[:-2] + key[-1] + key[-2] + "q", "1"), encoding="utf-8")
        with pytest.raises(RugError, match=r"unknown key .*(did you mean|known:)"):
            read_rugfile(path)
