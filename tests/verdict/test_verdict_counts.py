"""Pots, cradles, remarks and the worst place: made-up lands and plain shapes."""

from __future__ import annotations

import math
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

import squeeze
from squeeze.mold import section_of
from squeeze.mold.forces.loads import Loads
from squeeze.solve.closing import Deformation
from squeeze.solve.land import LandRange
from squeeze.solve.outcome import Outcome
from squeeze.verdict import judge, remarks
from squeeze.verdict.cradle import cradle_notes
from squeeze.verdict.film import film_limit_mm, thickest_mm
from squeeze.verdict.pot import pot_fit, with_bands_mm
from squeeze.verdict.quantities import quantities_of, shrinkage_of, shrunk, under_bands
from squeeze.verdict.section_verdict import say_unreached
from squeeze.verdict.short_cuts import short_cuts
from squeeze.verdict.words import length, length_with_error, pressure, reached

BLOCK = {
    "length_mm": 100,
    "rubber": {"shore_a": 20},
    "block": {"shape": "square", "width_mm": 100, "round_mm": 0},
    "band": [{"width_mm": 6, "thickness_mm": 1.5, "flat_length_mm": 90}],
}


def mold_of(**changed) -> squeeze.Mold:
    return squeeze.mold_of(BLOCK | changed)


# pots


@pytest.mark.parametrize(
    ("bore", "depth", "goes_in"),
    [(145.0, 100.0, True), (144.0, 100.0, False), (145.0, 99.9, False), (144.43, 100.0, True)],
)
def test_a_square_block_needs_its_diagonal_and_two_thicknesses_of_band(bore, depth, goes_in):
    """141.42 mm and twice 1.5; it stands 100 mm high."""
    fit = pot_fit(mold_of(pot={"bore_mm": bore, "depth_mm": depth}))
    assert fit.widest_mm == pytest.approx(100 * math.sqrt(2) + 3, abs=0.01)
    assert fit.high_mm == 100
    assert fit.goes_in is goes_in
    assert pot_fit(mold_of()) is None


def test_the_thickest_band_counts_and_one_without_a_size_as_nothing():
    free = with_bands_mm(mold_of(band=[{"tension_n": 2.0}]))
    assert free == pytest.approx(100 * math.sqrt(2), abs=0.01)
    both = [{"tension_n": 2.0}, BLOCK["band"][0], BLOCK["band"][0] | {"thickness_mm": 1.0}]
    assert with_bands_mm(mold_of(band=both)) == pytest.approx(free + 3)


@pytest.mark.parametrize(
    ("bore", "bevel"), [(140.0, 3.5), (130.0, 11.0), (103.6, 45.0), (102.9, None), (150.0, None)]
)
def test_the_least_bevel_that_lets_a_block_in_is_told(bore, bevel):
    """Of a leg b, two opposite corners of the bevels are hypot(100, 100 - 2 b) apart."""
    fit = pot_fit(mold_of(pot={"bore_mm": bore, "depth_mm": 200}))
    assert fit.bevel_mm == bevel
    if bevel:
        for leg, fits in ((bevel, True), (bevel - 0.5, False)):
            assert (math.hypot(100, 100 - 2 * leg) + 3 <= bore) is fits


def test_no_bevel_is_told_of_a_round_block_or_one_in_a_cradle():
    pot = {"bore_mm": 95, "depth_mm": 200}
    assert pot_fit(mold_of(block={"shape": "round", "diameter_mm": 100}, pot=pot)).bevel_mm is None
    board = {"covers": "top", "back": "flat", "thickness_mm": 18, "material": "plywood"}
    pot["bore_mm"] = 140
    assert pot_fit(mold_of(cradle=[board], pot=pot)).bevel_mm is None


# cradles


def seat(cut="top board", length_mm=50.0, share=1.0, gap=(0.0, 0.0, 0.0), slip=0.0):
    gap = np.array(gap)
    return SimpleNamespace(
        cut=cut, length_mm=length_mm, closed_share=share, gap_mm=gap,
        largest_gap_mm=float(gap.max()), slip_mm=np.array([0.0, slip, 9.0]),
        pressure_kpa=np.array([1.0, 1.0, 0.0]),
    )  # fmt: skip


