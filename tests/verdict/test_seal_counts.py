"""Barriers, meetings and paths of lands against counts by hand."""

from __future__ import annotations

from dataclasses import replace
from itertools import permutations
from types import SimpleNamespace

import numpy as np
import pytest

from squeeze.mold.forces.loads import Loads, resin_mpa
from squeeze.mold.tables.loads import ResinTable
from squeeze.solve.outcome import Outcome
from squeeze.verdict.place import LandEnd
from squeeze.verdict.seal.barrier import (
    MARGIN,
    YARDSTICK_KPA,
    fed_of,
    locked_of,
    resin_kpa,
    runs_over,
    seal_of,
    strength_kpa,
    unreached_of,
    weakest_of,
)
from squeeze.verdict.seal.land_graph import LandPart, Node, _meetings, _node
from squeeze.verdict.seal.leak import carrying, leak_paths, leaks_of


def graph(*pairs, lands=None):
    """Parts between nodes by their names: c.. = a cavity, o.. = outside, r.. = rubber."""
    kinds = {"c": "cavity", "o": "outside", "r": "rubber"}
    node = {name: Node(kinds.get(name[0], "cut"), name, name) for pair in pairs for name in pair}
    s = np.array([0.0, 1.0])
    return [
        LandPart(k if lands is None else lands[k], node[a], node[b], slice(0, 2), s, 0 * s, 0 * s)
        for k, (a, b) in enumerate(pairs)
    ]


def section(*names):
    return SimpleNamespace(cavities=[SimpleNamespace(name=each) for each in names])


@pytest.mark.parametrize(
    ("pressures", "runs"),
    [
        ([4, 2, 0], [10]),
        ([0, 2, 4], [10]),
        ([2, 2, 2], [20]),
        ([2, 2, 0], [10]),
        ([0, 2, 2], [10]),
        ([0, 2, 0], []),
        ([2, 0, 2], []),
        ([4, 0, 4], [5, 5]),
        ([4, 2, 4], [20]),
        ([4, 4, 0], [15]),
        ([0, 8, 8], [17.5]),
        ([0, 8, 0], [15]),
        ([1.9, 1.9, 1.9], []),
        ([4, 0, 2, 4, 2, 0, 0, 4], [5, 20, 5]),
    ],
)
def test_stretches_begin_and_end_where_a_line_between_places_meets_the_margin(pressures, runs):
    """Places 10 mm apart, 2 kPa needed."""
    s = [10.0 * k for k in range(len(pressures))]
    assert runs_over(s, pressures, 2.0) == pytest.approx(runs)
    back = runs_over(s, pressures[::-1], 2.0)
    assert back == pytest.approx(runs[::-1])


def test_the_yardstick_is_the_pressure_under_100_mm_of_resin():
    head = resin_mpa(ResinTable(head_mm=100)) * 1000
    assert YARDSTICK_KPA == pytest.approx(head)
    assert resin_kpa(Loads(0.5)) == YARDSTICK_KPA
    assert resin_kpa(Loads(0.5, cavity_mpa=1e-4)) == pytest.approx(0.1)
    assert resin_kpa(Loads(0.5, cavity_mpa=2.5)) == pytest.approx(2500)


CHAIN = [("c1", "F"), ("F", "c2"), ("c2", "c3"), ("c3", "out")]


@pytest.mark.parametrize("order", [*permutations(range(4))])
def test_a_way_outside_may_lead_through_other_cavities_in_any_order_of_lands(order):
    names = section("c1", "c2", "c3", "c4")
    parts = graph(*(CHAIN[k] for k in order))
    assert locked_of(parts, names) == ()
    assert unreached_of(parts, names) == ("c4",)
    shut = graph(*(CHAIN[k] for k in order if k != 3), ("c4", "out"))
    assert locked_of(shut, names) == ("c1", "c2", "c3")
    assert unreached_of(shut, names) == ()


def test_what_leads_into_rubber_alone_is_locked_and_not_unreached():
    parts = graph(("c1", "rubber"), ("out", "F"), ("F", "rim"))
    assert locked_of(parts, section("c1", "c2")) == ("c1",)
    assert unreached_of(parts, section("c1", "c2")) == ("c2",)


STEM = [("c1", "F"), ("F", "G"), ("G", "H"), ("H", "out"), ("out", "K"), ("K", "rubber")]


