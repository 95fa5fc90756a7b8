"""A rubbing band that follows the deformed block keeps its friction.

Euler 1769: round a square block that bands pull on its top, the two pulls that cross a level cut
are T exp(-mu pi / 2) each, those across an upright cut T and T exp(-mu pi); at a small pull the
deformed block is still a square.
"""

import numpy as np
import pytest

import squeeze

T, FRICTION = 0.003, 0.5


@pytest.mark.parametrize(
    ("path", "share"),
    [
        ([[-60, 0], [60, 0]], 2 * np.exp(-FRICTION * np.pi / 2)),
        ([[0, -60], [0, 60]], 1 + np.exp(-FRICTION * np.pi)),
    ],
)
def test_the_cut_carries_the_pulls_that_are_left(path, share):
    mold = squeeze.mold_of(
        {
            "length_mm": 100,
            "rubber": {"youngs_modulus_mpa": 0.6, "poisson": 0.49},
            "block": {"shape": "square", "width_mm": 100, "bevel_mm": 5},
            "cut": [{"path_mm": path, "friction": 1.5}],
            "band": [{"tension_n_per_mm": T, "friction": FRICTION}],
        }
    )
    closing = squeeze.close(mold, fineness=0.7, deformation="large")
    assert closing.deformation.is_large
    (land,) = closing.lands
    assert land.force_n_per_mm == pytest.approx(share * T, rel=0.01)