def notes(*seats, joints=(), tension=0.5, outcome=Outcome.CONVERGED, cradles=()):
    return cradle_notes(
        SimpleNamespace(
            seats=seats, joints=joints, outcome=outcome, loads=Loads(tension_n_per_mm=tension),
            section=SimpleNamespace(cradles=cradles),
        )
    )  # fmt: skip


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ((seat(),), []),
        ((seat(share=0.98),), []),
        ((seat(share=0.0),), ["The piece 'top board' does not touch the block."]),
        (
            (seat(share=0.5, gap=(0.2, 0.0, 0.1)),),
            ["The piece 'top board' bears on 50 % of its seat and lifts at both ends, by up to"
             " 0.20 mm."],
        ),
        (
            (seat(share=0.97, gap=(0.2, 0.0, 0.0)),),
            ["The piece 'top board' bears on 97 % of its seat and rocks: it lifts at one end, by up"
             " to 0.20 mm."],
        ),
        (
            (seat(share=0.5, gap=(0.0, 0.3, 0.0)),),
            ["The piece 'top board' bears on 50 % of its seat and lifts between its ends, by up to"
             " 0.30 mm."],
        ),
        ((seat(slip=0.5),), []),
        ((seat(slip=-0.6),), ["The piece 'top board' slides by up to 0.6 mm."]),
        (
            (seat(length_mm=30, gap=(0.1, 0, 0)), seat(length_mm=10, share=0.0, gap=(0, 0, 0.4))),
            ["The piece 'top board' bears on 75 % of its seat and lifts at both ends, by up to"
             " 0.40 mm."],
        ),
    ],
)  # fmt: skip
def test_a_piece_of_a_cradle_bears_lifts_or_slides(given, said):
    assert notes(*given) == said
    assert notes(*given, outcome=Outcome.STEP_LIMIT) == []


def test_a_closed_joint_keeps_pull_from_the_block():
    """From a tenth of the bands' pull on it is told; a joint bears no more than all of it."""

    def joint(force):
        return SimpleNamespace(
            force_n_per_mm=force, x_mm=np.array([0.0, 2.0]), y_mm=np.array([0.0, 0.0])
        )

    def piece(name, away):
        return SimpleNamespace(
            name=name, loop=SimpleNamespace(nearest=lambda at: (0, 0, abs(at[0] - away)))
        )

    cradles = [piece("a", 1.5), piece("far", 30.0), piece("b", 1.0)]
    (said,) = notes(joints=[joint(0.05)], cradles=cradles)
    assert said.startswith("The joint between 'a' and 'b' is closed and keeps 10 % of the bands'")
    assert notes(joints=[joint(0.049)], cradles=cradles) == []
    assert "100 %" in notes(joints=[joint(0.7)], cradles=cradles)[0]
    assert notes(joints=[joint(0.7)], cradles=cradles, tension=0.0) == []


# remarks


def with_land(closed, **changed):
    return replace(closed, lands=(replace(closed.lands[0], **changed), *closed.lands[1:]))


def test_a_land_is_open_inside_away_from_a_twentieth_at_its_ends():
    """Of 35 mm that is 1.75; at least 1 mm counts as an end, at most a quarter of the land."""

    def land(length_mm, at_mm):
        s = np.linspace(0, length_mm, 141)
        gap = np.where(np.isclose(s, at_mm, atol=length_mm / 300), 0.1, 0.0)
        return SimpleNamespace(length_mm=length_mm, s_mm=s, gap_mm=gap)

    for length_mm, edge in ((35.0, 1.75), (14.0, 1.0), (2.8, 0.7)):
        step = length_mm / 140
        assert not remarks.open_inside(land(length_mm, edge - 0.01))
        assert remarks.open_inside(land(length_mm, edge + 1.01 * step))
        assert not remarks.open_inside(land(length_mm, length_mm - edge + 0.01))
        assert remarks.open_inside(land(length_mm, length_mm - edge - 1.01 * step))


def test_bands_help_where_every_leak_has_some_barrier(closed):
    """Up to a millionth of the highest pressure, 16 kPa, is rounding."""

    def help_with(*barriers):
        leaks = tuple(SimpleNamespace(barrier_kpa=each) for each in barriers)
        return remarks.bands_help(closed, SimpleNamespace(leaks=leaks))

    assert help_with()
    assert help_with(0.1, 17e-6)
    assert not help_with(0.1, 15e-6)
    assert not help_with(0.0)


