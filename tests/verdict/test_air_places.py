"""Places of voids, directions that point up, openings and necks, against counts by hand."""

from __future__ import annotations

import math
from types import SimpleNamespace

import numpy as np
import pytest
import shapely

import squeeze
from squeeze.verdict.air import void as voids
from squeeze.verdict.air.flood import behind_necks
from squeeze.verdict.air.pockets import air_of, filling_of, pockets_at
from squeeze.verdict.air.void import FINEST_MM, Void, outlets_of, top_of, up_of, void_of


def mold_of(cavity, length_mm=60, **tables):
    plain = {
        "length_mm": length_mm,
        "rubber": {"shore_a": 20},
        "block": {"shape": "rectangle", "width_mm": 120, "height_mm": 100},
        "cavity": cavity,
    }
    return squeeze.mold_of(plain | tables)


def box(width, height, x=0.0, y=0.0, **more):
    return {
        "shape": "rectangle", "width_mm": width, "height_mm": height, "round_mm": 0,
        "centre_mm": [x, y],
    } | more  # fmt: skip


def void_at(filled, xs, ys, zs, h=1.0):
    return Void(np.array(filled, bool), *(np.array(v, float) for v in (xs, ys, zs)), h)


# voids


@pytest.mark.parametrize("most", [500, 4000])
def test_a_void_has_about_as_many_places_as_it_may_and_cubes_for_them(most):
    void = void_of(mold_of([box(40, 30)]), most)
    assert void.grid_mm == pytest.approx((40 * 30 * 60 / most) ** (1 / 3))
    assert void.filled.size == pytest.approx(most, rel=0.1)
    for places, size in ((void.xs, 40), (void.ys, 30), (void.zs, 60)):
        assert np.diff(places) == pytest.approx(void.grid_mm, rel=0.1)
        assert np.ptp(places) + np.diff(places)[0] == pytest.approx(size)
    assert (void.xs.mean(), void.ys.mean(), void.zs.mean()) == pytest.approx((0, 0, 30))


def test_places_are_no_finer_than_half_a_millimetre():
    void = void_of(mold_of([box(10, 6)], length_mm=10), 10**6)
    assert void.grid_mm == FINEST_MM
    assert void.filled.shape == (20, 12, 20)


@pytest.mark.parametrize(("first", "second"), [(20, 40), (40, 20)])
def test_each_station_stands_for_what_lies_nearer_to_it_than_to_others(first, second):
    """Stations at 10 and 40 mm of 60, of different widths: the first one up to 25 mm."""
    widths = ((10, first), (40, second))
    stations = [{"at_mm": at, "cavity": [box(width, 20)]} for at, width in widths]
    void = void_of(mold_of([box(40, 20)], station=stations), 4000)
    wide = void.filled[:, 0, :].sum(axis=0) * (void.xs[1] - void.xs[0])
    assert wide[void.zs < 25] == pytest.approx(first, abs=2 * void.grid_mm)
    assert wide[void.zs > 25] == pytest.approx(second, abs=2 * void.grid_mm)
    assert (void.zs < 25).sum() * (void.zs[1] - void.zs[0]) == pytest.approx(25, abs=void.grid_mm)


def test_a_cavity_fills_where_its_models_lie():
    """Two knobs of 12 mm about 10 and 40 mm; a rod beside them that takes all 60."""
    knobs = [{"at_mm": 10, "length_mm": 12}, {"at_mm": 40, "length_mm": 12}]
    cavities = [box(10, 10, x=-20, models=knobs, name="knob"), box(10, 10, x=20, name="rod")]
    void = void_of(mold_of(cavities), 6000)
    at_knob = void.filled[void.xs < 0].any(axis=(0, 1))
    wanted = (np.abs(void.zs - 10) <= 6) | (np.abs(void.zs - 40) <= 6)
    assert (at_knob == wanted).all()
    assert void.filled[void.xs > 0].any(axis=(0, 1)).all()


def test_models_fill_what_their_sections_say_where_they_lie(monkeypatch):
    """Two bars of 10 x 6 x 20 mm, the first one only up to its middle; in a box of 35 x 18 x 60."""
    monkeypatch.setattr(
        voids, "section_at", lambda model, at: [shapely.box(0, 0, 10 if at < 10 else model.wide, 6)]
    )
    placed = tuple(
        SimpleNamespace(at_mm=at, model=SimpleNamespace(size_mm=(10, 6, 20), wide=wide))
        for at, wide in (((-20.0, 3.0, 5.0), 0), ((5.0, -9.0, 45.0), 10))
    )
    found = voids.void_of_models.__wrapped__(placed, 30_000)
    step = (35 * 18 * 60 / 30_000) ** (1 / 3)
    assert found.grid_mm == pytest.approx(step)
    x, y, z = found.places[found.filled].T
    half, whole = z < 40, z > 40
    for spans, own in (
        (((-20, -10), (3, 9), (5, 15)), half),
        (((5, 15), (-9, -3), (45, 65)), whole),
    ):
        for axis, (low, high) in zip((x, y, z), spans, strict=True):
            assert (axis[own].min(), axis[own].max()) == pytest.approx((low, high), abs=step)
    assert whole.sum() / half.sum() == pytest.approx(2, rel=0.1)
    assert found.filled.sum() * found.cell_mm3 == pytest.approx(1.5 * 10 * 6 * 20, rel=0.15)


def test_a_place_takes_its_share_of_each_axis_and_a_lone_one_the_grid():
    filled = np.ones((3, 1, 5), bool)
    void = void_at(filled, [0, 2, 4], [7], [0, 3, 6, 9, 12], h=0.25)
    assert void.cell_mm3 == pytest.approx(2 * 0.25 * 3)


