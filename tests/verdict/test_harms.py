"""What a change makes worse: of two made-up closings, one thing differs, and that is named."""

from __future__ import annotations

import sys
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

import squeeze
from squeeze.mold.forces.bands import WORKING_STRETCH
from squeeze.mold.forces.loads import wrap_mm
from squeeze.verdict.advice.harm import Harm, harms_of
from squeeze.verdict.casting.flash import HAIRLINE_MM
from squeeze.verdict.grade import STEP_SEEN_MM

harm_module = sys.modules["squeeze.verdict.advice.harm"]
MOLD = squeeze.mold_of(
    {
        "length_mm": 100,
        "rubber": {"shore_a": 20},
        "block": {"shape": "square", "width_mm": 120},
        "band": [{"tension_n_per_mm": 0.6}],
    }
)


@pytest.fixture(autouse=True)
def no_causes(monkeypatch):
    """Causes and pots have tests of their own."""
    monkeypatch.setattr(harm_module, "_of", lambda trial: ())
    monkeypatch.setattr(harm_module, "pot_cause", lambda *_: [])


def trial(closing, mold=MOLD, solved=True, gap_error_mm=0.0, casting_error_mm=0.0):
    cavities = [
        SimpleNamespace(name=each.name, largest_shift_mm=casting_error_mm, step_mm=casting_error_mm)
        for each in closing.cavities
    ]
    errors = SimpleNamespace(gap_mm=gap_error_mm, cavities=cavities)
    closing = replace(closing, errors=errors)
    return SimpleNamespace(mold=mold, closing=closing, figures=SimpleNamespace(solved=solved))


def middle_open(made_up, gap_mm: float):
    """Return a closing whose middle land stands open for 4 mm; the rest of it presses."""
    return made_up(gap=lambda x: np.where(np.abs(x) < 2, gap_mm, 0.0)).closing()


def words(found) -> list[str]:
    return [each.words for each in found]


def test_nothing_is_worse_where_nothing_differs(closed, gaping):
    assert harms_of(trial(closed), trial(closed)) == ()
    assert harms_of(trial(gaping), trial(gaping)) == ()


def test_lands_that_leak_are_named_and_those_that_leaked_are_not(closed, gaping):
    found = [each for each in words(harms_of(trial(closed), trial(gaping))) if "leaks" in each]
    assert len(found) == 1
    assert found[0].startswith("the land ")
    assert not [each for each in words(harms_of(trial(gaping), trial(closed)))]


def test_a_land_that_still_seals_may_stand_open_farther(closed, made_up):
    found = harms_of(trial(closed), trial(middle_open(made_up, 0.3)))
    (open_by,) = [each for each in found if each.words.endswith("stands open by")]
    assert (open_by.before_mm, open_by.after_mm) == (0.0, 0.3)


@pytest.mark.parametrize(
    ("gap_mm", "error_mm", "is_told"),
    [
        (1.5 * HAIRLINE_MM, 0.0, True),
        (0.5 * HAIRLINE_MM, 0.0, False),
        (0.3, 0.1, True),
        (0.3, 0.16, False),
    ],
)
def test_growth_below_a_hairline_and_both_errors_does_not_count(
    closed, made_up, gap_mm, error_mm, is_told
):
    before, after = closed, middle_open(made_up, gap_mm)
    found = words(
        harms_of(trial(before, gap_error_mm=error_mm), trial(after, gap_error_mm=error_mm))
    )
    assert any("stands open" in each for each in found) == is_told


@pytest.mark.parametrize(
    ("more_mm", "error_mm", "is_told"),
    [(0.011, 0.0, True), (0.009, 0.0, False), (0.1, 0.04, True), (0.1, 0.046, False)],
)
def test_flash_that_grows_by_less_than_a_hairline_and_both_errors_is_not_told(
    made_up, more_mm, error_mm, is_told
):
    """The second casting stands open beside it, at x = 25 mm."""

    def flashing(gap_mm):
        return made_up(gap=lambda x: np.where((x > 24) & (x < 27), gap_mm, 0.0)).closing()

    before, after = (trial(flashing(gap), gap_error_mm=error_mm) for gap in (0.02, 0.02 + more_mm))
    told = [each for each in harms_of(before, after) if each.words.startswith("flash on")]
    assert bool(told) is is_told
    if told:
        assert told[0].words == "flash on 'barrel 2' is thicker,"
        assert (told[0].before_mm, told[0].after_mm) == pytest.approx((0.02, 0.02 + more_mm))
    assert not [each for each in harms_of(after, before) if each.words.startswith("flash on")]


def moved(closing, **changed):
    """Return the closing with its first casting changed."""
    first, *others = closing.cavities
    return replace(closing, cavities=(replace(first, **changed), *others))


