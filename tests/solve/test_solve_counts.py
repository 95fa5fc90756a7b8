"""Parts of the solver by closed forms and hand counts: series, lands, pieces, steps and liquids."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from types import SimpleNamespace

import numpy as np
import pytest

from squeeze.solve import results
from squeeze.solve.along import long_block
from squeeze.solve.along.loads import BandAt, band_series, even_places, head_series
from squeeze.solve.along.long_block import LongBlock
from squeeze.solve.along.record import end_effects
from squeeze.solve.contact import wetting
from squeeze.solve.contact.active_set import BALANCED, gap_scale, is_balanced, solve_dense
from squeeze.solve.contact.coulomb import OPEN, STICK
from squeeze.solve.contact.given_forces import GivenForces
from squeeze.solve.contact.problem import ContactProblem, not_held
from squeeze.solve.contact.wetting import ResinPaths, flooded_places, solve_with_resin
from squeeze.solve.outcome import Outcome

# along the length


@pytest.mark.parametrize("length_mm", [80.0, 140.0])
def test_the_series_of_bands_is_that_of_boxes_as_wide_as_they_lie(length_mm):
    """Amplitudes 2 / L of the integral of T(z) cos(n pi z / L), by a fine sum; the mean is half."""
    bands = (BandAt(20.0, 3.0, 6.0), BandAt(55.0, 2.0, 12.0))
    steps = 200_000
    z = (np.arange(steps) + 0.5) * length_mm / steps
    tension = sum(
        band.tension_n / band.width_mm * (np.abs(z - band.at_mm) < band.width_mm / 2)
        for band in bands
    )
    found = band_series(bands, length_mm, 7)
    for n, amplitude in enumerate(found):
        exact = 2 * float(np.mean(tension * np.cos(n * np.pi * z / length_mm)))
        assert amplitude == pytest.approx(exact / (2 if n == 0 else 1), abs=1e-5)
    assert found[0] == pytest.approx(5.0 / length_mm)
    assert not band_series((), length_mm, 4).any()


def test_the_series_of_a_head_is_the_straight_line_between_both_ends():
    a = head_series(3.0, 1.0, 4001)
    n = np.arange(len(a))
    for t in (0.0, 0.2, 0.5, 0.9, 1.0):
        assert float(a @ np.cos(n * np.pi * t)) == pytest.approx(3.0 - 2.0 * t, abs=1e-3)
    assert a[0] == 2.0
    assert not head_series(2.0, 2.0, 9)[1:].any()


def test_even_places_are_the_middles_of_equal_parts():
    assert even_places(4, 100.0) == (12.5, 37.5, 62.5, 87.5)
    assert even_places(1, 90.0) == (45.0,)
    assert even_places(0, 90.0) == ()


@pytest.mark.parametrize(
    ("places", "found"),
    [
        ((), (0.0, 100.0, 0.0)),
        ((50,), (50.0, 100.0, 0.0)),
        ((49,), (51.0, 100.0, 7.0)),
        ((25, 75), (25.0, 50.0, 0.0)),
        ((75, 26), (26.0, 49.0, 7.0)),
        ((10, 50, 70), (30.0, 40.0, 7.0)),  # 30 from the end, and 20 between the last two
        ((10, 50, 90), (10.0, 40.0, 0.0)),
        ((30, 50, 90), (30.0, 40.0, 7.0)),
    ],
)
def test_ends_are_doubtful_where_an_overhang_is_over_half_a_pitch(places, found):
    """A hundredth more is borne."""
    ends = end_effects([BandAt(float(z), 1.0) for z in places], 100.0, 7.0)
    assert (ends.overhang_mm, ends.pitch_mm, ends.doubtful_mm) == found


# lands


def test_figures_of_a_land_are_means_along_it(land_of):
    """0 to 4 kPa over 2 mm, 4 over 3 mm: 16 kPa mm over 5 mm; the first stretch is half closed."""
    made = land_of([0.0, 4.0, 4.0], [0.2, 0.0, 0.0], s=[0, 2, 5])
    assert made.length_mm == 5.0
    assert made.mean_pressure_kpa == pytest.approx(16 / 5)
    assert made.force_n_per_mm == pytest.approx(0.016)
    assert made.closed_share == pytest.approx(4 / 5)
    assert (made.least_pressure_kpa, made.largest_gap_mm, made.evenness) == (0.0, 0.2, 0.0)
    even = land_of([2.0, 3.0, 2.0])
    assert even.evenness == pytest.approx(2.0 / 2.5)
    assert even.closed_share == 1.0
    assert land_of([0.0, 0.0, 0.0]).evenness == 0.0
    assert math.isnan(land_of([np.nan, 1.0, 1.0]).closed_share)


@pytest.mark.parametrize("steps", [(1.0, 1.0, 1.0, 1.0), (0.2, 1.0, 3.0, 0.5)])
def test_a_straight_curve_is_had_back_from_its_means_over_hats(steps):
    """The mean over a hat lies at its centre of area: a third in from an end."""
    h = np.array(steps)
    s = np.concatenate([[0.0], np.cumsum(h)])
    centres = s.copy()
    centres[0], centres[-1] = h[0] / 3, s[-1] - h[-1] / 3
    centres[1:-1] = s[1:-1] + (h[1:] - h[:-1]) / 3
    found = results._to_ends(2.0 + 0.7 * centres, h)
    assert found[[0, -1]] == pytest.approx(2.0 + 0.7 * s[[0, -1]])
    same = results._to_ends(np.array([1.0, 2.0]), np.array([1.0]))
    assert list(same) == [1.0, 2.0]


def test_values_carried_to_an_end_keep_their_sign():
    h = np.array([1.0, 1.0, 1.0])
    crossing = np.array([0.1, 2.0, 2.0, 0.1])
    assert list(results._to_ends(crossing, h)) == list(crossing)


def test_directions_along_a_bent_land_are_means_at_its_kink():
    x = np.array([[0.0, 0.0], [3.0, 0.0], [3.0, 4.0]])
    t = results._tangents(x)
    assert t[0] == pytest.approx([1, 0])
    assert t[1] == pytest.approx([math.sqrt(0.5)] * 2)
    assert t[2] == pytest.approx([0, 1])


def bowed_square(bow: float):
    """Return nodes and edges of a square of 2 mm, counter-clockwise, the first side bowed out."""
    corners = np.array([[0.0, 0.0], [2.0, 0.0], [2.0, 2.0], [0.0, 2.0]])
    middles = 0.5 * (corners + np.roll(corners, -1, axis=0))
    middles[0, 1] -= bow
    edges = np.array([[k, 4 + k, (k + 1) % 4] for k in range(4)])
    return np.vstack([corners, middles]), edges


def test_the_area_inside_quadratic_edges_has_parabolas_on_it():
    """Two thirds of chord times height (Archimedes)."""
    x, edges = bowed_square(0.3)
    assert results._enclosed(x, edges) == pytest.approx(4 + 2 / 3 * 2 * 0.3)
    assert results._enclosed(*bowed_square(0.0)) == pytest.approx(4)


def test_nodes_stand_for_the_length_of_their_edges_by_simpson_s_rule():
    x, edges = bowed_square(0.0)
    share = results._along_edges(x, edges, np.arange(8))
    assert share[:4] == pytest.approx(2 * 2 / 6)
    assert share[4:] == pytest.approx(2 * 2 / 3)
    assert share.sum() == pytest.approx(8)


def test_a_step_is_the_sliding_of_both_lips_along_the_cut():
    u = np.array([[0.1, 0.5], [0.4, 0.1], [0.0, 0.0]])
    along = {0: np.array([1.0, 0.0])}
    assert results._step(np.array([[0, 1]]), u, along) == pytest.approx(0.3)
    assert results._step(np.array([[2, 1]]), u, along) == 0.0
    turned = {0: np.array([0.0, 1.0])}
    assert results._step(np.array([[0, 1]]), u, turned) == pytest.approx(0.4)


# liquids


def paths(*links, mouths=(0,)):
    return ResinPaths(np.array(links, np.int64).reshape(-1, 2), np.array(mouths, np.int64))


@pytest.mark.parametrize(
    ("stands_open", "wet"),
    [
        ("11111", "11111"), ("01111", "00000"), ("11011", "11000"), ("10111", "10000"),
        ("00000", "00000"),
    ],
)  # fmt: skip
def test_a_liquid_runs_from_the_mouth_through_what_stands_open(stands_open, wet):
    chain = paths((0, 1), (1, 2), (2, 3), (3, 4))
    found = flooded_places(chain, np.array([c == "1" for c in stands_open]))
    assert "".join(str(int(each)) for each in found) == wet


def test_a_liquid_takes_every_way_where_lands_meet():
    fork = paths((0, 1), (1, 2), (1, 3), (4, 5), mouths=(0, 5))
    found = flooded_places(fork, np.array([True] * 5 + [False]))
    assert list(found) == [True] * 4 + [False] * 2


class Fake:
    """A contact problem of places in a row that open one after the other as the resin comes in."""

    def __init__(self, states) -> None:
        self.states, self.asked = [np.array(each, np.int8) for each in states], []

    def __call__(self, problem, start=None, look_elsewhere=True):
        state = self.states[min(len(self.asked), len(self.states) - 1)]
        self.asked.append((problem.q.copy(), problem.b.copy(), look_elsewhere))
        return SolutionLike(Outcome.CONVERGED, state, 2)


class SolutionLike(SimpleNamespace):
    def __init__(self, outcome, state, steps) -> None:
        super().__init__(outcome=outcome, state=state, steps=steps)

    def __replace__(self, **changed):
        return SolutionLike(**{**vars(self), **changed})


@pytest.fixture
def opened(monkeypatch):
    """Return a function that solves with resin where each solve opens what the test says."""

    def solve(*states, pressure=0.5, look_elsewhere=True, mouths=(0,)):
        made = Fake(states)
        monkeypatch.setattr(wetting, "solve_contact", made)
        monkeypatch.setattr(
            wetting, "replace",
            lambda each, **changed: each.__replace__(**changed)
            if isinstance(each, SolutionLike) else replace(each, **changed),
        )  # fmt: skip
        c = len(states[0])
        C, R = np.diag(np.arange(1.0, 2 * c + 1)), np.ones((2 * c, 1))
        problem = ContactProblem(C, np.zeros(2 * c), R, np.zeros(1), np.zeros(c), 1.0)
        row = paths(*[(k, k + 1) for k in range(c - 1)], mouths=mouths)
        return (*solve_with_resin(problem, row, pressure, look_elsewhere), made.asked)

    return solve


def test_resin_presses_where_it_got_and_opens_more_until_nothing_changes(opened):
    """At a wet place the faces are pushed apart by C p, and the pieces by R' p."""
    contact, wet, pried, asked = opened(
        [OPEN, STICK, STICK], [OPEN, OPEN, STICK], [OPEN, OPEN, STICK]
    )
    assert list(wet) == [True, True, False]
    assert pried
    assert [list(q[:3]) for q, *_ in asked[:3]] == [[0, 0, 0], [0.5, 0, 0], [0.5, 1.0, 0]]
    assert [float(b[0]) for _, b, _ in asked[:3]] == [0.0, -0.5, -1.0]
    assert [each[2] for each in asked] == [False, False, False, True]
    assert contact.steps == 2 * len(asked)


