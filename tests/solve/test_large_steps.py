"""Steps of large deformation and the work they may take, by hand counts; nothing is solved."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from squeeze.mold.forces.loads import Loads
from squeeze.solve.allowance import Allowance
from squeeze.solve.closing import Deformation
from squeeze.solve.contact.coulomb import BACKWARD, FORWARD, OPEN, STICK
from squeeze.solve.large import equilibrium
from squeeze.solve.large.change import largest_change, linear_state
from squeeze.solve.large.deformation import band_pull, is_deformed
from squeeze.solve.large.deformed import Iterate
from squeeze.solve.large.newton import SOFT, SOFTEST, _gap_error, _Springs, left_on_pieces
from squeeze.solve.outcome import Outcome


def test_the_largest_change_is_over_the_largest_value_or_a_hairline(land_of):
    """2 of 10 kPa; 0.004 mm of a gap counts over 0.01 mm where all are narrower."""
    before, after = land_of([8.0, 5.0]), land_of([10.0, 5.0])
    assert largest_change((before,), (after,)) == pytest.approx(0.2)
    narrow = land_of([10.0, 5.0], [0.0, 0.004])
    assert largest_change((after,), (narrow,)) == pytest.approx(0.4)
    wide = land_of([10.0, 5.0], [0.0, 0.5])
    assert largest_change((narrow,), (wide,)) == pytest.approx(0.496 / 0.5)
    assert largest_change((before, before), (after, before)) == pytest.approx(0.2)
    assert largest_change((), ()) == 0.0


def test_the_linear_answer_is_a_state_of_the_body():
    u = np.arange(12.0).reshape(6, 2)
    mesh = SimpleNamespace(triangles=np.array([[0, 1, 2, 3, 4, 5]]))
    elastic = SimpleNamespace(bubble=np.ones((1, 2, 12)), pressure=2 * np.ones((1, 3, 12)))
    state = linear_state(mesh, elastic, u)
    assert list(state.u) == list(range(12))
    assert (state.bubble == 66.0).all()
    assert (state.s == -132.0).all()  # tension is positive in the body


def test_the_bands_pull_comes_with_its_derivative():
    loads = SimpleNamespace(pull_n_per_mm=lambda length: 3.0 + 0.02 * length + 1e-4 * length**2)
    pull, slope = band_pull(loads)(100.0)
    assert pull == pytest.approx(6.0)
    assert slope == pytest.approx(0.04)


@pytest.mark.parametrize(
    ("asked", "places", "loads", "wanted"),
    [
        ("small", 3, Loads(0.5), False), ("large", 0, Loads(0.5), True),
        ("auto", 3, Loads(0.5), True), ("auto", 0, Loads(0.5), False),
        ("large", 3, Loads(), False), ("auto", 3, Loads(), False),
    ],
)  # fmt: skip
def test_large_deformation_is_looked_at_where_asked_for_or_where_a_cut_is_loaded(
    asked, places, loads, wanted
):
    case = SimpleNamespace(rows=SimpleNamespace(weight=np.ones(places)), loads=loads)
    assert is_deformed(asked, case) is wanted


def test_springs_between_steps_become_ten_times_softer_down_to_a_floor():
    states = np.array([STICK, OPEN])
    springs = _Springs()
    assert springs.softness == SOFT == 1e-4
    after = replace(springs, softness=1e-2).softer(states, 1.0, True)
    assert (after.softness, after.softest) == (pytest.approx(1e-3), SOFT)
    floor = after.softer(states, 0.05, True).softer(states, 1e-9, True)
    assert floor.softness == SOFT


@pytest.mark.parametrize(
    ("uneven", "is_whole", "other", "falls"),
    [(0.5, True, False, True), (0.1, True, False, False), (1.0, True, False, False),
     (0.5, False, False, False), (0.5, True, True, False)],
)  # fmt: skip
def test_the_floor_falls_where_springs_alone_set_the_length_of_a_step(
    uneven, is_whole, other, falls
):
    """Between a tenth and all of what was carried too much, in the same states, by whole steps."""
    states = np.array([STICK, OPEN])
    before = _Springs(SOFT, SOFT, states, 1.0)
    after = before.softer(states[::-1] if other else states, uneven, is_whole)
    assert after.softest == pytest.approx(SOFT / 100 if falls else SOFT)
    assert after.uneven == uneven
    lowest = _Springs(SOFTEST, SOFTEST, states, 1.0).softer(states, 0.5, True)
    assert lowest.softest == SOFTEST


def test_what_is_left_on_pieces_is_force_and_moment_over_their_size():
    """Two nodes 6 mm apart with a couple of 2 N; one node with 3 N, of loads of 10 N."""
    mesh = SimpleNamespace(piece=np.array([0, 0, 1, 1]))
    x = np.array([[0.0, 0.0], [6.0, 0.0], [20.0, 0.0], [22.0, 0.0]])
    force = np.array([0.0, -2.0, 0.0, 2.0, 1.5, 0.0, 1.5, 0.0])
    found = left_on_pieces(mesh, x, force, 10.0)
    assert found[0] == pytest.approx([0.0, 0.1 * 12 / 6 * 2])
    assert found[1] == pytest.approx([0.3, 0.0])


@pytest.mark.parametrize(
    ("gap", "state", "error"),
    [
        ([0.4, 0.02], [OPEN, STICK], 0.02 / 0.4), ([0.4, -0.02], [OPEN, STICK], 0.02 / 0.4),
        ([0.4, -0.1], [OPEN, OPEN], 0.1 / 0.4), ([0.001, 0.002], [OPEN, FORWARD], 0.002 / 0.01),
        ([0.4, 0.3], [OPEN, OPEN], 0.0), ([0.5, 0.1], [BACKWARD, OPEN], 1.0),
    ],
)  # fmt: skip
def test_a_gap_error_is_overlap_or_pressed_faces_apart_over_the_widest_gap(gap, state, error):
    """Weights of 2 mm; what faces nothing does not count."""
    faces = SimpleNamespace(
        gap=2.0 * np.array([*gap, -9.0]), weight=np.full(3, 2.0),
        counts=np.array([True, True, False]),
    )  # fmt: skip
    contact = SimpleNamespace(state=np.array([*state, OPEN]))
    assert _gap_error(faces, contact) == pytest.approx(error)


class Path:
    """Newton's method that settles where the test says; it notes the shares it was asked for."""

    def __init__(self, settles, tangents=5, negative=0) -> None:
        self.settles, self.tangents, self.negative = settles, tangents, negative
        self.asked: list[tuple[float, float]] = []
        self.at = 0.0

    def __call__(self, model, case, start, share, left_over, guess=None, most_tangents=30):
        self.asked.append((self.at, share))
        good = self.settles(self.at, share)
        if good:
            self.at = share
        return Iterate(start.state, good=good, negative=self.negative), self.tangents


