"""Necks, pockets of air, vents over them and sprues that are moved, against counts by hand."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

import squeeze
from squeeze.mold import section_of
from squeeze.verdict.air import pockets
from squeeze.verdict.air.flood import caught
from squeeze.verdict.air.pockets import (
    ATMOSPHERE_KPA,
    Air,
    Pocket,
    air_in,
    air_of,
    boyle,
    filling_of,
    met_straight_up,
    pockets_at,
)
from squeeze.verdict.air.remedy import Tilt, best_sprue
from squeeze.verdict.air.void import Outlets, Void

G = 9.80665


def mold_of(cavity, length_mm=20, **tables):
    plain = {
        "length_mm": length_mm,
        "rubber": {"shore_a": 20},
        "block": {"shape": "rectangle", "width_mm": 120, "height_mm": 100},
        "cavity": cavity,
    }
    return squeeze.mold_of(plain | tables)


def test_the_air_presses_as_760_mm_of_mercury():
    """Of 13.5951 g/cm3; twice that in all halves a volume, and nothing more leaves it."""
    assert pytest.approx(13.5951 * G * 0.760, rel=1e-5) == ATMOSPHERE_KPA
    assert boyle(30.0, 0.0) == 30.0
    assert boyle(30.0, 101.325) == pytest.approx(15.0)


# necks


def hourglass(slot_mm):
    """Return two rooms of 12 x 8 mm over each other, and a slot 4 mm high between them."""
    a, b = -1.5, slot_mm - 1.5
    right, left = ([[w, 0], [w, 4]] for w in (b, a))
    points = [[6, -8], [6, 0], *right, [6, 4], [6, 12]]
    points += [[-6, 12], [-6, 4], *left[::-1], [-6, 0], [-6, -8]]
    return {"name": "glass", "points_mm": points, "round_mm": 0}


@pytest.mark.parametrize(("slot_mm", "is_neck"), [(1.0, True), (2.5, True), (3.5, False)])
def test_a_room_under_a_slot_narrower_than_3_mm_may_keep_its_air(slot_mm, is_neck):
    """It holds 12 x 8 x 20 mm less its edges; a vent over it would cross the upper cut."""
    cut = [{"name": name, "path_mm": [[-60, y], [60, y]]} for name, y in (("low", -20), ("up", 20))]
    found = air_of(mold_of([hourglass(slot_mm)], cut=cut))
    assert found.grid_mm == 0.5
    if not is_neck:
        assert found.pockets == ()
        return
    (pocket,) = found.pockets
    assert (pocket.kind, pocket.cavity, pocket.crosses) == ("neck", "glass", ("up",))
    assert 0.9 * 12 * 8 * 20 < pocket.volume_mm3 <= 12 * 8 * 20
    assert pocket.in_pot_mm3 is None
    x, y, along = pocket.at_mm
    assert along == pytest.approx(10, abs=0.5)
    assert abs(x) < 1.5
    assert 0 <= y + 0.5 <= 1.5
    assert found.tilt is None  # what a neck keeps no tilt lets out
    assert found.other_sprue is None


# pockets


def column(high, x):
    """Return a rod of 6 mm at x, from y = 0 up to `high`."""
    return {
        "shape": "rectangle", "width_mm": 6, "height_mm": high, "round_mm": 0,
        "centre_mm": [x, high / 2], "name": f"at {x}",
    }  # fmt: skip


def comb():
    """Return a trough with three arms of 10, 20 and 30 mm, the middle one the highest."""
    return {
        "name": "comb",
        "points_mm": [
            [-40, -10], [40, -10], [40, 20], [30, 20], [30, 0], [5, 0], [5, 30], [-5, 30], [-5, 0],
            [-30, 0], [-30, 10], [-40, 10],
        ],
        "round_mm": 0,
    }  # fmt: skip


def test_pockets_are_listed_by_their_volume_each_with_its_own_place(monkeypatch):
    """The sprue is at the trough's end: each arm keeps 10 mm times its height times 20 mm."""
    monkeypatch.setattr(pockets, "best_tilt", lambda *_: None)  # it takes a second
    sprue = {"diameter_mm": 6, "height_mm": 40, "at_mm": [-20, 0]}
    found = air_of(mold_of([comb()], sprue=sprue, pot={
        "bore_mm": 300, "depth_mm": 300, "pressure_kpa": 2 * 101.325,
    }))  # fmt: skip
    off = 10 * 20 * 2 * found.grid_mm
    for pocket, (x, high) in zip(found.pockets, ((0, 30), (35, 20), (-35, 10)), strict=True):
        assert pocket.at_mm[0] == pytest.approx(x, abs=found.grid_mm)
        assert pocket.volume_mm3 == pytest.approx(10 * 20 * high, abs=off)
        assert pocket.at_mm[1] == pytest.approx(high, abs=1.5 * found.grid_mm)
        assert pocket.in_pot_mm3 == pytest.approx(pocket.volume_mm3 / 3)
    assert found.volume_mm3 == pytest.approx(sum(p.volume_mm3 for p in found.pockets))
    mold = mold_of([comb()], sprue=sprue)
    asked, _ = pockets_at(mold, filling_of(mold))
    assert [p.volume_mm3 for p in asked] == [p.volume_mm3 for p in found.pockets]


