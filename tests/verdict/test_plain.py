"""The verdict's words and numbers, on made-up closings."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from squeeze.mold.forces.loads import Loads, Push
from squeeze.solve.closing import Deformation
from squeeze.solve.outcome import Outcome
from squeeze.solve.trust import Piece
from squeeze.verdict import MORE_BANDS, judge
from squeeze.verdict.head import NOTHING_TO_MEND
from squeeze.verdict.seal.barrier import YARDSTICK_KPA, runs_over


def test_yardstick_is_the_head_of_liquid():
    """1050 kg/m3 x 9.80665 m/s2 x 0.1 m (hydrostatics)."""
    assert pytest.approx(1.0297, abs=1e-4) == YARDSTICK_KPA


def test_closed_all_along_seals(closed):
    verdict = judge(closed)
    assert verdict.seals
    assert all(land.seals for land in verdict.lands)
    assert verdict.advice == ()
    assert verdict.grade == "Clean"
    assert verdict.say.startswith("Clean: every land seals at ")
    assert verdict.do == NOTHING_TO_MEND
    assert verdict.head.good
    assert verdict.worst.pressure_kpa == min(land.least_pressure_kpa for land in closed.lands)


def test_open_middle_leaks_and_outer_lands_keep_a_barrier(gaping):
    verdict = judge(gaping)
    assert [land.seals for land in verdict.lands] == [True, False, True]
    assert not verdict.seals
    assert verdict.grade == "Leaks"
    assert "1 of 3 lands lets resin through" in verdict.say
    assert not verdict.head.good
    assert (verdict.worst.x_mm, verdict.worst.y_mm) == (0.0, 40.0)
    assert verdict.worst.gap_mm == 1.0
    assert verdict.worst.words == "midway between 'barrel 1' and 'barrel 2'"
    assert verdict.lands[0].name == "left outside to 'barrel 1'"


def test_more_bands_is_said_for_an_open_middle_under_bands(gaping):
    assert judge(gaping).advice == (MORE_BANDS,)


@pytest.mark.parametrize(
    "change",
    [
        {"unloaded_gap_mm": (0.2,)},
        {"loads": Loads(tension_n_per_mm=0.6, cavity_mpa=0.001)},
        {"outcome": Outcome.STEP_LIMIT},
        {"gap": np.zeros_like},
    ],
)
def test_more_bands_is_not_said_otherwise(made_up, change):
    made = replace(made_up(gap=lambda x: np.clip(1 - (x / 30) ** 2, 0, None)), **change)
    assert MORE_BANDS not in judge(made.closing()).advice


def test_more_bands_is_not_said_at_large_deformation(gaping):
    told = Deformation(is_large=True)
    assert MORE_BANDS not in judge(replace(gaping, deformation=told)).advice


def test_more_bands_is_not_said_where_a_barrier_only_presses_too_little(made_up):
    """It leaks, but twice the bands press twice as hard there."""
    verdict = judge(made_up(press=lambda x: np.full_like(x, 1.5)).closing())
    assert not verdict.seals
    assert MORE_BANDS not in verdict.advice


def test_more_bands_is_not_said_where_an_open_land_seals(made_up):
    """Outer lips and inner ends stand open, and still every land has a barrier."""
    made = made_up(gap=lambda x: np.where(np.abs(x) > 40, 0.3, 0.0))
    verdict = judge(made.closing())
    assert any(land.open_inside for land in verdict.lands)
    assert verdict.seals
    assert verdict.advice == ()


def test_pushes_have_a_sentence_of_their_own(made_up):
    """More bands next to an unchanged push is another load, not a larger one."""
    loads = Loads(pushes=(Push((60.0, 0.0), 30.0, 0.02), Push((-60.0, 0.0), 30.0, 0.02)))
    verdict = judge(made_up(gap=np.ones_like, loads=loads).closing())
    assert MORE_BANDS not in verdict.advice
    assert verdict.advice[0].startswith("Pressing harder")


def test_a_lip_that_opens_at_its_very_end_is_no_open_middle(made_up):
    made = made_up(gap=lambda x: np.where(np.abs(x) > 59.5, 0.1, 0.0))
    verdict = judge(made.closing())
    assert verdict.advice == ()
    assert verdict.seals
    assert verdict.grade == "Clean"  # no resin gets there
    assert verdict.worst.words == "at the left outside"


def test_pressing_too_little_does_not_seal(made_up):
    verdict = judge(made_up(press=lambda x: np.full_like(x, 2.0)).closing())
    assert not verdict.seals
    assert "2.06 kPa is needed" in verdict.say
    assert judge(made_up(press=lambda x: np.full_like(x, 2.1)).closing()).seals


def test_resin_replaces_the_yardstick(made_up):
    loads = Loads(tension_n_per_mm=0.6, cavity_mpa=0.006)
    verdict = judge(made_up(loads=loads, press=lambda x: np.full_like(x, 11.0)).closing())
    assert verdict.needed_kpa == pytest.approx(12.0)
    assert not verdict.seals


@pytest.mark.parametrize("outcome", [o for o in Outcome if not o.has_answer])
def test_without_an_answer_nothing_seals(made_up, outcome):
    verdict = judge(made_up(outcome=outcome).closing())
    assert not verdict.seals
    assert not any(land.seals for land in verdict.lands)
    assert verdict.worst is None
    assert verdict.grade in ("No answer", "Comes apart")
    assert not verdict.head.good


def test_a_piece_that_goes_is_told_with_its_way(made_up):
    pieces = (
        Piece((0.0, -10.0), 9000.0, 0.0, 0.0),
        Piece((10.0, 50.0), 2000.0, 0.1, 0.2, goes=(0.0, 1.0), turns=-1),
    )
    closing = made_up(outcome=Outcome.PIECE_NOT_HELD).closing()
    closing = replace(closing, trust=replace(closing.trust, pieces=pieces))
    say = judge(closing).say
    assert "the piece round x = 10 mm, y = 50 mm" in say.lower()
    assert "shift upward and turn clockwise" in say


def test_resin_that_pries_is_told(closed):
    assert any("pries open" in line for line in judge(replace(closed, pried=True)).advice)


def test_strain_over_ten_percent_is_told(made_up):
    assert any("18 %" in line for line in judge(made_up(strain_pct=18.0).closing()).advice)


def test_inches(gaping):
    assert "up to 1.0 mm open midway" in judge(gaping).say
    assert "up to 0.039 in open midway" in judge(gaping, inches=True).say


def test_barrier_is_measured_between_the_places_that_reach_the_pressure():
    """A triangle of height 4 over 20 mm stands over 3 for a quarter of its base."""
    s, p = [0.0, 10.0, 20.0], [0.0, 4.0, 0.0]
    assert runs_over(s, p, 3.0) == pytest.approx([5.0])
    assert runs_over(s, p, 5.0) == []


def test_two_short_stretches_are_not_one_long():
    s = [0.0, 1.0, 2.0, 3.0, 4.0]
    assert runs_over(s, [4.0, 4.0, 0.0, 4.0, 4.0], 2.0) == pytest.approx([1.5, 1.5])


def test_an_end_in_the_rubber_leads_nowhere(made_up):
    """A cut from the outside that stops inside needs no barrier."""
    closing = made_up(centres_mm=(), gap=np.ones_like).closing()
    (land,) = closing.lands
    assert not judge(closing).seals
    short = replace(land, x_mm=land.x_mm[:30], y_mm=land.y_mm[:30], s_mm=land.s_mm[:30])
    short = replace(short, gap_mm=land.gap_mm[:30], pressure_kpa=land.pressure_kpa[:30])
    verdict = judge(replace(closing, lands=(short,)))
    assert verdict.lands[0].name == "left outside to end in the rubber"
    assert verdict.seals