def test_resin_that_stays_out_changes_nothing(opened):
    for how in ({"pressure": 0.0}, {"mouths": ()}):
        _, wet, pried, asked = opened([OPEN, STICK], **how)
        assert not wet.any()
        assert not pried
        assert [each[2] for each in asked] == [True]
    _, wet, pried, asked = opened([STICK, OPEN])
    assert not wet.any()  # the mouth is shut
    assert not pried


def test_a_place_that_closes_again_is_tried_dry_once(opened):
    _, wet, _, asked = opened(
        [OPEN, OPEN, STICK], [STICK, OPEN, STICK], [STICK, OPEN, STICK], [STICK, OPEN, STICK]
    )
    assert list(wet) == [False, True, False]
    assert [list(q[:3]) for q, *_ in asked][-1] == [0, 1.0, 0]


# contact


def test_given_forces_add_and_scale():
    one = GivenForces(np.array([1.0, -2.0]), np.array([0.5]), np.array([3.0]), 3.0)
    both = one + 2.0 * one
    assert list(both.f) == [3.0, -6.0]
    assert (both.free_gaps[0], both.b[0], both.size) == (1.5, 9.0, 9.0)
    assert (-1.0 * one).size == 3.0
    assert list((-1.0 * one).f) == [-1.0, 2.0]