@pytest.fixture
def deform(monkeypatch):
    """Return a function that grows a load by a made-up Newton's method."""

    def run(path, friction=0.0, most_tangents=130, points=100, **more):
        monkeypatch.setattr(equilibrium, "newton", path)
        monkeypatch.setattr(equilibrium, "unloaded", lambda mesh: "unloaded")
        monkeypatch.setattr(
            equilibrium, "_record",
            lambda model, case, here, share, steps, outcome: SimpleNamespace(
                here=here, share=share, steps=steps, outcome=outcome
            ),
        )  # fmt: skip
        model = SimpleNamespace(mesh=SimpleNamespace(points=np.zeros((points, 2))))
        case = SimpleNamespace(friction=np.array([friction]))
        return equilibrium.deform(model, case, most_tangents=most_tangents, **more)

    return run


def shares(path):
    return [share for _, share in path.asked]


def test_a_load_is_put_on_at_once_and_in_two_parts_where_faces_rub(deform):
    path = Path(lambda *_: True)
    found = deform(path)
    assert shares(path) == [1.0]
    assert (found.share, found.steps, found.outcome) == (1.0, 5, Outcome.CONVERGED)
    rubs = Path(lambda *_: True)
    assert [share for share, _ in deform(rubs, friction=0.3).here.passed] == [0.5, 1.0]
    parts = Path(lambda *_: True)
    deform(parts, parts=4)
    assert shares(parts) == [0.25, 0.5, 0.75, 1.0]


