"""Bands that follow the deformed block, against bands that stay where they were laid."""

import numpy as np
import pytest

import squeeze
from squeeze.mold import Loads
from squeeze.solve.bands.wrap import wrap


def mold(E=0.6, outline=None, band=None):
    return squeeze.mold_of(
        {
            "length_mm": 100,
            "rubber": {"youngs_modulus_mpa": E, "poisson": 0.499},
            "block": outline or {"shape": "square", "width_mm": 120, "round_mm": 6},
            "cavity": [{"shape": "round", "diameter_mm": 40}],
            "cut": [{"path_mm": [[0, 0], [0, 90]]}],
            "band": [band or {"tension_n_per_mm": 0.6}],
        }
    )


@pytest.fixture(scope="module")
def square():
    return squeeze.Block(mold())


def pair(block, **case):
    both = block.close(**case), block.close(**case, follow=True)
    assert all(closing.trust.outcome == "converged" for closing in both)
    return both


def on_top(closing, half=45.0):
    """Push on the middle of the top face, over the tension; (x, y)."""
    x, y = closing.wrap.points_mm.T
    there = (np.abs(x) < half) & (y > 59.9)
    return closing.wrap.push_n_per_mm[there].sum(axis=0) / closing.wrap.tension_n_per_mm


def difference(still, follows):
    p, q = (c.lands[0].pressure_kpa for c in (still, follows))
    return np.abs(p - q).max() / p.max()


def test_the_difference_goes_with_the_tension(square):
    off = [difference(*pair(square, band_tension_n_per_mm=T)) / T for T in (0.003, 0.01, 0.03)]
    assert off[1] == pytest.approx(off[0], rel=0.02)
    assert off[2] == pytest.approx(off[0], rel=0.05)
    assert off[0] > 1e-3


def test_a_stiffer_block_needs_less_following():
    soft, hard = (
        difference(*pair(squeeze.Block(mold(E=E)), band_tension_n_per_mm=0.3)) for E in (0.6, 6.0)
    )
    assert hard == pytest.approx(soft / 10, rel=0.2)


def test_a_flat_that_bulges_gets_a_push_back(square):
    still, follows = pair(square, band_tension_n_per_mm=0.3)
    assert np.abs(on_top(still)).max() < 1e-12
    back = on_top(follows)
    assert back[1] < -0.03
    assert abs(back[0]) < 1e-3
    _, harder = pair(square, band_tension_n_per_mm=0.15)
    assert on_top(harder)[1] == pytest.approx(back[1] / 2, rel=0.1)


def test_the_push_is_the_tension_times_the_turn_of_the_band(square):
    """Between two places of a face the band turns by the change of slope; it skips some nodes."""
    _, follows = pair(square, band_tension_n_per_mm=0.1)
    u, p = follows.field.displacement_mm, follows.field.points_mm
    top = np.flatnonzero(np.abs(p[:, 1] - 60) < 1e-9)
    top = top[np.argsort(p[top, 0])]
    x, y = (p[top] + u[top]).T
    near = (np.abs(p[top, 0]) < 40) & (np.abs(p[top, 0]) > 1e-9)
    bow = np.polynomial.Polynomial.fit(x[near], y[near], 4).deriv()
    at = np.unique(p[top, 0])
    right, left = (0.5 * (side[side < 30][-1] + side[side > 30][0]) for side in (at, -at[::-1]))
    assert -on_top(follows, 30.0)[1] == pytest.approx(bow(-left) - bow(right), rel=0.1)


def test_pushes_stay_balanced(square):
    _, follows = pair(square, band_tension_n_per_mm=0.3)
    push, at = follows.wrap.push_n_per_mm, follows.wrap.points_mm
    size = np.abs(push).sum()
    assert push.sum(axis=0) == pytest.approx([0, 0], abs=1e-10 * size)
    moment = at[:, 0] @ push[:, 1] - at[:, 1] @ push[:, 0]
    assert moment == pytest.approx(0, abs=1e-8 * size)


@pytest.mark.parametrize(
    "outline",
    [
        {"shape": "round", "diameter_mm": 120},
        {"shape": "square", "width_mm": 120, "round_mm": 6},
        {"shape": "oval", "width_mm": 140, "height_mm": 80},
    ],
)
def test_the_wrap_shrinks_by_the_work_of_the_band(outline):
    """A band of even tension has the potential T L: its pushes do the work -T dL."""
    T = 1e-3
    block = squeeze.Block(mold(outline=outline))
    still, follows = pair(block, band_tension_n_per_mm=T)
    work = wrap(block.mesh.points, block.mesh.outside).load @ follows.field.displacement_mm.ravel()
    shorter = still.wrap.wrap_mm - follows.wrap.wrap_mm
    assert shorter > 0
    assert shorter == pytest.approx(work, rel=0.02)


def test_a_round_block_shrinks_as_lame_says():
    E, nu, R, T = 0.6, 0.499, 60.0, 0.06
    block = squeeze.Block(mold(outline={"shape": "round", "diameter_mm": 2 * R}))
    still, follows = pair(block, band_tension_n_per_mm=T)
    a, b, p = 20.0, R, T / R
    inward = p * b * (1 + nu) / E * ((1 - 2 * nu) * b**2 + a**2) / (b**2 - a**2)
    assert still.wrap.wrap_mm - follows.wrap.wrap_mm == pytest.approx(2 * np.pi * inward, rel=0.02)


def test_an_elastic_band_slackens_as_the_block_gives_way():
    """A weighed tension stays as it is; a band given by its make follows its own law."""
    band = {"stock": "64", "count": 6}
    block = squeeze.Block(mold(band=band))
    still, follows = pair(block)
    assert follows.wrap.wrap_mm < still.wrap.wrap_mm
    ratio = follows.wrap.tension_n_per_mm / still.wrap.tension_n_per_mm
    s, t = (c.wrap.wrap_mm / (2 * 3.5 * 25.4) for c in (still, follows))
    assert ratio == pytest.approx((t - 1 / t**2) / (s - 1 / s**2), rel=2e-3)
    assert ratio < 1
    still, follows = pair(block, band_tension_n_per_mm=0.3)
    assert follows.wrap.tension_n_per_mm == still.wrap.tension_n_per_mm == 0.3


def test_following_twice_gives_the_same(square):
    one, two = (square.close(band_tension_n_per_mm=0.2, follow=True) for _ in range(2))
    assert np.array_equal(one.lands[0].pressure_kpa, two.lands[0].pressure_kpa)


def test_a_band_with_friction_can_follow():
    rough = mold(band={"tension_n_per_mm": 0.2, "friction": 0.3})
    still, follows = pair(squeeze.Block(rough))
    assert 0 < difference(still, follows) < 0.05


def test_a_tension_that_the_call_names_is_kept(square):
    twice = square.close(Loads(tension_n_per_mm=1.2), follow=True)
    assert twice.wrap.tension_n_per_mm == 1.2
    same = square.close(band_tension_n_per_mm=1.2, follow=True)
    np.testing.assert_allclose(twice.lands[0].pressure_kpa, same.lands[0].pressure_kpa)
