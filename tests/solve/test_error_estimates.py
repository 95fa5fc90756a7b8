"""Errors told and meshes asked for, by closed forms on made-up pressures; nothing is solved."""

from __future__ import annotations

import math
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

import squeeze
from squeeze.solve.accuracy import lips as lips_module
from squeeze.solve.accuracy import meshes as meshes_module
from squeeze.solve.accuracy import refined as refined_module
from squeeze.solve.accuracy.errors import errors_of
from squeeze.solve.accuracy.fine_spots import (
    BRACKET_SHARE,
    MOST_ENDS,
    edge_at_contact_ends,
    fine_spots,
)
from squeeze.solve.accuracy.lips import _wedge, lip_power, lip_spots
from squeeze.solve.accuracy.meshes import Question, coarser, on_both_meshes
from squeeze.solve.accuracy.usual_mesh import fineness_for
from squeeze.solve.closing import Deformation
from squeeze.solve.outcome import Outcome

MESHES = [(1.0, 0.5), (1.5, 1.0), (2.0, 0.5)]


def told(fine, coarse, fineness=1.0, coarse_fineness=0.5):
    """Return the errors told of two even meshes; unknowns go as the square of the fineness."""
    pair = with_unknowns(fine, 1e6 * fineness**2), with_unknowns(coarse, 1e6 * coarse_fineness**2)
    return errors_of(*pair, fineness, coarse_fineness)


def with_unknowns(closing, number):
    return replace(closing, trust=replace(closing.trust, unknowns=int(number)))


@pytest.mark.parametrize(("fineness", "coarse"), MESHES)
def test_pressures_that_fall_as_the_square_of_the_edge_are_off_by_what_is_left(
    made_up, fineness, coarse
):
    """Pressure p0 + c h^2 on both meshes: the error of the finer one is c h^2."""
    c = 1.5

    def on(mesh):
        return made_up(press=lambda x: 10.0 + 0 * x + c / mesh**2).closing()

    errors = told(on(fineness), on(coarse), fineness, coarse)
    left = c / fineness**2
    for land in errors.lands:
        assert land.mean_pressure_kpa == pytest.approx(left)
        assert land.pressure_kpa == land.lip_kpa == pytest.approx(left)
        assert land.pressures_kpa == pytest.approx(left)
    assert errors.pressure_pct == pytest.approx(100 * left / (10 + left))
    assert (errors.fineness, errors.coarser_fineness) == (fineness, coarse)
    assert errors.of(3.0, 4.5, 2.0) == pytest.approx(1.5 / ((fineness / coarse) ** 2 - 1))


@pytest.mark.parametrize(("fineness", "coarse"), MESHES)
def test_gaps_and_castings_go_as_a_power_between_the_second_and_the_third(
    made_up, fineness, coarse
):
    c = 0.04

    def on(mesh):
        closing = made_up(gap=lambda x: 0.5 + 0 * x + c / mesh**2.5).closing()
        first, *rest = closing.cavities
        moved = replace(
            first,
            area_change_pct=-1.0 - c / mesh**2.5,
            largest_shift_mm=0.2 + 2 * c / mesh**2.5,
            step_mm=0.1 + 3 * c / mesh**2.5,
        )
        return replace(closing, cavities=(moved, *rest))

    errors = told(on(fineness), on(coarse), fineness, coarse)
    left = c / fineness**2.5
    assert errors.gap_mm == pytest.approx(left)
    assert [land.gap_mm for land in errors.lands] == pytest.approx([left] * 3)
    first, second = errors.cavities
    found = first.area_change_pct, first.largest_shift_mm, first.step_mm
    assert found == pytest.approx((left, 2 * left, 3 * left))
    assert (first.name, second.largest_shift_mm) == ("barrel 1", 0.0)
    assert errors.pressure_pct == 0.0  # nothing presses


@pytest.mark.parametrize(("unknowns", "by"), [(4, 2.0), (16, 2.0), (2.25, 1.5), (1.1, 1.2)])
def test_meshes_differ_as_their_unknowns_do_and_no_more_than_asked_for(closed, unknowns, by):
    """Nine quarters of the unknowns: edges two thirds as long, whatever the finenesses say."""
    coarse = with_unknowns(closed, 1e6)
    errors = errors_of(with_unknowns(bumped(closed, 7), unknowns * 1e6), coarse, 1.0, 0.5)
    assert errors.coarser_by == pytest.approx(by)
    assert errors.lands[0].pressure_kpa == pytest.approx(3.0 / (by**2 - 1))
    assert errors.of(1.0, 2.0, 1.0) == pytest.approx(1.0 / (by - 1))


