"""What acts on a section, counted by hand from the mold file."""

import numpy as np
import pytest

from squeeze.mold import loads_of, section_of, wrap_mm
from squeeze.mold.file.mold_file import mold_of
from squeeze.mold.forces import bands
from squeeze.mold.forces.band_sizes import SIZES
from squeeze.mold.forces.loads import ElasticBands, Loads, Push, resin_ends_mpa

G = 9.80665


def a_mold(**tables):
    base = {
        "length_mm": 200,
        "rubber": {"shore_a": 20},
        "block": {"shape": "square", "width_mm": 100, "round_mm": 0},
    }
    return mold_of(base | tables)


def loads(mold):
    return loads_of(mold, section_of(mold))


def test_nothing_acts_on_a_bare_block():
    assert loads(a_mold()) == Loads()


def test_bands_of_no_pull_pull_nothing():
    for band in ({"tension_n_per_mm": 0}, {"tension_n": 0}, {"tension_n": 5, "count": 0}):
        assert loads(a_mold(band=[band])).tension_n_per_mm == 0


def test_a_push_is_its_force_over_its_width_at_the_nearest_place_of_the_outside():
    mold = a_mold(
        push=[
            {"at_mm": [80, 10], "width_mm": 20, "force_n_per_mm": 0.5},
            {"at_mm": [-50, 10], "width_mm": 25, "force_n_per_mm": 0.5},
            {"pressure_kpa": 3},
            {"pressure_kpa": 4},
        ]
    )
    found = loads(mold)
    assert found.pushes[0] == Push((pytest.approx(50), pytest.approx(10)), 20, 0.5 / 20)
    assert found.pushes[1] == Push((pytest.approx(-50), pytest.approx(10)), 25, 0.5 / 25)
    assert found.all_round_mpa == pytest.approx(0.007)
    assert found.is_pushed
    assert not Loads(tension_n_per_mm=1.0, cavity_mpa=0.1).is_pushed
    assert Loads(all_round_mpa=0.1).is_pushed


def test_a_push_on_a_board_stands_on_its_back():
    board = {"covers": "top", "thickness_mm": 18, "material": "plywood"}
    mold = a_mold(cradle=[board], push=[{"at_mm": [0, 60], "width_mm": 20, "force_n_per_mm": 1.0}])
    assert loads(mold).pushes[0].at_mm == pytest.approx((0, 68), abs=0.05)


def test_resin_presses_by_its_head_or_as_it_is_given():
    assert loads(a_mold(resin={"pressure_kpa": 5})).cavity_mpa == pytest.approx(0.005)
    assert loads(a_mold(resin={"pressure_kpa": 0})).cavity_mpa == 0.0
    head = loads(a_mold(resin={"head_mm": 150, "density_g_cm3": 1.2, "enters_cuts": False}))
    assert head.cavity_mpa == pytest.approx(1200 * G * 0.15 * 1e-6)
    assert not head.enters_cuts
    assert loads(a_mold(resin={"head_mm": 150})).enters_cuts


def test_a_standing_block_bears_its_own_length_of_resin_at_its_foot():
    resin = {"head_mm": 50, "density_g_cm3": 1.1, "standing": True}
    foot, top = resin_ends_mpa(a_mold(resin=resin))
    assert top == pytest.approx(1100 * G * 0.05 * 1e-6)
    assert foot == pytest.approx(1100 * G * 0.25 * 1e-6)
    assert loads(a_mold(resin=resin)).cavity_mpa == pytest.approx(foot)
    lying = resin_ends_mpa(a_mold(resin=resin | {"standing": False}))
    assert lying == (pytest.approx(top), pytest.approx(top))
    assert resin_ends_mpa(a_mold()) == (0.0, 0.0)


def test_a_band_goes_round_the_hull_of_block_and_boards():
    """Round a square of 100 mm; with a flat board 18 mm thick on its top, 100 x 118 mm."""
    assert wrap_mm(section_of(a_mold())) == pytest.approx(400)
    board = {"covers": "top", "thickness_mm": 18, "material": "plywood", "round_mm": 0}
    assert wrap_mm(section_of(a_mold(cradle=[board]))) == pytest.approx(436, abs=0.01)


def test_loads_grow_all_alike():
    once = Loads(0.5, (Push((1, 2), 3, 0.25),), 0.01, 0.002, False)
    twice = once.scaled(2.0)
    assert twice == Loads(1.0, (Push((1, 2), 3, 0.5),), 0.02, 0.004, False)


def test_an_elastic_band_pulls_by_its_law_and_the_rest_stays():
    """Flat 50 mm, so 100 mm round: at 200 and 300 mm it is stretched 2 and 3 times."""
    band = ElasticBands(share=0.25, flat_length_mm=50, wrap_mm=200)
    assert band.times(200) == 1.0
    assert band.times(300) == pytest.approx((3 - 1 / 9) / (2 - 1 / 4))
    assert band.times(90) == 0.0
    both = Loads(tension_n_per_mm=0.8, elastic=(band,))
    assert both.pull_n_per_mm(300) == pytest.approx(0.6 + 0.2 * band.times(300))


