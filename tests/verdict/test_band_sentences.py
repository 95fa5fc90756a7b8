"""What is said of layouts and numbers of bands: the right words for made-up margins."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

import squeeze
from squeeze.solve.along.pitch import PitchRule
from squeeze.solve.outcome import Outcome
from squeeze.verdict.advice.cradle import RISES_MM, cradles
from squeeze.verdict.bands.barriers_along import SealAlong
from squeeze.verdict.bands.layout import SLACK, BandLayout, as_slack
from squeeze.verdict.bands.layout_words import say_given, say_other, say_places, say_worst
from squeeze.verdict.bands.sentences import CRADLES, _no_number, _rules, _stretched, say_table
from squeeze.verdict.remarks import MORE_BANDS

KIND = SimpleNamespace(name="size 64", stretch=2.0, band=None)


def hold(margin: float, z_mm: float = 30.0) -> SealAlong:
    return SealAlong(margin, (margin,), 0, 5.0, z_mm, 3.0, "the outside", "'rod'")


def layout(*margins: float, count: int = 3, slack=(), outcome=Outcome.CONVERGED, kind=KIND):
    holds = tuple(hold(each) for each in margins)
    closings = tuple(SimpleNamespace(outcome=outcome, lands=(1,)) for _ in holds)
    weak = as_slack(holds, tuple(hold(each) for each in slack))
    return BandLayout(kind, tuple(10.0 + 20 * k for k in range(count)), closings, holds, weak)


def test_slack_bands_hold_what_was_solved_or_the_same_share():
    (same,) = as_slack((hold(3.0),))
    assert same.margin == pytest.approx(SLACK * 3.0)
    assert same.pressure_kpa == pytest.approx(SLACK * 3.0)
    assert same.by_land == pytest.approx((SLACK * 3.0,))
    assert as_slack((hold(3.0),), (hold(1.0),)) == (hold(1.0),)


def test_the_worst_station_and_the_least_margin_count():
    found = layout(4.0, 2.5, 3.0)
    assert (found.margin, found.worst) == (2.5, 1)
    assert found.slack_margin == pytest.approx(SLACK * 2.5)
    assert layout(4.0, 3.0).holds_well == (SLACK * 3.0 >= 2)
    assert not layout(4.0, 2.1).holds_well
    assert layout(2.0, slack=(2.0,)).holds_well
    assert not layout(1.99, slack=(2.0,)).holds_well


def test_the_outcome_is_the_first_without_an_answer():
    assert layout(3.0, 3.0).outcome is Outcome.CONVERGED
    assert layout(3.0, outcome=Outcome.PIECE_NOT_HELD).outcome is Outcome.PIECE_NOT_HELD


@pytest.mark.parametrize(
    ("found", "said"),
    [
        (layout(count=0), "Without it nothing holds."),
        (layout(4.0), "With 3 bands it holds: they press 4.0 times as hard as the resin"),
        (layout(4.0, count=1), "With 1 band it holds: it presses 4.0 times"),
        (layout(2.2), "With 3 bands it holds until they slacken: they press 2.2 times"),
        (layout(0.0), "With 3 bands it leaks between the outside and 'rod': nothing presses"),
        (layout(1.2), "30 mm along the block: they press only 1.2 times"),
    ],
)
def test_another_number_of_bands_is_told_by_what_it_holds(found, said):
    assert said in say_other(found, False)


@pytest.mark.parametrize(
    ("found", "said"),
    [
        (layout(4.0), "The mold file's own 3 bands press 4.0 times as hard as the resin at the"),
        (layout(4.0, count=0), "The mold file's own pull presses 4.0 times"),
        (layout(4.0, count=1), "The mold file's own 1 band presses 4.0 times"),
        (layout(0.0), "own 3 bands leave a path without a barrier between the outside and 'rod'."),
        (layout(0.0, count=1), "own 1 band leaves a path without a barrier"),
        (layout(2.2), "but only 1.8 times with 20 % less pull: leave a margin for slack bands."),
        (layout(1.2), "press only 1.2 times as hard as the resin at the worst place: it leaks"),
        (layout(3.0, outcome=Outcome.PIECE_NOT_HELD), "do not hold the block: a piece of it"),
    ],
)
def test_the_own_bands_are_told_by_what_they_hold(found, said):
    (line,) = say_given(found)
    assert said in line


def test_the_weakest_barrier_is_told_with_its_place():
    said = say_worst(layout(4.0, 2.5), False)
    assert said.startswith("The weakest barrier presses 2.5 times as hard as the resin (3.0 kPa)")
    assert "30 mm along the block; 2.0 times with 20 % less pull." in said
    assert say_worst(layout(np.inf), False) == "No cut leads from a cavity to the outside."


def test_places_are_listed():
    assert say_places(layout(4.0), False) == "10, 30 and 50 mm from the start of the block"
    assert say_places(layout(4.0, count=1), False) == "10 mm from the start of the block"
    assert say_places(layout(4.0, count=2), True) == "0.39 and 1.18 in from the start of the block"


def tried(margin: float, most: int = 9, stopped_at=None, **how):
    return SimpleNamespace(kind=KIND, most=most, stopped_at=stopped_at, limit=layout(margin, **how))


def no_number(*found, shape_leaves_open=False):
    return _no_number(SimpleNamespace(tried=found, shape_leaves_open=shape_leaves_open), False)


def test_where_no_number_is_enough_the_best_kind_is_told():
    say, lines = no_number(tried(0.5), tried(1.5, most=12))
    assert "even 12 of size 64, side by side, press only 1.2 times as hard as the resin" in say
    assert f"{100 * (1 - SLACK):.0f} % less than reckoned" in say
    assert CRADLES in lines
    say, lines = no_number(tried(1.5), shape_leaves_open=True)
    assert say.endswith("the shape leaves the cut open between the outside and 'rod'.")
    assert lines == [MORE_BANDS, CRADLES]
    say, lines = no_number(tried(1.5, outcome=Outcome.PIECE_NOT_HELD))
    assert "held by nothing" in say
    assert no_number()[0].startswith("There is no band to try")


@pytest.mark.parametrize(
    ("stopped_at", "said"), [(4, "it tried 4 bands at most"), (0, "no band at a place at most")]
)
def test_a_search_that_ended_early_says_how_far_it_came(stopped_at, said):
    say, _ = no_number(tried(1.5, stopped_at=stopped_at))
    assert said in say
    assert say.endswith("of 9 that fit.")


def test_a_stretch_is_told_and_an_unusual_one_with_what_it_means():
    def said(stretch):
        kind = SimpleNamespace(name="size 64", stretch=stretch, band=band)
        plan = SimpleNamespace(stretches=[SimpleNamespace(block=SimpleNamespace(wrap_mm=300.0))])
        return _stretched(plan, layout(3.0, kind=kind), False)

    mold = {
        "length_mm": 100,
        "rubber": {"shore_a": 20},
        "block": {"shape": "square", "width_mm": 80},
    }
    band = squeeze.mold_of(mold | {"band": [{"stock": "64"}]}).band[0]
    assert said(2.0) == ["They are stretched 2.00 times."]
    (low,) = said(1.2)
    assert "1.20 times: below 1.5 times bands pull little" in low
    assert "Take shorter bands" in low
    (high,) = said(3.4)
    assert "3.40 times: over 3 times bands creep and may snap" in high
    assert said(None) == []
    assert _stretched(None, layout(3.0, kind=None), False) == []


def test_the_table_is_for_what_is_shown():
    best, other = layout(4.0), layout(1.0)
    found = tried(1.0, most=12)
    plan = SimpleNamespace(shown=best, best=best, tried=(found,))
    assert say_table(plan) == "The table is for these 3 bands."
    assert say_table(SimpleNamespace(shown=None, best=None, tried=())) == ""
    plan.shown = found.limit
    assert "the most that fit: 12 bands of size 64, side by side" in say_table(plan)
    plan.shown = other
    assert say_table(plan) == "The table is for the mold file's own bands."


def rule(cavity, middle=(1.0, 0.95, 0.5), outside=(0.8, 0.7, 0.6)) -> PitchRule:
    return PitchRule(
        np.array([20.0, 30.0, 40.0]), *(np.array(each) for each in (cavity, middle, outside)), 6.0
    )


def test_the_widest_pitch_lies_where_the_ripple_falls_to_the_share():
    """From 1.0 at 20 mm straight to 0.8 at 30: 0.9 at 25; where it never falls, the widest."""
    assert rule((1.0, 0.8, 0.6)).widest_mm("cavity") == pytest.approx(25.0)
    assert rule((1.0, 0.95, 0.85)).widest_mm("cavity") == pytest.approx(35.0)
    assert rule((1.0, 0.99, 0.98)).widest_mm("cavity") == 40.0
    assert rule((0.89, 0.8, 0.7)).widest_mm("cavity") == 0.0
    assert rule((1.0, 0.8, 0.95)).widest_mm("cavity") == pytest.approx(25.0)
    assert np.isnan(rule((np.nan,) * 3).widest_mm("cavity"))
    assert rule((1.0, 0.8, 0.6)).widest_mm("cavity", keeps=0.7) == pytest.approx(35.0)


def test_the_rule_of_thumb_is_that_of_the_station_that_asks_most():
    plan = SimpleNamespace(rules=[rule((1.0, 0.95, 0.85)), rule((1.0, 0.8, 0.6))])
    kept, sags = _rules(plan, False)
    assert "at the cavities up to a pitch of 25 mm" in kept
    assert "in the middle of the lands up to a pitch of 31 mm" in kept
    assert sags == "At the outside the pressure sags sooner: from a pitch of 20 mm."
    solid = SimpleNamespace(rules=[rule((np.nan,) * 3)])
    assert "cavities" not in _rules(solid, False)[0]
    assert _rules(SimpleNamespace(rules=[]), False) == []


@pytest.mark.parametrize(
    ("path", "first"),
    [([[-40, 0], [40, 0]], ["top", "bottom"]), ([[0, -40], [0, 40]], ["left", "right"])],
)
def test_boards_on_the_sides_that_the_cut_faces_come_first(path, first):
    mold = squeeze.mold_of(
        {
            "length_mm": 100,
            "rubber": {"shore_a": 20},
            "block": {"shape": "square", "width_mm": 80},
            "cut": [{"path_mm": path}],
        }
    )
    found = [tables for _, tables in cradles(mold)]
    assert [each["covers"] for each in found[0]] == first
    assert [len(tables) for tables in found] == [2] * 4 + [4] * 3 + [1]
    rises = [tables[0]["rise_mm"] for tables in found[:-1]]
    assert rises == [*RISES_MM[1:], *RISES_MM[1:], *RISES_MM]
    assert all(each["thickness_mm"] > each["rise_mm"] for tables in found[:-1] for each in tables)
    assert found[-1][0]["joint_deg"] == (90.0 if first[0] == "top" else 0.0)
