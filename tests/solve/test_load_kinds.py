"""A load kind that is listed acts everywhere: small and large deformation, along the block."""

import numpy as np
import pytest

import squeeze
from squeeze.mold.forces.loads import Loads, Push
from squeeze.solve.along.long_block import LongBlock
from squeeze.solve.bands import outline_forces
from squeeze.solve.bands.outline_forces import LOAD_KINDS, LoadTerm, liquid, load_terms

T, PINCH = 0.1, 0.2  # N/mm
WATER = 0.01  # MPa
MOLD = squeeze.mold_of(
    {
        "length_mm": 100,
        "rubber": {"youngs_modulus_mpa": 0.6},
        "block": {"shape": "square", "width_mm": 60, "bevel_mm": 8},
        "cut": [{"path_mm": [[0, -30], [0, 30]], "friction": 0.3}],
        "band": [{"tension_n_per_mm": T}],
    }
)


def pinched(mesh):
    """Two forces of 1 N/mm that press the leftmost and rightmost nodes nearest y = 0 together."""
    f = np.zeros((len(mesh.points), 2))
    edge = np.unique(mesh.outside)
    for side in (-1, 1):
        at = edge[np.argmax(side * mesh.points[edge, 0] - 1e-3 * np.abs(mesh.points[edge, 1]))]
        f[at, 0] = -side
    return f.ravel()


@pytest.fixture
def listed(monkeypatch):
    kinds = (*LOAD_KINDS, lambda loads: [LoadTerm(PINCH, ("pinch",), pinched)])
    monkeypatch.setattr(outline_forces, "LOAD_KINDS", kinds)


@pytest.mark.parametrize("deformation", ["small", "large"])
def test_a_new_kind_presses_on_the_cut(listed, deformation):
    closing = squeeze.close(MOLD, deformation=deformation)
    assert closing.deformation.is_large == (deformation == "large")
    assert closing.lands[0].force_n_per_mm == pytest.approx(2 * T + PINCH, rel=0.01)


def test_and_along_the_block(listed):
    block = LongBlock(MOLD, 4, 0.5)
    assert block.rest.size == pytest.approx(2 * PINCH)


@pytest.mark.parametrize("deformation", ["small", "large"])
def test_a_new_liquid_turns_with_the_surface_as_pressure_all_round_does(monkeypatch, deformation):
    listed = squeeze.close(
        MOLD, Loads(T, all_round_mpa=WATER), deformation=deformation, fineness=0.5
    )
    kinds = (*LOAD_KINDS, lambda loads: [liquid(WATER, "water", lambda mesh: [mesh.outside])])
    monkeypatch.setattr(outline_forces, "LOAD_KINDS", kinds)
    new = squeeze.close(MOLD, Loads(T), deformation=deformation, fineness=0.5)
    wanted = listed.lands[0]
    assert wanted.force_n_per_mm > 2 * T + 50 * WATER
    assert new.lands[0].force_n_per_mm == pytest.approx(wanted.force_n_per_mm, rel=1e-9)
    assert new.lands[0].pressure_kpa == pytest.approx(wanted.pressure_kpa, rel=1e-6)


def test_pushes_alone_keep_their_direction_as_the_surface_turns():
    """A pad presses where it was set; a liquid and a band follow the surface."""
    every = Loads(
        tension_n_per_mm=T,
        pushes=(Push((0.0, 30.0), 10.0, 0.1),),
        all_round_mpa=0.01,
        cavity_mpa=0.01,
    )
    turns = {term.key[0]: term.is_band or term.pressed is not None for term in load_terms(every)}
    assert turns == {"bands": True, "push": False, "all round": True, "resin": True}
