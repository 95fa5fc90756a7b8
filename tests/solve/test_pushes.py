"""A patch of pressure pushes with pressure times the chord it spans, wherever nodes lie."""

from __future__ import annotations

import math

import numpy as np
import pytest

from squeeze.mold import loads_of, mold_of
from squeeze.solve import Block
from squeeze.solve.bands.outline_forces import push_forces
from squeeze.solve.elastic.rigid import resultants

RADIUS_MM, WIDTH_MM, FORCE = 60.0, 60.0, 1.2


@pytest.mark.parametrize("cut_deg", [45.0, 60.0, 75.0, 90.0])
def test_a_patch_on_a_round_block(cut_deg):
    """By statics: p x 2 R sin(w / 2 R) towards the middle, no moment; the cut may run out in it."""
    c, s = math.cos(math.radians(cut_deg)), math.sin(math.radians(cut_deg))
    mold = mold_of(
        {
            "length_mm": 100,
            "rubber": {"youngs_modulus_mpa": 0.6},
            "block": {"shape": "round", "diameter_mm": 2 * RADIUS_MM},
            "cavity": [{"shape": "round", "diameter_mm": 40}],
            "cut": [{"name": "out", "path_mm": [[10 * c, 10 * s], [80 * c, 80 * s]]}],
            "push": [
                {"at_mm": [0, y], "width_mm": WIDTH_MM, "force_n_per_mm": FORCE} for y in (60, -60)
            ],
        }
    )
    block = Block(mold)
    chord = 2 * RADIUS_MM * math.sin(WIDTH_MM / (2 * RADIUS_MM))
    for push in loads_of(mold, block.section).pushes:
        f = push_forces(block.mesh.points, block.mesh.outside, push)
        force, moment, _ = resultants(block.mesh.points, f)
        wanted = -math.copysign(FORCE / WIDTH_MM * chord, push.at_mm[1])
        assert force[1] == pytest.approx(wanted, rel=1e-4)
        assert abs(force[0]) < 1e-4 * FORCE
        assert abs(moment + np.mean(block.mesh.points[:, 0]) * force[1]) < 1e-3 * FORCE
