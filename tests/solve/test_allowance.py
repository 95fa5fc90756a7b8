"""Work that closings share: it is counted, it ends, and what ends says so."""

import numpy as np
import pytest

import squeeze
from squeeze.solve.allowance import Allowance
from squeeze.solve.outcome import Outcome

BAND = {"tension_n_per_mm": 0.5}


@pytest.fixture(scope="module")
def block():
    return squeeze.Block(
        squeeze.mold_of(
            {
                "length_mm": 100,
                "rubber": {"youngs_modulus_mpa": 0.6, "poisson": 0.499},
                "block": {"shape": "square", "width_mm": 80},
                "cavity": [{"shape": "round", "diameter_mm": 20, "centre_mm": [0, 5]}],
                "cut": [{"path_mm": [[-40, 5], [40, 5]]}],
                "band": [BAND],
            }
        ),
        0.5,
    )


def test_within_an_allowance_the_answer_is_the_same(block):
    allowance = Allowance(10**6)
    closing = allowance.close(block, deformation="large")
    alone = block.close(deformation="large")
    assert closing.deformation.is_large
    assert (closing.lands[0].gap_mm == alone.lands[0].gap_mm).all()
    assert allowance.spent == block.mesh.points.size * alone.deformation.tangents
    assert not allowance.ran_out


@pytest.mark.parametrize("tangents", [0, 1, 2])
def test_what_is_used_up_leaves_the_small_answer_and_says_so(block, tangents):
    allowance = Allowance(tangents * block.mesh.points.size)
    closing = allowance.close(block, deformation="large")
    assert closing.deformation.outcome is Outcome.NOT_SETTLED
    assert not closing.deformation.is_confirmed
    assert (closing.lands[0].gap_mm == block.close().lands[0].gap_mm).all()
    assert allowance.ran_out
    assert allowance.spent <= allowance.most


def test_what_needs_no_large_deformation_uses_nothing_up(block):
    allowance = Allowance(0)
    assert allowance.close(block, deformation="small").outcome.has_answer
    assert not allowance.ran_out


@pytest.mark.parametrize(("friction", "share"), [(0.0, 0.5), (0.3, 1.0)])
def test_a_finer_mesh_is_thought_to_take_what_its_start_does_not_save(block, friction, share):
    """As many tangents as the coarser one where faces rub, half as many where none do."""
    coarse = block.close(deformation="large", friction=friction)
    wanted = int(np.ceil(share * coarse.deformation.tangents))
    assert Allowance(wanted * 1000).suffices(coarse, 1000)
    assert not Allowance(wanted * 1000 - 1).suffices(coarse, 1000)
    assert Allowance(0).suffices(block.close(), 1000)
