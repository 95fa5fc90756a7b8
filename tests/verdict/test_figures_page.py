"""The page of figures says what the table of figures holds."""

from __future__ import annotations

from pathlib import Path

from squeeze.show.text.figures_page import figures_page
from squeeze.verdict.figures import TABLE

PAGE = Path(__file__).parents[2] / "docs" / "figures.md"


def test_the_page_is_made_from_the_table():
    assert PAGE.read_text(encoding="utf-8") == figures_page()


def test_each_figure_has_one_row_and_a_unit_in_its_name():
    assert len({each.name for each in TABLE}) == len(TABLE)
    endings = {"mm": "_mm", "kPa": "_kpa", "N/mm": "_n_per_mm", "%": "_pct", "g": "_g"}
    for each in TABLE:
        ending = endings.get(each.unit)
        assert ending is None or each.name.endswith(ending), each.name
