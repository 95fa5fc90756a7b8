"""Figures of lands, castings, strain and resin in the cuts against counts by hand."""

import math
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from skfem import MeshTri

import squeeze
from squeeze.mold.section.records import Material
from squeeze.solve.contact.wetting import ResinPaths, flooded_places
from squeeze.solve.elastic.wave_element import wave_elements
from squeeze.solve.land import Land
from squeeze.solve.results import cavities, field, largest_strain

E, NU = 0.6, 0.3
LAME = E * NU / ((1 + NU) * (1 - 2 * NU))
SHEAR = E / (2 * (1 + NU))


@pytest.fixture(scope="module")
def block():
    return squeeze.Block(
        squeeze.mold_of(
            {
                "length_mm": 100,
                "rubber": {"youngs_modulus_mpa": E, "poisson": NU},
                "block": {"shape": "square", "width_mm": 60, "round_mm": 0},
                "cavity": [{"shape": "oval", "width_mm": 24, "height_mm": 10, "centre_mm": [6, 9]}],
                "cut": [{"path_mm": [[6, 9], [40, 9]]}],
            }
        ),
        fineness=0.5,
    )


def land(s, pressure, gap=None):
    s = np.array(s, float)
    none = np.zeros(len(s))
    p = np.array(pressure, float)
    g = none if gap is None else np.array(gap, float)
    flags = np.zeros(len(s), bool)
    faces = np.zeros((len(s), 2, 2))
    return Land("cut", 0, s, s, none, p, g, none, none, flags, flags, faces)


def test_closed_share_is_a_share_of_length_and_not_of_places():
    """Open over 0..8 mm, closed over 10..11 mm; the stretch between counts half."""
    made = land([0, 8, 10, 10.5, 11], [0, 0, 6, 6, 6])
    assert made.closed_share == pytest.approx((0.5 * 2 + 1) / 11)


def test_evenness_is_the_least_over_the_mean_by_length():
    """4 kPa over the first 8 mm, rising to 8 kPa over the last 2: mean (32 + 12) / 10."""
    made = land([0, 8, 10], [4, 4, 8])
    assert made.mean_pressure_kpa == pytest.approx(4.4)
    assert made.evenness == pytest.approx(4 / 4.4)
    assert made.force_n_per_mm == pytest.approx(0.044)
    assert land([0, 1, 2], [0, 0, 0]).evenness == 0


def test_strain_is_the_principal_one_shear_with_it(block):
    """Simple shear g: principal strains +/- g / 2, though no fibre along x or y stretches."""
    x = block.mesh.points
    g = 0.02
    u = np.column_stack([g * x[:, 1], 0 * x[:, 0]])
    found = field(block.mesh, block.elastic, u).strain_pct
    assert found == pytest.approx(100 * g / 2)
    both = u + np.column_stack([0.03 * x[:, 0], 0.01 * x[:, 1]])
    exact = 0.02 + np.hypot(0.01, g / 2)
    assert field(block.mesh, block.elastic, both).strain_pct == pytest.approx(100 * exact)


def moved(points, shift, angle):
    return shift + angle * np.column_stack([-points[:, 1], points[:, 0]])


@pytest.mark.parametrize(
    ("shift", "angle"), [((3.0, -2.0), 0.0), ((0.0, 0.0), 0.01), ((1, 5), 0.1)]
)
def test_a_casting_that_is_carried_along_is_not_off(block, shift, angle):
    u = moved(block.mesh.points, np.array(shift), angle)
    (cavity,) = cavities(block.mesh, block.section, u)
    assert cavity.largest_shift_mm == pytest.approx(0, abs=1e-9)
    assert np.abs(cavity.shift_mm).max() < 1e-9
    assert cavity.area_change_pct == pytest.approx(0, abs=1e-9)
    assert cavity.step_mm == pytest.approx(0, abs=1e-9)


def test_a_casting_that_stretches_is_off_by_its_stretch_alone(block):
    """2 % wider: the ends of an oval 24 mm wide are off by 0.24 mm, wherever it is carried."""
    x = block.mesh.points
    stretch = np.column_stack([0.02 * x[:, 0], 0 * x[:, 0]])
    carried = stretch + moved(x, np.array([2.0, -1.0]), 0.003)
    (cavity,) = cavities(block.mesh, block.section, carried)
    assert cavity.largest_shift_mm == pytest.approx(0.24, rel=2e-3)
    assert cavity.area_change_pct == pytest.approx(2.0, rel=1e-3)


