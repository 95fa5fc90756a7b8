"""Measures, against the closing they are taken of."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from squeeze.solve.closing import Deformation
from squeeze.solve.outcome import Outcome
from squeeze.study.measures import check_measure, measures, outcome_of
from squeeze.study.plan.formula import StudyValueError
from squeeze.verdict import judge

NAMES = {"cut": ["across"], "cavity": ["barrel 1", "barrel 2"]}


def measure(name, closing):
    return measures([name], closing, lambda: judge(closing))[name]


def test_over_all_lands(gaping):
    lands = gaping.lands
    whole = sum(land.length_mm for land in lands)
    share = sum(land.closed_share * land.length_mm for land in lands) / whole
    assert measure("closed_share", gaping) == pytest.approx(share)
    assert measure("largest_gap_mm", gaping) == max(land.largest_gap_mm for land in lands)
    assert measure("least_pressure_kpa", gaping) == 0.0
    assert measure("force_n_per_mm", gaping) == pytest.approx(sum(x.force_n_per_mm for x in lands))
    assert measure("length_mm", gaping) == pytest.approx(100.0)
    assert measure("lands", gaping) == 3
    assert measure("sealing_lands", gaping) == sum(x.seals for x in judge(gaping).lands)


def test_of_one(gaping):
    assert measure("land.across.1.largest_gap_mm", gaping) == gaping.lands[1].largest_gap_mm
    assert measure("cut.across.closed_share", gaping) == measure("closed_share", gaping)
    assert measure("cavity.barrel 2.area_change_pct", gaping) == -1.5
    assert measure("land.across.7.evenness", gaping) is None
    assert measure("seat.top.closed_share", gaping) is None


def test_at_a_place(gaping):
    """The gap is 1 - (x/30)^2, linear between places 1 mm apart."""
    for x in (0.0, 3.5, -28.0):
        at = measure(f"gap_mm at {x}, 40", gaping)
        assert at == pytest.approx(1 - (x / 30) ** 2, abs=2e-3)
    assert measure("pressure_kpa at -40, 40.5", gaping) == pytest.approx(14.0)
    assert measure("gap_mm at 0, 20", gaping) is None
    assert measure("gap_mm at 20, 40", gaping) is None  # in the cavity, 5 mm from either land


def test_without_an_answer_there_is_none(made_up):
    made = made_up(outcome=Outcome.PIECE_NOT_HELD).closing()
    assert measures(["closed_share", "seals"], made, lambda: judge(made)) == {
        "closed_share": None,
        "seals": None,
    }


def test_the_verdict_is_asked_once_and_only_when_needed(closed):
    asked = []

    def verdict_of():
        asked.append(1)
        return judge(closed)

    measures(["closed_share", "gap_mm at 0, 40", "wrap_mm"], closed, verdict_of)
    assert asked == []
    measures(["seals", "sealing_lands", "say"], closed, verdict_of)
    assert asked == [1]


def test_values_are_plain(closed):
    keep = ["closed_share", "seals", "say", "largest_strain_pct", "wrap_mm", "step_mm", "unknowns"]
    found = measures(keep, closed, lambda: judge(closed))
    assert all(not isinstance(value, np.generic) for value in found.values())


@pytest.mark.parametrize(
    "good",
    ["closed_share", "cut.across.evenness", "land.across.2.closed_share", "gap_mm at -1.5, 40"],
)
def test_known_measures(good):
    check_measure(good, NAMES)


@pytest.mark.parametrize(
    ("bad", "said"),
    [
        ("closed_shar", 'did you mean "closed_share"'),
        ("cut.acros.evenness", 'did you mean "across"'),
        ("cut.across.step_mm", "not a measure"),
        ("land.across.evenness", "no cut"),
        ("land.across.x.evenness", "no number of a land"),
        ("cavity.barrel 3.step_mm", 'no cavity "barrel 3"'),
        ("force at 0, 0", "not a measure"),
    ],
)
def test_unknown_measures(bad, said):
    with pytest.raises(StudyValueError, match=said):
        check_measure(bad, NAMES)


def test_small_strain_stands_beside_the_deformed_answer(gaping, closed):
    large = replace(gaping, deformation=Deformation(is_large=True, small=closed))
    assert measure("small.closed_share", large) == measure("closed_share", closed)
    assert measure("closed_share", large) == measure("closed_share", gaping)
    assert measure("small.closed_share", gaping) == measure("closed_share", gaping)
    check_measure("small.land.across.2.closed_share", NAMES)
    with pytest.raises(StudyValueError, match="one verdict"):
        check_measure("small.say", NAMES)


def test_what_did_not_settle_has_no_measures_but_those_of_small_strain(gaping):
    """The closing then holds the answer at small strain, which must not pass for the other."""
    lost = replace(gaping, deformation=Deformation(outcome=Outcome.NOT_SETTLED, share=0.5))
    assert measure("closed_share", lost) is None
    assert measure("small.closed_share", lost) == measure("closed_share", gaping)
    assert outcome_of(lost) is Outcome.NOT_SETTLED
    assert outcome_of(gaping) is Outcome.CONVERGED