def bumped(closing, place, kpa=3.0, land=0):
    """Return a closing with more pressure at one place of a land."""
    pressure = closing.lands[land].pressure_kpa.copy()
    pressure[place] += kpa
    lands = list(closing.lands)
    lands[land] = replace(lands[land], pressure_kpa=pressure)
    return replace(closing, lands=tuple(lands))


def test_a_difference_at_one_place_is_told_there_and_beside_it(closed):
    errors = told(bumped(closed, 7, land=2), closed)
    first, _, third = errors.lands
    assert third.pressure_kpa == pytest.approx(1.0)  # 3 kPa over 2^2 - 1
    x = float(closed.lands[2].x_mm[7])
    assert third.at_mm == errors.worst_at_mm == (x, 40.0)
    assert list(np.flatnonzero(third.pressures_kpa)) == [6, 7, 8]
    assert not first.pressures_kpa.any()
    peak = max(float(bumped(closed, 7, land=2).lands[2].pressure_kpa.max()), 16.0)
    assert errors.pressure_pct == pytest.approx(100 / peak)


@pytest.mark.parametrize(
    ("place", "is_large", "is_lip"),
    [(0, False, True), (1, False, False), (2, True, True), (3, True, False), (-1, False, True),
     (-2, False, False), (-3, True, True), (-4, True, False)],
)  # fmt: skip
def test_a_lip_is_the_last_place_and_at_large_deformation_two_edges(
    closed, place, is_large, is_lip
):
    given = replace(closed, deformation=Deformation(is_large=is_large))
    (land, *_) = told(bumped(given, place), given).lands
    assert land.lip_kpa == pytest.approx(1.0 if is_lip else 0.0)
    assert land.pressure_kpa == pytest.approx(0.0 if is_lip else 1.0)
    assert bool(land.inner[place]) is not is_lip


def test_places_within_a_tenth_of_the_coarser_edge_are_the_lip(closed):
    """A finer mesh whose last edge is a hundredth of the coarser one's."""
    land = closed.lands[0]
    s = np.insert(land.s_mm, 1, [0.05 * land.s_mm[1], 0.15 * land.s_mm[1]])
    arrays = ("x_mm", "y_mm", "pressure_kpa", "gap_mm", "slip_mm", "shear_kpa")
    finer = replace(
        land,
        s_mm=s,
        **{name: np.interp(s, land.s_mm, getattr(land, name)) for name in arrays},
        sticks=np.zeros(len(s), bool),
        wet=np.zeros(len(s), bool),
        faces_mm=np.zeros((len(s), 2, 2)),
    )
    (error, *_) = told(replace(closed, lands=(finer, *closed.lands[1:])), closed).lands
    assert list(error.inner[:4]) == [False, False, True, True]


def test_a_coarser_land_is_compared_at_the_places_of_the_finer_one(made_up, closed):
    """A straight curve has no error; every second place is missing, and the land is longer."""
    straight = made_up(press=lambda x: 20.0 + 0.1 * x).closing()

    def thinned(land):
        keep = slice(None, None, 2)
        every = {
            name: value[keep] for name, value in vars(land).items() if isinstance(value, np.ndarray)
        }
        return replace(land, **every | {"s_mm": 1.01 * land.s_mm[keep]})

    thin = replace(straight, lands=tuple(thinned(land) for land in straight.lands))
    errors = told(straight, thin)
    for land in errors.lands:
        assert land.pressure_kpa == pytest.approx(0.0, abs=1e-12)
        assert land.lip_kpa == pytest.approx(0.0, abs=1e-12)


def test_nobody_can_say_how_far_off_an_answer_is_without_a_coarser_one_of_its_kind(closed):
    large = replace(closed, deformation=Deformation(is_large=True))
    lost = replace(closed, trust=replace(closed.trust, outcome=Outcome.STEP_LIMIT))
    assert told(closed, closed) is not None
    assert told(closed, closed, 1.0, 1.0) is None
    assert told(closed, closed, 0.5, 1.0) is None
    assert told(large, closed) is None
    assert told(lost, closed) is None
    assert told(closed, lost) is None
    assert told(large, large) is not None


def test_without_lands_there_is_no_worst_place(closed):
    none = replace(closed, lands=())
    errors = told(none, none)
    assert (errors.worst_at_mm, errors.pressure_pct, errors.gap_mm) == (None, 0.0, 0.0)


