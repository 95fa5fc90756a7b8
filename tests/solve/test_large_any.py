"""Large deformation of random molds: settled with a certificate, or a named outcome."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import squeeze
from squeeze.mold import BadInput
from squeeze.solve.outcome import Outcome
from tests.solve.conftest import random_tables

GIVEN_UP = (Outcome.NOT_SETTLED, Outcome.UNSTABLE)


def check(seed, friction):
    tables = random_tables(seed, cavities=2, cuts=2)
    for cut in tables["cut"]:
        cut["friction"] = friction
    try:
        block = squeeze.Block(squeeze.mold_of(tables), 0.5)
    except BadInput:
        return
    closing = block.close(deformation="large", check=False)
    told = closing.deformation
    if not told.is_large:
        assert told.outcome in GIVEN_UP
        assert told.share < 1.0
        assert not told.is_confirmed
        return
    assert closing.outcome is Outcome.CONVERGED
    assert closing.trust.residual <= 1e-6
    assert closing.trust.force_balance <= 1e-6
    assert closing.trust.complementarity <= 1e-5
    for face in (*closing.lands, *closing.seats):
        assert np.isfinite(face.pressure_kpa).all()
        assert (face.pressure_kpa >= 0).all()
        assert (face.gap_mm >= 0).all()
        assert (face.pressure_kpa * face.gap_mm == 0).all()
        most = max(friction * face.pressure_kpa.max(), 1e-9)
        assert (np.abs(face.shear_kpa) <= friction * face.pressure_kpa + 1e-6 * most).all()


@pytest.mark.slow
@settings(deadline=None, max_examples=4)
@given(st.integers(0, 10**6), st.sampled_from([0.0, 0.3]))
def test_a_random_mold_settles_or_says_why_not(seed, friction):
    check(seed, friction)


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(100))
def test_a_hundred_random_molds_settle_or_say_why_not(seed):
    check(seed, (0.0, 0.3)[seed % 2])
