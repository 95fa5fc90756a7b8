"""Pressure on a half-space that changes along the block: in waves, and on a small patch.

Pressure p1 cos kz on the face of a half-space makes, at depth d,

    s_d = p1 (1 + kd) e^(-kd) cos kz        s_z = p1 (1 - kd) e^(-kd) cos kz

and across both, in plane strain, s = nu (s_d + s_z) = 2 nu p1 e^(-kd) cos kz. K. L. Johnson,
Contact Mechanics, Cambridge University Press 1985. From memory; limits checked. The block is
ten wave numbers wide and its sides are free: in its middle that is not felt.

A rectangular patch: J. Boussinesq 1885, integrated by A. E. H. Love, Phil. Trans. R. Soc. A 228
(1929) 377. Under its corner, with the sides over the depth m and n and r^2 = m^2 + n^2 + 1,

    s_d = p / (2 pi) (m n (r^2 + 1) / ((m^2 + 1) (n^2 + 1) r) + atan(m n / r))

From memory; checked against Boussinesq's 3 P / (2 pi d^2) and against even pressure. Here it is the
sum of its waves along the block; the mean of them, a strip, has its own closed form. A mold has no
loads but bands at a place along its length: these checks go through the solver's waves themselves.
"""

import numpy as np
import pytest
from verification import Check, rows_test

import squeeze
from squeeze.mold.forces.loads import Push
from squeeze.solve import Block
from squeeze.solve.along.compliance import seam_rows
from squeeze.solve.along.wave import bordered
from squeeze.solve.bands.outline_forces import push_forces
from squeeze.solve.elastic.wave_element import wave_elements

K, HALF_WIDTH_MM, TOP_MM = 0.1, 100.0, 60.0
KD = np.array([0.5, 1.0, 2.0, 3.0])


def bonded(path, held, fineness, waves=(K,), patch_mm=None):
    """Places, and normal traction of a bonded cut by wave when the top is pressed by 1 MPa cos kz.

    All over the top, or over `patch_mm` in its middle.
    """
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
    points = block.mesh.points
    push = Push((0.0, TOP_MM), patch_mm or 2 * HALF_WIDTH_MM, 1.0)
    c = len(block.contact_rows.weight)
    places = np.arange(c) if held else np.arange(0)
    rows = seam_rows(block, places, push_forces(points, block.mesh.outside, push)[:, None])
    layout = bordered(block.mesh, wave_elements(block.mesh, block.section.materials), rows)
    tractions = []
    for k in waves:
        C = layout.compliance(k)
        tractions.append(-np.linalg.solve(C[:-1, :-1], C[:-1, -1])[:c])
    return points[block.mesh.lands[0].left[::2]], np.array(tractions)


def along_depth(kd, fineness=2):
    """Return the normal traction at depth d, in the middle of a cut that lies across it."""
    y = TOP_MM - kd / K
    x, (t,) = bonded([[-HALF_WIDTH_MM, y], [HALF_WIDTH_MM, y]], True, fineness)
    return float(np.interp(0.0, x[:, 0], t))


def across(fineness=4):
    """Pressure on an upright cut at the depths KD / K."""
    x, (t,) = bonded([[0, TOP_MM], [0, -TOP_MM]], False, fineness)
    return np.interp(KD / K, TOP_MM - x[:, 1], t)


PATCH_MM, DEPTH_MM, HALF_PERIOD_MM, WAVES = 8.0, 15.0, 100.0, 24


def under_a_patch(a_mm, b_mm, depth_mm):
    """Love's stress under the middle of a patch of 1 MPa, a x b mm."""
    m, n = a_mm / 2 / depth_mm, b_mm / 2 / depth_mm
    r = np.sqrt(m**2 + n**2 + 1)
    corner = m * n * (r**2 + 1) / ((m**2 + 1) * (n**2 + 1) * r) + np.arctan(m * n / r)
    return 4 * corner / (2 * np.pi)


def patch_by_waves():
    k = np.pi / HALF_PERIOD_MM * np.arange(1, WAVES + 1)
    y = TOP_MM - DEPTH_MM
    x, t = bonded([[-HALF_WIDTH_MM, y], [HALF_WIDTH_MM, y]], True, 5, k, PATCH_MM)
    waves = 2 * np.sin(k * PATCH_MM / 2) / (k * HALF_PERIOD_MM)
    half = np.arctan(PATCH_MM / 2 / DEPTH_MM)
    strip = (2 * half + np.sin(2 * half)) / np.pi
    middle = [np.interp(0.0, x[:, 0], each) for each in t]
    return float(PATCH_MM / 2 / HALF_PERIOD_MM * strip + waves @ middle), None


def test_loves_patch_is_boussinesqs_force_far_below_and_even_pressure_at_its_face():
    assert under_a_patch(1, 1, 50) == pytest.approx(3 / (2 * np.pi * 50**2), rel=1e-3)
    assert under_a_patch(1e4, 1e4, 1) == pytest.approx(1, rel=1e-6)


@pytest.mark.parametrize("kd", KD)
def test_pressure_at_depth(kd):
    """All three tractions are bonded there, so this tries gaps and both ways of sliding."""
    assert along_depth(kd) == pytest.approx((1 + kd) * np.exp(-kd), rel=0.01)


def test_stress_across():
    """A plane of symmetry has no shear: a cut that is only kept closed carries the stress."""
    assert across() == pytest.approx(np.exp(-KD), rel=0.01)


NOT_FROM_A_MOLD = "not from a mold: it has no such load"
CHECKS = (
    Check(
        "Pressure in waves along a half-space, cos kz, at depth 1 / k",
        f"K. L. Johnson, Contact Mechanics, 1985; from memory; {NOT_FROM_A_MOLD}",
        "normal stress on a level plane, over the pressure",
        float(2 * np.exp(-1)),
        lambda: (along_depth(1.0), None),
        within=0.01,
    ),
    Check(
        "Pressure in waves along a half-space, cos kz, at depth 1 / k",
        f"K. L. Johnson, Contact Mechanics, 1985; from memory; {NOT_FROM_A_MOLD}",
        "normal stress on an upright plane along the block, over the pressure",
        float(np.exp(-1)),
        lambda: (float(across()[1]), None),
        within=0.01,
    ),
    Check(
        "Square patch of pressure, 8 mm wide, on a half-space",
        f"J. Boussinesq 1885, A. E. H. Love 1929; from memory; {NOT_FROM_A_MOLD}",
        "normal stress 15 mm under its middle, over the pressure",
        float(under_a_patch(PATCH_MM, PATCH_MM, DEPTH_MM)),
        patch_by_waves,
        within=0.02,
        slow=True,
    ),
)
test_published = rows_test(CHECKS)
