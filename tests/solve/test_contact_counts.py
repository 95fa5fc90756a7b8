"""Rows, paths, motions, springs and pieces of a contact problem, on a few places by hand."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from squeeze.solve.contact import springs
from squeeze.solve.contact.active_set import FreeTractions, _certified
from squeeze.solve.contact.balance import GOES, _areas_and_middles, _going, _move
from squeeze.solve.contact.coulomb import BACKWARD, FORWARD, OPEN, STICK
from squeeze.solve.contact.holding import _along_pressed_faces
from squeeze.solve.contact.problem import SLIDES, STRAIGHT, ContactProblem, split_motions
from squeeze.solve.contact.rows import contact_rows
from squeeze.solve.contact.solution import _differ, _floating, _least_slip, _pressing, _unpinned
from squeeze.solve.contact.springs import CARRIED
from squeeze.solve.contact.wetting import resin_paths
from squeeze.solve.elastic.rigid import rigid_motions, turned_about
from squeeze.solve.outcome import Outcome
from squeeze.solve.trust import Piece


def problem(C, q, R=None, b=(), mu=0.0, load=1.0, gap0=None) -> ContactProblem:
    C, q = np.array(C, float), np.array(q, float)
    R = np.zeros((len(q), 0)) if R is None else np.array(R, float)
    mu = np.full(len(q) // 2, mu)
    return ContactProblem(C, q, R, np.array(b, float), mu, load, gap0)


@pytest.mark.parametrize("angle", [0.0, 0.6, 2.5])
def test_rows_are_gap_and_slip_weighted_by_hats(angle):
    """A land of edges of 2 and 4 mm, at an angle: its left face lies left of its way.

    Of a gap of a tenth of the distance s, integrals of hat times s are 2/3, 4/3 + 20/3 and 28/3.
    """
    s = np.array([0.0, 1.0, 2.0, 4.0, 6.0])
    forward = np.array([np.cos(angle), np.sin(angle)])
    left = np.array([-forward[1], forward[0]])
    points = np.vstack([s[:, None] * forward] * 2)
    face = SimpleNamespace(left=np.arange(5), right=np.arange(5, 10), cut=0, start_mm=0.0)
    cut = SimpleNamespace(friction=0.3, gap_mm=(0.0, 0.6), length_mm=6.0)
    rows = contact_rows(SimpleNamespace(points=points, faces=(face,)), (cut,))
    growing = np.array([2 / 3, 4 / 3 + 20 / 3, 28 / 3])
    assert rows.weight == pytest.approx([1.0, 3.0, 2.0])
    assert rows.gap0 == pytest.approx(0.1 * growing)
    assert rows.friction.tolist() == [0.3] * 3
    assert rows.begins.tolist() == [0, 3]
    u = np.zeros((10, 2))
    u[:5] = 0.1 * forward + 0.5 * left
    assert rows.normal @ u.ravel() == pytest.approx(0.5 * rows.weight)
    assert rows.along @ u.ravel() == pytest.approx(0.1 * rows.weight)
    u[5:] = u[:5]
    assert rows.normal @ u.ravel() == pytest.approx(np.zeros(3), abs=1e-12)
    u[:5], u[5:] = s[:, None] * left, 0.0
    assert rows.normal @ u.ravel() == pytest.approx(growing)


def test_resin_goes_from_a_cavity_along_lands_and_across_where_they_meet():
    """Two lands from a hole (node 0) meet at node 9 (a copy of 4); a third starts outside."""
    base = np.array([0, 1, 2, 3, 4, 5, 6, 7, 8, 4])
    lands = [SimpleNamespace(left=np.array(n)) for n in ([0, 1, 4], [9, 2, 3, 7, 0], [5, 6, 8])]
    mesh = SimpleNamespace(
        edges=(np.array([[5, 6, 8]]), np.array([[0, 2, 1]])), base=base, lands=lands
    )
    rows = SimpleNamespace(begins=np.array([0, 2, 5, 7]))
    found = resin_paths(mesh, rows)
    assert sorted(map(tuple, found.links.tolist())) == [(0, 1), (1, 2), (2, 3), (3, 4), (5, 6)]
    assert found.mouths.tolist() == [0, 4]


def test_motions_are_free_that_open_nothing_and_slide_on_what_does_not_rub():
    """Two level places: a lift opens both, a turn one up and one down, a shift slides both."""
    R = np.array([[1, 1, 0], [1, -1, 0], [0, 0, 1], [0, 0, 1]], float)
    smooth = np.array([True, True, False, False])
    held, free = split_motions(R, smooth)
    assert (held.shape, free.shape) == ((3, 2), (3, 1))
    assert np.abs(free[:, 0]) == pytest.approx([0, 0, 1])
    assert held.T @ free == pytest.approx(np.zeros((2, 1)))
    assert split_motions(R, np.ones(4, bool))[1].shape == (3, 0)
    one = split_motions(R, np.array([True, False, False, False]))[1]
    assert one.shape == (3, 2)
    assert np.abs(R[0] @ one).max() < 1e-12
    # a hair off level: a shift that opens less than a thousandth of its slide is still free
    for share, free in ((0.4, 1), (3.0, 0)):
        tilted = R[:, 2:].copy()
        tilted[:2, 0] = share * STRAIGHT * np.array([1.0, -1.0])
        assert split_motions(tilted, smooth)[1].shape == (1, free)


def test_springs_add_their_give_to_the_compliance_and_take_the_loads():
    """One place under a free lift: its gap is C p + s R (R' p - b), s ten times the softest."""
    free = problem(np.diag([2.0, 1.0]), [0.1, 0.0], [[3.0], [0.0]], [6.0])
    sprung = springs._sprung(free, 10.0)
    assert springs._compliance(free, 10.0) == 20.0
    assert sprung.C == pytest.approx(np.array([[2.0 + 20 * 9, 0], [0, 1]]))
    assert sprung.q == pytest.approx([0.1 - 20 * 3 * 6, 0.0])
    assert (sprung.R.shape, sprung.b.shape) == ((2, 0), (0,))
    p = 2.0 - 1e-6
    held = _certified(sprung, np.array([STICK]), np.array([p, 0.0]), np.zeros(2), np.zeros(0), 1)
    removed = springs._springs_removed(free, held, 10.0)
    assert removed.motion == pytest.approx([20.0 * (3 * p - 6.0)])
    assert removed.balance == pytest.approx(3e-6)
    assert removed.outcome is Outcome.CONVERGED
    for left, outcome in (
        (3 * CARRIED, Outcome.STEP_LIMIT), (3 * SLIDES, Outcome.PIECE_NOT_HELD),
    ):  # fmt: skip
        given = problem(free.C, free.q, free.R, [3 * p + left])
        assert springs._springs_removed(given, held, 10.0).outcome is outcome


def test_shear_goes_with_the_pressure_where_a_place_slides():
    """Open, sticking, forward and backward: pressures of three, and shear of the one that sticks.

    Against the sliding, by 0.5 of the pressure.
    """
    state = np.array([OPEN, STICK, FORWARD, BACKWARD], np.int8)
    found = FreeTractions.of(np.full(4, 0.5), state)
    assert found.rows.tolist() == [1, 2, 3, 5]
    assert found.slide.tolist() == [0.0, -0.5, 0.5]
    A = np.arange(8.0)[None] ** 2
    assert found.reduced(A).tolist() == [[1.0, 4.0 - 18.0, 9.0 + 24.5, 25.0]]


def test_what_pins_give_is_taken_off_and_the_answer_stays():
    """C with the give of a pin along the motion: gaps but for the motion are those without it."""
    own, R = np.diag([2.0, 3.0, 1.0, 1.0]), np.array([[1.0], [1.0], [0.0], [0.0]])
    pinned = problem(own + 7.0 * R @ R.T, [0.1, 0.2, 0, 0], R, [5.0])
    inner, upper = _unpinned(pinned, np.eye(1))
    bare, _ = _unpinned(problem(own, [0.1, 0.2, 0, 0], R, [5.0]), np.eye(1))
    assert abs(upper[0, 0]) == pytest.approx(np.sqrt(2))
    assert inner.C == pytest.approx(bare.C)
    assert inner.q == pytest.approx(bare.q)
    assert inner.R.T @ inner.C == pytest.approx(np.zeros((1, 4)), abs=1e-12)
    assert abs(inner.b[0]) == pytest.approx(5 / np.sqrt(2))
    assert inner.load == pytest.approx(1 / np.sqrt(2))
    p = np.array([2.0, 3.0, 0, 0])  # in balance: gaps differ by a motion alone
    apart = (pinned.C @ p + pinned.q) - (inner.C @ p + inner.q)
    assert apart[0] == pytest.approx(apart[1])


def found_of(case, p, t=None, v=None, state=None):
    c = len(p)
    t, v = (np.zeros(c) if each is None else np.array(each, float) for each in (t, v))
    state = np.full(c, FORWARD) if state is None else state
    return SimpleNamespace(p=np.array(p, float), t=t, v=v, state=state)


def test_places_press_whose_force_counts_and_answers_differ_by_a_hundred_thousandth():
    case = problem(np.eye(4), np.zeros(4), [[1], [2], [0], [0]], [1.0], load=10.0)
    assert _pressing(case, found_of(case, [0.9e-7, 0.6e-7])).tolist() == [False, True] * 2
    one = found_of(case, [2.0, 1.0], [0.0, -4.0])
    for far, differs in ((0.9e-5, False), (1.1e-5, True)):
        assert _differ(one, found_of(case, [2.0, 1.0], [0.0, -4.0 - 4 * far])) is differs
        assert _differ(one, found_of(case, [2.0 + 4 * far, 1.0], [0.0, -4.0])) is differs


def test_a_floating_piece_goes_along_what_no_pressed_place_resists():
    R = np.array([[1.0, 0.0], [0.0, 1.0]])
    rows = np.array([True, False])
    assert _floating(R, rows, np.array([3.0, 2.0])) == pytest.approx([0.0, 2.0])
    assert np.abs(_floating(R, rows, np.array([3.0, 0.0]))) == pytest.approx([0.0, 1.0])
    pressed = np.array([[0.0, 1.0]])
    assert _along_pressed_faces(np.array([3.0, 2.0]), pressed) == pytest.approx([3.0, 0.0])
    assert _along_pressed_faces(np.array([1e-4, 2.0]), pressed) == pytest.approx([1e-4, 2.0])


def test_the_least_slip_is_that_of_a_shift_taken_back():
    """Two smooth places slid by 3 and 1: a shift of -2 leaves 1 and -1, as least squares have it.

    A place that sticks lets nothing shift.
    """
    R = np.array([[1, 0], [1, 0], [0, 1], [0, 1]], float)
    case = problem(np.eye(4), np.zeros(4), R, [0.0, 0.0])
    given = _certified(
        case, np.array([FORWARD, FORWARD]), np.zeros(4), np.array([0, 0, 3.0, 1.0]), np.zeros(2), 1
    )
    left = _least_slip(case, given)
    assert left.v == pytest.approx([1.0, -1.0])
    assert left.motion == pytest.approx([0.0, -2.0])
    stuck = _certified(
        case, np.array([FORWARD, STICK]), np.zeros(4), np.array([0, 0, 3.0, 0.0]), np.zeros(2), 1
    )
    assert _least_slip(case, stuck).v.tolist() == [3.0, 0.0]


def two_pieces():
    """Return a square of 10 mm and a triangle of 2 mm beside it."""
    points = np.array([[0, 0], [10, 0], [10, 10], [0, 10], [20, 0], [22, 0], [20, 2]], float)
    triangles = np.array([[0, 1, 2], [0, 2, 3], [4, 5, 6]])
    return SimpleNamespace(
        points=points, triangles=triangles, piece=np.array([0] * 4 + [1] * 3)
    )  # fmt: skip


def test_areas_and_middles_of_pieces_and_how_one_moves():
    mesh = two_pieces()
    area, middle = _areas_and_middles(mesh)
    assert area == pytest.approx([100.0, 2.0])
    assert middle == pytest.approx(np.array([[5, 5], [62 / 3, 2 / 3]]))
    turn = turned_about(mesh.points, mesh.points[4:].mean(axis=0))
    shift, size = _move(mesh, np.array([0.3, -0.1]) - 0.02 * turn, 1)
    assert shift == pytest.approx([0.3, -0.1])
    assert size == pytest.approx(-0.02 * np.hypot(4 / 3, 2 / 3))


@pytest.mark.parametrize(
    ("motion", "goes", "turns"),
    [
        ((5, 7, 0, 5 + 3, 7 - 4, 0), (0.6, -0.8), 0),  # past the square, which shifts as well
        ((0, 0, 0, 0, 0, -1), (0.0, 0.0), -1),
        ((0, 0, 0, 2, 0, 0.2), (1.0, 0.0), 1),
        ((0, 0, 0, 2, 0, 0.05), (1.0, 0.0), 0),  # a turn under a twentieth is not told
        ((0, 0, 0, 0.02, 0, 2), (0.0, 0.0), 1),
    ],
)
def test_a_loose_piece_goes_past_the_largest_one(motion, goes, turns):
    mesh = two_pieces()
    factor = SimpleNamespace(motions=rigid_motions(mesh))
    given = [Piece((5.0, 5.0), 100.0, 0.0, 0.0), Piece((20.6, 0.6), 2.0, 0.0, 0.0)]
    square, piece = _going(mesh, factor, given, np.array(motion, float))
    assert square == given[0]
    assert piece.goes == pytest.approx(goes)
    assert piece.turns == turns
    assert GOES == 1e-3
