"""Hoop pressure of a long ring pressed in waves, as a prototype computed it."""

import numpy as np
import pytest
from test_along_ring import computed


@pytest.mark.parametrize(
    ("period_mm", "values"),
    [(40.0, (-0.01614, 0.08862, 1.14736)), (100.0, (0.28272, 0.66497, 1.39994))],
)
def test_hoop_pressure_as_computed_before(period_mm, values):
    r, found = computed(period_mm, 3)
    at = np.interp([20.0, 40.0, 60.0], r, found)
    assert at == pytest.approx(values, abs=0.01 * max(values))