@pytest.mark.parametrize(
    ("before", "after", "error_mm", "told"),
    [
        ({"largest_shift_mm": 0.2}, {"largest_shift_mm": 0.4}, 0.0, "is off by"),
        ({"largest_shift_mm": 0.4}, {"largest_shift_mm": 0.2}, 0.0, None),
        ({"largest_shift_mm": 0.2}, {"largest_shift_mm": 0.205}, 0.0, None),
        ({"largest_shift_mm": 0.2}, {"largest_shift_mm": 0.4}, 0.11, None),
        ({"largest_shift_mm": 0.2}, {"largest_shift_mm": 0.4}, 0.09, "is off by"),
        ({"step_mm": 0.0}, {"step_mm": 0.2}, 0.0, "has a step of"),
        ({"step_mm": 0.0}, {"step_mm": 0.9 * STEP_SEEN_MM}, 0.0, None),
        ({"step_mm": 0.0}, {"step_mm": 1.1 * STEP_SEEN_MM}, 0.0, "has a step of"),
    ],
)
def test_a_casting_that_is_further_off_or_steps_is_named(closed, before, after, error_mm, told):
    found = harms_of(
        trial(moved(closed, **before), casting_error_mm=error_mm),
        trial(moved(closed, **after), casting_error_mm=error_mm),
    )
    if told is None:
        assert found == ()
    else:
        (a,), (b,) = before.values(), after.values()
        assert found == (Harm(f"'barrel 1' {told}", a, b),)


def with_flat(flat_mm: float) -> squeeze.Mold:
    band = {"width_mm": 6, "thickness_mm": 1, "flat_length_mm": flat_mm}
    data = {"length_mm": 100, "rubber": {"shore_a": 20}, "band": [band]}
    return squeeze.mold_of(data | {"block": {"shape": "square", "width_mm": 120}})


@pytest.mark.parametrize(
    ("before", "after", "told"),
    [
        (2.0, 0.9, "hangs loose"),
        (2.0, 1.3, "is stretched only 1.30 times and pulls little: take shorter ones"),
        (2.0, 3.5, "is stretched 3.50 times and may snap: take longer ones"),
        (1.3, 1.2, "is stretched only 1.20 times and pulls little: take shorter ones"),
        (1.2, 1.3, None),
        (2.0, WORKING_STRETCH[0] + 0.02, None),
        (2.0, WORKING_STRETCH[1] - 0.02, None),
        (3.5, 3.4, None),
        (3.4, 3.5, "is stretched 3.50 times and may snap: take longer ones"),
    ],
)
def test_bands_that_leave_their_stretch_are_named(closed, before, after, told):
    wrap = wrap_mm(closed.section)
    trials = [trial(closed, with_flat(wrap / (2 * each))) for each in (before, after)]
    found = words(harms_of(*trials))
    assert found == ([] if told is None else [f"Band 1 {told}"])


def test_a_mold_without_an_answer_has_only_its_bands_to_lose(closed, gaping):
    wrap = wrap_mm(closed.section)
    good, loose = (with_flat(wrap / (2 * each)) for each in (2.0, 0.9))
    for solved in ((True, False), (False, True)):
        before = trial(closed, good, solved=solved[0])
        after = trial(gaping, loose, solved=solved[1])
        assert words(harms_of(before, after)) == ["Band 1 hangs loose"]


def test_a_pot_that_the_block_no_longer_goes_into_is_named(closed, monkeypatch):
    def cause(closing, mold):
        return [SimpleNamespace(why="The block is too wide.")] if mold.length_mm > 100 else []

    monkeypatch.setattr(harm_module, "pot_cause", cause)
    longer = squeeze.mold_of(
        {
            "length_mm": 120,
            "rubber": {"shore_a": 20},
            "block": {"shape": "square", "width_mm": 120},
            "band": [{"tension_n_per_mm": 0.6}],
        }
    )
    assert words(harms_of(trial(closed), trial(closed, longer))) == ["the block is too wide"]
    assert harms_of(trial(closed, longer), trial(closed, longer)) == ()
    assert harms_of(trial(closed, longer), trial(closed)) == ()


def test_a_cause_that_was_not_there_is_named_and_causes_of_one_kind_are_one(closed, monkeypatch):
    def cause(kind):
        return SimpleNamespace(kind=kind, why=f"It is {kind}.")

    before, after = trial(closed), trial(closed)
    by_trial = {id(before): [cause("flat")], id(after): [cause("corners"), cause("weak")]}
    monkeypatch.setattr(harm_module, "_of", lambda each: by_trial[id(each)])
    assert words(harms_of(before, after)) == ["it is weak"]
    assert words(harms_of(after, before)) == []
