"""Where something lies, in words: on a land, on a side of the block, at the end of a cut."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

import squeeze
from squeeze.mold import section_of
from squeeze.verdict.place import land_ends, side_of, where_on, widest_place

BLOCK = {
    "length_mm": 100,
    "rubber": {"shore_a": 20},
    "block": {"shape": "square", "width_mm": 100},
    "cavity": [{"name": "rod", "shape": "round", "diameter_mm": 20}],
    "cut": [
        {"name": "low", "path_mm": [[-50, -20], [0, -20], [0, 0]]},
    ],
}


def test_places_on_a_land_are_told_from_the_nearer_end(closed):
    """The first land runs 35 mm from the left outside to a cavity, its places 1 mm apart."""
    land = closed.lands[0]
    assert land.length_mm == 35

    def at(mm):
        return where_on(land, int(np.argmin(np.abs(land.s_mm - mm))), closed)

    assert at(0) == "at the left outside"
    assert at(35) == "at 'barrel 1', towards the left outside"
    assert at(10) == "9.7 mm in from the left outside"
    assert at(17) == "midway between the left outside and 'barrel 1'"
    assert "mm from 'barrel 1'" in at(28)
    assert at(28).startswith("between 'barrel 1' and the left outside, ")


@pytest.mark.parametrize(
    ("point", "side"),
    [((-60, 0), "left"), ((60, 10), "right"), ((0, 60), "top"), ((3, -60), "bottom"),
     ((50, 50), "right"), ((-50, -50), "left"), ((-49, -50), "bottom"), ((49, 50), "top")],
)  # fmt: skip
def test_the_side_of_a_place_is_that_which_is_nearest_for_the_block_s_shape(closed, point, side):
    assert side_of(point, closed.section) == side


def test_sides_of_a_flat_block_are_told_in_shares_of_its_width_and_height():
    flat = {"shape": "rectangle", "width_mm": 180, "height_mm": 60}
    section = section_of(squeeze.mold_of(BLOCK | {"block": flat, "cut": [], "cavity": []}))
    assert side_of((60, 25), section) == "top"  # two thirds out, five sixths up
    assert side_of((60, 19), section) == "right"


def test_ends_of_lands_are_cavities_the_outside_other_cuts_or_rubber():
    cuts = [
        {"name": "a", "path_mm": [[-50, 0], [50, 0]]},
        {"name": "b", "path_mm": [[30, 0], [30, 50]]},
        {"name": "c", "path_mm": [[-50, 30], [-20, 30]]},
    ]
    closing = squeeze.Block(squeeze.mold_of(BLOCK | {"cut": cuts}), 0.3)
    section = closing.section
    found = {
        each.name: [tuple(end.kind for end in _ends(stretch, each.name, section))
                    for stretch in each.stretches]
        for each in section.cuts
    }  # fmt: skip
    assert found["a"] == [("outside", "cavity"), ("cavity", "outside")]
    assert found["b"] == [("cut", "outside")]
    assert found["c"] == [("outside", "rubber")]


def _ends(stretch, name, section):
    x, y = np.array(stretch.points).T
    return land_ends(SimpleNamespace(x_mm=x, y_mm=y, cut=name), section)


def test_of_two_lands_that_gape_alike_the_first_peak_is_named():
    """Within a hundredth of the widest."""

    def land(*gap):
        return SimpleNamespace(gap_mm=np.array(gap), largest_gap_mm=max(gap))

    one, two = land(0.0, 0.5, 0.2), land(0.1, 0.6, 0.1)
    assert widest_place([one, two]) == (two, 1)
    alike = land(0.0, 0.2, 0.595)
    assert widest_place([alike, two]) == (alike, 2)
    far = land(0.0, 0.593, 0.2)
    assert widest_place([far, two]) == (two, 1)
    flat = land(0.3, 0.3, 0.3)
    assert widest_place([flat]) == (flat, 0)
