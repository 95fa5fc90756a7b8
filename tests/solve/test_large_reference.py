"""Gaps at large deformation as two independent finite-strain codes give them.

Both are neo-Hookean with mixed displacement and pressure, a band of constant pull on the hull of
the deformed outline, and one-sided contact with finite sliding without friction. Not published.
"""

import pytest

import squeeze
from squeeze.solve import Block

K_MPA = 1000.0


def square(bevel_mm, E):
    return {
        "length_mm": 140,
        "rubber": {"youngs_modulus_mpa": E, "bulk_modulus_mpa": K_MPA},
        "block": {"shape": "square", "width_mm": 120, "bevel_mm": bevel_mm},
        "cavity": [
            {"shape": "round", "diameter_mm": 10, "centre_mm": [x, 40]} for x in (-24, -8, 8, 24)
        ],
        "cut": [{"path_mm": [[-60, 40], [60, 40]]}],
    }


WIDE = {
    "length_mm": 140,
    "rubber": {"youngs_modulus_mpa": 0.6, "bulk_modulus_mpa": K_MPA},
    "block": {"shape": "rectangle", "width_mm": 180, "height_mm": 60, "bevel_mm": 3},
    "cavity": [{"shape": "round", "diameter_mm": 20, "centre_mm": [x, 0]} for x in (-36, 36)],
    "cut": [{"path_mm": [[-90, 0], [90, 0]]}],
}


def middle_gap_mm(mold, pull, fineness=1.0):
    """Gap at x = 0 of the deformed block."""
    block = Block(squeeze.mold_of(mold), fineness)
    closing = block.close(band_tension_n_per_mm=pull, deformation="large")
    land = next(each for each in closing.lands if each.x_mm[0] < 0 < each.x_mm[-1])
    at = abs(land.x_mm).argmin()
    return float(land.gap_mm[at])


@pytest.mark.parametrize(
    ("bevel_mm", "E", "pull", "gap_mm"),
    [
        (3, 0.728, 0.145, 0.164),
        pytest.param(3, 0.728, 0.579, 0.41, marks=pytest.mark.slow),
        (12, 0.6, 0.1, 0.127),
        pytest.param(12, 0.6, 0.3, 0.220, marks=pytest.mark.slow),
    ],
)
def test_the_square_gapes_by(bevel_mm, E, pull, gap_mm):
    assert middle_gap_mm(square(bevel_mm, E), pull) == pytest.approx(gap_mm, rel=0.03)


@pytest.mark.slow
def test_a_mesh_half_as_wide_keeps_to_it():
    assert middle_gap_mm(square(3, 0.728), 0.145, 2.0) == pytest.approx(0.164, rel=0.03)


def test_the_low_wide_block_gapes_by():
    assert middle_gap_mm(WIDE, 0.2, 2.0) == pytest.approx(0.0484, rel=0.03)
