"""Hands and clamps: a push does not close a cut that lies along it; squeezing all round does."""

import pytest

import squeeze

ALONG, ACROSS = [[0, 0], [0, 90]], [[0, 0], [90, 0]]
HANDS = [{"at_mm": [0, y], "width_mm": 30, "force_n_per_mm": 0.6} for y in (60, -60)]
ALL_ROUND = [{"pressure_kpa": 10}]


def land(path, push, shape="round", friction=0.0):
    size = {"diameter_mm": 120} if shape == "round" else {"width_mm": 120}
    mold = squeeze.mold_of(
        {
            "length_mm": 100,
            "rubber": {"youngs_modulus_mpa": 0.6, "poisson": 0.499},
            "block": {"shape": shape, **size},
            "cavity": [{"shape": "round", "diameter_mm": 40}],
            "cut": [{"path_mm": path, "friction": friction}],
            "push": push,
        }
    )
    closing = squeeze.Block(mold).close()
    assert closing.trust.outcome == "converged"
    assert closing.trust.force_balance < 1e-5
    return closing.lands[0]


@pytest.mark.parametrize("friction", [0.0, 0.8])
@pytest.mark.parametrize("shape", ["round", "square"])
def test_two_hands_along_a_cut_open_it(shape, friction):
    opened = land(ALONG, HANDS, shape, friction)
    assert opened.gap_mm[0] > 0.1  # at the cavity
    assert opened.closed_share < 0.6


@pytest.mark.parametrize("shape", ["round", "square"])
def test_two_hands_that_face_a_cut_close_it_at_the_cavity(shape):
    pressed = land(ACROSS, HANDS, shape)
    assert pressed.pressure_kpa[0] > 20
    assert pressed.gap_mm[0] == 0


@pytest.mark.parametrize("path", [ALONG, ACROSS, [[0, 0], [70, 80]]])
def test_squeezing_all_round_closes_a_cut_wherever_it_lies(path):
    squeezed = land(path, ALL_ROUND)
    assert squeezed.closed_share == 1
    assert squeezed.evenness > 0.7


def test_twice_the_push_opens_it_twice_as_far():
    harder = [push | {"force_n_per_mm": 1.2} for push in HANDS]
    one, two = (land(ALONG, push) for push in (HANDS, harder))
    assert two.largest_gap_mm == pytest.approx(2 * one.largest_gap_mm, rel=1e-9)
    assert two.closed_share == pytest.approx(one.closed_share)
