"""Coulomb's law, sign by sign: every answer of a place obeys it, every spoilt one does not."""

import numpy as np
import pytest

from squeeze.solve.contact.coulomb import (
    BACKWARD,
    FORWARD,
    OPEN,
    STICK,
    cone,
    next_state,
    shear_of_pressure,
    sliding_by,
    sliding_under,
    violation,
    when_closing,
)

MU = 0.5
RIGHT = {  # state: pressure, shear on the left face, gap, slip of the left face
    OPEN: (0.0, 0.0, 2.0, -1.0),
    STICK: (4.0, 1.9, 0.0, 0.0),
    FORWARD: (4.0, -2.0, 0.0, 1.0),
    BACKWARD: (4.0, 2.0, 0.0, -1.0),
}
WRONG = [
    ((4.0, -2.1, 0.0, 1.0), "more friction than there is"),
    ((4.0, 2.0, 0.0, 1.0), "friction that helps it slide"),
    ((4.0, -1.0, 0.0, 1.0), "sliding at less than full friction"),
    ((-1.0, 0.0, 0.0, 0.0), "a pressure that pulls"),
    ((0.0, 0.0, -1.0, 0.0), "faces that pass each other"),
    ((4.0, 0.0, 1.0, 0.0), "pressure across a gap"),
]


def place(p, t, w, v):
    return np.array([p, t]), np.array([w, v])


def off(figures, mu=MU):
    traction, moved = place(*figures)
    return violation(np.array([mu]), traction, moved, 4.0, 2.0)


@pytest.mark.parametrize("state", RIGHT)
def test_what_obeys_the_law_is_passed_and_keeps_its_state(state):
    assert off(RIGHT[state]) <= 0
    traction, moved = place(*RIGHT[state])
    at = np.array([state], np.int8)
    assert next_state(np.array([MU]), at, traction, moved, 1e-9, 1e-9) == at


@pytest.mark.parametrize(("figures", "why"), WRONG, ids=[why for _, why in WRONG])
def test_what_does_not_is_found(figures, why):
    assert off(figures) > 0.01


@pytest.mark.parametrize(
    ("state", "figures", "asks"),
    [
        (OPEN, (0.0, 0.0, -1.0, 0.0), STICK),
        (STICK, (4.0, -2.5, 0.0, 0.0), FORWARD),
        (STICK, (4.0, 2.5, 0.0, 0.0), BACKWARD),
        (FORWARD, (4.0, -2.0, 0.0, -1.0), STICK),
        (BACKWARD, (4.0, 2.0, 0.0, 1.0), STICK),
        (STICK, (-1.0, 0.0, 0.0, 0.0), OPEN),
    ],
)
def test_the_state_that_a_place_asks_for(state, figures, asks):
    traction, moved = place(*figures)
    found = next_state(np.array([MU]), np.array([state], np.int8), traction, moved, 1e-9, 1e-9)
    assert found == asks


def test_friction_acts_against_sliding_however_it_is_asked_for():
    slip = np.array([1.0, -1.0])
    state = sliding_by(slip)
    assert state.tolist() == [FORWARD, BACKWARD]
    shear = shear_of_pressure(np.full(2, MU), state)
    assert shear == pytest.approx(-MU * np.sign(slip))
    assert sliding_under(shear).tolist() == state.tolist()


def test_a_smooth_place_closes_sliding_and_bears_no_shear():
    mu = np.array([0.0, MU])
    assert when_closing(mu).tolist() == [FORWARD, STICK]
    assert shear_of_pressure(mu, when_closing(mu)).tolist() == [0.0, 0.0]
    assert off((4.0, 0.1, 0.0, 1.0), mu=0.0) > 0.01


@pytest.mark.parametrize(("state", "slip"), [(FORWARD, -1.0), (BACKWARD, 1.0)])
def test_a_smooth_place_never_sticks_whichever_direction_it_slides_in(state, slip):
    traction, moved = place(4.0, 0.0, 0.0, slip)
    found = next_state(np.zeros(1), np.array([state], np.int8), traction, moved, 1e-9, 1e-9)
    assert found == state


def test_the_cone_holds_what_a_place_can_bear():
    """One place, moved across and along: forces (p, t) with |t| <= mu p, no more."""
    edges = cone(np.array([MU]), np.eye(2))
    assert sorted(edges.T.tolist()) == [[1.0, -MU], [1.0, MU]]