def test_small_systems_are_solved_and_refined():
    M, x = np.array([[0.0, 2.0], [3.0, 1.0]]), np.array([4.0, -5.0])
    assert solve_dense(M, M @ x) == pytest.approx(x)
    assert len(solve_dense(np.zeros((0, 0)), np.zeros(0))) == 0


def test_gaps_are_measured_by_the_largest_or_a_ten_thousandth_of_the_free_ones():
    problem = SimpleNamespace(q=np.array([-30.0, 2.0]))
    assert gap_scale(problem, np.array([0.1, -0.4])) == 0.4
    assert gap_scale(problem, np.array([1e-9, 0.0])) == pytest.approx(0.003)
    assert gap_scale(SimpleNamespace(q=np.zeros(2)), np.zeros(2)) > 0


@pytest.mark.parametrize(
    ("outcome", "balance", "is_so"),
    [(Outcome.CONVERGED, 0.9e-6, True), (Outcome.CONVERGED, BALANCED, False),
     (Outcome.STEP_LIMIT, 0.0, False)],
)  # fmt: skip
def test_a_certified_solution_without_unbalanced_forces_is_balanced(outcome, balance, is_so):
    assert is_balanced(SimpleNamespace(outcome=outcome, balance=balance)) is is_so


def test_where_nothing_holds_a_piece_nothing_presses():
    found = not_held(SimpleNamespace(mu=np.zeros(3)), np.array([1.0]), 4)
    assert found.outcome is Outcome.PIECE_NOT_HELD
    assert not found.p.any()
    assert list(found.state) == [OPEN] * 3
    assert (found.steps, found.balance, found.complementarity) == (4, 1.0, 1.0)


