"""Whether contact can put up against the loads, and which way what it does not hold goes."""

import numpy as np
import pytest

import squeeze
from squeeze.solve.contact.holding import unheld_motion

# one place on the ground: its gap is y, its slip -x of a body that moves by (x, y)
GROUND = np.array([[0.0, 1.0], [-1.0, 0.0]])


def pulled(fx, fy, mu):
    """Motion of a body on the ground under a force (fx, fy), or None when it stays."""
    return unheld_motion(GROUND, np.array([mu]), -np.array([fx, fy]), float(np.hypot(fx, fy)))


def test_a_body_on_the_ground():
    assert pulled(0.0, -1.0, 0.0) is None
    assert pulled(0.3, -1.0, 0.5) is None
    assert pulled(-0.3, -1.0, 0.31) is None
    assert pulled(0.3, -1.0, 0.29) is not None


@pytest.mark.parametrize("mu", [0.0, 0.2])
def test_it_slides_along_the_ground_and_does_not_climb(mu):
    for side in (-1, 1):
        x, y = pulled(side * 0.5, -1.0, mu)
        assert side * x > 0
        assert abs(y) < 1e-9 * abs(x)


def test_pulled_off_it_goes_the_way_of_the_force():
    x, y = pulled(0.2, 1.0, 0.3)
    assert x / y == pytest.approx(0.2)


def test_nothing_to_hold():
    assert unheld_motion(np.zeros((2, 0)), np.array([0.3]), np.zeros(0), 1.0) is None
    assert unheld_motion(GROUND, np.array([0.3]), np.zeros(2), 0.0) is None


def test_a_smooth_cut_a_hair_off_the_pull_is_not_certified_by_the_rounding_of_its_faces():
    """It leans by 1.4e-4, and nothing but places rounded in the mesh holds the halves along it."""
    mold = {
        "length_mm": 100,
        "rubber": {"shore_a": 20},
        "block": {"shape": "square", "width_mm": 70, "bevel_mm": 7},
        "cavity": [
            {"shape": "round", "diameter_mm": 28 / 3, "centre_mm": [x, 0]}
            for x in (-35 / 3, 35 / 3)
        ],
        "cut": [{"path_mm": [[-70, -0.01], [70, 0.01]], "friction": 0.0}],
        "band": [{"tension_n_per_mm": 0.6}],
    }
    closing = squeeze.Block(squeeze.mold_of(mold), 0.7).close(check=False)
    trust = closing.trust
    assert not closing.outcome.has_answer or trust.complementarity < max(
        1e-7, 20 * trust.force_balance
    )
