"""Caught air against closed forms: an inverted cup, a U-tube, a tilted torus; Boyle's law."""

from __future__ import annotations

import math

import numpy as np
import pytest

import squeeze
from squeeze.verdict.air.flood import behind_necks, caught
from squeeze.verdict.air.pockets import ATMOSPHERE_KPA, air_of, boyle
from squeeze.verdict.air.remedy import Tilt
from squeeze.verdict.air.void import up_of


def grid(size: float, h: float):
    n = round(2 * size / h)
    return np.meshgrid(*([(np.arange(n) + 0.5) * h - size] * 3), indexing="ij")


def flag(shape, spot):
    found = np.zeros(shape, bool)
    found[spot] = True
    return found


def mold(cavity, **more):
    return squeeze.mold_of(
        {
            "length_mm": 60,
            "rubber": {"shore_a": 20},
            "block": {"shape": "rectangle", "width_mm": 120, "height_mm": 100},
            "cavity": [cavity],
        }
        | more
    )


def test_a_block_without_a_cavity_catches_nothing():
    plain = mold({"shape": "round", "diameter_mm": 20})
    assert air_of(plain.model_copy(update={"cavity": ()})).pockets == ()


def test_an_inverted_cup_keeps_all_that_lies_above_its_rim():
    """A cup upside down in a bath: air of pi R^2 H stays in it."""
    h = 0.5
    x, y, z = grid(15, h)
    radius = np.hypot(x, y)
    wall = (radius < 11) & (radius > 9) & (z > -5) & (z < 8)
    lid = (radius < 11) & (z >= 6) & (z < 8)
    void = ~(wall | lid)
    outlets = void & (z > 14.5)
    held = caught(void, z, outlets, h)
    inside = math.pi * 9**2 * (6 + 5)
    assert held.sum() * h**3 == pytest.approx(inside, rel=0.1)
    assert not held[(radius > 11)].any()


def test_a_u_tube_with_a_closed_arm_keeps_its_air_above_the_bend():
    """Arms 10 mm wide and 50 long; the closed one is caught above the ceiling of the bend."""
    points = [
        [-30, -25],
        [30, -25],
        [30, 25],
        [20, 25],
        [20, -15],
        [-20, -15],
        [-20, 25],
        [-30, 25],
    ]
    tables = {"sprue": {"diameter_mm": 8, "height_mm": 40, "at_mm": [-25, 25]}}
    found = air_of(mold({"name": "u", "points_mm": points, "round_mm": 0}, **tables))
    (pocket,) = found.pockets
    assert pocket.volume_mm3 == pytest.approx(10 * 40 * 60, rel=0.05)
    x, y, _ = pocket.at_mm
    assert 20 < x < 30
    assert y == pytest.approx(25, abs=1)
    assert pocket.cavity == "u"


def test_a_tilted_torus_keeps_what_lies_above_its_sprue():
    """With the sprue on the ridge of the low side, air stays above it; wanted by quadrature."""
    big, small, tilt, h = 15.0, 5.0, math.radians(20), 0.5
    x, y, z = grid(21, h)
    void = (np.hypot(x, y) - big) ** 2 + z**2 < small**2
    up = np.array([math.sin(tilt), 0, math.cos(tilt)])
    height = x * up[0] + z * up[2]
    low = void & (x < 0) & (np.abs(y) <= h / 2 + 1e-9)
    section = np.where(low & (np.abs(x + big) < small), height, -np.inf)
    outlet = flag(void.shape, np.unravel_index(np.argmax(section), void.shape))
    level = -big * math.sin(tilt) + small  # highest place of the low side's circle
    assert section.max() == pytest.approx(level, abs=h)
    held = caught(void, height, outlet, h)
    phi, theta, rho = np.meshgrid(
        (np.arange(180) + 0.5) * math.tau / 180,
        (np.arange(90) + 0.5) * math.tau / 90,
        (np.arange(40) + 0.5) * small / 40,
        indexing="ij",
    )
    out = big + rho * np.cos(theta)
    high = out * np.cos(phi) * up[0] + rho * np.sin(theta) * up[2]
    cell = (math.tau / 180) * (math.tau / 90) * (small / 40)
    wanted = float(np.sum(out * rho * (high > level)) * cell)
    assert wanted > 500
    assert held.sum() * h**3 == pytest.approx(wanted, rel=0.15)
    level_torus = caught(void, z, outlet, h)
    assert level_torus.sum() == 0


