"""Balance of forces: what holds whatever the rubber, the outline and the cut.

Statics, no source needed: a band crosses the section of a parted block twice, so the pressure on a
straight cut through it sums to 2T; a loop of band pulls on nothing but itself.
"""

import numpy as np
import pytest
from verification import Check, rows_test

import squeeze
from squeeze.mold import section_of
from squeeze.mold.forces.loads import Loads
from squeeze.solve import close

T = 0.6
BLOCKS = [
    {"shape": "round", "diameter_mm": 100},
    {"shape": "square", "width_mm": 90, "bevel_mm": 12},
    {"shape": "oval", "width_mm": 140, "height_mm": 70},
    {"points_mm": [[-50, -40], [60, -35], [45, 40], [0, 15], [-40, 50]]},  # hollow at the top
]
CAVITY = {"shape": "oval", "width_mm": 24, "height_mm": 16, "centre_mm": [-5, 0]}


def mold(block, path, cavity=(), nu=0.499, E=0.6):
    return squeeze.mold_of(
        {
            "length_mm": 100,
            "rubber": {"youngs_modulus_mpa": E, "poisson": nu},
            "block": block,
            "cavity": list(cavity),
            "cut": [{"path_mm": path}],
            "band": [{"tension_n_per_mm": T}],
        }
    )


def force(closing):
    return sum(land.force_n_per_mm for land in closing.lands)


@pytest.mark.parametrize("path", [[[-99, 0], [99, 0]], [[0, -99], [0, 99]]])
@pytest.mark.parametrize("cavity", [(), (CAVITY,)])
@pytest.mark.parametrize("block", BLOCKS[:3])
def test_a_through_cut_carries_twice_the_tension(block, cavity, path):
    closing = squeeze.close(mold(block, path, cavity), fineness=1)
    assert force(closing) == pytest.approx(2 * T, rel=1e-3)


@pytest.mark.parametrize(("E", "nu"), [(0.2, 0.3), (5.0, 0.4999)])
def test_whatever_the_rubber(E, nu):
    closing = squeeze.close(mold(BLOCKS[0], [[-99, 0], [99, 0]], (CAVITY,), nu, E), fineness=1)
    assert force(closing) == pytest.approx(2 * T, rel=1e-3)


def test_to_rounding_where_the_outline_meets_the_cut_squarely():
    rectangle = {"shape": "rectangle", "width_mm": 90, "height_mm": 60}
    closing = squeeze.close(mold(rectangle, [[-99, 0], [99, 0]]), fineness=1)
    assert force(closing) == pytest.approx(2 * T, rel=1e-12)


@pytest.mark.parametrize("path", [[[-99, 0], [99, 0]], [[-99, 8], [99, 8]]])
def test_friction_holds_what_a_band_pulls_along_the_cut_and_no_less_does(path):
    """A band crosses the cut on two sides that lean: its pulls press 2 T cos, and shift T sin."""
    lean = np.arctan([10 / 90, 15 / 75])  # of the left and right side, both towards the middle
    least = np.ptp(np.sin(lean)) / np.sum(np.cos(lean))
    block = squeeze.Block(mold(BLOCKS[3], path))
    held, loose = (block.close(friction=share * least, check=False) for share in (1.001, 0.999))
    assert held.outcome == "converged"
    assert force(held) == pytest.approx(T * np.cos(lean).sum(), rel=1e-3)
    assert loose.outcome == "a piece is not held"
    moves = [piece.goes for piece in loose.trust.pieces if piece.goes]
    assert moves == [pytest.approx((1, 0), abs=1e-9)]


@pytest.mark.parametrize("block", BLOCKS)
def test_a_band_pulls_on_nothing_but_itself(block):
    # a smooth cut does not hold the last block, which the test above explains
    wrap = squeeze.close(mold(block, [[-99, 0], [99, 0]]), fineness=0.5, check=False).wrap
    arm, push = wrap.points_mm, wrap.push_n_per_mm
    total = np.abs(push).sum()
    assert total > T
    assert push.sum(axis=0) == pytest.approx([0, 0], abs=1e-13 * total)
    moment = np.sum(arm[:, 0] * push[:, 1] - arm[:, 1] * push[:, 0])
    assert moment == pytest.approx(0, abs=1e-13 * total * np.abs(arm).max())


def test_pressure_all_round_presses_on_a_cut_like_on_its_shadow():
    section = section_of(mold(BLOCKS[2], [[-99, 0], [99, 0]], (CAVITY,)))
    closing = close(section, Loads(all_round_mpa=0.02))
    assert force(closing) == pytest.approx(0.02 * 140, rel=1e-6)


def test_resin_lifts_the_halves_by_its_pressure_on_the_cavity():
    section = section_of(mold(BLOCKS[2], [[-99, 0], [99, 0]], (CAVITY,)))
    closing = close(section, Loads(tension_n_per_mm=T, cavity_mpa=0.01, enters_cuts=False))
    assert force(closing) == pytest.approx(2 * T - 0.01 * 24, rel=1e-3)


def parted():
    closing = squeeze.close(mold(BLOCKS[0], [[-99, 0], [99, 0]], (CAVITY,)), deformation="small")
    return force(closing), closing


CHECKS = (
    Check(
        "Round block cut in two, one cavity, under bands",
        "statics",
        "force on the cut, N/mm",
        2 * T,
        parted,
        within=1e-3,
    ),
)
test_published = rows_test(CHECKS)