def test_bow_is_the_gap_in_the_middle_of_a_land():
    """A parabola over the land, 0 at its ends; nothing presses, so the gap is the unloaded one."""
    bow = 0.4
    mold = squeeze.mold_of(
        {
            "length_mm": 100,
            "rubber": {"youngs_modulus_mpa": E},
            "block": {"shape": "round", "diameter_mm": 80},
            "cavity": [{"shape": "round", "diameter_mm": 20}],
            "cut": [{"path_mm": [[0, 0], [50, 0]], "bow_mm": bow, "gap_mm": 0.1}],
        }
    )
    (found,) = squeeze.close(mold).lands
    r = found.s_mm / found.length_mm
    assert found.gap_mm == pytest.approx(0.1 + 4 * bow * r * (1 - r), abs=0.02 * bow)
    assert np.interp(0.5, r, found.gap_mm) == pytest.approx(0.1 + bow, rel=0.01)


def test_resin_does_not_pass_a_closed_place():
    """Six places in a row, the first at the cavity; the fourth is closed."""
    row = ResinPaths(np.column_stack([np.arange(5), np.arange(1, 6)]), np.array([0]))
    is_open = np.array([True, True, True, False, True, True])
    assert flooded_places(row, is_open).tolist() == [True, True, True, False, False, False]
    closed_mouth = np.array([False, True, True, True, True, True])
    assert not flooded_places(row, closed_mouth).any()
    from_the_end = replace(row, mouths=np.array([5]))
    assert flooded_places(from_the_end, is_open).tolist() == [
        False,
        False,
        False,
        False,
        True,
        True,
    ]


def energy(block, k, u):
    """Strain energy of a wave with amplitudes `u` (n, 3) at the nodes."""
    waves = wave_elements(block.mesh, (Material(E, NU),))
    each = u[block.mesh.triangles].reshape(len(block.mesh.triangles), -1)
    return 0.5 * np.einsum("mi,mij,mj->", each, waves.stiffness(k), each)


def test_waves_store_the_energy_of_uniaxial_strain(block):
    """(lam + 2 G) e^2 / 2 by area, across the block and along it; the rubber is compressible."""
    x = block.mesh.points
    area = block.section.outline.area - block.section.cavities[0].loop.area
    none = np.zeros(len(x))
    across = np.column_stack([0.01 * x[:, 0], none, none])
    along = np.column_stack([none, none, none + 1.0])
    exact = 0.5 * (LAME + 2 * SHEAR) * area
    assert energy(block, 0.0, across) == pytest.approx(1e-4 * exact, rel=2e-3)
    assert energy(block, 0.005, along) == pytest.approx(0.005**2 * exact, rel=1e-3)
    grows = np.column_stack([0.01 * x[:, 0], 0.01 * x[:, 1], none + 0.01 / 0.005])
    even = 0.5 * 9 * 1e-4 * (LAME + 2 * SHEAR / 3) * area  # e = 1 % each way
    shear = 0.005**2 * 1e-4 * 0.5 * SHEAR * np.sum(_second_moment(block))
    assert energy(block, 0.005, grows) == pytest.approx(even + shear, rel=5e-3)


def test_a_wave_of_the_bubble_alone_is_sheared_along_the_block():
    """G k^2 times the integral of (27 L1 L2 L3)^2, which is 2 A 27^2 2! 2! 2! / 8!."""
    corners = np.array([[0.0, 4.0, 1.0], [0.0, 1.0, 3.0]])
    mesh = SimpleNamespace(tri=MeshTri(corners, np.array([[0], [1], [2]])), body=np.array([0]))
    made = wave_elements(mesh, (Material(0.9, 0.4),))
    area, G = 0.5 * (4 * 3 - 1 * 1), 0.9 / 2.8
    exact = G * 2 * area * 27**2 * 8 / math.factorial(8)
    assert made.F2[0, 18, 18] == pytest.approx(exact)
    assert made.F2[0, 19, 19] == pytest.approx(exact)
    assert made.F2[0, 18, 19] == pytest.approx(0.0, abs=1e-12)


def _second_moment(block):
    """Integral of x^2 + y^2 over the section: a wave that swells it shears it along its length."""
    w, (cx, cy), (a, b) = 60.0, (6.0, 9.0), (12.0, 5.0)
    whole = w**4 / 12
    hole = np.pi * a * b
    return 2 * whole - hole * (a**2 / 4 + cx**2) - hole * (b**2 / 4 + cy**2)


@pytest.mark.parametrize(("strains", "at", "pct"), [((5, 9), (10, 11), 9), ((7, 2), (1, 2), 7)])
def test_the_largest_strain_is_told_in_the_middle_of_its_triangle(strains, at, pct):
    """By hand: two triangles of rubber, and a third of a cradle, which does not count."""
    corners = np.array([(0, 0), (3, 0), (0, 6)], float)
    mesh = SimpleNamespace(
        points=np.vstack([corners, corners + 9, corners + 20]),
        triangles=np.arange(9).reshape(3, 3),
    )
    made = SimpleNamespace(strain_pct=np.array([*strains, 50.0]))
    assert largest_strain(mesh, made, np.array([True, True, False])) == (pct, pytest.approx(at))