def test_the_nearest_place_is_a_filled_one():
    filled = np.ones((4, 3, 2), bool)
    filled[0, 0, 0] = False
    void = void_at(filled, [0, 10, 20, 30], [0, 4, 8], [0, 30])
    assert np.argwhere(void.nearest((1, 1, 1))).tolist() == [[0, 1, 0]]
    assert np.argwhere(void.nearest((24, -9, 50))).tolist() == [[2, 0, 1]]
    assert np.argwhere(void.nearest((26, 7, 16))).tolist() == [[3, 2, 1]]


# directions


@pytest.mark.parametrize("about", [-40.0, 0.0, 25.0])
@pytest.mark.parametrize("end", [-35.0, 0.0, 15.0])
def test_the_direction_up_has_no_stretch_and_lies_by_both_tilts(about, end):
    """Across the one axis it leans by the one angle, and in the plane left by the other."""
    x, y, z = up_of(about, end, False)
    assert math.hypot(x, y, z) == pytest.approx(1)
    assert math.degrees(math.asin(z)) == pytest.approx(end)
    assert math.degrees(math.atan2(x, y)) == pytest.approx(about)
    x, y, z = up_of(about, end, True)
    assert math.hypot(x, y, z) == pytest.approx(1)
    assert math.degrees(math.asin(y)) == pytest.approx(end)
    assert math.degrees(math.atan2(x, z)) == pytest.approx(about)


# openings


def test_the_top_is_the_middle_of_the_highest_ridge():
    own = np.ones((5, 3, 4), bool)
    void = void_at(own, range(5), range(3), range(4))
    own = own.copy()
    own[0, 2] = False  # the ridge reaches from x = 1 to 4 at y = 2: its middle is 2.5, 1.5 along
    top = top_of(void, own, void.height((0, 1, 0)))
    assert top[1] == 2
    assert top[0] in (2, 3)
    assert top[2] in (1, 2)
    assert top_of(void, own, void.height((1, 0.2, 0.1))) == (4, 2, 3)
    assert top_of(void, own, void.height((-1, -0.2, -0.1))) == (0, 0, 0)


def test_every_part_without_a_sprue_has_one_at_its_top_and_vents_stay_vents():
    """Rods side by side; the sprue leads to the left one, a vent to the right one."""
    cavities = [box(10, 10, x=-30, name="left"), box(10, 10, x=30, name="right")]
    tables = {
        "sprue": {"diameter_mm": 8, "height_mm": 40, "at_mm": [-30, 8]},
        "vent": [{"at_mm": [34, 5], "along_mm": 10}],
    }
    mold = mold_of(cavities, **tables)
    void = void_of(mold, 8000)
    outlets = outlets_of(mold, void, (0, 1, 0))
    given, own = outlets.sprues_mm
    assert given == (-30.0, 8.0, 30.0)  # the middle of the block's length
    assert own == pytest.approx((30, 5, 30), abs=void.grid_mm)
    assert outlets.sprues.sum() == 2
    (vent,) = void.places[outlets.vents]
    assert vent == pytest.approx((34, 5, 10), abs=void.grid_mm)
    assert outlets.flags.sum() == 3
    tables["sprue"]["along_mm"] = 12
    along = outlets_of(mold_of(cavities, **tables), void, (0, 1, 0))
    assert along.sprues_mm[0] == (-30.0, 8.0, 12.0)


def test_a_standing_block_has_its_sprue_at_its_end_and_a_bent_rod_lets_its_air_out():
    """Lying, the closed arm of the U keeps air; standing, every arm is open at its end."""
    tube = [[-30, -20], [30, -20], [30, 18], [20, 18], [20, -10], [-20, -10], [-20, 20], [-30, 20]]
    cavity = [{"name": "tube", "points_mm": tube}]
    lies = mold_of(cavity)
    assert sum(each.volume_mm3 for each in pockets_at(lies, filling_of(lies))[0]) > 1000
    stands = mold_of(cavity, resin={"head_mm": 50, "standing": True})
    found = air_of(stands)
    assert found.pockets == ()
    (sprue,) = found.sprues_mm
    assert sprue[2] > 60 - void_of(stands).grid_mm
    (pocket, *_), sprues = pockets_at(stands, filling_of(stands), 0.0, -45.0)
    assert sprues == found.sprues_mm  # they were cut before the block was held tilted
    assert pocket.at_mm[1] < -20 + 10


# necks


def test_a_sprue_at_the_corner_of_a_room_opens_it():
    """No ball goes into the corner; the sprue counts for the room it stands in all the same."""
    void = np.zeros((22, 9, 9), bool)
    void[:9], void[13:] = True, True
    void[9:13, 4, 4] = True
    for reach in (1, 2):
        outlets = np.zeros_like(void)
        outlets[0, 0, 0] = True
        behind = behind_necks(void, outlets, reach)
        assert not behind[:9].any()
        assert behind[13:].sum() > 0.8 * 9**3
        outlets[21, 8, 8] = True
        assert not behind_necks(void, outlets, reach).any()


@pytest.mark.parametrize("reach", [1, 2, 3])
def test_a_round_passage_is_a_neck_where_a_ball_does_not_go_through(reach):
    """A ball of `reach` to all sides of its middle, through a bore as wide and one narrower."""
    y, z = np.meshgrid(np.arange(-5, 6), np.arange(-5, 6), indexing="ij")
    for radius, is_neck in ((reach, False), (reach - 0.5, True)):
        void = np.zeros((30, 11, 11), bool)
        void[:11], void[19:] = True, True
        void[11:19] = y**2 + z**2 <= (radius + 0.25) ** 2
        outlets = np.zeros_like(void)
        outlets[5, 5, 5] = True
        assert behind_necks(void, outlets, reach)[21:27].any() == is_neck