@pytest.mark.parametrize("order", [*permutations(range(4))])
def test_lands_are_fed_along_meetings_and_not_round_the_outside(order):
    """The last two, from the outside into the rubber, have no cavity to feed them."""
    pairs = [*(STEM[k] for k in order), *STEM[4:]]
    assert fed_of(graph(*pairs), 6) == (True,) * 4 + (False, False)
    whole = graph(*pairs, lands=[0, 1, 1, 2, 3, 5])
    assert fed_of(whole, 7) == (True, True, True, False, False, False, False)
    without = graph(("o1", "F"), ("F", "rubber"))
    assert fed_of(without, 3) == (True, True, True)  # as if resin could come from anywhere


@pytest.mark.parametrize("order", [*permutations(range(3))])
def test_a_leak_is_told_from_its_cavity_on_with_the_hardest_stretch_on_its_way(order):
    pairs, press = [("out", "G"), ("F", "G"), ("F", "c1")], [0.5, 1.5, 1.0]
    parts = graph(*(pairs[k] for k in order))
    (leak,) = leaks_of(parts, [press[k] for k in order], range(3))
    assert (leak.start, leak.end, leak.barrier_kpa) == ("c1", "out", 1.5)
    assert [order[k] for k in leak.lands] == [2, 1, 0]


@pytest.mark.parametrize("order", [*permutations(range(6))][::7])
def test_a_leak_is_told_along_the_fewest_parts(order):
    pairs = [("c1", "F"), ("F", "out"), ("c1", "G"), ("G", "H"), ("H", "K"), ("K", "out")]
    (leak,) = leaks_of(graph(*(pairs[k] for k in order)), [0.0] * 6, range(6))
    assert [order[k] for k in leak.lands] == [0, 1]


def test_a_leak_names_a_land_once_though_it_runs_along_two_parts_of_it():
    parts = graph(("c1", "F"), ("F", "G"), ("G", "out"), lands=[4, 4, 2])
    (leak,) = leaks_of(parts, [0.0] * 3, range(3))
    assert leak.lands == (4, 2)


@pytest.mark.parametrize("order", [*permutations(range(4))])
def test_open_parts_are_gathered_in_any_order(order):
    chain = [("c1", "F"), ("F", "G"), ("G", "H"), ("H", "out")]
    parts = graph(*(chain[k] for k in order), ("c1", "out"))
    assert [sorted(path) for path in leak_paths(parts, range(5))] == [[0, 1, 2, 3], [4]]


@pytest.mark.parametrize("order", [*permutations(range(4))])
def test_twigs_carry_nothing(order):
    """From the meeting F a twig of two parts leads into the rubber."""
    pairs = [("c1", "F"), ("F", "out"), ("F", "G"), ("G", "rubber")]
    parts = graph(*(pairs[k] for k in order))
    assert sorted(order[k] for k in carrying(parts, range(4))) == [0, 1]
    stems = graph(("c1", "F"), ("F", "c1"))
    assert carrying(stems, range(2)) == []


def test_the_weakest_barrier_is_the_hardest_part_of_the_softest_way():
    """Ways from c1: 5 then 9, so 9; 7 then 8, so 8. From c2: 8.5 alone."""
    parts = graph(("out", "F"), ("F", "c1"), ("c1", "G"), ("G", "out"), ("out", "c2"))
    found = weakest_of(parts, [5.0, 9.0, 7.0, 8.0, 8.5], 2.0)
    assert (found.start, found.end, found.land) == ("c1", "out", 3)
    assert (found.pressure_kpa, found.margin) == (8.0, 4.0)
    apart = weakest_of(graph(("c1", "F"), ("G", "out")), [1.0, 1.0], 2.0)
    assert apart is None


@pytest.mark.parametrize(("times", "holds"), [(0.999999, False), (1.0, True), (1.1, True)])
def test_a_land_that_presses_just_as_hard_as_it_has_to_holds(times, holds):
    (one,) = graph(("c1", "out"))
    even = replace(one, pressure_kpa=np.full(2, times * MARGIN * 3.0))
    land = SimpleNamespace(s_mm=one.s_mm, pressure_kpa=even.pressure_kpa, length_mm=1.0)
    loads = Loads(0.5, cavity_mpa=3e-3)
    made = {"lands": [land], "section": section("c1"), "loads": loads}
    made = SimpleNamespace(**made, outcome=Outcome.CONVERGED)
    assert seal_of(made, [even]).seals is holds


