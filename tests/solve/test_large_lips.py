"""Lips that slide at large deformation press no harder than the bands can press them."""

from __future__ import annotations

import numpy as np
import pytest

import squeeze

BARRELS = [-24, -8, 8, 24]


@pytest.fixture(scope="module")
def closings():
    """Close a level cut that leaves through bevels: its lips slide past each other.

    On two meshes, one with edges at the lips as long as the slide and one with longer ones.
    """
    mold = squeeze.mold_of(
        {
            "length_mm": 140,
            "rubber": {"shore_a": 20},
            "block": {"shape": "square", "width_mm": 120, "bevel_mm": 35},
            "cavity": [
                {"shape": "round", "diameter_mm": 10, "centre_mm": [x, 40]} for x in BARRELS
            ],
            "cut": [{"path_mm": [[-70, 40], [70, 40]]}],
            "band": [{"tension_n_per_mm": 0.7}],
        }
    )
    found = [squeeze.Block(mold, fineness) for fineness in (0.5, 0.7)]
    return [block.close(deformation="large") for block in found]


def test_the_cut_carries_what_the_bands_press_on_the_lid(closings):
    """Statics, but for the few percent by which the faces stretch and turn."""
    for closing in closings:
        above = closing.wrap.points_mm[:, 1] > 40
        pressed = -closing.wrap.push_n_per_mm[above, 1].sum()
        carried = sum(land.force_n_per_mm for land in closing.lands)
        assert carried == pytest.approx(pressed, rel=0.03)


def test_the_mean_pressure_of_a_land_does_not_hang_on_the_mesh(closings):
    means = np.array([[land.mean_pressure_kpa for land in each.lands] for each in closings])
    assert means[1] == pytest.approx(means[0], rel=0.03)