@dataclass(frozen=True)
class Plane:
    open: np.ndarray
    steps: int
    products: int
    outcome: Outcome = Outcome.CONVERGED


def flooded_plane(monkeypatch, *opened, most_work=1000.0, enters=True, outcome=Outcome.CONVERGED):
    """Return the solution of a plane of two places along and two across, and what was asked.

    Each solve opens what the test says; it takes 3 steps and 5 products of 10 multiplications.
    """
    asked = []

    def solve_plane(pressure, before=None, most_products=None):
        asked.append((pressure.copy(), most_products))
        open_ = np.array(opened[min(len(asked), len(opened)) - 1], bool)
        return Plane(open_, 3, 5, outcome)

    monkeypatch.setattr(long_block, "solve_plane", solve_plane)
    block = SimpleNamespace(
        z_mm=np.array([25.0, 75.0]), length_mm=100.0, loads=SimpleNamespace(enters_cuts=enters),
        responses=SimpleNamespace(waves=SimpleNamespace(S=np.zeros(10))),
        block=SimpleNamespace(
            contact_rows=SimpleNamespace(weight=np.ones(2)), resin_paths=paths((0, 1))
        ),
        cut_extent=SimpleNamespace(faces=np.ones((2, 2))), _plane=lambda bonded, resin: resin,
    )  # fmt: skip
    return LongBlock._flooded(block, None, (4.0, 2.0), most_work), asked


def test_work_of_all_floods_along_a_block_adds_up(monkeypatch):
    """The mouth of the second slice opens, then all; resin presses 3.5 and 2.5 there."""
    nothing, mouth, whole = [[0, 0], [0, 0]], [[0, 0], [1, 0]], [[1, 1], [1, 1]]
    found, asked = flooded_plane(monkeypatch, mouth, whole, whole)
    assert [pressure.tolist() for pressure, _ in asked] == [
        [[0, 0], [0, 0]], [[0, 0], [2.5, 0]], [[3.5, 3.5], [2.5, 2.5]],
    ]  # fmt: skip
    assert [most for _, most in asked] == [100, 95, 90]
    assert (found.steps, found.products) == (9, 15)
    dry, asked = flooded_plane(monkeypatch, nothing)
    assert (dry.steps, dry.products, len(asked)) == (3, 5, 1)
    _, asked = flooded_plane(monkeypatch, whole, enters=False)
    assert len(asked) == 1
    _, asked = flooded_plane(monkeypatch, whole, outcome=Outcome.STEP_LIMIT)
    assert len(asked) == 1
