"""Blocks over their length that an independent prototype computed: ripple, gaps, resultants.

Mirror-symmetric half blocks, full diametral cut, no friction, empty cavity of radius 20, bands
6 mm wide, nu = 0.5; it stated 1e-3 for ripples (0.01 at the round block's lip), 0.3 % for
the square's pressures, 0.0005 for its gap. On the square (120 wide, legs of 10 mm cut off) it put
the band's push evenly on the oblique faces, which the tests repeat: a real band pushes at their
ends, which gives 0.1312 in place of the gap 0.1788. Its open share, 0.179, is not repeated here: by
area 0.112 is open at the very gap that it states, and a solid model of another case confirms how
areas are counted (tests/solve/test_along_solid.py).
"""

import numpy as np
import pytest

import squeeze
from squeeze.solve.along.compliance import unit_responses
from squeeze.solve.along.loads import BandAt
from squeeze.solve.along.long_block import LongBlock
from squeeze.solve.along.pitch import pitch_rule, ripple
from squeeze.solve.along.surface import surface
from squeeze.solve.bands.outline_forces import pressure_forces
from squeeze.solve.contact.given_forces import given_forces

pytestmark = pytest.mark.slow

PLACES_MM = np.array([20.0, 40.0, 60.0])  # cavity, middle, outside
ROUND = {"shape": "round", "diameter_mm": 120}
SQUARE = {"shape": "square", "width_mm": 120, "bevel_mm": 10, "round_mm": 0}


def long_block(block, length_mm, waves=32, fineness=2):
    mold = squeeze.mold_of(
        {
            "length_mm": length_mm,
            "rubber": {"youngs_modulus_mpa": 1.0, "poisson": 0.49999},
            "block": block,
            "cavity": [{"shape": "round", "diameter_mm": 40}],
            "cut": [{"path_mm": [[-60, 0], [60, 0]]}],
        }
    )
    made = LongBlock(mold, waves, fineness)
    return made if block is ROUND else pushed_on_the_bevels(made)


def pushed_on_the_bevels(made):
    """Return the block with sqrt(2) T spread evenly on each of its oblique faces."""
    mesh = made.block.mesh
    oblique = np.abs(np.abs(mesh.points[mesh.outside[:, 1]]).sum(axis=1) - 110) < 1e-6
    band = pressure_forces(mesh.points, mesh.outside[oblique], 0.1)
    made.band = given_forces(made.block.factor, mesh.points, band)
    loads = made.band, made.resin
    made.responses = unit_responses(
        made.block, loads, made.numbers[: made.count], made.cut_extent.held, 1
    )
    made.surface = surface(made.block, band)
    return made


def on_the_right(made, values):
    """Values at the three places of the right-hand land."""
    begins, lands = made.block.contact_rows.begins, made.block.mesh.lands
    k = int(np.argmax([made.block.mesh.points[land.left, 0].mean() for land in lands]))
    x = made.block.mesh.points[lands[k].left[::2], 0]
    return np.interp(PLACES_MM, x, values[begins[k] : begins[k + 1]])


@pytest.mark.parametrize(
    ("pitch_mm", "values"),
    [
        (20.0, (1.000, 0.996, 0.12)),
        (40.0, (0.986, 0.883, 0.04)),
        (60.0, (0.976, 0.671, -0.04)),
        (100.0, (0.731, 0.245, -0.26)),
    ],
)
def test_ripple_of_the_round_block(pitch_mm, values):
    made = long_block(ROUND, pitch_mm / 2, 12)
    found = on_the_right(made, ripple(made, pitch_mm, 6.0))
    assert found[:2] == pytest.approx(values[:2], abs=0.002)
    assert found[2] == pytest.approx(values[2], abs=0.02)


@pytest.mark.parametrize(
    ("pitch_mm", "values"),
    [
        (20.0, (1.000, 1.000, 1.000)),
        (40.0, (0.999, 0.994, 0.988)),
        pytest.param(60.0, (0.980, 0.931, 0.874), marks=pytest.mark.slow),
        pytest.param(100.0, (0.790, 0.588, 0.331), marks=pytest.mark.slow),
    ],
)
def test_ripple_of_the_square(pitch_mm, values):
    made = long_block(SQUARE, pitch_mm / 2, 12)
    found = on_the_right(made, ripple(made, pitch_mm, 6.0))
    assert found == pytest.approx(values, abs=0.003)


def test_cavity_keeps_its_pressure_up_to_two_wall_depths():
    """0.9 of the mean at 82 to 83 mm, half of it at 3.0 to 3.4 wall depths of 40 mm."""
    for block in (ROUND, SQUARE):
        rule = pitch_rule(long_block(block, 150.0, 40, 1), 6.0)
        assert rule.widest_mm("cavity") == pytest.approx(82.0, abs=2.0)
        assert 2.9 * 40 < rule.widest_mm("cavity", 0.5) < 3.5 * 40


def test_means_and_resultant_of_the_square():
    made = long_block(SQUARE, 100.0, 1, 3)
    land = max(made.close([], smeared_n_per_mm=1.0).lands, key=lambda land: land.x_mm.mean())
    p = land.pressure_kpa[:, 0] / 1000
    found = np.interp(PLACES_MM, land.x_mm, p)
    assert found == pytest.approx((0.0398, 0.0246, 0.0183), rel=0.01)
    assert np.trapezoid(p, land.x_mm) == pytest.approx(1.0, rel=1e-4)
    centroid = np.trapezoid(p * land.x_mm, land.x_mm)
    assert centroid == pytest.approx(38.351, rel=1e-3)


@pytest.mark.slow
def test_gap_of_the_square_between_far_bands():
    """Pitch 160, one-sided: E gap / (T / L) at the outer edge midway."""
    made = long_block(SQUARE, 80.0)
    closing = made.close([BandAt(0.0, 80.0, 6.0)])
    land = max(closing.lands, key=lambda land: land.x_mm.mean())
    assert land.gap_mm[-1, -1] == pytest.approx(0.1788, rel=0.01)
