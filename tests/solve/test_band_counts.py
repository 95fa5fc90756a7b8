"""Forces on an outline, the way of a band and rigid motions, on squares counted by hand."""

from __future__ import annotations

import math
from contextlib import nullcontext
from types import SimpleNamespace

import numpy as np
import pytest
from scipy.sparse import csr_array
from skfem import MeshTri2

from squeeze.mold.errors import BadInput
from squeeze.mold.forces.loads import Loads, Push
from squeeze.mold.section.records import Material
from squeeze.solve.along.wave import in_three_components
from squeeze.solve.bands.outline_forces import (
    IMBALANCE,
    _arc_place,
    _at_share,
    _lengths,
    check_pushes,
    load_terms,
    pressure_forces,
    push_forces,
)
from squeeze.solve.bands.wrap import BandFriction, _direction, friction_shares, wrap
from squeeze.solve.elastic.rigid import pins, resultants, rigid_fit, rigid_motions, turned_about
from squeeze.solve.elastic.wave_element import _inverse, wave_elements

SIDE = 4.0
CORNERS = np.array([[0, 0], [SIDE, 0], [SIDE, SIDE], [0, SIDE]], float)
POINTS = np.vstack([CORNERS, 0.5 * (CORNERS + np.roll(CORNERS, -1, axis=0))])
OUTLINE = np.array([[0, 4, 1], [1, 5, 2], [2, 6, 3], [3, 7, 0]])
"""A square of one quadratic edge a side, counter-clockwise from below."""

ARC = np.array([[[0.0, 0.0], [1.0, 1.0], [2.0, 0.0]]])
"""A parabola over 2 mm, 1 mm high: y = x (2 - x)."""


def test_pressure_on_a_part_of_an_edge_is_its_length_times_the_pressure():
    """From a quarter to three quarters of the lower side: 2 mm, upwards, in its middle."""
    f = pressure_forces(POINTS, OUTLINE[:1], 0.5, np.array([[0.25, 0.75]]))
    force, moment, size = resultants(POINTS, f)
    assert force == pytest.approx([0.0, 0.5 * 2.0])
    assert moment == pytest.approx(0.0, abs=1e-12)  # about the middle of the square
    assert size == pytest.approx(1.0, rel=0.2)
    last = pressure_forces(POINTS, OUTLINE[:1], 0.5, np.array([[0.5, 1.0]]))
    assert resultants(POINTS, last)[1] == pytest.approx(1.0 * 1.0)  # 1 mm right of the middle
    whole = pressure_forces(POINTS, OUTLINE, 0.5).reshape(-1, 2)
    assert whole[4] == pytest.approx([0.0, 0.5 * SIDE * 2 / 3])
    assert whole[0] == pytest.approx([0.5 * SIDE / 6] * 2)


def test_lengths_of_a_parabola_are_those_of_its_closed_form():
    """Up to x: half of (m sqrt(1 + m m) + asinh m) over 2, from its slope 2 at the start."""

    def length(x):
        whole, left = (0.25 * (m * math.sqrt(1 + m * m) + math.asinh(m)) for m in (2, 2 - 2 * x))
        return whole - left

    assert _lengths(ARC)[0] == pytest.approx(length(2.0), rel=2e-2)
    assert _lengths(ARC, 0.25)[0] == pytest.approx(length(0.5), rel=1e-4)
    share = length(0.5) / length(2.0)
    assert _at_share(ARC, np.array([[share, 1 - share]])) == pytest.approx(
        np.array([[0.25, 0.75]]), abs=1e-3
    )


@pytest.mark.parametrize(
    ("at", "place"),
    [((1.3, -5.0), 1.3), ((9.0, 2.5), 6.5), ((3.0, 3.9), 9.0), ((-1.0, 0.5), 15.5), ((4, 4), 8.0)],
)
def test_the_nearest_place_of_an_outline_is_found_along_it(at, place):
    x = POINTS[OUTLINE]
    start = np.concatenate([[0.0], np.cumsum(_lengths(x))])
    assert _arc_place(x, start, np.array(at)) == pytest.approx(place, abs=1e-5)


@pytest.mark.parametrize(
    ("at", "force"),
    [
        ((2.0, 0.0), (0.0, 2.0)),
        ((4.0, 0.0), (-1.0, 1.0)),  # half of it on either side of a corner
        ((0.0, 0.0), (1.0, 1.0)),  # the corner at which the outline begins
        ((0.0, 3.5), (1.5, -0.5)),
        ((0.0, 0.5), (1.5, 0.5)),
    ],
)
def test_a_patch_of_two_millimetres_pushes_on_both_sides_of_a_corner(at, force):
    f = push_forces(POINTS, OUTLINE, Push(at_mm=at, width_mm=2.0, pressure_mpa=1.0))
    assert resultants(POINTS, f)[0] == pytest.approx(force, abs=1e-4)


