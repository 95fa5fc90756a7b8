"""The seat that closes evenly: its linear response, its gain, and what a careless saw costs."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from squeeze.mold.forces.loads import Loads
from squeeze.mold.geometry.loop import circle, polygon_loop
from squeeze.mold.section.records import Cavity, CradlePiece, Cut, CutStretch, Material, Section
from squeeze.solve import Block, Outcome
from squeeze.study.cradles.even_seat import (
    SeatTrial,
    even_seat,
    response,
    saw_errors,
    saw_tolerance,
)

BANDS = Loads(tension_n_per_mm=0.6)
S = np.linspace(-1.0, 1.0, 65)
CROWN = [{"over": S**2}]


def box(x0: float, y0: float, x1: float, y1: float):
    return polygon_loop([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])


@pytest.fixture(scope="module", params=[0.0, 0.3])
def block(request) -> Block:
    """Two flat boards on a square, cut from side to side through a cavity near the top."""
    stretches = (
        CutStretch(((-60.0, 30.0), (-12.0, 30.0)), 0.0),
        CutStretch(((12.0, 30.0), (60.0, 30.0)), 72.0),
    )
    cut = Cut("across", stretches, 120.0, friction=request.param)
    wood = Material(4000.0, 0.3)
    over, under = (
        CradlePiece(name, loop, wood, request.param, (0.0,), 110.0)
        for name, loop in (("over", box(-55, 60, 55, 78)), ("under", box(-55, -78, 55, -60)))
    )
    cavity = Cavity("c", circle(12, (0, 30)))
    square = box(-60, -60, 60, 60)
    return Block(Section(square, Material(0.6, 0.499), (cavity,), (cut,), cradles=(over, under)))


def test_pressures_respond_as_a_small_change_does(block):
    trial = SeatTrial(block, CROWN, BANDS, ())
    before = trial.solve(np.zeros(1))
    slope = response(trial.problem, before, trial.columns)
    after = trial.solve(np.array([1e-5]))
    assert (before.state == after.state).all()
    found = (after.p - before.p) / 1e-5
    assert np.abs(slope[:, 0] - found).max() < 1e-6 * np.abs(found).max()


def test_found_seat_is_more_even_and_stands_when_solved_anew(block):
    found = even_seat(block, CROWN, BANDS)
    assert found.evenness > found.evenness_before + 0.01
    closing = block.close(BANDS, gap_mm=found.gap_mm)
    assert closing.trust.outcome is Outcome.CONVERGED
    p = np.concatenate([land.pressure_kpa for land in closing.lands])
    assert p.min() == pytest.approx(found.least_kpa, rel=1e-6)
    assert min(found.gap_mm["over"]) == 0


def test_no_crown_near_by_is_better(block):
    found = even_seat(block, CROWN, BANDS)
    trial = SeatTrial(block, CROWN, BANDS, ())
    for other in (found.size_mm - 0.1, found.size_mm + 0.1):
        assert trial.evenness(trial.solve(other)) < found.evenness + 1e-3


def test_a_smooth_profile_is_at_least_as_even_as_one_crown(block):
    basis = [np.polynomial.legendre.Legendre.basis(k)(S) for k in (2, 4, 6)]
    one = even_seat(block, CROWN, BANDS)
    more = even_seat(block, [{"over": shape} for shape in basis], BANDS)
    assert more.evenness > one.evenness - 0.01


def test_evenness_does_not_depend_on_how_hard_the_bands_pull_when_the_crown_scales(block):
    one = even_seat(block, CROWN, BANDS)
    twice = even_seat(block, CROWN, replace(BANDS, tension_n_per_mm=1.2))
    assert twice.evenness == pytest.approx(one.evenness, abs=0.02)
    assert twice.size_mm == pytest.approx(2 * one.size_mm, rel=0.15, abs=0.05)


def test_saw_slips_cost_evenness(block):
    found = even_seat(block, CROWN, BANDS)
    slips = saw_errors(block, found.gap_mm, BANDS)
    assert len(slips) == 3
    assert slips[0].evenness < found.evenness
    none = saw_errors(block, found.gap_mm, BANDS, error_mm=0.0)
    assert [slip.evenness for slip in none] == pytest.approx([found.evenness] * 3, rel=1e-6)


def test_saw_may_stray_until_the_gain_is_lost(block):
    found = even_seat(block, CROWN, BANDS)
    before = found.evenness_before
    bears = saw_tolerance(block, found.gap_mm, BANDS, before)
    if bears < 0.5:
        worse = saw_errors(block, found.gap_mm, BANDS, bears + 0.02)
        assert worse[0].evenness < before
    assert saw_errors(block, found.gap_mm, BANDS, bears)[0].evenness >= before
    assert saw_tolerance(block, found.gap_mm, BANDS, 0.0) >= bears
