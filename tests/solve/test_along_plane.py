"""Waves along a block and the contact over its parting plane, on matrices solved by hand."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from squeeze.solve.along import plane as plane_module
from squeeze.solve.along.land_maps import land_maps
from squeeze.solve.along.long_block import _flooded_along
from squeeze.solve.along.partial_cuts import CutExtent
from squeeze.solve.along.plane import (
    PlaneProblem,
    PlaneSolution,
    Waves,
    _certified,
    _wrong,
    orthonormal,
    solve_plane,
)
from squeeze.solve.contact.wetting import ResinPaths
from squeeze.solve.outcome import Outcome


def waves(*C, sines=0, count=3):
    """Return waves of one compliance for all, which touches no place but its own."""
    C = np.array(C, float)
    alike = np.repeat(C[None], count, axis=0)
    return Waves(alike, np.linalg.inv(alike), sines, *orthonormal(count))


def plane(bonded, C, resin=0.0, faces=True, slides=False):
    bonded = np.array(bonded, float)
    whole = np.ones(bonded.shape)
    return PlaneProblem(
        waves(*C, count=len(bonded)), bonded, (whole * faces).astype(bool),
        (whole * slides).astype(bool), whole * resin,
    )  # fmt: skip


@pytest.mark.parametrize("count", [1, 4, 5])
def test_waves_are_cosines_midway_between_even_steps_and_sines_at_their_beginnings(count):
    cosine, sine = orthonormal(count)
    for n in range(count):
        size = np.sqrt((2 if n else 1) / count)
        for j in range(count):
            assert cosine[j, n] == pytest.approx(size * np.cos(np.pi * n * (j + 0.5) / count))
            assert sine[j, n] == pytest.approx(size * np.sin(np.pi * n * j / count), abs=1e-15)
    assert cosine.T @ cosine == pytest.approx(np.eye(count))
    assert sine.T @ sine == pytest.approx(np.diag([0.0] + [1.0] * (count - 1)))


def test_the_last_rows_are_sines_and_every_wave_has_its_own_matrix():
    """Gap as the cosine of wave 1, sliding as the sine of wave 2: each is multiplied by its own."""
    cosine, sine = orthonormal(4)
    C = np.array([np.diag([10.0**k, 2.0 * 10.0**k]) for k in range(4)])
    made = Waves(C, C, 1, cosine, sine)
    places = np.column_stack([cosine[:, 1], sine[:, 2]])
    there = np.zeros((4, 2))
    there[1, 0] = there[2, 1] = 1.0
    assert made.to_waves(places) == pytest.approx(there, abs=1e-12)
    assert made.to_places(there) == pytest.approx(places)
    assert made.apply(C, places) == pytest.approx(places * [10.0, 200.0])


def test_a_place_that_pulls_opens_by_its_compliance_times_the_pull():
    """Places that do not touch each other: x = C (r - t0) where t0 is below r, else nothing."""
    case = plane([[3.0], [-2.0], [0.5], [1.5]], [[4.0]], resin=1.0)
    found = solve_plane(case)
    assert found.outcome is Outcome.CONVERGED
    assert found.jump[:, 0] == pytest.approx([0.0, 12.0, 2.0, 0.0])
    assert found.traction[:, 0] == pytest.approx([3.0, 1.0, 1.0, 1.5])
    assert found.open[:, 0].tolist() == [False, True, True, False]
    assert found.complementarity < 1e-9
    assert found.steps == 1  # what pulls in the bonded block is what opens


def test_a_place_that_a_neighbour_lifts_opens_with_it_and_one_that_it_presses_stays_shut():
    """S = [[2, s], [s, 2]] and t0 = (-1, 0.2): alone the first opens by 1/2.

    The other is left with 0.2 + s / 2: it opens too for s = -1, and both tractions are 0 then. A
    third place presses and touches neither.
    """
    for s in (-1.0, 1.0):
        S = np.array([[2.0, s, 0.0], [s, 2.0, 0.0], [0.0, 0.0, 1.0]])
        found = solve_plane(plane([[-1.0, 0.2, 5.0]] * 2, np.linalg.inv(S)))
        assert found.outcome is Outcome.CONVERGED
        both = [*np.linalg.solve(S[:2, :2], [1.0, -0.2]), 0.0]
        jump = both if s < 0 else [0.5, 0.0, 0.0]
        left = [0.0, 0.0 if s < 0 else 0.2 + 0.5, 5.0]
        assert found.jump == pytest.approx(np.array([jump] * 2))
        assert found.traction == pytest.approx(np.array([left] * 2), abs=1e-12)


def test_a_place_that_starts_open_and_overlaps_is_shut():
    """From a start with all places open, the answer is that from none."""
    case = plane([[3.0], [-2.0]], [[4.0]])
    alone = solve_plane(case)
    start = replace(alone, open=np.ones((2, 1), bool), jump=np.full((2, 1), 7.0))
    again = solve_plane(case, start)
    assert again.outcome is Outcome.CONVERGED
    assert again.open[:, 0].tolist() == [False, True]
    assert again.jump == pytest.approx(alone.jump)


def test_many_places_that_touch_are_solved_in_as_many_products_as_conjugate_gradients_take():
    """For each change of places no more than there are free ones, and a few; less from the answer.

    Every wave has a compliance of its own, so none is the inverse on the open places.
    """
    rng = np.random.default_rng(5)
    roots = rng.normal(size=(12, 4, 4))
    C = roots @ roots.transpose(0, 2, 1) + 0.1 * np.eye(4)
    case = plane(rng.normal(size=(12, 4)) + 0.7, np.eye(4))
    case = replace(case, waves=Waves(C, np.linalg.inv(C), 0, *orthonormal(12)))
    found = solve_plane(case)
    assert found.outcome is Outcome.CONVERGED
    assert 10 <= found.open.sum() <= 30
    assert np.abs(found.traction[found.open]).max() == 0.0
    exact = case.bonded + case.waves.apply(case.waves.S, found.jump)
    assert exact == pytest.approx(found.traction, abs=1e-11)
    assert 2 < found.products <= (found.steps + 1) * (found.open.sum() + 3)
    again = solve_plane(case, found)
    assert (again.outcome, again.steps) == (Outcome.CONVERGED, 1)
    flat = solve_plane(case, replace(found, jump=np.zeros((12, 4))))
    assert again.products < flat.products < found.products
    for most in (found.products // 2, found.products - 1):
        short = solve_plane(case, most_products=most)
        assert (short.outcome, short.products) == (Outcome.STEP_LIMIT, most)


def test_whole_rubber_pulls_and_smooth_faces_slide_until_no_shear_is_left():
    """Of gap and sliding that touch: S = [[2, 1], [1, 2]]; sliding by x takes the shear off."""
    S = np.array([[2.0, 1.0], [1.0, 2.0]])
    whole = solve_plane(plane([[-1.0, 3.0]] * 2, np.linalg.inv(S), faces=False))
    assert (whole.outcome, whole.products) == (Outcome.CONVERGED, 0)
    assert whole.traction.tolist() == [[-1.0, 3.0]] * 2
    cut = np.array([True, False])
    slid = solve_plane(plane([[5.0, 3.0]] * 2, np.linalg.inv(S), faces=cut, slides=~cut))
    assert slid.jump == pytest.approx(np.array([[0.0, -1.5]] * 2))
    assert slid.traction == pytest.approx(np.array([[5.0 - 1.5, 0.0]] * 2), abs=1e-12)
    assert not slid.open.any()
    # resin stands between faces that part, and shears nothing
    wet = solve_plane(plane([[0.5, 3.0]] * 2, np.linalg.inv(S), resin=1.0, faces=cut, slides=~cut))
    assert wet.jump == pytest.approx(np.array([np.linalg.solve(S, [0.5, -3.0])] * 2))
    assert wet.traction == pytest.approx(np.array([[1.0, 0.0]] * 2), abs=1e-12)


def test_a_solve_that_fails_says_how(monkeypatch):
    broken = plane([[np.nan], [1.0]], [[4.0]])
    assert solve_plane(broken).outcome is Outcome.NOT_FINITE
    pulled = plane([[-2.0], [1.0]], [[4.0]])
    assert solve_plane(pulled, most_products=1).outcome is Outcome.STEP_LIMIT
    soft = replace(pulled, waves=replace(pulled.waves, S=-pulled.waves.S))
    assert solve_plane(soft).outcome is Outcome.PIECE_NOT_HELD  # nothing resists the opening
    monkeypatch.setattr(plane_module, "MOST_PRODUCTS", 1)
    assert solve_plane(pulled).outcome is Outcome.PIECE_NOT_HELD  # it never comes to rest


def test_how_far_a_place_is_wrong_is_measured_over_the_largest_of_its_kind():
    """Closed faces that pull by 1 of 4, open ones that overlap by 3 of 6, and what is right."""
    case = plane([[0.0]] * 5, [[1.0]], resin=1.0, faces=np.array([[1], [1], [1], [1], [0]]))
    open_ = np.array([[False], [False], [True], [True], [False]])
    traction = np.array([[4.0], [0.0], [1.0], [1.0], [-3.0]])
    jump = np.array([[0.0], [0.0], [6.0], [-3.0], [0.0]])
    found = _wrong(case, open_, traction, jump, 1e-9)
    assert found[:, 0] == pytest.approx([0.0, 0.25, 0.0, 0.5, 0.0])
    assert _wrong(case, open_, traction, jump, 0.3)[:, 0] == pytest.approx([0, 0, 0, 0.5, 0])


@pytest.mark.parametrize(
    ("traction", "jump", "stands_open", "wrong"),
    [
        ((4.0, 1.0), (0.0, 2.0), (False, True), 0.0),
        ((4.0, -1.0), (0.0, 0.0), (False, False), 0.5),  # it pulls by 2 of 4
        ((4.0, 1.0), (0.0, -2.0), (False, True), 1.0),  # it overlaps
        ((4.0, 3.0), (0.0, 2.0), (False, False), 0.5),  # it presses by 2 while apart
        ((4.0, 3.0), (0.0, 0.0), (False, True), 0.5),  # it counts as open, and presses
    ],
)
def test_the_certificate_names_the_largest_violation(traction, jump, stands_open, wrong):
    case = plane([[0.0]] * 2, [[1.0]], resin=1.0)
    case = replace(case, resin=np.array([[0.0], [1.0]]))
    columns = (np.array(each).reshape(2, 1) for each in (stands_open, traction, jump))
    found = _certified(case, *columns, Outcome.CONVERGED, 1, 1)
    assert found.complementarity == pytest.approx(wrong)
    assert found.outcome is (Outcome.STEP_LIMIT if wrong else Outcome.CONVERGED)


def test_shear_that_is_left_on_smooth_faces_is_a_violation():
    cut = np.array([[True, False]] * 2)
    case = replace(plane([[0.0] * 2] * 2, np.eye(2)), faces=cut, slides=~cut)
    traction = np.array([[4.0, 0.0], [4.0, -1.0]])
    closed = np.zeros((2, 2), bool)
    found = _certified(case, closed, traction, np.zeros((2, 2)), Outcome.CONVERGED, 1, 1)
    assert found.complementarity == pytest.approx(0.25)


def test_a_liquid_runs_along_the_block_as_well_as_across_it():
    """Three slices of three places, the mouth at the first: through the middle slice alone."""
    paths = ResinPaths(np.array([[0, 1], [1, 2]]), np.array([0]))
    open_ = np.array([[0, 1, 1], [1, 1, 0], [0, 1, 1]], bool)
    assert _flooded_along(paths, open_).tolist() == open_.tolist()
    shut = np.array([[0, 1, 1], [1, 0, 1], [0, 1, 1]], bool)
    assert _flooded_along(paths, shut).tolist() == [[False] * 3, [True, False, False], [False] * 3]


def test_a_land_over_the_length_has_the_tractions_in_kilopascal_without_the_resin():
    """Two lands of two places; that of the second has x in its own columns."""
    points = np.array([[0, 0], [1.5, 2], [3, 4], [9, 9], [9, 11], [9, 13]], float)
    lands = [SimpleNamespace(cut=k, land=k, left=np.arange(3) + 3 * k) for k in (0, 1)]
    block = SimpleNamespace(
        contact_rows=SimpleNamespace(begins=np.array([0, 2, 4])),
        mesh=SimpleNamespace(lands=lands, points=points),
        section=SimpleNamespace(cuts=[SimpleNamespace(name="a"), SimpleNamespace(name="b")]),
    )
    rows = np.ones((2, 4), bool)
    extent = CutExtent(np.zeros(0, int), rows, ~rows, np.array([[True, True], [True, False]]))
    z = np.array([5.0, 15.0])
    traction = np.array([[0.1, 0.2, 0.3, 0.4], [0.5, 0.6, 0.7, 0.8]])
    resin = np.array([[0.0, 0.0, 0.1, 0.0], [0.0, 0.0, 0.0, 0.2]])
    jump = np.array([[0.0, 0.0, 2.0, 2.0], [0.0] * 4])
    solution = PlaneSolution(Outcome.CONVERGED, traction, jump, resin, jump > 0, 1, 1, 0.0)
    first, second = land_maps(block, extent, z, solution)
    assert (first.cut, second.cut, second.land) == ("a", "b", 1)
    assert (first.length_mm, second.length_mm) == (5.0, 4.0)
    assert second.y_mm.tolist() == [9.0, 13.0]
    assert first.pressure_kpa == pytest.approx(np.array([[100, 500], [200, 600]]))
    assert second.pressure_kpa == pytest.approx(np.array([[200, 700], [400, 600]]))
    assert second.gap_mm == pytest.approx(np.array([[1.0, 0.0], [1.0, 0.0]]))
    assert second.is_cut.tolist() == [True, False]
    assert np.isnan(land_maps(block, extent, z, None)[0].gap_mm).all()