def test_a_leg_behind_a_thin_neck_is_caught_though_it_lies_low():
    h = 0.5
    x, _, z = grid(12, h)
    _, y, _ = grid(12, h)
    body = (np.abs(x) < 8) & (np.abs(y) < 8) & (z > 4)
    leg = (np.abs(x) < 5) & (np.abs(y) < 5) & (z < -2)
    neck = (np.abs(x) < 1) & (np.abs(y) < 1) & (z >= -2) & (z <= 4)
    void = body | leg | neck
    outlets = body & (z > 11.5)
    assert not caught(void, z, outlets, h).any()
    behind = behind_necks(void, outlets, 3)
    assert behind.sum() == pytest.approx(leg.sum(), rel=0.1)
    wide = body | leg | ((np.abs(x) < 4) & (np.abs(y) < 4) & (z >= -2) & (z <= 4))
    assert not behind_necks(wide, outlets, 3).any()


def test_the_pot_leaves_what_boyle_says():
    assert boyle(80.0, ATMOSPHERE_KPA) == pytest.approx(40.0)
    points = [[-30, -20], [30, -20], [30, 20], [10, 20], [10, -5], [-10, -5], [-10, 20], [-30, 20]]
    tables = {
        "sprue": {"diameter_mm": 8, "height_mm": 40, "at_mm": [-20, 20]},
        "pot": {"bore_mm": 300, "depth_mm": 300, "pressure_kpa": 300},
    }
    (pocket,) = air_of(mold({"points_mm": points, "round_mm": 0}, **tables)).pockets
    assert pocket.in_pot_mm3 == pytest.approx(
        pocket.volume_mm3 * ATMOSPHERE_KPA / (ATMOSPHERE_KPA + 300)
    )


def test_a_tilt_or_another_sprue_that_lets_air_out_is_found():
    """A slope whose high end, on the right, has no way out: it has one when the left goes up."""
    points = [[-40, -10], [40, 0], [40, 8], [-40, -2]]
    tables = {"sprue": {"diameter_mm": 8, "height_mm": 40, "at_mm": [-40, -2]}}
    found = air_of(mold({"points_mm": points, "round_mm": 0}, **tables))
    assert found.volume_mm3 > 100
    assert found.tilt is not None
    assert found.tilt.volume_mm3 < 0.1 * found.volume_mm3
    assert [side for side, _ in found.tilt.raised] == ["left side"]
    assert found.other_sprue is not None
    assert found.other_sprue.at_mm[0] > 35


def test_a_vent_tells_which_cut_it_crosses():
    points = [[-30, -20], [30, -20], [30, 20], [10, 20], [10, -5], [-10, -5], [-10, 20], [-30, 20]]
    tables = {
        "sprue": {"diameter_mm": 8, "height_mm": 40, "at_mm": [-20, 20]},
        "cut": [{"name": "lid", "path_mm": [[-60, 35], [60, 35]]}],
    }
    (pocket,) = air_of(mold({"points_mm": points, "round_mm": 0}, **tables)).pockets
    assert pocket.crosses == ("lid",)


def test_a_plain_barrel_catches_nothing():
    assert air_of(mold({"shape": "round", "diameter_mm": 20})).pockets == ()


def test_a_vent_where_the_air_is_caught_lets_it_out():
    """The U again: a vent on the arm without the sprue, and one on the wrong arm."""
    points = [[-30, -20], [30, -20], [30, 20], [10, 20], [10, -5], [-10, -5], [-10, 20], [-30, 20]]
    tables = {"sprue": {"diameter_mm": 8, "height_mm": 40, "at_mm": [-20, 20]}}
    cavity = {"points_mm": points, "round_mm": 0}
    before = air_of(mold(cavity, **tables))
    (pocket,) = before.pockets
    x, y, along = (round(v) for v in pocket.at_mm)
    vented = air_of(mold(cavity, **tables, vent=[{"at_mm": [x, y], "along_mm": along}]))
    assert vented.pockets == ()
    assert vented.tilt is None
    elsewhere = air_of(mold(cavity, **tables, vent=[{"at_mm": [-15, 20]}]))
    assert elsewhere.volume_mm3 == pytest.approx(before.volume_mm3)
    # half way up the arm it lets out what lies below it, and no more
    half = air_of(mold(cavity, **tables, vent=[{"at_mm": [30, 8]}]))
    assert half.volume_mm3 == pytest.approx(20 * 12 * before.volume_mm3 / (20 * 25), rel=0.08)


