"""What castings are off by, and what blocks cost, against figures worked out by hand."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

import squeeze
from squeeze.mold import section_of
from squeeze.verdict import judge
from squeeze.verdict.advice.rubber_cost import costs, rubber_of, wall_mm
from squeeze.verdict.casting.distortion import cavities_of, largest_step
from squeeze.verdict.seal.land_graph import LandPart, Node


def test_width_and_height_change_by_the_stretch_put_in(closed):
    edge = closed.cavities[0].edge_mm
    middle = edge.mean(axis=0)
    shift = (edge - middle) * np.array([-0.02, 0.01])
    cavity = replace(closed.cavities[0], shift_mm=shift)
    told = judge(replace(closed, cavities=(cavity,))).cavities[0]
    assert (told.width_mm, told.height_mm) == (10.0, 10.0)
    assert told.width_change_mm == pytest.approx(-0.2)
    assert told.height_change_mm == pytest.approx(0.1)


def test_a_step_stands_at_each_place_where_a_land_meets_a_cavity(closed):
    lands = list(closed.lands)
    slip = np.zeros_like(lands[0].slip_mm)
    slip[-1] = -0.3
    lands[0] = replace(lands[0], slip_mm=slip)
    first, second = judge(replace(closed, lands=tuple(lands))).cavities
    assert [step.land for step in first.steps] == [0, 1]
    assert first.steps[0].slip_mm == pytest.approx(0.3)
    assert (first.steps[0].x_mm, first.steps[0].y_mm) == (-25.0, 40.0)
    assert [step.slip_mm for step in second.steps] == [0.0, 0.0]
    steps = [cavity.step_mm for cavity in closed.cavities]
    assert [first.step_mm, second.step_mm] == steps


def test_a_step_has_the_slip_and_the_gap_of_the_place_at_its_cavity(closed):
    """A land of six places: from one cavity to a meeting at the fourth, and on to the other."""
    s = np.arange(6.0)
    land = SimpleNamespace(
        cut="a", x_mm=10 + s, y_mm=20 - s, slip_mm=0.1 * (s - 3), gap_mm=0.01 * (1 + s)
    )
    first, second = (cavity.name for cavity in closed.cavities)
    one, other = (Node("cavity", name, name) for name in (first, second))
    met = Node("cut", "13.00, 17.00", "where cuts meet")
    spans = (one, met, slice(0, 4)), (met, other, slice(3, 6))
    parts = [LandPart(0, a, b, run, s[run], s[run], s[run]) for a, b, run in spans]
    left, right = cavities_of(replace(closed, lands=(land,)), parts)
    (begin,), (end,) = left.steps, right.steps
    assert (begin.x_mm, begin.y_mm, begin.cut, begin.land) == (10.0, 20.0, "a", 0)
    assert (begin.slip_mm, begin.gap_mm) == pytest.approx((0.3, 0.01))
    assert (end.x_mm, end.y_mm) == (15.0, 15.0)
    assert (end.slip_mm, end.gap_mm) == pytest.approx((0.2, 0.06))
    steps = [SimpleNamespace(step_mm=mm) for mm in (0.1, 0.3, 0.2)]
    assert (largest_step(steps), largest_step(())) == (0.3, 0.0)


def test_mirrored_castings_are_off_alike():
    """A fit by nodes, or a lip that is left out, told the outer barrels 8 to 12 % apart."""
    barrels = [
        {"shape": "round", "diameter_mm": 10, "centre_mm": [x, 40]} for x in (-24, -8, 8, 24)
    ]
    four = squeeze.mold_of(
        {
            "length_mm": 140,
            "rubber": {"youngs_modulus_mpa": 0.6, "poisson": 0.499},
            "block": {"shape": "square", "width_mm": 120, "bevel_mm": 3},
            "cavity": barrels,
            "cut": [{"path_mm": [[-60, 40], [60, 40]]}],
            "band": [{"tension_n_per_mm": 0.6}],
        }
    )
    off = [cavity.largest_shift_mm for cavity in squeeze.Block(four).close().cavities]
    assert off == pytest.approx(off[::-1], rel=2e-3)


def mold(block, **tables):
    return squeeze.mold_of(
        {
            "length_mm": 100,
            "rubber": {"shore_a": 20, "density_g_cm3": 1.2, "price_per_kg": 30},
            "block": block,
            "cavity": [{"shape": "round", "diameter_mm": 20, "centre_mm": [10, 0]}],
            "cut": [{"path_mm": [[10, 0], [60, 0]]}],
        }
        | tables
    )


def test_rubber_of_a_block_is_area_times_length_times_density():
    made = rubber_of(mold({"shape": "square", "width_mm": 100, "round_mm": 0}))
    volume = (100**2 - np.pi * 10**2) * 100 / 1000
    assert made.volume_cm3 == pytest.approx(volume)
    assert made.mass_g == pytest.approx(1.2 * volume)
    assert made.price == pytest.approx(30 * 1.2 * volume / 1000)


def test_each_station_stands_for_its_part_of_the_length():
    """Stations at 20 and 60 of 100 mm part the block at 40 mm."""
    narrow = {"shape": "square", "width_mm": 80, "round_mm": 0}
    stations = [
        {"at_mm": 20, "block": narrow, "cavity": [], "cut": []},
        {"at_mm": 60, "cavity": [], "cut": []},
    ]
    given = mold({"shape": "square", "width_mm": 100, "round_mm": 0}, station=stations)
    volume = (80**2 * 40 + 100**2 * 60) / 1000
    assert rubber_of(given).volume_cm3 == pytest.approx(volume)
    assert len(costs(given)) == 1


def test_bevels_save_four_triangles():
    plain = rubber_of(mold({"shape": "square", "width_mm": 100, "round_mm": 0}))
    bevel = rubber_of(mold({"shape": "square", "width_mm": 100, "round_mm": 0, "bevel_mm": 20}))
    assert plain.volume_cm3 - bevel.volume_cm3 == pytest.approx(4 * 0.5 * 20**2 * 100 / 1000)


def test_round_block_keeps_the_least_wall():
    """The cavity of radius 10 at x = 10 has 50 - 20 = 30 mm of wall: a round block of 80 mm."""
    given = mold({"shape": "square", "width_mm": 100})
    assert wall_mm(section_of(given)) == pytest.approx(30, abs=0.01)
    now, made = costs(given)
    volume = np.pi * (40**2 - 10**2) * 100 / 1000
    assert made.volume_cm3 == pytest.approx(volume, rel=1e-6)
    assert "round one of 80 mm" in made.what
    assert made.price / now.price == pytest.approx(made.mass_g / now.mass_g)


def test_without_a_price_none_is_told():
    given = mold({"shape": "square", "width_mm": 100}, rubber={"shore_a": 20})
    assert [each.price for each in costs(given)] == [None, None]


def test_a_round_block_is_not_compared_with_itself():
    assert len(costs(mold({"shape": "round", "diameter_mm": 100}))) == 1