def strained(closed, pct, is_large=False):
    trust = replace(closed.trust, largest_strain_pct=pct)
    how = Deformation(is_large=is_large)
    return remarks._strain(replace(closed, trust=trust, deformation=how), False)


def test_strain_is_told_over_10_pct_and_over_100_at_large_deformation(closed):
    assert strained(closed, 10.0) == []
    (said,) = strained(closed, 10.1)
    assert said.startswith("The rubber is strained by 10 % at x = 60 mm, y = 60 mm; over 10 % a")
    assert strained(closed, 100.0, is_large=True) == []
    (said,) = strained(closed, 101.0, is_large=True)
    assert said.endswith("rubber stiffens over 100 %, which this calculation leaves out.")


def test_other_states_are_as_far_apart_as_the_farthest_place(closed):
    ranges = tuple(
        LandRange(
            land.cut, land.land, np.array([land.pressure_kpa - 1 * k, land.pressure_kpa + 2 * k]),
            np.array([land.gap_mm, land.gap_mm + 0.01 * k]),
        )
        for k, land in enumerate(closed.lands)
    )  # fmt: skip
    several = replace(closed, ranges=ranges)
    assert remarks.states_apart(several) == (pytest.approx(0.02), pytest.approx(4.0))
    assert remarks.states_apart(closed) == (0.0, 0.0)
    assert remarks.several_states(several) == ""
    named = replace(several, trust=replace(closed.trust, outcome=Outcome.NOT_UNIQUE))
    assert "differ by up to 0.02 mm in gaps and 4.0 kPa in pressures." in (
        remarks.several_states(named)
    )
    alone = replace(named, ranges=())
    assert "differ" not in remarks.several_states(alone)


def small_and_large(closed, small, change=0.05):
    return replace(closed, deformation=Deformation(is_large=True, change=change, small=small))


def test_what_small_deformation_gives_is_told_where_it_reads_otherwise(closed, made_up):
    """A gap first, then the least, the mean and the highest pressure."""

    def told(small, change=0.05):
        return remarks.deformation_lines(small_and_large(closed, small, change))

    assert told(closed) == ()
    wider = made_up(gap=lambda x: np.where(np.abs(x) < 2, 0.2, 0.0)).closing()
    (said,) = told(wider)
    assert said.startswith("Small-strain theory gives a widest gap of 0.20 mm, not 0 mm.")
    assert told(wider, change=0.019) == ()
    assert told(wider, change=0.02) != ()
    less = with_land(closed, pressure_kpa=closed.lands[0].pressure_kpa - 5.0)
    assert "a least pressure of" in told(less)[0]
    lost = replace(closed, trust=replace(closed.trust, outcome=Outcome.STEP_LIMIT))
    assert told(lost) == ()


def test_an_answer_that_is_not_confirmed_says_how_far_it_came(closed):
    how = Deformation(outcome=Outcome.NOT_SETTLED, share=0.42)
    (said,) = remarks.deformation_lines(replace(closed, deformation=how))
    assert "at large deformation the calculation reached only 42 % of the load" in said
    assert remarks.deformation_lines(closed) == ()
    assert reached(0.0049) == "found no balance under the load"
    assert reached(0.005).startswith("reached only")
    assert reached(0.99) == "reached only 99 % of the load"
    assert reached(0.6) == "reached only 60 % of the load"


# the worst place


def test_the_worst_place_is_the_widest_gap_or_else_the_least_pressure(closed, gaping):
    worst = judge(closed).worst
    assert worst.pressure_kpa == pytest.approx(
        min(each.pressure_kpa.min() for each in closed.lands)
    )
    land = closed.lands[worst.land]
    assert worst.place == int(np.argmin(land.pressure_kpa))
    assert worst.x_mm == float(land.x_mm[worst.place])
    soft = with_land(closed, pressure_kpa=closed.lands[0].pressure_kpa - 8.0)
    assert judge(soft).worst.land == 0
    wide = judge(gaping).worst
    assert wide.gap_mm == max(each.largest_gap_mm for each in gaping.lands)
    assert judge(replace(closed, lands=())).worst is None