@pytest.mark.parametrize(("places", "is_told"), [(1, False), (2, True), (3, True)])
def test_air_of_less_than_a_cubic_millimetre_is_not_told(places, is_told):
    """Places 2 mm apart and 0.5 mm wide hold half a cubic millimetre; a lone one an eighth."""
    mold = mold_of([{"shape": "round", "diameter_mm": 20, "name": "rod"}])
    filled = np.ones((places, 1, 1), bool)
    void = Void(filled, np.arange(places) * 2.0, np.zeros(1), np.zeros(1), 0.5)
    found = pockets._pockets(mold, void, filled, (0, 1, 0), "high point")
    assert [p.volume_mm3 for p in found] == ([0.5 * places] if is_told else [])


def test_a_pocket_is_told_of_the_station_and_the_cavity_nearest_to_it():
    stations = [
        {"at_mm": 5, "cavity": [column(20, -30) | {"name": "a"}, column(20, 30) | {"name": "b"}]},
        {"at_mm": 15, "cavity": [column(20, -30) | {"name": "c"}, column(20, 30) | {"name": "d"}]},
    ]
    mold = mold_of([column(20, -30)], station=stations)
    for x, z, name in ((-29, 9, "a"), (29, 9, "b"), (-29, 11, "c"), (45, 30, "d"), (1, 0, "b")):
        void = Void(np.ones((1, 1, 1), bool), *(np.array([float(v)]) for v in (x, 5, z)), 2.0)
        (pocket,) = pockets._pockets(mold, void, void.filled, (0, 1, 0), "high point")
        assert (pocket.cavity, pocket.at_mm) == (name, (x, 5, z))


def test_a_vent_goes_the_way_that_points_up():
    """Four cavities and two cuts round a bead; aslant it meets cuts alone, or nothing."""
    cavity = [
        {"name": name, "shape": "round", "diameter_mm": 8, "centre_mm": at}
        for name, at in (("bead", [0, 0]), ("over", [0, 25]), ("right", [25, 0]),
                         ("left", [-25, 0]), ("under", [0, -25]))
    ]  # fmt: skip
    cut = [
        {"name": "roof", "path_mm": [[-60, 40], [60, 40]]},
        {"name": "wall", "path_mm": [[45, -50], [45, 50]]},
    ]
    section = section_of(mold_of(cavity, cut=cut))
    met = {
        (0, 1, 0): (("roof",), ("over",)),
        (1, 0, 0): (("wall",), ("right",)),
        (-1, 0, 0): ((), ("left",)),
        (0, -1, 0): ((), ("under",)),
        (0, 0, 1): ((), ()),
        (0.6, 0, 0.8): (("wall",), ("right",)),
        (0, 0.6, 0.8): (("roof",), ("over",)),
        (0.6, 0.6, 0.5): (("roof", "wall"), ()),
        (-0.6, -0.8, 0): ((), ()),
    }
    assert {up: met_straight_up((0.0, 0.0), up, section, "bead") for up in met} == met
    assert met_straight_up((0.0, 25.0), (0, -1, 0), section, "over") == ((), ("bead", "under"))


