"""The page on trust says what the gallery and its script say."""

from __future__ import annotations

import importlib.util
import re
from pathlib import Path

from squeeze.study import rows_of

TOP = Path(__file__).parents[2]
PAGE = (TOP / "docs" / "trust.md").read_text(encoding="utf-8")

_spec = importlib.util.spec_from_file_location("trust", TOP / "studies" / "trust.py")
trust = importlib.util.module_from_spec(_spec)
_spec.loader.exec_module(trust)


def table(name: str) -> list[list[str]]:
    """Return the rows of a table between its marks, as cells."""
    (found,) = re.findall(rf"<!-- {name} -->\n(.*?)<!-- end of {name} -->", PAGE, re.DOTALL)
    return [[cell.strip() for cell in line.strip("| ").split("|")] for line in found.splitlines()]


def test_the_table_has_a_row_for_each_assumption():
    assert [row[:2] for row in table("assumptions")[2:]] == [
        list(case[:2]) for case in trust.cases()
    ]


def test_the_sentences_under_the_table_hold():
    gaps = {tuple(row[:2]): float(row[2]) for row in table("assumptions")[2:]}
    webs = {tuple(row[:2]): float(row[4]) for row in table("assumptions")[2:]}
    given = gaps["as computed", "-"]
    assert 1.6 < gaps["large deformation, neo-Hookean", "small strain"] / given < 2.4
    assert gaps["slippery faces", "friction 0.3"] < 0.02
    softer = ("no creep of the rubber", "a modulus 25 % lower")
    harder = ("hardness tells the modulus", "25 % higher")
    assert 1.05 < gaps[softer] / given < 1.15
    assert 0.8 < gaps[harder] / given < 0.95
    pressed = webs["as computed", "-"]
    assert all(abs(webs[each] / pressed - 1) < 0.02 for each in (softer, harder))
    assert abs(webs["no creep of the bands", "they pull 20 % less"] / pressed - 0.8) < 0.02


def test_single_bands_press_evenly_in_the_middle_once_they_lie_close():
    ripples = [float(row[1]) for row in table("length")[2:]]
    assert ripples == sorted(ripples)
    assert ripples[0] < 0.5 < 0.95 < ripples[-1]
    assert all(float(row[2]) < 0.2 for row in table("length")[2:])


def test_the_gallery_has_one_state_for_each_case():
    outcomes = {
        row["outcome"] for path in TOP.glob("studies/*/results.csv") for row in rows_of(path)
    }
    assert outcomes == {"converged", "a piece is not held"}