@pytest.mark.parametrize("kpa", [0.2, 1.0, 30.0])
def test_the_weakest_barrier_stands_in_the_middle_of_its_stretch(kpa):
    """The longer one of two: from 4 to 10 mm of 12, and from 2 to 8 from the other end."""
    (one,) = graph(("c1", "out"))
    press = kpa * np.array([1, 1, 0, 0, 1, 1, 1, 1, 1, 1, 1, 0, 0])
    part = replace(one, places=slice(20, 33), s_mm=np.arange(13.0), pressure_kpa=press)
    assert weakest_of([part], [kpa], 1.0).place == 27
    turned = replace(part, pressure_kpa=press[::-1])
    assert weakest_of([turned], [kpa], 1.0).place == 25


@pytest.mark.parametrize("begin", [0.0, 10.0, 70.0])
def test_a_part_is_as_strong_wherever_on_its_land_it_begins(begin):
    """A ramp from 0 to 8 kPa over 1 mm: half a millimetre holds 4 kPa; over 4 mm one holds 6."""
    (one,) = graph(("c1", "out"))
    for length, kpa in ((1.0, 4.0), (4.0, 6.0)):
        ramp = replace(one, s_mm=begin + np.array([0, length]), pressure_kpa=np.array([0.0, 8.0]))
        assert ramp.length_mm == pytest.approx(length)
        assert strength_kpa(ramp) == pytest.approx(kpa)


def line(a, b, n):
    xy = np.linspace(a, b, n)
    return SimpleNamespace(x_mm=xy[:, 0], y_mm=xy[:, 1])


def test_lands_meet_where_they_share_a_place():
    """Across 11 places 1 mm apart, down through the sixth of them; the third stands apart."""
    across, down = line((-5, 2), (5, 2), 11), line((0, 6), (0, 2), 3)
    aside = line((0.1, 2), (0.1, -5), 8)
    assert _meetings([across, down, aside]) == [{5: "0.00, 2.00"}, {2: "0.00, 2.00"}, {}]
    assert _meetings([]) == []
    ring = line((0, 0), (0, 0), 2)
    assert _meetings([ring]) == [{}]  # a land does not meet itself


def test_ends_in_rubber_are_apart_and_lands_meet_before_their_ends():
    """Places 0 to 6 of a land from a cavity to the outside; another meets it at the fifth."""
    cavity, outside = LandEnd("cavity", "'rod'"), LandEnd("outside", "the left outside")
    met, rubber = {5: "6.00, 0.00"}, LandEnd("rubber", "the end in the rubber")
    nodes = [_node(0, k, 6, (cavity, outside), met, False) for k in (0, 5, 6)]
    assert [node.kind for node in nodes] == ["cavity", "cut", "outside"]
    assert [node.name for node in nodes] == ["rod", "6.00, 0.00", ""]
    ends = [(0, 0), (0, 6), (1, 6)]
    assert len({_node(land, k, 6, (rubber, rubber), met, False) for land, k in ends}) == 3


def test_a_land_is_as_strong_as_its_weakest_part_and_sealed_over_a_share_of_its_length():
    """Three parts of one land of 30 mm, 10 mm each: 9, 1 and 4 kPa at 1 kPa of resin."""
    s = np.linspace(0, 30, 31)
    press = np.where(s <= 10, 9.0, np.where(s <= 20, 1.0, 4.0))
    nodes = [
        Node("cavity", "barrel 1", "b"), Node("cut", "F", "F"),
        Node("cut", "G", "G"), Node("outside", "", "out"),
    ]  # fmt: skip
    runs = slice(0, 11), slice(11, 21), slice(21, 31)
    parts = [
        LandPart(0, *nodes[k : k + 2], run, s[run], 0 * s[run], press[run])
        for k, run in enumerate(runs)
    ]
    land = SimpleNamespace(s_mm=s, pressure_kpa=press, length_mm=30.0)
    made = SimpleNamespace(
        lands=[land],
        section=section("barrel 1"),
        loads=Loads(0.5, cavity_mpa=1e-3),
        outcome=Outcome.CONVERGED,
    )
    found = seal_of(made, parts)
    assert found.needed_kpa == pytest.approx(2.0)
    assert found.barrier_kpa == (pytest.approx(1.0),)
    # From 9 to 1 kPa between 10 and 11 mm it passes 2 at 10.875, from 1 to 4 at 20.333.
    assert found.sealed_share == (pytest.approx((10 + 7 / 8 + 10 - 1 / 3) / 30),)
    assert (found.seals, found.leaky) == (True, (False,))
    assert found.weakest.pressure_kpa == pytest.approx(9.0)
    assert 0 <= found.weakest.place <= 10