def test_cavities_that_no_cut_opens_are_listed():
    assert "'a', 'b' or 'c'" in say_unreached(("a", "b", "c"))
    assert "'a' or 'b'" in say_unreached(("a", "b"))


# words


@pytest.mark.parametrize(
    ("mm", "metric", "inches"),
    [
        (0.0, "0 mm", "0 in"), (0.0099, "under 0.01 mm", "under 0.001 in"), (0.01, "0.01 mm", None),
        (0.994, "0.99 mm", "0.039 in"), (1.0, "1.0 mm", None), (9.94, "9.9 mm", None),
        (10.0, "10 mm", "0.394 in"), (25.4, "25 mm", "1.00 in"), (-3.0, "-3.00 mm", None),
    ],
)  # fmt: skip
def test_lengths_have_the_digits_of_the_bench(mm, metric, inches):
    assert length(mm) == metric
    if inches:
        assert length(mm, inches=True) == inches


@pytest.mark.parametrize(
    ("kpa", "said"),
    [(0.0, "0 kPa"), (0.0099, "under 0.01 kPa"), (0.01, "0.01 kPa"), (2.994, "2.99 kPa"),
     (3.0, "3.0 kPa"), (19.94, "19.9 kPa"), (20.0, "20 kPa")],
)  # fmt: skip
def test_pressures_have_the_digits_of_the_bench(kpa, said):
    assert pressure(kpa) == said


def test_an_error_shows_where_its_digits_do():
    assert length_with_error(0.5, 0.0051) == "0.50 mm ± 0.01"
    assert length_with_error(0.5, 0.0049) == "0.50 mm"
    assert length_with_error(12.0, 0.6) == "12 mm ± 1"
    assert length_with_error(1.0, 0.06) == "1.0 mm ± 0.1"
    assert length_with_error(25.4, 0.2, inches=True) == "1.00 in ± 0.01"


# quantities


def test_shrinkage_bows_a_cut_by_two_layers_that_differ_in_strain():
    """3 e L^2 / (16 h) each, of layers half of the block's 100 mm thick; L = 100, e = 0.3 %."""
    rubber = {"shore_a": 20, "shrinkage_percent": 0.3}
    cut = [{"name": "across", "path_mm": [[-50, 0], [50, 0]], "bow_mm": 0.1}]
    mold = mold_of(rubber=rubber, cut=cut)
    exact = 2 * 3 * 0.003 * 100**2 / (16 * 50)
    assert shrinkage_of(mold).bow_mm == (("across", pytest.approx(exact)),)
    assert shrunk(mold).cut[0].bow_mm == pytest.approx(0.1 + exact)
    even = mold_of(rubber={"shore_a": 20, "shrinkage_percent": 0}, cut=cut)
    assert shrunk(even) is even
    assert shrunk(mold_of(cut=cut)).cut[0].bow_mm == 0.1
    flat = {"shape": "rectangle", "width_mm": 100, "height_mm": 60, "round_mm": 0}
    low = mold_of(rubber=rubber, cut=cut, block=flat)
    assert shrinkage_of(low).bow_mm[0][1] == pytest.approx(exact * 100 / 60)
    hole = [{"name": "rod", "shape": "rectangle", "width_mm": 30, "height_mm": 20}]
    sizes = shrinkage_of(mold_of(rubber=rubber, cut=cut, cavity=hole)).sizes
    assert sizes == (("rod", pytest.approx(0.09), pytest.approx(0.06)),)