@pytest.mark.parametrize(("coarse_pct", "is_settled"), [(9.0, True), (8.99, False), (11.2, False)])
def test_a_strain_is_settled_that_changes_by_less_than_a_tenth(closed, coarse_pct, is_settled):
    def strained(pct):
        return replace(closed, trust=replace(closed.trust, largest_strain_pct=pct))

    errors = told(strained(10.0), strained(coarse_pct))
    assert errors.strain_is_settled is is_settled
    assert errors.strain_pct == pytest.approx(abs(10.0 - coarse_pct))  # half the edge, half of it


# where contact ends


def ending(closed, at_mm, side=1, scale=4.0):
    """Return a closing whose first land presses as the root of the distance from where it ends."""
    land = closed.lands[0]
    away = side * (at_mm - land.x_mm)
    pressure = scale * np.sqrt(np.clip(away, 0, None))
    return replace(closed, lands=(replace(land, pressure_kpa=pressure),))


@pytest.mark.parametrize("at_mm", [-41.3, -37.0, -40.9])
@pytest.mark.parametrize("side", [1, -1])
def test_contact_ends_where_the_square_of_the_pressure_comes_to_zero(closed, at_mm, side):
    ((x, y, size),) = fine_spots(ending(closed, at_mm, side), 1.0)
    assert x == pytest.approx(at_mm, abs=1e-6)
    assert y == 40.0
    width = float(np.diff(closed.lands[0].s_mm)[0])
    assert size == pytest.approx(max(0.05, BRACKET_SHARE * width))


def test_the_steepest_ends_of_contact_come_first_and_forty_at_most(closed):
    soft, hard = (ending(closed, -40.3, scale=each) for each in (1.0, 5.0))
    both = replace(closed, lands=soft.lands, seats=hard.lands)
    land = hard.lands[0]
    far = replace(land, x_mm=land.x_mm + 100.0)
    spots = fine_spots(replace(both, seats=(far,)), 1.0)
    assert [x > 0 for x, _, _ in spots] == [True, False]
    many = replace(closed, lands=(*(far,) * MOST_ENDS, *soft.lands))
    assert len(fine_spots(many, 1.0)) == 40
    assert all(x > 0 for x, _, _ in fine_spots(many, 1.0))
    joints = replace(closed, lands=(), joints=hard.lands)
    assert len(fine_spots(joints, 1.0)) == 1


def test_edges_at_ends_of_contact_are_a_twentieth_on_120_mm_and_fall_as_the_fourth_power(closed):
    section = closed.section
    assert edge_at_contact_ends(section, 1.0) == pytest.approx(0.05)
    assert edge_at_contact_ends(section, 2.0) == pytest.approx(0.05 / 16)
    assert edge_at_contact_ends(section, 0.5) == pytest.approx(0.8)
    assert edge_at_contact_ends(section, 8.0) == pytest.approx(120e-6)


# lips


@pytest.mark.parametrize("power", [0.1, 0.32, 0.7])
@pytest.mark.parametrize("direction", [0.3, -1.1, 2.0])
def test_a_wedge_s_stresses_are_derivatives_of_airy_s_functions(power, direction):
    """Across a ray: d2/dr2, and -d/dr (1/r d/dt), at r = 1; by central differences."""
    a = power + 2.0
    functions = [
        lambda r, t, trig=trig, n=n: r**a * trig(n * t) for n in (a, power)
        for trig in (math.cos, math.sin)
    ]  # fmt: skip
    h = 1e-4
    normal, shear, motion = _wedge(power, direction)
    for k, f in enumerate(functions):
        t = direction
        second = (f(1 + h, t) - 2 * f(1, t) + f(1 - h, t)) / h**2

        def turned(r, t=t, f=f):
            return (f(r, t + h) - f(r, t - h)) / (2 * h * r)

        slope = -(turned(1 + h) - turned(1 - h)) / (2 * h)
        assert normal[k] == pytest.approx(second, rel=1e-5, abs=1e-5)
        assert shear[k] == pytest.approx(slope, rel=1e-5, abs=1e-5)
        # the part of a motion that turns with Airy's function, and twice its harmonic partner
        partner = (0.0, 0.0, 2 * math.sin(power * t), -2 * math.cos(power * t))[k]
        assert motion[k] == pytest.approx(partner - turned(1.0), rel=1e-5, abs=1e-5)


def test_of_both_ways_to_slide_the_lesser_power_counts():
    angle = math.radians(60)
    assert lip_power(angle, 0.3) == lip_power(angle, -0.3)
    assert lip_power(angle, 0.0) is None  # faces that do not rub open and close by turns there


