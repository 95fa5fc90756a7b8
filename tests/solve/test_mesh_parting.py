"""Parting a mesh along its cuts, the faces and the outside, and curved triangles, by hand."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest
from skfem import ElementTriP2

from squeeze.solve.mesh.curved import _SLOPES, least_jacobian, unfold
from squeeze.solve.mesh.parting import (
    FacePair,
    _bases,
    _chained,
    _outside,
    _pieces,
    _quadratic,
    _TriangleSides,
    split,
)

SQUARE = np.array([[0.0, 0.0], [2.0, 0.0], [2.0, 2.0], [0.0, 2.0], [1.0, 1.0]])
FOUR = np.array([[0, 1, 4], [1, 2, 4], [2, 3, 4], [3, 0, 4]])
"""A square of 2 mm in four triangles round its middle: below, right, above, left."""


def test_a_cut_that_ends_in_the_rubber_copies_all_but_its_end():
    """From corner 0 to the middle: the corner becomes two, the middle stays one."""
    corners, triangles, origin = split(SQUARE, FOUR, [(0, 4)])
    assert origin.tolist() == [0, 1, 2, 3, 4, 0]
    assert corners[5].tolist() == [0.0, 0.0]
    assert triangles[1:3].tolist() == FOUR[1:3].tolist()
    assert {int(triangles[0, 0]), int(triangles[3, 1])} == {0, 5}


def test_cuts_that_cross_part_the_square_in_four_and_their_faces_lie_left_and_right():
    corners, triangles, origin = split(SQUARE, FOUR, [(0, 4, 2), (1, 4, 3)])
    assert np.bincount(origin).tolist() == [2, 2, 2, 2, 4]
    points, six = _quadratic(corners, triangles)
    assert len(set(_pieces(six, len(points)).tolist())) == 4
    sides = _TriangleSides(six, origin)
    left, right = sides.faces((0, 4, 2))
    assert origin[left[::2]].tolist() == origin[right[::2]].tolist() == [0, 4, 2]
    assert points[left[1::2]].tolist() == points[right[1::2]].tolist() == [[0.5, 0.5], [1.5, 1.5]]
    piece = _pieces(six, len(points))
    assert piece[left[1]] == piece[six[3, 0]]  # the triangle at the left, above the path
    assert piece[right[1]] == piece[six[0, 0]]
    pair = FacePair(0, 0, 0.0, left, right)
    base = _bases((pair,), origin, len(points))
    assert base[right].tolist() == base[left].tolist()
    assert base[left[1::2]].tolist() == left[1::2].tolist()
    with pytest.raises(KeyError):
        sides.along(np.array([0]), np.array([2]))
    assert _chained(np.array([[1, 8, 2], [2, 9, 3]])).tolist() == [1, 8, 2, 9, 3]


def test_the_outside_leaves_the_seats_of_cradle_pieces_out():
    """A piece beside the square on its right side: six edges are left, the seat is not."""
    block = np.array([[0, 20, 1], [1, 21, 2], [2, 22, 3], [3, 23, 0]])
    piece = np.array([[4, 24, 5], [5, 25, 6], [6, 26, 7], [7, 27, 4]])
    origin = np.array([0, 1, 2, 3, 1, 5, 6, 2])  # nodes 4 and 7 are copies of 1 and 2
    section = SimpleNamespace(cavities=[], fillers=[], cradles=[0])
    seat = FacePair(0, 0, 0.0, np.array([1, 21, 2]), np.array([4, 27, 7]))
    found = _outside(section, [block, piece], origin, (seat,))
    assert sorted(found[:, 1].tolist()) == [20, 22, 23, 24, 25, 26]
    ends = origin[found[:, [0, 2]]]
    assert (ends[:, 1] == np.roll(ends[:, 0], -1)).all()
    assert _outside(section, [block, piece], origin, ()) is block


def test_the_slopes_of_a_triangle_are_those_of_any_quadratic():
    r, s = np.array([(0, 0), (1, 0), (0, 1), (0.5, 0), (0.5, 0.5), (0, 0.5)]).T
    quadratic = 3 + 2 * r - s + 4 * r * r - 5 * r * s + 7 * s * s
    by_r, by_s = _SLOPES
    assert by_r @ quadratic == pytest.approx(2 + 8 * r - 5 * s)
    assert by_s @ quadratic == pytest.approx(-1 - 5 * r + 14 * s)


def test_the_least_jacobian_is_its_least_bernstein_coefficient():
    """Worked out anew from six places of random triangles, over that of their straight edges."""
    rng = np.random.default_rng(2)
    corners = np.array([[0, 0], [1, 0], [0, 1], [0.5, 0], [0.5, 0.5], [0, 0.5]])
    bent = corners + 0.15 * rng.normal(size=(40, 6, 2))
    X = rng.dirichlet([1, 1, 1], 6)[:, 1:].T
    slope = np.stack([ElementTriP2().lbasis(X, k)[1] for k in range(6)])
    jacobian = np.linalg.det(np.einsum("kap,mkc->mpac", slope, bent))
    q, r, s = 1 - X.sum(axis=0), *X
    bernstein = np.column_stack([q * q, r * r, s * s, 2 * q * r, 2 * r * s, 2 * s * q])
    least = np.linalg.solve(bernstein, jacobian.T).min(axis=0)
    whole = np.linalg.det(np.stack([bent[:, 1] - bent[:, 0], bent[:, 2] - bent[:, 0]], axis=1))
    assert least_jacobian(bent) == pytest.approx(least / whole)
    assert least_jacobian(bent[:, [0, 2, 1, 5, 4, 3]]).tolist() == [-np.inf] * 40


@pytest.mark.parametrize(("bulge", "left"), [(0.4, 0.4), (3.0, 0.75), (8.0, 0.0)])
def test_both_faces_of_a_seam_are_straightened_where_one_triangle_is_turned_round(bulge, left):
    """Two triangles on one line, which bulges into the upper: half by half, in the end straight.

    At its corner the upper one's Jacobian is 1 - bulge of that with a straight edge.
    """
    upper = [[0, 3], [2, 3], [1, 5], [1, 3 + bulge], [1.5, 4], [0.5, 4]]
    lower = [[2, 3], [0, 3], [1, -9], [1, 3 + bulge], [0.5, -3], [1.5, -3]]
    for faces in (([0, 3, 1], [7, 9, 6]), ([7, 9, 6], [0, 3, 1])):
        points = np.array([*upper, *lower], float)
        numbers = np.arange(12).reshape(2, 6)
        pair = tuple(np.array(face) for face in faces)
        unfold(points, numbers, [pair])
        assert points[3].tolist() == points[9].tolist()
        assert points[3] == pytest.approx([1.0, 3.0 + left])
