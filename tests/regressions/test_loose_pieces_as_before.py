"""Which arrangements of loose pieces need friction: first seen on an independent computation."""

import numpy as np
import pytest
from test_loose_pieces import HELD, KEYSTONE, LOOSE, PLUG, ROUND, SQUARE, TILTED, block


@pytest.mark.parametrize(
    ("outline", "paths", "friction", "outcome"),
    [
        (SQUARE, KEYSTONE, 0.0, LOOSE),
        (SQUARE, KEYSTONE, 0.5, LOOSE),
        (SQUARE, KEYSTONE, 0.7, HELD),
        (ROUND, KEYSTONE, 0.0, HELD),
        (ROUND, KEYSTONE, 0.5, HELD),
        (SQUARE, PLUG, 0.0, HELD),
        (SQUARE, PLUG, 0.1, HELD),
        (ROUND, PLUG, 0.0, LOOSE),
        (ROUND, PLUG, 0.1, LOOSE),
        (ROUND, PLUG, 0.3, HELD),
        (SQUARE, TILTED, 0.0, LOOSE),
        (SQUARE, TILTED, 0.3, LOOSE),
        (SQUARE, TILTED, 0.5, HELD),
    ],
)
def test_held_or_not(outline, paths, friction, outcome):
    closing = block(outline, paths).close(friction=friction, check=False)
    assert closing.trust.outcome == outcome
    assert len(closing.trust.pieces) == 2
    if outcome == HELD:
        assert closing.trust.force_balance < 1e-8
        for land in closing.lands:
            assert land.force_n_per_mm > 0
            assert (np.abs(land.shear_kpa) <= friction * land.pressure_kpa + 1e-6).all()
    else:
        assert all(np.isnan(land.pressure_kpa).all() for land in closing.lands)