def test_a_sprue_that_is_moved_leaves_the_vents_where_they_are():
    """Three arms: the sprue on a low one, a vent on the right one; the middle one keeps air."""
    points = [[-50, -20], [50, -20], [50, 20], [30, 20], [30, -5], [10, -5], [10, 20], [-10, 20],
              [-10, -5], [-30, -5], [-30, 5], [-50, 5]]  # fmt: skip
    tables = {"sprue": {"diameter_mm": 8, "height_mm": 40, "at_mm": [-40, 5]}}
    cavity = {"points_mm": points, "round_mm": 0}
    found = air_of(mold(cavity, **tables, vent=[{"at_mm": [40, 20]}]))
    (pocket,) = found.pockets
    assert abs(pocket.at_mm[0]) < 10
    assert found.other_sprue is not None
    assert abs(found.other_sprue.at_mm[0]) < 10
    # The low arm keeps air in its place, 10 mm high against 25; the vented one keeps none. A
    # ceiling is good to a step and a half of the grid.
    off = 1.5 * found.grid_mm * 20 * 60
    assert found.other_sprue.volume_mm3 == pytest.approx(10 * 20 * 60, abs=off)


@pytest.mark.parametrize("standing", [False, True])
@pytest.mark.parametrize("about", [-20.0, 0.0, 20.0])
@pytest.mark.parametrize("end", [-10.0, 0.0, 10.0])
def test_the_sides_that_are_raised_lie_higher_than_before(standing, about, end):
    """Each named side rises against the side opposite, in the direction that points up."""
    places = {
        "right side": (1.0, 0.0, 0.0),
        "left side": (-1.0, 0.0, 0.0),
        "far end": (0.0, 0.0, 1.0),
        "start": (0.0, 0.0, -1.0),
        "section's upper side": (0.0, 1.0, 0.0),
        "section's lower side": (0.0, -1.0, 0.0),
    }
    up = np.array(up_of(about, end, standing))
    named = Tilt(about, end, 0.0, standing).raised
    assert len(named) == (about != 0) + (end != 0)
    for side, degrees in named:
        assert degrees in (10.0, 20.0)
        assert up @ np.array(places[side]) > 0.1


@pytest.mark.parametrize("level", [0, 3])
def test_a_void_that_no_outlet_reaches_keeps_all_its_air(level):
    """Two columns side by side; the sprue stands on one of them."""
    void = np.zeros((5, 1, 6), bool)
    void[0], void[3] = True, True
    height = np.broadcast_to(np.arange(6.0), void.shape)
    outlets = np.zeros_like(void)
    outlets[0, 0, level] = True
    kept = caught(void, height, outlets, 0.5)
    assert kept[3].all()
    assert (kept[0, 0] == (np.arange(6) > level)).all()
    assert not kept[[1, 2, 4]].any()


@pytest.mark.parametrize("axis", [0, 1, 2])
@pytest.mark.parametrize("wide", [(0, 0), (4, 0), (0, 4)])
@pytest.mark.parametrize("reach", [1, 2])
def test_a_passage_is_a_neck_where_one_side_of_it_is_narrower_than_its_reach_both_ways(
    axis, wide, reach
):
    """Two rooms on one axis, joined by a square passage or a slot."""

    def kept(side: int, of: int = reach) -> np.ndarray:
        void = np.zeros((24, 9, 9), bool)
        void[:9], void[15:] = True, True
        void[9:15, 1 : 1 + side + wide[0], 1 : 1 + side + wide[1]] = True
        outlets = np.zeros_like(void)
        outlets[4, 4, 4] = True
        return np.moveaxis(
            behind_necks(np.moveaxis(void, 0, axis), np.moveaxis(outlets, 0, axis), of), axis, 0
        )

    narrow = kept(2 * reach)
    assert narrow[17:22, 2:7, 2:7].all()
    assert not narrow[: 15 - reach].any()  # the room reaches that far into the passage
    assert not kept(2 * reach + 1).any()
    assert not kept(1, of=0).any()