# remedies


def test_a_side_is_raised_however_little():
    assert Tilt(0.5, -0.5, 0.0).raised == (("right side", 0.5), ("start", 0.5))
    assert Tilt(0.0, 0.25, 0.0).raised == (("far end", 0.25),)


@pytest.mark.parametrize(("left", "is_told"), [(0.899, True), (0.9, False), (1.2, False)])
def test_a_tilt_is_told_where_it_gains_on_the_finer_grid_as_well(monkeypatch, left, is_told):
    """Found to leave nothing on the coarser one; the finer one says how much it leaves."""
    air = {(0.0, 1.0, 0.0): 1000.0}

    def found(mold, void, held, up, kind):
        return [SimpleNamespace(volume_mm3=air.get(tuple(up), 1000.0 * left / 2))] * (
            1 if tuple(up) in air else 2
        )

    monkeypatch.setattr(pockets, "_pockets", found)
    monkeypatch.setattr(pockets, "caught", lambda *_: None)
    void = SimpleNamespace(filled=None, height=lambda up: None, grid_mm=1.0)
    told = pockets._told_on(void, Tilt(30.0, 0.0, 0.0), None, SimpleNamespace(flags=None))
    assert (told is not None) is is_told
    if is_told:
        assert told == Tilt(30.0, 0.0, pytest.approx(1000 * left))


def test_the_sprue_of_one_cavity_is_moved_and_that_of_the_other_stays():
    """Two U of six places' height side by side, each with its sprue on a lower arm.

    The arms of the left one end at 3 and 5, of the right one at 4 and 5.
    """
    filled = np.zeros((9, 1, 6), bool)
    for x, top in ((0, 3), (2, 5), (6, 4), (8, 5)):
        filled[x, 0, : top + 1] = True
    filled[0:3, 0, 0] = filled[6:9, 0, 0] = True
    axes = (np.arange(9.0), np.zeros(1), np.arange(6.0))
    void = Void(filled, *axes, 1.0)
    sprues, vents = np.zeros_like(filled), np.zeros_like(filled)
    sprues[0, 0, 3] = sprues[6, 0, 4] = True
    outlets = Outlets(sprues, vents, ((0, 0, 3), (6, 0, 4)))
    now = caught(filled, void.height((0, 0, 1)), sprues, 1.0).sum()
    found = best_sprue(void, (0, 0, 1), outlets, [(2.0, 0.0, 5.0), (8.0, 0.0, 5.0)])
    assert now > 0
    assert found is not None
    moved = np.zeros_like(filled)
    moved[2, 0, 5] = moved[6, 0, 4] = True
    assert found.volume_mm3 == caught(filled, void.height((0, 0, 1)), moved, 1.0).sum()


def test_all_air_is_the_sum_of_its_pockets_and_of_none_nothing():
    each = Pocket("rod", (0, 0, 0), 7.0, None, "neck", ())
    assert Air((each, each), (), None, None, 1.0).volume_mm3 == 14.0
    assert Air((), (), None, None, 1.0).volume_mm3 == 0


@pytest.mark.parametrize("n", [0, 2])
def test_where_air_was_looked_for_is_told(n):
    rod = {"shape": "round", "diameter_mm": 20}
    stations = [{"at_mm": 5.0 + 10 * k, "cavity": [rod]} for k in range(n)]
    mold = mold_of([rod], **({"station": stations} if n else {}))
    filling = filling_of(mold)
    found = air_in(mold, filling)
    assert found.source == filling.source == ("stations" if n else "section")
    assert found.note == ""
