"""Variations, their ranges and their sentences: made-up figures, nothing solved."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import product
from types import SimpleNamespace

import pytest

from squeeze.mold.forces.loads import Loads, Push
from squeeze.solve.closing import Deformation
from squeeze.solve.outcome import Outcome
from squeeze.verdict.figures import MEASURES, NO_FIGURES, Figures
from squeeze.verdict.uncertainty import (
    PULL,
    STIFFNESS,
    Uncertainty,
    Variation,
    friction_bounds,
    in_common,
    pulled,
    say_left_out,
    say_variations,
    scaled,
    stiffer,
    varies,
)
from squeeze.verdict.uncertainty import ranges as ranges_module
from squeeze.verdict.uncertainty import varied_closings as closings_module
from squeeze.verdict.uncertainty.ranges import fineness_of_variations, ranges_of
from squeeze.verdict.uncertainty.varied_closings import (
    as_stiff,
    deformation_of,
    varied_closings,
    varied_with_bodies,
)


def figures(solved=True, **values) -> Figures:
    given = dict.fromkeys(MEASURES, 1.0) | {"seals": True, "closes": True, "grade": "Clean"}
    return Figures(solved, dict(NO_FIGURES.values) | given | values)


def varied(of=lambda *_: figures(), **more) -> Uncertainty:
    found = tuple(Variation(*case, of(*case)) for case in product(STIFFNESS, ("low", "high"), PULL))
    return Uncertainty(figures(), found, (), (), **more)


def test_a_quarter_of_the_modulus_and_a_fifth_of_the_pull_are_varied():
    assert STIFFNESS == (0.75, 1.0, 1.25)
    assert PULL == (0.8, 1.2)


@pytest.mark.parametrize(
    ("friction", "low", "high"),
    [(0.0, 0.0, 0.5), (0.1, 0.05, 0.5), (0.25, 0.125, 0.5), (0.3, 0.15, 0.6), (2.0, 1.0, 3.0)],
)
def test_friction_is_halved_and_doubled_and_at_least_that_of_clean_rubber(friction, low, high):
    assert friction_bounds(friction) == pytest.approx((low, high))


def test_a_range_is_the_least_and_the_most_of_it_and_all_variations():
    given = figures(margin=3.0, largest_gap_mm=0.1)
    found = [
        Variation(1.0, "low", 0.8, figures(margin=2.0, largest_gap_mm=0.2)),
        Variation(1.0, "low", 1.2, figures(margin=2.5, largest_gap_mm=0.05)),
    ]
    by_name = {each.name: each for each in ranges_of(given, found)}
    assert tuple(by_name) == MEASURES
    margin, gap = by_name["margin"], by_name["largest_gap_mm"]
    assert (margin.given, margin.low, margin.high) == (3.0, 2.0, 3.0)
    assert (gap.given, gap.low, gap.high) == (0.1, 0.05, 0.2)


def test_a_variation_without_an_answer_counts_with_the_worst_there_is():
    lost = Variation(1.0, "low", 0.8, NO_FIGURES)
    fine = Variation(1.0, "low", 1.2, figures())
    by_name = {each.name: each for each in ranges_of(figures(), [lost, fine])}
    assert (by_name["margin"].low, by_name["margin"].high) == (0.0, 1.0)
    assert (by_name["largest_gap_mm"].low, by_name["largest_gap_mm"].high) == (1.0, math.inf)


def test_what_the_mold_does_not_say_and_what_was_not_varied_has_no_range():
    unknown = Variation(1.0, "low", 0.8, figures(flash_mass_g=None))
    by_name = {each.name: each for each in ranges_of(figures(flash_mass_g=None), [unknown])}
    assert math.isnan(by_name["flash_mass_g"].low)
    assert by_name["margin"].low == 1.0
    assert all(math.isnan(each.high) for each in ranges_of(figures(), []))


def test_variations_are_counted():
    def of(k, friction, pull):
        if k == STIFFNESS[0] and friction == "low":
            return NO_FIGURES
        return figures(seals=pull == PULL[1], closes=friction == "high")

    found = varied(of)
    assert (found.unsolved, found.seals_in, found.closes_in) == (2, 5, 6)
    assert (found.fineness, found.left_out, found.film_limit_mm) == (1.0, 0, None)
    ranged = replace(found, ranges=ranges_of(figures(), list(found.variations)))
    assert ranged.range_of("margin").name == "margin"
    assert repr(ranged).startswith("Uncertainty: 12 variations; it seals in 5, closes in 6\n")


def test_a_variation_s_mesh_has_half_the_unknowns_where_a_block_has_too_many():
    """At large deformation 6,000 are allowed, at small 12,000; the fineness is halved at most."""
    assert fineness_of_variations(6000) == 1.0
    assert fineness_of_variations(6001) == pytest.approx(math.sqrt(3000 / 6001))
    assert fineness_of_variations(12_000, "small") == 1.0
    assert fineness_of_variations(16_000, "small") == pytest.approx(math.sqrt(6000 / 16_000))
    assert fineness_of_variations(24_001, "small") == 0.5


# sentences


def test_all_variations_in_a_sentence():
    what = "(rubber 25 % softer to 25 % stiffer, friction low and high, bands 20 % slacker and"
    what += " tighter)"
    assert say_variations(varied()) == f"It closes all along and seals in all 12 variations {what}."
    slack = varied(lambda k, f, p: figures(seals=p != PULL[0], closes=p != PULL[0]))
    assert say_variations(slack) == (
        f"It closes all along and seals in 6 of 12 variations {what}; the others have slack bands."
    )
    apart = varied(lambda *_: figures(closes=False), fineness=0.7, left_out=3)
    assert say_variations(apart) == (
        f"It seals in all 12 variations, and closes all along in none of 12 variations {what}."
        " The variations are on a coarser mesh."
        " 3 more were not computed: this block takes too long."
    )


def test_variations_without_an_answer_are_told():
    one = varied(lambda *case: NO_FIGURES if case == (0.75, "low", 0.8) else figures())
    assert "; the others have slack bands and low friction and soft rubber. 1 variation has no" in (
        say_variations(one)
    )
    several = varied(lambda k, f, p: NO_FIGURES if f == "low" else figures())
    assert "low friction. 6 variations have no answer and count as failures." in (
        say_variations(several)
    )
    assert say_left_out(varied(left_out=1)).startswith(" 1 more was not")
    assert say_left_out(varied()) == ""


@pytest.mark.parametrize(
    ("is_bad", "common"),
    [
        (lambda k, f, p: p == 0.8, "slack bands"), (lambda k, f, p: p == 1.2, "tight bands"),
        (lambda k, f, p: f == "low", "low friction"),
        (lambda k, f, p: f == "high", "high friction"),
        (lambda k, f, p: k == 0.75, "soft rubber"), (lambda k, f, p: k == 1.25, "stiff rubber"),
        (lambda k, f, p: k == 1.0, ""), (lambda *_: True, ""), (lambda *_: False, ""),
        (lambda k, f, p: k != 0.75 and p == 0.8, "slack bands"),
    ],
)  # fmt: skip
def test_what_variations_have_in_common(is_bad, common):
    found = varied(lambda *case: figures(seals=not is_bad(*case)))
    assert in_common(found, lambda each: not each.seals) == common
    assert in_common(replace(found, left_out=1), lambda each: not each.seals) == ""


# closings


def test_pull_leaves_the_resin_and_scaling_does_not():
    loads = Loads(tension_n_per_mm=0.5, cavity_mpa=0.004, pushes=(Push((10.0, 0.0), 5.0, 0.02),))
    more = pulled(loads, 1.2)
    assert (more.tension_n_per_mm, more.cavity_mpa) == (pytest.approx(0.6), 0.004)
    assert more.pushes[0] == scaled(loads, 1.2).pushes[0] != loads.pushes[0]
    assert scaled(loads, 2.0).cavity_mpa == 0.008


def test_stiffer_rubber_under_as_much_more_load_presses_as_much_harder(closed):
    loads = Loads(tension_n_per_mm=9.0)
    found = as_stiff(closed, 1.25, loads)
    for now, then in zip(closed.lands, found.lands, strict=True):
        assert then.pressure_kpa == pytest.approx(1.25 * now.pressure_kpa)
        assert then.shear_kpa == pytest.approx(1.25 * now.shear_kpa)
        assert (then.gap_mm == now.gap_mm).all()
    assert found.loads == loads
    E = closed.section.material.youngs_modulus_mpa
    assert stiffer(closed.section, 1.25).material.youngs_modulus_mpa == pytest.approx(1.25 * E)


class Work:
    """An allowance that notes what is closed, and runs out after so many."""

    def __init__(self, closing, most=99, is_large=False) -> None:
        self.closing, self.most, self.ran_out = closing, most, False
        self.is_large = is_large
        self.asked: list[dict] = []

    def close(self, block, loads, **case):
        self.asked.append({"block": block, "loads": loads, **case})
        self.ran_out = len(self.asked) > self.most
        number = len(self.asked)
        return replace(
            self.closing, title=str(number), deformation=Deformation(is_large=self.is_large)
        )


CASES = list(product(STIFFNESS, ("low", "high"), PULL))
FRICTION = {"low": {"across": 0.1}, "high": {"across": 0.6}}


@pytest.mark.parametrize("is_large", [True, False])
def test_on_one_factor_softer_rubber_means_more_load_and_each_path_goes_on(closed, is_large):
    """Loads grow along a path of one friction and one pull; the next path starts anew."""
    work = Work(closed, is_large=is_large)
    found = list(varied_closings("block", closed, CASES, FRICTION, work))
    assert sorted(case for case, _ in found) == sorted(CASES)
    pull = closed.loads.tension_n_per_mm
    for (k, word, times), asked in zip([case for case, _ in found], work.asked, strict=True):
        assert asked["loads"].tension_n_per_mm == pytest.approx(pull * times / k)
        assert asked["friction"] == FRICTION[word]
        assert asked["start"] is closed
        assert asked["deformation"] == "small"
        assert asked["left_over"] == 100.0
    tensions = [asked["loads"].tension_n_per_mm for asked in work.asked]
    for first in range(0, 12, 3):
        assert tensions[first : first + 3] == sorted(tensions[first : first + 3])
        after = [asked["after"] for asked in work.asked[first : first + 3]]
        assert after[0] is None
        assert [each.title for each in after[1:] if each] == (
            [str(first + 1), str(first + 2)] if is_large else []
        )
    for (k, _, times), closing in found:
        assert closing.loads.tension_n_per_mm == pytest.approx(pull * times)
        assert closing.lands[0].pressure_kpa == pytest.approx(k * closed.lands[0].pressure_kpa)


@pytest.mark.parametrize("resin_mpa", [0.0, 0.004])
def test_other_bodies_keep_their_stiffness_and_take_a_factor_each(closed, monkeypatch, resin_mpa):
    """With resin the loads of a path do not grow in proportion, so none goes on from another."""
    monkeypatch.setattr(closings_module, "_stiffer", lambda block, k: f"{block} x {k:g}")
    given = replace(closed, loads=replace(closed.loads, cavity_mpa=resin_mpa))
    work = Work(closed, is_large=True)
    found = list(varied_with_bodies("block", given, CASES, FRICTION, work))
    assert [case for case, _ in found] == sorted(CASES)
    blocks = [asked["block"] for asked in work.asked]
    assert blocks == ["block x 0.75"] * 4 + ["block"] * 4 + ["block x 1.25"] * 4
    goes_on = [asked["after"] is not None for asked in work.asked]
    assert goes_on == ([False, True] * 6 if resin_mpa == 0 else [False] * 12)
    for (_, word, times), asked in zip([case for case, _ in found], work.asked, strict=True):
        pull = given.loads.tension_n_per_mm * times
        assert asked["loads"].tension_n_per_mm == pytest.approx(pull)
        assert asked["loads"].cavity_mpa == resin_mpa
        assert (asked["friction"], asked["left_over"]) == (FRICTION[word], 100.0)


@pytest.mark.parametrize("vary", [varied_closings, varied_with_bodies])
def test_variations_end_where_the_work_does(closed, monkeypatch, vary):
    monkeypatch.setattr(closings_module, "_stiffer", lambda block, k: block)
    assert len(list(vary("block", closed, CASES, FRICTION, Work(closed, most=5)))) == 5


def test_it_says_something_to_vary_what_presses_and_can_be_opened(closed, made_up, monkeypatch):
    assert varies(closed)
    assert not varies(made_up(gap=lambda x: 0 * x + 1.0).closing())
    assert not varies(made_up(outcome=Outcome.STEP_LIMIT).closing())
    part = made_up(gap=lambda x: abs(x) * 0 + (x < 20) * 1.0).closing()
    assert varies(part)  # one land presses
    for shut in ({"unreached": ("rod",), "locked": ()}, {"unreached": (), "locked": ("rod",)}):
        monkeypatch.setattr(
            ranges_module, "seal_of", lambda closing, shut=shut: SimpleNamespace(**shut)
        )
        assert not varies(closed)


def test_an_answer_stands_on_small_or_large_deformation(closed):
    assert deformation_of(closed) == "small"
    assert deformation_of(replace(closed, deformation=Deformation(is_large=True))) == "large"


@pytest.mark.parametrize(
    ("changed", "stands"),
    [
        ({}, True), ({"unknowns": 12_000}, True), ({"unknowns": 12_001}, False),
        ({"outcome": Outcome.STEP_LIMIT}, False),
    ],
)  # fmt: skip
def test_a_coarse_answer_stands_in_that_is_small_and_has_the_same_loads(closed, changed, stands):
    coarse = of_fineness(0.5), replace(closed, trust=replace(closed.trust, **changed))
    assert ranges_module._stands_in(coarse, closed, 0.4) is stands
    assert not ranges_module._stands_in(coarse, replace(closed, loads=Loads(0.1)), 0.4)
    large = replace(closed, deformation=Deformation(is_large=True))
    assert not ranges_module._stands_in(coarse, large, 0.4)


@pytest.mark.parametrize(
    ("unknowns", "fineness", "stands"),
    [(48_001, 0.5, True), (48_001, 0.6, False), (48_000, 0.5, False), (12_000, 0.6, True)],
)
def test_a_huge_answer_stands_in_where_no_coarser_mesh_would_be_made(
    closed, unknowns, fineness, stands
):
    coarse = replace(closed, trust=replace(closed.trust, unknowns=unknowns))
    assert ranges_module._stands_in((of_fineness(fineness), coarse), closed, 0.5) is stands


def of_fineness(fineness):
    return SimpleNamespace(fineness=fineness)
