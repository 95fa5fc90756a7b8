"""Faces that slid, bands and shortened steps of large deformation, by hand; nothing is solved."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from squeeze.solve.large import newton
from squeeze.solve.large.carried import _barycentric, _nearest_of, _quadratic
from squeeze.solve.large.closing import WHOLE, _carried_on, _share_opposite, _wrap
from squeeze.solve.large.reference import summed_entries
from squeeze.solve.large.rubber.body import State


def test_places_without_an_opposite_face_take_the_nearest_value_of_their_own_land():
    """Lands of five, three and two places; on the last one nothing stands opposite."""
    rows = SimpleNamespace(begins=[0, 5, 8, 10])
    value = np.arange(1.0, 11.0)
    counts = np.array([0, 1, 0, 0, 1, 1, 1, 0, 0, 0], bool)
    found = _carried_on(rows, value, counts)
    assert found.tolist() == [2, 2, 2, 5, 5, 6, 7, 7, 0, 0]
    assert value.tolist() == list(range(1, 11))
    assert _carried_on(rows, value, np.ones(10, bool)).tolist() == value.tolist()


@pytest.mark.parametrize("lip", [0.2, 0.94, 0.96, 1.0])
def test_a_lip_that_slid_stands_opposite_with_a_share_of_its_place(lip):
    """Two lands: three places 4 and 2 mm apart stand for 2, 3 and 1 mm; two 6 mm apart for 3.

    Mid-side nodes lie between them. Of the first place and of both last ones a share is left.
    """
    x = np.array([[0, 0], [2, 0], [4, 0], [5, 0], [6, 0], [0, 5], [3, 9], [0, 11]], float)
    mesh = SimpleNamespace(
        faces=[SimpleNamespace(left=np.arange(5)), SimpleNamespace(left=np.arange(5, 8))]
    )
    rows = SimpleNamespace(begins=np.array([0, 3, 5]))
    faces = SimpleNamespace(weight=np.array([lip * 2.0, 3.0, lip * 1.0, 3.0, lip * 3.0]))
    share = lip if lip < WHOLE else 1.0
    found = _share_opposite(mesh, rows, faces, x)
    assert found == pytest.approx([share, 1, share, 1, share])


def test_a_band_pushes_twice_its_pull_times_the_sine_of_half_the_turn():
    """Round a square, counter-clockwise: inward along the diagonals; all pushes cancel."""
    corners = np.array([[0, 0], [30, 0], [30, 30], [0, 30]], float)
    wrap = _wrap(SimpleNamespace(places_mm=corners, length_mm=120.0), 0.6)
    assert (wrap.tension_n_per_mm, wrap.wrap_mm) == (0.6, 120.0)
    assert wrap.push_n_per_mm.sum(axis=0) == pytest.approx([0, 0])
    inward = (15 - corners) / np.hypot(15, 15)
    assert wrap.push_n_per_mm == pytest.approx(2 * 0.6 * np.sin(np.pi / 4) * inward)


# steps


def state(u, bubble=0.0, s=0.0):
    return State(np.array(u, float), np.full((1, 2), float(bubble)), np.full((1, 3), float(s)))


def test_a_shortened_step_goes_all_of_the_way_alike():
    at = newton._along(state([1.0, 3.0], 2.0, 5.0), state([3.0, -1.0], 4.0, 1.0))
    quarter = at(0.25)
    assert quarter.u.tolist() == [1.5, 2.0]
    assert (quarter.bubble[0, 0], quarter.s[0, 0]) == (2.5, 4.0)
    assert at(0.0).u.tolist() == [1.0, 3.0]
    assert at(1.0).s[0, 2] == 1.0


@pytest.fixture
def searched(monkeypatch):
    """Return the step where the body pushes back as `back(step)` over what drives it, and tries."""

    def search(back, crushes=lambda step: False):
        tried = []

        def internal_force(at):
            (step, _) = at.u
            tried.append(float(step))
            return np.array([back(step), 0.0]), 0.05 if crushes(step) else 0.5

        mesh = SimpleNamespace(points=np.zeros((1, 2)))
        body = SimpleNamespace(internal_force=internal_force)
        case = SimpleNamespace(pairs=SimpleNamespace(places=0))
        outer, none = SimpleNamespace(force=np.array([1.0, 0.0])), np.zeros((0, 2))
        monkeypatch.setattr(newton, "current_forces", lambda *_: outer)
        monkeypatch.setattr(
            newton, "current_rows", lambda *_: SimpleNamespace(normal=none, along=none)
        )
        found = newton._line_search(
            SimpleNamespace(mesh=mesh, body=body), case, 1.0,
            newton._along(state([0.0, 0.0]), state([1.0, 0.0])),
            np.array([1.0, 0.0]), np.zeros(0), 1.0,
        )  # fmt: skip
        return found[0], found[1], tried

    return search


@pytest.mark.parametrize(("stiff", "step"), [(0.5, 1.0), (1.0, 1.0), (1.5, 1.0), (1.6, 1 / 1.6),
                                             (4.0, 0.25), (8.0, 0.125)])  # fmt: skip
def test_a_step_is_shortened_to_where_a_line_says_that_forces_balance(searched, stiff, step):
    """A spring `stiff` times as stiff as the tangent: whole while it pushes back by half at most.

    The line through what drives the step at its start and at its end passes zero at 1 / stiff.
    """
    alpha, there, tried = searched(lambda at: stiff * at)
    assert alpha == pytest.approx(step)
    assert there.u[0] == pytest.approx(step)
    assert tried == pytest.approx([1.0] if step == 1.0 else [1.0, step])


def test_a_step_is_cut_to_a_tenth_at_most_and_by_a_tenth_at_least(searched):
    alpha, _, tried = searched(lambda at: 100.0 * at)
    assert tried[:2] == pytest.approx([1.0, 0.1])
    assert alpha == pytest.approx(0.01)
    # a body that pushes back 1.55 times as hard however short the step is
    _, there, tried = searched(lambda at: 1.0 + 0.55)
    assert there is None
    ratios = np.array(tried[1:]) / np.array(tried[:-1])
    assert ratios == pytest.approx(1 / 1.55)
    assert len(tried) == 8


def test_a_step_that_crushes_a_triangle_is_halved_until_it_does_not(searched):
    alpha, there, tried = searched(lambda at: at, crushes=lambda at: at > 0.2)
    assert (alpha, there.u[0]) == (0.125, 0.125)
    assert tried == [1.0, 0.5, 0.25, 0.125]
    alpha, there, _ = searched(lambda at: at, crushes=lambda at: True)
    assert (alpha, there) == (0.0, None)
    alpha, there, _ = searched(lambda at: np.inf if at > 0.6 else at)
    assert (alpha, there.u[0]) == (0.5, 0.5)


# what is carried to another mesh


TRIANGLES = np.array([[0, 1, 2, 4, 5, 6], [1, 3, 2, 7, 8, 5]])
POINTS = np.array(
    [[0, 0], [4, 0], [0, 2], [4, 2], [2, 0], [2, 1], [0, 1], [4, 1], [2, 2]], float
)  # fmt: skip


def test_places_have_shares_of_the_corners_that_add_up_and_end_a_triangle_beyond():
    first = TRIANGLES[[0]]
    places = {(0, 0): (1, 0, 0), (4, 0): (0, 1, 0), (0, 2): (0, 0, 1), (1, 1): (0.25, 0.25, 0.5),
              (4, 2): (-1, 1, 1), (8, 0): (-1, 2, 0), (40, 0): (-1, 2, 0)}  # fmt: skip
    for at, shares in places.items():
        assert _barycentric(POINTS, first, np.array([at], float))[0] == pytest.approx(shares)


def test_a_place_lies_in_the_triangle_that_holds_it_or_that_is_least_far_off():
    places = np.array([[1, 0.5], [3, 1.5], [-1, -1], [9, 9], [2.1, 1.1], [1.9, 0.9]])
    assert _nearest_of(POINTS, TRIANGLES, places).tolist() == [0, 1, 0, 1, 1, 0]


def test_quadratic_shapes_are_one_at_their_own_node_and_give_a_square_exactly():
    nodes = np.vstack([np.eye(3), [[0.5, 0.5, 0], [0, 0.5, 0.5], [0.5, 0, 0.5]]])
    assert _quadratic(nodes) == pytest.approx(np.eye(6))
    share = np.array([[0.2, 0.5, 0.3], [0.7, 0.1, 0.2]])
    values = (nodes @ [1.0, 2.0, 5.0]) ** 2
    assert _quadratic(share) @ values == pytest.approx((share @ [1.0, 2.0, 5.0]) ** 2)


def test_entries_that_triangles_share_are_summed():
    """Two pairs of unknowns, 0-1 and 1-2 of 4: seven entries, of which (1, 1) is in both."""
    entries = summed_entries(np.array([[0, 1], [2, 1]]), 4)
    whole = np.zeros((4, 4))
    K = np.array([[[1.0, 2.0], [3.0, 4.0]], [[10.0, 20.0], [30.0, 40.0]]])
    whole[entries.rows, entries.columns] = entries.of(K)
    exact = [[1, 2, 0, 0], [3, 44, 30, 0], [0, 20, 10, 0], [0, 0, 0, 0]]
    assert whole.tolist() == exact
    assert len(entries.rows) == 7