@pytest.mark.parametrize(
    ("stretch", "says"),
    [
        (0.99, "hangs loose"),
        (1.01, "pulls little"),
        (1.49, "pulls little"),
        (1.499, "stretched to just under 1.5 times"),
        (1.51, None),
        (2.99, None),
        (3.001, "stretched to just over 3 times"),
        (3.01, "may snap"),
    ],
)
def test_the_stretch_at_which_a_band_works(stretch, says):
    size = {"width_mm": 6, "thickness_mm": 1, "flat_length_mm": 200 / stretch}
    notes = bands.band_notes(a_mold(band=[size]), 400.0)
    assert [says in note for note in notes] == ([True] if says else [])


def test_bands_that_are_counted_pull_by_their_number_over_the_length():
    mold = a_mold(
        band=[
            {"tension_n": 4, "count": 5},
            {"tension_n": 3, "at_mm": [10, 20, 150]},
            {"tension_n": 7, "count": 0},
        ]
    )
    assert loads(mold).tension_n_per_mm == pytest.approx((5 * 4 + 3 * 3) / 200)
    assert loads(mold).grips == ()
    assert loads(mold).elastic == ()


def test_sizes_in_inches():
    """A 64 is 3.5 inches flat, 1/4 wide, 1/32 thick (common practice, from memory)."""
    (own,) = loads(a_mold(band=[{"stock": "64"}])).elastic
    assert own.flat_length_mm == pytest.approx(3.5 * 25.4)
    assert own.share == 1.0
    stretch = 400 / 7 / 25.4
    law = 0.4 * (stretch - stretch**-2) * (25.4 / 4) * (25.4 / 32)
    assert loads(a_mold(band=[{"stock": "64"}])).tension_n_per_mm == pytest.approx(law / 200)
    assert np.isclose(own.wrap_mm, 400)


@pytest.mark.parametrize("idle", [{"count": 0}, {"count": 3, "flat_length_mm": 220}])
def test_bands_that_do_not_pull_have_no_share(idle):
    """None of them, or too long for 400 mm once round: alone, and beside one that pulls."""
    none = {"width_mm": 6, "thickness_mm": 1, "flat_length_mm": 90, "friction": 0.3} | idle
    alone = loads(a_mold(band=[none]))
    assert (alone.tension_n_per_mm, alone.elastic, alone.grips) == (0.0, (), ())
    beside = loads(a_mold(band=[none, {"tension_n": 10, "friction": 0.1}]))
    assert beside.tension_n_per_mm == pytest.approx(10 / 200)
    assert beside.elastic == ()
    assert [grip.share for grip in beside.grips] == [1.0]


@pytest.mark.parametrize("number", ["31", "32", "33"])
def test_the_size_that_stretches_to_twice_its_length_is_advised_whatever_the_one_at_hand(number):
    """All three are 1/8 inch wide; 31, 32 and 33 are 2.5, 3 and 3.5 inches flat (from memory)."""
    wrap = 2 * 2 * SIZES[number].flat_length_mm
    for at_hand in ("31", "32", "33"):
        assert bands.stretching_well(SIZES[at_hand], wrap) == (number, SIZES[number])


@pytest.mark.parametrize(("times", "notes"), [(0.99, 1), (1.0, 0), (1.5, 0), (2.0, 0), (2.01, 1)])
def test_a_weighed_band_is_told_outside_of_what_was_weighed(times, notes):
    """Weighed from 100 to 200 mm between the hooks; a turn of 400 mm lays them 200 mm apart."""
    mold = a_mold(band=[{"weighed_g": [[100, 200], [200, 800]]}])
    said = bands.band_notes(mold, 200.0 * times)
    assert len(said) == notes
    if notes:
        assert f"would be {100 * times:.0f} mm apart" in said[0]


def test_a_push_lies_on_the_nearest_of_block_and_boards():
    """A board on the top, 18 mm thick: a hand beside it stands on the block's side."""
    board = {"covers": "top", "thickness_mm": 18, "material": "plywood", "round_mm": 0}
    push = [
        {"at_mm": [70, 20], "width_mm": 20, "force_n_per_mm": 1.0},
        {"at_mm": [0, 50], "width_mm": 40, "force_n_per_mm": 1.0},
        {"at_mm": [10, -45], "width_mm": 10, "force_n_per_mm": 1.0},
    ]
    side, top, bottom = loads(a_mold(cradle=[board], push=push)).pushes
    assert side.at_mm == pytest.approx((50, 20), abs=0.01)
    assert top.at_mm[1] == pytest.approx(68, abs=0.01)  # in the seam between both no hand can push
    assert bottom.at_mm == pytest.approx((10, -50), abs=0.01)
    assert [push.pressure_mpa for push in (side, top, bottom)] == [0.05, 0.025, 0.1]


@pytest.mark.parametrize(
    ("wrap", "says"), [(200.0, "hangs loose"), (300.0, None), (450.0, None), (600.0, None)]
)
def test_a_band_works_from_one_and_a_half_to_three_times_both_included(wrap, says):
    """Flat 100 mm: once round 200 mm it is as long as it was, and pulls nothing."""
    mold = a_mold(band=[{"width_mm": 6, "thickness_mm": 1, "flat_length_mm": 100}])
    notes = bands.band_notes(mold, wrap)
    assert [says in note for note in notes] == ([True] if says else [])
    assert (bands.strand_n(mold.band[0], wrap) == 0) == (wrap == 200)