def test_a_load_that_does_not_settle_is_halved_and_grows_again(deform):
    """Steps of a quarter settle; after one that does the next is twice as large."""
    told = []
    path = Path(lambda at, share: share - at < 0.3)
    found = deform(path, progress=told.append)
    assert shares(path) == [1.0, 0.5, 0.25, 0.75, 0.5, 1.0, 0.75, 1.0]
    assert told == [0.25, 0.5, 0.75, 1.0]
    assert found.steps == 40
    assert found.outcome is Outcome.CONVERGED


@pytest.mark.parametrize(("negative", "outcome"), [(0, Outcome.NOT_SETTLED), (1, Outcome.UNSTABLE)])
def test_what_gives_way_is_told_with_the_share_it_bore(deform, negative, outcome):
    """Steps go down to a 64th, and no farther."""
    path = Path(lambda at, share: share <= 0.4, negative=negative)
    found = deform(path, most_tangents=9999)
    assert found.outcome is outcome
    assert 0.4 - 1 / 32 < found.share <= 0.4
    assert min(share - at for at, share in path.asked) == pytest.approx(1 / 64)


def test_what_ran_out_of_work_at_once_is_not_said_to_give_way(deform):
    path = Path(lambda *_: False, negative=1)
    found = deform(path, most_tangents=5)
    assert (found.outcome, found.share, found.steps) == (Outcome.NOT_SETTLED, 0.0, 5)
    down = deform(Path(lambda *_: False, negative=1))
    assert down.outcome is Outcome.UNSTABLE
    assert down.share == 0.0


def test_large_meshes_take_fewer_tangents(deform):
    """1.5 million unknowns in all: of a mesh with 300,000 five."""
    found = deform(Path(lambda *_: False), points=150_000)
    assert found.steps == 5


@pytest.mark.parametrize(
    ("friction", "is_on_path", "taken"),
    [(0.0, False, True), (0.3, False, False), (0.3, True, True)],
)
def test_a_similar_case_is_begun_from_where_no_history_is_lost(deform, friction, is_on_path, taken):
    path = Path(lambda *_: True)
    found = deform(path, friction=friction, start=Iterate("near"), is_on_path=is_on_path)
    assert (found.here.state == "near") is taken
    assert shares(path) == ([1.0] if taken else [0.5, 1.0])
    if taken:
        assert found.here.passed == ((1.0, "near"),)


def test_a_guess_that_does_not_settle_is_tried_again_from_the_share_before(deform):
    path = Path(lambda at, share: len(path.asked) > 1)
    found = deform(path, guesses=((1.0, "guess"),))
    assert shares(path) == [1.0, 1.0]
    assert found.outcome is Outcome.CONVERGED


# work


def test_what_is_left_of_the_work_is_whole_tangents():
    allowance = Allowance(1000, spent=350)
    assert allowance.tangents(100) == 6
    assert allowance.tangents(10) == 65
    assert allowance.tangents(1) == 130  # no closing takes more
    assert Allowance(100, spent=300).tangents(10) == 0
    assert Allowance(100).tangents(0) == 100


@pytest.mark.parametrize(
    ("tangents", "friction", "unknowns", "suffices"),
    [(8, 0.0, 250, True), (9, 0.0, 250, False), (4, 0.3, 250, True), (5, 0.3, 250, False)],
)
def test_a_finer_mesh_takes_half_the_tangents_where_nothing_rubs(
    tangents, friction, unknowns, suffices
):
    """1000 of work are four tangents of 250 unknowns."""
    coarse = SimpleNamespace(
        deformation=Deformation(is_large=True, tangents=tangents),
        section=SimpleNamespace(seams=[SimpleNamespace(friction=friction)]),
    )
    assert Allowance(1000).suffices(coarse, unknowns) is suffices
    coarse.deformation = Deformation()
    assert Allowance(0).suffices(coarse, unknowns)


def test_an_unsettled_closing_uses_the_allowance_up_only_where_it_took_all():
    def block(tangents):
        how = Deformation(outcome=Outcome.NOT_SETTLED, tangents=tangents)
        return SimpleNamespace(
            mesh=SimpleNamespace(points=SimpleNamespace(size=100)),
            close=lambda loads, **case: SimpleNamespace(deformation=how),
        )

    for tangents, ran_out in ((9, False), (10, True)):
        allowance = Allowance(1000)
        allowance.close(block(tangents))
        assert allowance.spent == 100 * tangents
        assert allowance.ran_out is ran_out
