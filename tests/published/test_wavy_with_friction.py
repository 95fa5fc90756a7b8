"""Friction between equal halves that are pressed straight on each other changes nothing.

The parting line is a line of symmetry: no shear on it, whatever the friction. Once for a
wavy unloaded gap, partly closed (H. M. Westergaard, J. Appl. Mech. 6 (1939) 49), once for cuts
whose pressure comes from the shape. And unequal halves, for which it is not so.
"""

import numpy as np
import pytest

import squeeze
from squeeze.mold.forces.loads import Loads, Push
from squeeze.mold.section.records import Material
from squeeze.solve import Block

RUBBER = Material(0.5, 0.49)
E_STAR = RUBBER.youngs_modulus_mpa / (1 - RUBBER.poisson**2) / 2
AMPLITUDE_MM, WAVE_MM, WIDE_MM, HIGH_MM = 0.05, 20.0, 60.0, 30.0
FULL_KPA = 1000 * np.pi * E_STAR * AMPLITUDE_MM / WAVE_MM
FRICTIONS = [0.05, 0.5, 1.0, 1.5]


@pytest.fixture(scope="module")
def wavy(pressed):
    marks = [*np.arange(0, 12.5, 2.5), 20, 30, 40, 50]
    row = pressed(
        half_width_mm=WIDE_MM,
        height_mm=HIGH_MM,
        marks_mm=marks,
        gap_mm=lambda x: AMPLITUDE_MM * (1 - np.cos(2 * np.pi * x / WAVE_MM)),
        material=RUBBER,
    )
    return Block(row.section())


def along(closing, name):
    assert closing.trust.outcome == "converged"
    return np.concatenate([getattr(land, name) for land in closing.lands])


@pytest.mark.parametrize("friction", FRICTIONS)
def test_a_wavy_parting_line(wavy, friction):
    pressure = 0.5 * FULL_KPA / 1000
    loads = Loads(pushes=tuple(Push((0.0, y), 2 * WIDE_MM, pressure) for y in (HIGH_MM, -HIGH_MM)))
    smooth, rough = wavy.close(loads), wavy.close(loads, friction=friction)
    p, x = along(smooth, "pressure_kpa"), along(smooth, "x_mm")
    middle = np.abs(x) <= WAVE_MM / 2
    assert 0.3 < np.mean(p[middle] > 0) < 0.7
    assert p[middle].max() == pytest.approx(2 * np.sqrt(0.5) * FULL_KPA, rel=0.04)
    # the meshes of the halves do not mirror each other, and the answers do to within their error
    assert along(rough, "pressure_kpa") == pytest.approx(p, abs=5e-3 * p.max())
    assert np.abs(along(rough, "shear_kpa")).max() < 0.02 * p.max()
    assert along(rough, "gap_mm") == pytest.approx(along(smooth, "gap_mm"), abs=1e-4)


def halved(outline, upper=None):
    """Cut a block with a cavity through its middle; the upper half may be of another rubber."""
    tables = {
        "length_mm": 100,
        "rubber": {"youngs_modulus_mpa": 0.6, "poisson": 0.499},
        "block": outline,
        "cavity": [{"shape": "round", "diameter_mm": 30}],
        "cut": [{"path_mm": [[-80, 0], [80, 0]]}],
        "band": [{"tension_n_per_mm": 0.6}],
    }
    return squeeze.Block(squeeze.mold_of(tables | ({"filler": [upper]} if upper else {})), 1.5)


OUTLINES = [
    {"shape": "round", "diameter_mm": 100},
    {"shape": "square", "width_mm": 100, "bevel_mm": 10},
    {"shape": "rectangle", "width_mm": 140, "height_mm": 60},
]


@pytest.mark.parametrize("outline", OUTLINES, ids=lambda outline: outline["shape"])
def test_a_straight_cut_between_equal_halves(outline):
    block = halved(outline)
    p = along(block.close(), "pressure_kpa")
    for friction in FRICTIONS:
        rough = block.close(friction=friction)
        assert along(rough, "pressure_kpa") == pytest.approx(p, abs=0.01 * p.max())
        assert np.abs(along(rough, "shear_kpa")).max() < 0.01 * p.max()


def test_halves_of_different_rubber_do_rub():
    hard = {
        "shape": "drawn",
        "points_mm": [[-70, 0], [70, 0], [70, 60], [-70, 60]],
        "youngs_modulus_mpa": 6.0,
        "poisson": 0.499,
        "round_mm": 0,
    }
    block = halved(OUTLINES[2], hard)
    smooth, rough = block.close(), block.close(friction=1.0)
    p = along(smooth, "pressure_kpa")
    assert np.abs(along(rough, "shear_kpa")).max() > 0.05 * p.max()
    assert np.abs(along(rough, "pressure_kpa") - p).max() > 0.02 * p.max()
