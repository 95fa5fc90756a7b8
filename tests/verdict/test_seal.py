"""Leak paths on graphs of lands made by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from squeeze.mold.geometry.loop import circle, polygon_loop
from squeeze.mold.section.records import Cavity, Cut, CutStretch, Material, Section
from squeeze.solve.certified import without_figures
from squeeze.solve.land import Land
from squeeze.solve.outcome import Outcome
from squeeze.verdict import judge, section_verdict
from squeeze.verdict.casting import distortion, flash
from squeeze.verdict.seal import barrier
from squeeze.verdict.seal.barrier import (
    YARDSTICK_KPA,
    runs_over,
    seal_of,
    weakest_of,
)
from squeeze.verdict.seal.land_graph import LandPart, Node, parts_of
from squeeze.verdict.seal.leak import carrying, leak_paths, leaks_of

SIDE = 60.0
NEEDED = 2 * YARDSTICK_KPA


def land(cut, number, a, b, press=0.0, gap=0.0):
    """Return a straight land from a to b, with the pressure `press(s)` or the same all along."""
    a, b = np.array(a, float), np.array(b, float)
    n = int(np.hypot(*(b - a))) + 1
    xy = a + np.linspace(0, 1, n)[:, None] * (b - a)
    s = np.hypot(*(xy - a).T)
    p = press(s) if callable(press) else np.full(n, float(press))
    g = np.where(p > 0, 0.0, gap)
    nought = np.zeros(n)
    return Land(
        cut, number, s, xy[:, 0], xy[:, 1], p, g, nought, nought,
        nought > 0, nought > 0, np.zeros((n, 2, 2)),
    )  # fmt: skip


def closing_of(base, lands, cavities=((0, 0),), radius=10.0):
    """Put lands and round cavities into a closing of a square block."""
    cuts = []
    for name in dict.fromkeys(each.cut for each in lands):
        own = [each for each in lands if each.cut == name]
        ends = [((e.x_mm[0], e.y_mm[0]), (e.x_mm[-1], e.y_mm[-1])) for e in own]
        cuts.append(Cut(name, tuple(CutStretch(pair, 0.0) for pair in ends), 100.0))
    h = SIDE
    outline = polygon_loop([(-h, -h), (h, -h), (h, h), (-h, h)])
    holes = tuple(Cavity(f"c{k + 1}", circle(radius, centre)) for k, centre in enumerate(cavities))
    section = Section(outline, Material(0.6, 0.499), holes, tuple(cuts))
    return replace(base, section=section, lands=tuple(lands))


def pairs(closing):
    return {frozenset((leak.start, leak.end)) for leak in seal_of(closing).leaks}


def test_two_walls_of_a_cavity_leak_each_by_itself(closed):
    right, left = land("a", 0, (10, 0), (60, 0), 5.0), land("a", 1, (-60, 0), (-10, 0))
    closing = closing_of(closed, [right, left])
    seal = seal_of(closing)
    assert [(leak.start, leak.end, leak.lands) for leak in seal.leaks] == [
        ("'c1'", "the outside", (1,))
    ]
    assert seal.leaky == (False, True)
    assert seal.barrier_kpa == pytest.approx((5.0, 0.0))
    assert seal.sealed_share == (1.0, 0.0)


def test_two_open_walls_are_two_leaks(closed):
    lands = [land("a", 0, (-60, 0), (-10, 0)), land("a", 1, (10, 0), (60, 0))]
    seal = seal_of(closing_of(closed, lands))
    assert [leak.lands for leak in seal.leaks] == [(0,), (1,)]
    assert seal.leaky == (True, True)


def test_an_open_branch_that_ends_in_the_rubber_carries_no_leak(closed):
    stem, arm = land("along", 0, (10, 0), (30, 0)), land("along", 1, (30, 0), (60, 0))
    closing = closing_of(closed, [stem, arm, land("up", 0, (30, 0), (30, 40))])
    assert seal_of(closing).leaky == (True, True, False)


def test_both_open_arms_of_a_fork_leak(closed):
    stem, arm = land("along", 0, (10, 0), (30, 0)), land("along", 1, (30, 0), (60, 0))
    seal = seal_of(closing_of(closed, [stem, arm, land("up", 0, (30, 0), (30, 60))]))
    assert len(seal.leaks) == 1
    assert seal.leaky == (True, True, True)


def test_one_barrier_behind_a_fork_holds_all(closed):
    """A stem from the cavity forks into two open arms: a barrier on the stem is enough."""
    arms = [land("up", 0, (30, 0), (30, 60)), land("along", 1, (30, 0), (60, 0))]
    tight = [land("along", 0, (10, 0), (30, 0), 5.0), *arms]
    assert judge(closing_of(closed, tight)).seals
    assert all(word.seals for word in judge(closing_of(closed, tight)).lands)
    loose = [land("along", 0, (10, 0), (30, 0)), *arms]
    (leak,) = seal_of(closing_of(closed, loose)).leaks
    assert leak.lands[0] == 0
    assert len(leak.lands) == 2


def test_a_fork_leaks_by_the_arm_that_is_open(closed):
    stem, arm = land("along", 0, (10, 0), (30, 0)), land("along", 1, (30, 0), (60, 0), 5.0)
    closing = closing_of(closed, [stem, arm, land("up", 0, (30, 0), (30, 60))])
    (leak,) = seal_of(closing).leaks
    assert leak.lands == (0, 2)
    assert seal_of(closing).leaky == (True, False, True)


def test_a_land_is_parted_where_another_meets_it_on_its_way(closed):
    """The land presses on the outer side of the meeting alone, so resin leaves by the other."""
    along = land("along", 0, (10, 0), (60, 0), lambda s: np.where(s > 25, 5.0, 0.0))
    up = land("up", 0, (30, 0), (30, 60))
    closing = closing_of(closed, [along, up])
    assert len(parts_of(closing.lands, closing.section)) == 3
    assert [leak.lands for leak in seal_of(closing).leaks] == [(0, 1)]
    alone = closing_of(closed, [along])
    assert seal_of(alone).seals


def test_crossing_cuts_share_their_meeting(closed):
    across = land("across", 0, (-60, 30), (60, 30))
    down = land("down", 0, (0, 60), (0, 10))
    closing = closing_of(closed, [across, down])
    assert len(parts_of(closing.lands, closing.section)) == 4
    (leak,) = seal_of(closing).leaks
    assert leak.start == "'c1'"
    assert 1 in leak.lands


def test_cavities_leak_into_each_other_though_the_outside_is_tight(closed):
    lands = [
        land("a", 0, (-60, 0), (-30, 0), 9.0),
        land("a", 1, (-10, 0), (10, 0)),
        land("a", 2, (30, 0), (60, 0), 9.0),
    ]
    closing = closing_of(closed, lands, ((-20, 0), (20, 0)))
    assert pairs(closing) == {frozenset(("'c1'", "'c2'"))}


def test_a_path_that_passes_a_third_is_told_as_its_parts(closed):
    lands = [land("a", 0, (-60, 0), (-30, 0)), land("a", 1, (-10, 0), (10, 0))]
    closing = closing_of(closed, lands, ((-20, 0), (20, 0)))
    assert pairs(closing) == {
        frozenset(("'c1'", "the outside")),
        frozenset(("'c1'", "'c2'")),
    }


def test_a_land_from_outside_to_outside_leaks_nothing(closed):
    lands = [land("a", 0, (10, 0), (60, 0), 9.0), land("b", 0, (-60, 50), (60, 50))]
    closing = closing_of(closed, lands)
    assert judge(closing).seals
    assert seal_of(closing).fed == (True, False)
    meeting = [*lands, land("c", 0, (30, 0), (30, 50), 9.0)]
    assert seal_of(closing_of(closed, meeting)).fed == (True, True, True)


def test_without_a_cavity_every_land_is_told_as_if_resin_could_come(closed):
    lands = [land("b", 0, (-60, 50), (60, 50))]
    assert not judge(closing_of(closed, lands, ())).seals


def test_an_end_in_the_rubber_leads_nowhere(closed):
    """Nothing leaks there, but the block cannot be opened either."""
    verdict = judge(closing_of(closed, [land("a", 0, (10, 0), (40, 0))]))
    assert verdict.seal.leaks == ()
    assert verdict.seal.locked == ("c1",)
    assert not verdict.seals
    assert verdict.grade == "Cannot be opened"


def test_the_weakest_barrier_is_the_one_that_gives_first(closed):
    """By hand: the stem holds 8, its arms 3 and 20, so c1 is held by 8; c2 by 6; 6 gives first."""
    lands = [
        land("along", 0, (0, 0), (20, 0), 8.0),
        land("along", 1, (20, 0), (60, 0), 3.0),
        land("up", 0, (20, 0), (20, 60), 20.0),
        land("left", 0, (-60, 0), (-30, 0), 6.0),
    ]
    closing = closing_of(closed, lands, ((-10, 0), (-20, 30)), radius=10.0)
    # c1 spans x = -20..0; the land "left" ends in the rubber, so it counts for nothing yet
    weakest = seal_of(closing).weakest
    assert weakest.pressure_kpa == pytest.approx(8.0)
    assert weakest.land == 0
    closing = closing_of(closed, lands, ((-10, 0), (-20, 0)), radius=10.0)
    weakest = seal_of(closing).weakest
    assert (weakest.start, weakest.end, weakest.land) == ("'c2'", "the outside", 3)
    assert weakest.margin == pytest.approx(6.0 / YARDSTICK_KPA)


def test_the_barrier_is_the_best_millimetre(closed):
    """A triangle of height 10 over 20 mm: over one millimetre it holds 9.5 at its ends."""
    closing = closing_of(
        closed, [land("a", 0, (10, 0), (60, 0), lambda s: np.clip(10 - np.abs(s - 25), 0, None))]
    )
    weakest = seal_of(closing).weakest
    assert weakest.pressure_kpa == pytest.approx(9.5)
    assert weakest.place == 25


@pytest.mark.parametrize("press", [NEEDED * 0.999, NEEDED * 1.001])
def test_flag_and_margin_agree(closed, press):
    seal = seal_of(closing_of(closed, [land("a", 0, (10, 0), (60, 0), press)]))
    assert seal.seals == (seal.weakest.margin >= 2)


NODES = [
    Node("outside", "", "the outside"),
    *(Node("cavity", f"c{k}", f"'c{k}'") for k in range(2)),
    *(Node("cut", f"j{k}", "where cuts meet") for k in range(4)),
    Node("rubber", "r", "the end in the rubber"),
]
EDGES = st.lists(
    st.tuples(st.integers(0, 7), st.integers(0, 7), st.sampled_from([0.0, 1.0, 2.5, 9.0])),
    min_size=1,
    max_size=9,
)


@given(EDGES)
def test_leaks_and_the_weakest_barrier_agree_on_any_graph(edges):
    """Two searches, by paths and by joining from the weakest on, and a third by colouring."""
    s = np.array([0.0, 5.0])
    edges = [(a, b, p) for a, b, p in edges if a != b]
    parts = [
        LandPart(k, NODES[a], NODES[b], slice(0, 2), s, 0 * s, np.array([p, p]))
        for k, (a, b, p) in enumerate(edges)
    ]
    strength = [p for *_, p in edges]
    paths = leak_paths(parts, [k for k, p in enumerate(strength) if p < 2.0])
    leaks = [leak for path in paths for leak in leaks_of(parts, strength, path)]
    weakest = weakest_of(parts, strength, 1.0)
    assert bool(leaks) == (weakest is not None and weakest.margin < 2.0)
    assert bool(leaks) == any(carrying(parts, path) for path in paths)
    colour = list(range(8))
    for _ in edges:
        for a, b, p in edges:
            if p < 2.0:
                colour[a] = colour[b] = min(colour[a], colour[b])
    assert bool(leaks) == (len({colour[k] for k in range(3)}) < 3)
    assert all(leak.barrier_kpa < 2.0 for leak in leaks)


def test_figures_of_an_unsolved_closing_are_not_numbers(closed):
    """A pressure of 0 would pass for a land that is open."""
    closing = closing_of(closed, [land("a", 0, (10, 0), (60, 0)), land("a", 1, (-60, 0), (-10, 0))])
    lost = without_figures(
        replace(closing, trust=replace(closing.trust, outcome=Outcome.PIECE_NOT_HELD))
    )
    assert not seal_of(lost).seals
    for each in judge(lost).lands:
        assert not each.seals
        assert np.isnan(each.barrier_kpa)
        assert np.isnan(each.sealed_share)


@given(st.lists(st.floats(0, 9), min_size=2, max_size=12), st.floats(0.1, 9))
def test_the_longest_stretch_is_that_of_a_fine_sampling(pressures, needed):
    s, p = np.arange(len(pressures), dtype=float), np.array(pressures)
    assume(np.abs(p - needed).min() > 1e-6)  # rounding must not decide
    fine = np.linspace(0.0, s[-1], 20 * 200 + 1)
    holds = np.concatenate([[False], np.interp(fine, s, p) >= needed, [False]])
    edge = np.flatnonzero(holds[1:] != holds[:-1])
    longest = max((edge[1::2] - edge[::2]) * (fine[1] - fine[0]), default=0.0)
    found = max(runs_over(s.tolist(), p.tolist(), needed), default=0.0)
    assert found == pytest.approx(longest, abs=3 * (fine[1] - fine[0]))


def test_the_parts_of_lands_are_found_once_for_a_verdict(monkeypatch, made_up):
    asked = []

    def counted(lands, section):
        asked.append(lands)
        return parts_of(lands, section)

    for module in (section_verdict, barrier, flash, distortion):
        monkeypatch.setattr(module, "parts_of", counted)
    judge(made_up().closing())
    assert len(asked) == 1