def test_pushes_are_refused_where_force_or_moment_is_left_over():
    """A pair of 1 N: as it is, one a little stronger, and side by side."""
    push = Loads(pushes=(Push(at_mm=(2, 0), width_mm=1.0, pressure_mpa=1.0),))
    f = np.zeros((8, 2))
    f[4], f[6] = [0, 1], [0, -1]
    check_pushes(POINTS, push, f.ravel())
    f[4, 1] += IMBALANCE
    check_pushes(POINTS, push, f.ravel())  # over the sum of both it is half as much
    f[4, 1] += 1.5 * IMBALANCE
    with pytest.raises(BadInput, match="do not balance"):
        check_pushes(POINTS, push, f.ravel())
    check_pushes(POINTS, Loads(), f.ravel())
    f[4, 1] = 1.0
    for couple, is_refused in ((0.8e-4, False), (1.5e-4, True)):  # 4 mm apart, over an arm of 2
        f[5, 1], f[7, 1] = couple, -couple
        with pytest.raises(BadInput, match="do not balance") if is_refused else nullcontext():
            check_pushes(POINTS, push, f.ravel())
    f[:] = 0.0
    f[0], f[6] = [0, 1], [0, -1]
    with pytest.raises(BadInput, match=r"turning moment of -2\.000 N"):
        check_pushes(POINTS, push, f.ravel())


def test_resin_presses_out_of_a_cavity_and_pressure_all_round_into_the_block():
    """The square is once the outside, once a hole: its edges run the same way round."""
    mesh = SimpleNamespace(points=POINTS, outside=OUTLINE, edges=(OUTLINE, OUTLINE))
    terms = {term.key[0]: term for term in load_terms(Loads(cavity_mpa=0.2, all_round_mpa=0.3))}
    assert {key: term.factor for key, term in terms.items()} == {"resin": 0.2, "all round": 0.3}
    inward = terms["all round"].nodal_force(mesh).reshape(-1, 2)
    assert inward[4] == pytest.approx([0.0, SIDE * 2 / 3])
    assert terms["resin"].nodal_force(mesh).reshape(-1, 2) == pytest.approx(-inward)
    assert not any(term.is_band for term in terms.values())


def test_a_dragged_band_falls_with_the_turn_both_ways_from_where_it_was_pulled():
    """Pulled over the top of the square, to the left: half a turn away it has exp(-pi mu)."""
    drag = BandFriction(0.3, math.pi)
    t = np.array([[-1.0, 0.0], [0.0, -1.0], [0.0, 1.0], [1.0, 0.0]])
    pull = np.exp(-0.3 * np.pi * np.array([0.0, 0.5, 0.5, 1.0]))
    assert drag.pull(t) == pytest.approx(pull)
    path = wrap(POINTS, OUTLINE, drag)
    assert path.length_mm == pytest.approx(4 * SIDE)
    load = path.load.reshape(-1, 2)
    assert load[0] == pytest.approx([pull[3], pull[1]])
    assert load[2] == pytest.approx([-pull[0], -pull[2]])
    assert load[4:] == pytest.approx(np.zeros((4, 2)), abs=1e-12)


def test_shares_of_the_tension_are_those_of_the_grips_and_what_is_left_is_smooth():
    grips = tuple(
        SimpleNamespace(share=share, friction=mu, pulled_at_mm=at)
        for share, mu, at in ((0.2, 0.3, None), (0.5, 0.1, (9.0, 1.0)))
    )
    path = wrap(POINTS, OUTLINE)
    (left, even), (one, top), (two, right) = friction_shares(
        POINTS, path, SimpleNamespace(grips=grips)
    )
    assert (left, one, two) == pytest.approx((0.3, 0.2, 0.5))
    assert (even.friction, top.friction, right.friction) == (0.0, 0.3, 0.1)
    assert (top.direction_rad, right.direction_rad) == pytest.approx((math.pi, math.pi / 2))
    assert _direction(POINTS, path, (2.5, -1.0)) == pytest.approx(0.0)
    assert _direction(POINTS, path, (-3.0, 3.0)) == pytest.approx(-math.pi / 2)


def test_a_turn_is_counter_clockwise_and_the_fit_of_one_is_the_turn():
    points = np.array([[3.0, 1.0], [1.0, 4.0], [-2.0, 2.0], [5.0, 5.0]])
    assert turned_about(points[:1], np.array([1.0, 1.0])).tolist() == [[0.0, 2.0]]
    u = np.array([0.3, -0.2]) + 0.01 * turned_about(points, np.array([7.0, -2.0]))
    assert rigid_fit(points, np.arange(3), u) == pytest.approx(u)
    wild = u.copy()
    wild[2] += 5.0
    weight = np.array([1.0, 1.0, 0.0, 2.0])
    assert rigid_fit(points, np.arange(4), wild, weight) == pytest.approx(u)
    # stretching along both sides is no turn
    square = CORNERS * [0.01, -0.02]
    assert rigid_fit(CORNERS, np.arange(4), square) == pytest.approx(
        np.tile(square.mean(axis=0), (4, 1))
    )