def lip_closing(closed, sticks=(False, False), pressures=(4.0, 4.0), friction=0.3):
    land = closed.lands[0]
    pressure, stuck = land.pressure_kpa.copy(), land.sticks.copy()
    pressure[[1, -2]], stuck[[1, -2]] = pressures, sticks
    cuts = tuple(replace(cut, friction=friction) for cut in closed.section.cuts)
    return replace(
        closed,
        section=replace(closed.section, cuts=cuts),
        lands=(replace(land, pressure_kpa=pressure, sticks=stuck),),
    )


@pytest.fixture
def aslant(monkeypatch):
    """Let the far end of a land leave the rubber aslant, by 60 degrees."""

    def angle(place, direction, section):
        return math.radians(60) if place[0] > -30 else None

    monkeypatch.setattr(lips_module, "lip_angle", angle)


@pytest.mark.usefixtures("aslant")
def test_edges_at_a_lip_shrink_as_its_power_says_and_those_at_the_other_end_as_the_third(closed):
    land = closed.lands[0]
    power = lip_power(round(math.radians(60), 6), 0.3)
    found = {f: lip_spots(lip_closing(closed), f) for f in (1.5, 3.0)}
    (start, lip), (finer_start, finer_lip) = found.values()
    assert start[:2] == (land.x_mm[0], land.y_mm[0])
    assert lip[:2] == (land.x_mm[-1], land.y_mm[-1])
    assert lip[2] / finer_lip[2] == pytest.approx(2 ** (2 / power))
    assert start[2] / finer_start[2] == pytest.approx(8.0)
    assert start[2] == pytest.approx(land.length_mm / lips_module.EDGES_PER_LAND / 1.5**3)
    assert lip_spots(lip_closing(closed), 1.0) == ()
    at_most = lip_spots(lip_closing(closed), 1000.0)
    assert at_most[1][2] == pytest.approx(120e-6)


@pytest.mark.usefixtures("aslant")
def test_ends_that_stick_or_do_not_press_are_no_lips(closed):
    stuck = lip_closing(closed, sticks=(True, False))
    (only,) = lip_spots(stuck, 1.5)
    assert only[0] == closed.lands[0].x_mm[-1]
    open_ = lip_closing(closed, pressures=(4.0, 0.0))
    (only,) = lip_spots(open_, 1.5)
    assert only[0] == closed.lands[0].x_mm[0]


def test_cuts_that_leave_square_have_no_lips(closed, monkeypatch):
    monkeypatch.setattr(lips_module, "lip_angle", lambda *_: None)
    assert lip_spots(lip_closing(closed), 1.5) == ()


# which meshes


@pytest.mark.parametrize(("given", "found"), [(1.0, 0.5), (2.0, 1.0), (0.4, 0.25), (0.25, 0.25)])
def test_errors_come_from_edges_twice_as_long_unless_that_is_too_coarse(given, found):
    assert coarser(given) == found


@pytest.mark.parametrize(
    ("over", "step"), [(1.1, 1.25), (2.5, 2.5**0.3), (4.0, 4**0.3), (9.0, 1.6)]
)
def test_a_mesh_becomes_finer_by_a_quarter_to_six_tenths(over, step):
    assert refined_module._step(over) == pytest.approx(step)


@pytest.mark.parametrize(
    ("pressure_pct", "gap_mm", "widest_mm", "asked", "over"),
    [
        (2.0, 0.0, 0.0, 1.0, 2.0),
        (2.0, 0.0, 0.0, 4.0, 0.5),
        (0.1, 0.01, 0.1, 1.0, 2.0),  # 0.005 mm is bearable
        (0.1, 0.01, 1.0, 1.0, 0.5),  # 2 % of 1 mm
        (0.1, 0.01, 0.1, 2.0, 1.0),
        (3.0, 0.01, 0.1, 2.0, 1.5),
    ],
)
def test_pressures_may_be_off_by_what_is_asked_and_gaps_by_twice_that_or_5_um(
    pressure_pct, gap_mm, widest_mm, asked, over
):
    errors = SimpleNamespace(pressure_pct=pressure_pct, gap_mm=gap_mm)
    lands = (SimpleNamespace(largest_gap_mm=0.0), SimpleNamespace(largest_gap_mm=widest_mm))
    closing = SimpleNamespace(lands=lands)
    assert refined_module._over(errors, closing, asked) == pytest.approx(over)


def test_an_accuracy_is_one_per_cent_unless_asked_for():
    assert refined_module._allowed_accuracy(None) == 1.0
    assert refined_module._allowed_accuracy(3) == 3.0
    with pytest.raises(squeeze.BadInput):
        refined_module._allowed_accuracy(0.01)


