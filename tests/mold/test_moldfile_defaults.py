"""The defaults that docs/moldfile.md prints are those that the mold file has."""

from __future__ import annotations

import math
import re
from pathlib import Path

import pytest
from pydantic_core import PydanticUndefined

from squeeze.mold import section_of
from squeeze.mold.file.mold_file import mold_of
from squeeze.mold.forces.band_sizes import SIZES
from squeeze.mold.tables.channels import SprueTable, VentTable
from squeeze.mold.tables.cradle import CradleTable, FillerTable
from squeeze.mold.tables.cut import CutTable
from squeeze.mold.tables.loads import BandTable, PotTable, PushTable, ResinTable
from squeeze.mold.tables.model import ModelFileTable
from squeeze.mold.tables.mold import Mold
from squeeze.mold.tables.rubber import RubberTable
from squeeze.mold.tables.shape import BlockTable, CavityTable
from squeeze.mold.tables.station import StationTable

PAGE = (Path(__file__).parents[2] / "docs" / "moldfile.md").read_text(encoding="utf-8")
TABLES = {
    "rubber": RubberTable,
    "block": BlockTable,
    "cavity": CavityTable,
    "cut": CutTable,
    "filler": FillerTable,
    "cradle": CradleTable,
    "band": BandTable,
    "push": PushTable,
    "resin": ResinTable,
    "sprue": SprueTable,
    "vent": VentTable,
    "model": ModelFileTable,
    "pot": PotTable,
    "station": StationTable,
}
FOLLOWS = {("cradle", "pieces"), ("cradle", "poisson")}
"""The file leaves them out and the program fills them in: checked by what it builds, below."""


TABLE = re.compile(
    r"^\| key \| (?:unit)? ?\| default \| meaning \|\n\|[-| ]+\|\n((?:\|.*\n)+)", re.M
)


def rows():
    """Yield (table, key, default cell) of every row with a default in the page.

    Drawings have a section of their own, and other sections only name their keys.
    """
    for part in re.split(r"^## ", PAGE, flags=re.M):
        head, _, text = part.partition("\n")
        drawings = head == "Drawings"
        names = ["block"] if drawings else [name for name in TABLES if f"[{name}]" in head]
        for line in "".join(TABLE.findall(text)).splitlines():
            first, _, default, *_ = (cell.strip() for cell in line.strip("|").split("|"))
            keys = re.findall(r"`(\w+)`", first)
            if "drawing" in keys and not drawings:
                continue
            only = [name for name in names if f"({name})" in first] or names
            cells = default.split(", ")
            if len(cells) != len(keys) or len(keys) == 1:
                cells = [default] * len(keys)
            yield from (
                (name, key, cell) for name in only for key, cell in zip(keys, cells, strict=True)
            )


ROWS = [row for row in rows() if row[1] in TABLES[row[0]].model_fields]


def test_the_page_has_its_rows():
    assert len(ROWS) > 90
    assert {name for name, *_ in ROWS} == set(TABLES)


def number(cell: str) -> float | None:
    """Return the number that a cell is, without backticks; None where it says something else."""
    try:
        return float(cell.strip("`"))
    except ValueError:
        return None


@pytest.mark.parametrize(("table", "key", "cell"), ROWS)
def test_default_is_as_printed(table, key, cell):
    if cell.startswith("as for `["):
        other = re.search(r"\[(\w+)\]", cell).group(1)
        assert TABLES[table].model_fields[key].default == TABLES[other].model_fields[key].default
        return
    field = TABLES[table].model_fields[key]
    default = field.default
    if (table, key) in FOLLOWS:
        assert default is None
    elif default is PydanticUndefined:
        assert cell.startswith("needed")
    elif default is None or (key, default) == ("shape", "drawn"):
        assert number(cell) is None, f"{cell} is printed, and nothing is the default"
        assert cell not in ("true", "false")
    elif isinstance(default, bool):
        assert cell == str(default).lower()
    elif isinstance(default, int | float):
        shown = number(cell)
        assert shown is not None or cell == "", f"{cell!r} is printed, {default} is the default"
        assert math.isclose(shown or 0.0, default)
    elif isinstance(default, str) and default:
        assert cell.strip("`") == default
    elif isinstance(default, tuple) and default:
        assert [float(v) for v in cell.strip("`[]").split(",")] == list(default)
    else:
        assert number(cell) is None


def test_the_title_may_be_left_out():
    assert Mold.model_fields["title"].default == ""
    assert re.search(r"^\| `title` \| \| empty \|", PAGE, re.M)


def built(**cradle):
    mold = mold_of(
        {
            "length_mm": 100,
            "rubber": {"shore_a": 20},
            "block": {"shape": "round", "diameter_mm": 100},
            "cradle": [{"thickness_mm": 15, "youngs_modulus_mpa": 2000} | cradle],
        }
    )
    return section_of(mold).cradles


def test_what_the_program_fills_in_is_as_printed():
    printed = {(table, key): cell for table, key, cell in ROWS}
    pieces = built(covers="all", back="round")
    assert len(pieces) == number(printed["cradle", "pieces"])
    assert pieces[0].material.poisson == number(printed["cradle", "poisson"])


def test_corners_are_rounded_by_2_mm_unless_sides_are_short():
    def area(**block):
        mold = mold_of({"length_mm": 100, "rubber": {"shore_a": 20}, "block": block})
        return section_of(mold).outline.area

    lost = (4 - math.pi) * 2**2
    assert area(shape="square", width_mm=60) == pytest.approx(3600 - lost, rel=1e-6)
    assert area(shape="square", width_mm=60, round_mm=0) == pytest.approx(3600)
    assert 64 - lost <= area(shape="square", width_mm=8) < 64


def test_trade_sizes_are_as_printed():
    """Common practice, from memory: flat length x width in inches, all 1/32 inch thick."""
    printed = {}
    for names, sizes in re.findall(r"^\| ([\dB, ]+) \| ([\d., x/]+) \|$", PAGE, re.M):
        for name, size in zip(names.split(", "), sizes.split(", "), strict=True):
            flat, width = size.split(" x ")
            over, under = width.split("/")
            printed[name] = float(flat) * 25.4, float(over) / float(under) * 25.4
    found = {name: (size.flat_length_mm, size.width_mm) for name, size in SIZES.items()}
    assert found == {name: pytest.approx(size) for name, size in printed.items()}
    assert {size.thickness_mm for size in SIZES.values()} == {25.4 / 32}
