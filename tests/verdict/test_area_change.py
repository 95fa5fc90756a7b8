"""The change of a casting's area, and the part of it that goes with the square of the shift."""

from types import SimpleNamespace

import numpy as np
import pytest

import squeeze
from squeeze.solve.field import CavityChange
from squeeze.verdict.casting.distortion import _enclosed, cavities_of

RING = {
    "length_mm": 100,
    "rubber": {"shore_a": 20},
    "block": {"shape": "square", "width_mm": 60, "bevel_mm": 6},
    "cavity": [{"shape": "oval", "width_mm": 30, "height_mm": 16}],
    "cut": [{"path_mm": [[-30, 0], [30, 0]]}],
}


def changes(tension: float):
    mold = squeeze.mold_of(RING | {"band": [{"tension_n_per_mm": tension}]})
    (cavity,) = cavities_of(squeeze.close(mold, deformation="small", fineness=0.5))
    return cavity.area_change_pct, cavity.area_second_pct


def test_the_second_order_part_is_that_of_the_displaced_polygon():
    """A(x + u) = A(x) + linear + A(u): halving u halves the linear part and quarters the other."""
    rng = np.random.default_rng(3)
    x = np.column_stack([np.cos(t := np.linspace(0, 2 * np.pi, 40)[:-1]), np.sin(t)])
    u = 0.1 * rng.normal(size=x.shape)
    whole, half = (_enclosed(x + s * u) - _enclosed(x) - _enclosed(s * u) for s in (1.0, 0.5))
    assert half == pytest.approx(whole / 2)


def test_it_goes_with_the_square_of_the_pull_and_the_rest_with_the_pull():
    (one, second), (two, fourfold) = changes(0.1), changes(0.2)
    assert second != 0
    assert fourfold == pytest.approx(4 * second, rel=1e-6)
    assert two - fourfold == pytest.approx(2 * (one - second), rel=0.01)


def test_a_ring_goes_round_its_area():
    """Of a trapezium, counter-clockwise and clockwise."""
    ring = np.array([[0.0, 0.0], [8.0, 0.0], [5.0, 3.0], [1.0, 3.0]])
    assert _enclosed(ring) == pytest.approx((8 + 4) / 2 * 3)
    assert _enclosed(ring[::-1]) == pytest.approx(-18)
    assert _enclosed(ring + np.array([7.0, -9.0])) == pytest.approx(18)


def test_the_part_of_the_second_order_is_the_product_of_both_strains():
    """1 % wider and 2 % lower: 1.01 x 0.98 = 1 - 0.01 - 0.0002."""
    edge = np.array([[-12.0, -5.0], [12.0, -5.0], [12.0, 5.0], [-12.0, 5.0]])
    change = CavityChange("c", 240.0, -1.02, 0.16, 0.0, edge, edge * [0.01, -0.02])
    (found,) = cavities_of(SimpleNamespace(lands=(), section=None, cavities=(change,)), ())
    assert found.area_second_pct == pytest.approx(-0.02)
