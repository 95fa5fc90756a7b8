"""Wavy pressure on a half-space, along the block.

Pressure p1 cos kz on the face of a half-space makes, at depth d,

    s_d = p1 (1 + kd) e^(-kd) cos kz        s_z = p1 (1 - kd) e^(-kd) cos kz

and across both, in plane strain, s = nu (s_d + s_z) = 2 nu p1 e^(-kd) cos kz. K. L. Johnson,
Contact Mechanics, Cambridge University Press 1985. From memory; limits checked. The block is
ten wave numbers wide and its sides are free: in its middle that is not felt.
"""

import numpy as np
import pytest

import squeeze
from squeeze.solve import Block
from squeeze.solve.along.compliance import seam_rows
from squeeze.solve.along.wave import bordered
from squeeze.solve.bands.outline_forces import pressure_forces
from squeeze.solve.elastic.wave_element import wave_elements

K, HALF_WIDTH_MM, TOP_MM = 0.1, 100.0, 60.0
KD = np.array([0.5, 1.0, 2.0, 3.0])


def bonded(path, held, fineness):
    """Places and normal traction of a bonded cut when the top is pressed by cos kz of 1 MPa."""
    mold = squeeze.mold_of(
        {
            "length_mm": 100,
            "rubber": {"youngs_modulus_mpa": 1.0, "bulk_modulus_mpa": 5000},
            "block": {
                "shape": "rectangle",
                "width_mm": 2 * HALF_WIDTH_MM,
                "height_mm": 2 * TOP_MM,
                "round_mm": 0,
            },
            "cut": [{"path_mm": path}],
        }
    )
    block = Block(mold, fineness)
    outline, points = block.mesh.edges[0], block.mesh.points
    top = outline[np.abs(points[outline[:, 1], 1] - TOP_MM) < 1e-9]
    c = len(block.contact_rows.weight)
    places = np.arange(c) if held else np.arange(0)
    rows = seam_rows(block, places, pressure_forces(points, top, 1.0)[:, None])
    C = bordered(block.mesh, wave_elements(block.mesh, block.section.materials), rows).compliance(K)
    t = -np.linalg.solve(C[:-1, :-1], C[:-1, -1])
    return points[block.mesh.lands[0].left[::2]], t[:c]


def along_depth(kd, fineness=2):
    """Return the normal traction at depth d, in the middle of a cut that lies across it."""
    y = TOP_MM - kd / K
    x, t = bonded([[-HALF_WIDTH_MM, y], [HALF_WIDTH_MM, y]], True, fineness)
    return float(np.interp(0.0, x[:, 0], t))


def test_the_formula_has_the_published_values():
    decay = (1 + KD) * np.exp(-KD)
    assert decay == pytest.approx([0.90980, 0.73576, 0.40601, 0.19915], abs=1e-5)


@pytest.mark.parametrize("kd", KD)
def test_pressure_at_depth(kd):
    """All three tractions are bonded there, so this tries gaps and both ways of sliding."""
    assert along_depth(kd) == pytest.approx((1 + kd) * np.exp(-kd), rel=0.01)


def test_stress_across():
    """A plane of symmetry has no shear: a cut that is only kept closed carries the stress."""
    x, t = bonded([[0, TOP_MM], [0, -TOP_MM]], False, 4)
    found = np.interp(KD / K, TOP_MM - x[:, 1], t)
    assert found == pytest.approx(np.exp(-KD), rel=0.01)
