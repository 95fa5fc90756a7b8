"""Stations along a block: which change counts as a step, and what is said of it. By hand."""

from __future__ import annotations

import pytest

import squeeze
from squeeze.mold import section_of
from squeeze.solve.along.stations import STEEP, _doubt, _steps


def section(width_mm: float = 80.0, holes: tuple[float, ...] = (0.0,), cuts: int = 1):
    """Return a round block with holes of 10 mm on a cut across."""
    half = width_mm / 2
    return section_of(
        squeeze.mold_of(
            {
                "length_mm": 100,
                "rubber": {"shore_a": 20},
                "block": {"shape": "round", "diameter_mm": width_mm},
                "cavity": [
                    {"shape": "round", "diameter_mm": 10, "centre_mm": [x, 0]} for x in holes
                ],
                "cut": [
                    {"path_mm": path}
                    for path in ([[-half, 0], [half, 0]], [[0, -half], [0, half]])[:cuts]
                ],
            }
        )
    )


@pytest.mark.parametrize("apart_mm", [10.0, 40.0])
def test_an_outline_that_moves_by_more_than_half_the_distance_steps(apart_mm):
    """Each side of a block that grows by d moves by d / 2."""
    d = 2 * STEEP * apart_mm
    assert _steps(20.0, 20.0 + apart_mm, section(80), section(80 + 1.02 * d))
    assert not _steps(20.0, 20.0 + apart_mm, section(80), section(80 + 0.98 * d))
    assert not _steps(20.0, 20.0 + apart_mm, section(80), section(80))


def test_a_cavity_that_moves_far_steps_as_well():
    there = section(holes=(6.0,))
    assert _steps(0.0, 11.0, section(), there)
    assert not _steps(0.0, 13.0, section(), there)


def test_a_cavity_or_a_cut_that_ends_steps_whatever_the_distance():
    more = section(holes=(-15.0, 15.0))
    for a, b in ((section(), more), (more, section()), (section(), section(cuts=2))):
        assert _steps(0.0, 1000.0, a, b)


def test_a_doubt_reaches_one_wall_depth_beyond_both_stations():
    """The longest land of a round block of 80 mm with a hole of 10 mm is 35 mm long."""
    said = _doubt(60.0, 80.0, section(), section(holes=(-15.0, 15.0)), 200.0)
    assert said == (
        "Between 60 and 80 mm a cavity ends: from 25 to 115 mm, one wall depth (35 mm) beyond on"
        " both sides, pressures are off by up to a quarter."
    )
    assert "from 0 to 50 mm" in _doubt(10.0, 20.0, section(), section(), 50.0)
    assert "the section steps" in _doubt(10.0, 20.0, section(), section(), 50.0)
    assert "a cut ends" in _doubt(10.0, 20.0, section(), section(cuts=2), 50.0)