def test_each_piece_has_three_motions_and_three_pins_that_hold_it():
    """A square and a long bar: the farthest node turns by 1, and pins are moved by every motion."""
    points = np.vstack([POINTS, [40, 1] * POINTS + [20, 3]])
    mesh = SimpleNamespace(points=points, piece=np.repeat([0, 1], 8))
    motions = rigid_motions(mesh)
    moved = motions.reshape(16, 2, 2, 3)
    for k in (0, 1):
        own = moved[8 * k : 8 * k + 8, :, k]
        assert not moved[8 * k : 8 * k + 8, :, 1 - k].any()
        assert own[:, :, 0].tolist() == [[1.0, 0.0]] * 8
        assert own[:, :, 1].tolist() == [[0.0, 1.0]] * 8
        assert np.hypot(*own[:, :, 2].T).max() == pytest.approx(1.0)
        arm = points[8 * k : 8 * k + 8] - points[8 * k : 8 * k + 8].mean(axis=0)
        assert (arm[:, 0] * own[:, 1, 2] - arm[:, 1] * own[:, 0, 2]).min() > 0
    held = pins(mesh)
    assert len(set(held.tolist())) == 6
    assert np.linalg.svd(motions[held])[1].min() > 0.1


def test_a_wave_stores_the_energy_of_its_strains():
    """On one triangle, displacement quadratic across and straight along; the bubble at rest.

    2 G e:e - 2/3 G div^2 + kappa div^2 over its area, with e_xz = (W,x - k U) / 2.
    """
    rng, k = np.random.default_rng(3), 0.7
    corners = np.array([[0.0, 0.0], [3.0, 0.5], [1.0, 2.5]])
    points = np.vstack([corners, 0.5 * (corners + np.roll(corners, -1, axis=0))])
    tri = MeshTri2(points[[0, 1, 2, 3, 5, 4]].T.copy(), np.array([[0], [1], [2]]), sort_t=False)
    mesh = SimpleNamespace(tri=tri, body=np.array([0]), points=points)
    E, nu = 0.6, 0.45
    made = wave_elements(mesh, (Material(E, nu),))
    G, kappa = E / (2 * (1 + nu)), E / (3 * (1 - 2 * nu))
    a, b = rng.normal(size=(2, 6))
    w = rng.normal(size=3)
    basis = lambda x, y: np.stack([1 + 0 * x, x, y, x * x, x * y, y * y])  # noqa: E731
    by_x = lambda x, y: np.stack([0 * x, 1 + 0 * x, 0 * x, 2 * x, y, 0 * x])  # noqa: E731
    by_y = lambda x, y: np.stack([0 * x, 0 * x, 1 + 0 * x, 0 * x, x, 2 * y])  # noqa: E731
    place = points.T
    u = np.column_stack([a @ basis(*place), b @ basis(*place), w @ basis(*place)[:3]])
    nodal = np.concatenate([u.ravel(), np.zeros(3)])
    found = nodal @ (made.F0[0] + k * made.F1[0] + k * k * made.F2[0]) @ nodal
    r, weight = np.polynomial.legendre.leggauss(6)
    s, t = np.meshgrid((1 + r) / 2, (1 + r) / 2)
    area = np.outer(weight, weight) / 4 * (1 - s) * np.linalg.det(corners[1:] - corners[0])
    x, y = (corners[0] + s[..., None] * (corners[1] - corners[0])
            + (t * (1 - s))[..., None] * (corners[2] - corners[0])).transpose(2, 0, 1)  # fmt: skip
    dot = lambda v, f: np.tensordot(v, f(x, y)[: len(v)], 1)  # noqa: E731
    xx, yy, zz = dot(a, by_x), dot(b, by_y), k * dot(w, basis)
    xy = 0.5 * (dot(a, by_y) + dot(b, by_x))
    xz, yz = 0.5 * (dot(w, by_x) - k * dot(a, basis)), 0.5 * (dot(w, by_y) - k * dot(b, basis))
    own = xx**2 + yy**2 + zz**2 + 2 * (xy**2 + xz**2 + yz**2)
    exact = (area * (2 * G * own + (kappa - 2 / 3 * G) * (xx + yy + zz) ** 2)).sum()
    assert found == pytest.approx(exact)
    # a bubble free to move takes up what it can
    F = made.F0[0] + k * made.F1[0] + k * k * made.F2[0]
    least = F[:18, :18] - F[:18, 18:] @ np.linalg.solve(F[18:, 18:], F[18:, :18])
    assert made.stiffness(k)[0] == pytest.approx(least)
    assert 0 < u.ravel() @ least @ u.ravel() <= exact


def test_small_inverses_and_rows_on_three_components():
    A = np.random.default_rng(4).normal(size=(5, 3, 3))
    A = A + A.transpose(0, 2, 1)
    assert np.matmul(_inverse(A), A) == pytest.approx(np.tile(np.eye(3), (5, 1, 1)), abs=1e-9)
    rows = csr_array(np.array([[1.0, 2.0, 0.0, 3.0], [0.0, 0.0, 4.0, 5.0]]))
    wide = in_three_components(rows).toarray()
    assert wide.tolist() == [[1, 2, 0, 0, 3, 0], [0, 0, 0, 4, 5, 0]]