def test_a_section_with_many_parts_gets_longer_edges():
    assert [fineness_for(each) for each in (12_000, 12_001 * 4, 16_000)] == [
        1.0, 0.5, pytest.approx(math.sqrt(0.75)),
    ]  # fmt: skip


class Meshes(Question):
    """A question whose answers know contact ends as well as the test says; it notes its meshes."""

    def __init__(self, widths, is_large=False, lips=False, lost_at=None, given_up=False) -> None:
        self.widths, self.made = list(widths), []
        self.has_lips, self.lost_at = lips, lost_at
        self.how = SimpleNamespace(is_large=is_large, is_given_up=given_up)
        self.first = "first"
        self.finer_at_ends = 1.0

    def answer(self, block):
        outcome = SimpleNamespace(has_answer=len(self.made) != self.lost_at)
        return block, SimpleNamespace(deformation=self.how, outcome=outcome, number=len(self.made))

    def of(self, block, near=None):
        return self.answer(block)

    def widest(self, near, fineness):
        return self.widths[min(near.number, len(self.widths) - 1)]

    def spots(self, near, fineness):
        return ("lip",) if self.has_lips else ()

    def on(self, fineness, near, at_ends=None):
        self.made.append((fineness, at_ends))
        return self.answer(f"block {fineness}")


def searched(fineness, *given, **how):
    asked = Meshes(*given, **how)
    coarse, fine = on_both_meshes(asked, fineness)
    return asked, coarse, fine


def test_without_ends_of_contact_one_coarse_mesh_does():
    asked, coarse, _ = searched(1.0, [0.0])
    assert asked.made == [(1.0, None)]
    assert coarse[0] == "first"
    assert asked.finer_at_ends == 1.0


def test_ends_of_contact_are_looked_for_twice_while_they_become_better_known():
    assert searched(1.0, [1.0, 0.8, 0.6])[0].made == [(0.5, None), (0.5, None), (1.0, None)]
    assert searched(1.0, [1.0, 0.91, 0.6])[0].made == [(0.5, None), (1.0, None)]
    assert searched(1.0, [0.0], lips=True)[0].made == [(0.5, None), (1.0, None)]
    assert searched(1.0, [1.0, 0.8], lost_at=1)[0].made == [(0.5, None), (1.0, None)]
    assert searched(1.0, [1.0, 0.8], given_up=True)[0].made == [(1.0, None)]


def test_a_fine_mesh_asks_for_more_coarse_ones_and_finer_ends():
    widths = [0.8**k for k in range(20)]
    asked, coarse, _ = searched(2.0, widths)
    assert asked.made == [(1.0, None)] * 4 + [(1.0, 2.0)] * 4 + [(2.0, None)]
    assert asked.finer_at_ends == pytest.approx(math.sqrt(2))
    assert asked.first == coarse[0] == "block 1.0"
    large, _, _ = searched(2.0, widths, is_large=True)
    assert large.made == [(1.0, None)] * 2 + [(2.0, None)]
    usual, _, _ = searched(1.0, widths)
    assert usual.finer_at_ends == 1.0


def test_an_answer_that_is_lost_on_the_way_is_not_gone_on_from():
    asked, coarse, _ = searched(1.0, [1.0, 0.8, 0.6], lost_at=2)
    assert coarse[1].number == 1
    assert asked.made == [(0.5, None), (0.5, None), (1.0, None)]


def test_ends_are_as_fine_as_asked_for_and_finer_at_small_deformation_only(closed, monkeypatch):
    asked = []

    def spots(near, fineness):
        asked.append(fineness)
        return (0, 0, 0.3), (1, 1, 0.4)

    monkeypatch.setattr(meshes_module, "fine_spots", spots)
    monkeypatch.setattr(meshes_module, "lip_spots", lambda near, fineness: ((2, 2, 0.9),))
    question = Question(None, {}, None, None, None, finer_at_ends=1.4)
    assert len(question.spots(closed, 2.0)) == 3
    assert question.widest(closed, 2.0) == 0.4
    large = replace(closed, deformation=Deformation(is_large=True))
    question.widest(large, 2.0)
    assert asked == [2.8, 2.8, 2.0]
    lost = replace(closed, trust=replace(closed.trust, outcome=Outcome.STEP_LIMIT))
    assert question.spots(lost, 2.0) == ()
    assert question.widest(lost, 2.0) == 0.0
    monkeypatch.setattr(meshes_module, "fine_spots", lambda near, fineness: ())
    assert question.widest(closed, 2.0) == 0.0