def test_quantities_add_up():
    """A block of 100 x 100 x 100 mm with a bore of 20 x 20, two fillings, a tenth of waste."""
    mold = mold_of(
        rubber={"shore_a": 20, "density_g_cm3": 1.1, "price_per_kg": 20, "waste_percent": 10,
                "mix_by_weight": [10, 1]},
        cavity=[{"name": "rod", "shape": "square", "width_mm": 20, "round_mm": 0}],
        cut=[{"path_mm": [[-50, 0], [50, 0]]}],
        resin={"head_mm": 50, "density_g_cm3": 1.2, "price_per_kg": 30, "castings": 2,
               "waste_percent": 25},
        sprue={"diameter_mm": 10, "height_mm": 40, "count": 2},
    )  # fmt: skip
    found = quantities_of(mold)
    sprue = 2 * math.pi / 4 * 100 * 40 / 1000
    assert found.box_mm == pytest.approx((100, 100, 100))
    assert found.rubber.mass_g == pytest.approx(1056)
    assert found.rubber_mixed.mass_g == pytest.approx(1161.6)
    assert found.rubber_mixed.parts_g == pytest.approx((1056, 105.6))
    assert found.sprue_cm3 == pytest.approx(sprue)
    assert found.resin.mass_g == pytest.approx(1.2 * (40 + sprue))
    assert found.resin_mixed.mass_g == pytest.approx(2 * 1.25 * 1.2 * (40 + sprue))
    assert found.lifted_g == pytest.approx(1056 + found.resin.mass_g)
    both = 0.02 * 1161.6 + 0.03 * found.resin_mixed.mass_g
    assert found.price == pytest.approx(both)
    assert found.saved_by_outline_cm3 == pytest.approx(0.0, abs=1e-6)
    assert found.vessel_cm3 == pytest.approx(4 * 1.1 * 960)
    assert quantities_of(mold_of()).price is None


@pytest.mark.parametrize(
    ("resin", "strain", "said"),
    [
        (None, None, "Take the bands off after demolding"),
        (None, 0.49, "Take the bands off after demolding"),
        (None, 0.5, "Under its bands, strained by up to 0 %. Take"),
        ((119, 1), None, "Under its bands: 119 min. Take"),
        ((120, 1), 7.0, "Under its bands, strained by up to 7 %: 2.0 h. Take"),
        ((60, 3), None, "Under its bands: 60 min a filling, 3.0 h in all for 3. Take"),
        ((None, 3), 7.0, "Under its bands, strained by up to 7 %. Take"),
    ],
)
def test_how_long_a_block_lies_under_its_bands(resin, strain, said):
    table = None if resin is None else SimpleNamespace(demold_min=resin[0], castings=resin[1])
    assert under_bands(table, strain).startswith(said)


# films and short cuts


def test_the_thickest_film_of_all_cuts_counts(monkeypatch):
    cuts = [SimpleNamespace(film_mm=(0.1, 0.3)), SimpleNamespace(film_mm=(0.2,))]
    assert thickest_mm(SimpleNamespace(cuts=cuts)) == 0.3
    assert thickest_mm(SimpleNamespace(cuts=[])) == 0.0


@pytest.mark.parametrize(("until", "limit"), [(0.37, 0.37), (1.9, 1.9), (2.5, 2.0), (-1.0, None)])
def test_the_film_before_a_land_leaks_is_found_by_halving(monkeypatch, until, limit):
    """Films of 0.4 and 0.2 mm scaled alike; a land leaks where the thicker one passes a limit."""
    from squeeze.verdict import film

    cuts = [SimpleNamespace(film_mm=(0.4,)), SimpleNamespace(film_mm=(0.2,))]
    section = SimpleNamespace(cuts=cuts)
    monkeypatch.setattr(film, "_seals", lambda section, loads, times: 0.4 * times <= until)
    found = film_limit_mm(section, None)
    assert found == (None if limit is None else pytest.approx(limit, abs=2.0 / 2**8))
    assert found is None or found <= max(until, 0)
    bare = SimpleNamespace(cuts=[SimpleNamespace(film_mm=(0.0,))])
    assert film_limit_mm(bare, None) is None


def test_ends_in_rubber_are_told_with_where_they_would_come_out_first():
    """On a slant of 3 : 4 from (0, 0) through (30, 40): out at (37.5, 50), 12.5 mm on."""
    cuts = [
        {"name": "a", "path_mm": [[-50, -20], [50, -20]]},
        {"name": "b", "path_mm": [[0, -20], [30, 20]]},
    ]
    (found,) = short_cuts(section_of(mold_of(cut=cuts)))
    assert (found.cut, found.number, found.at_start) == ("b", 1, False)
    assert found.at_mm == pytest.approx((30, 20))
    assert found.out_mm == pytest.approx((50, 20 + 20 * 4 / 3), abs=1e-3)
    assert found.short_mm == pytest.approx(20 * 5 / 3)
