"""Bands that rub: the pull falls by exp(-mu x turning) from where they were pulled.

L. Euler 1769, J. A. Eytelwein 1808. Measured here as people would, by what the band does to a
block: how hard a stretch of it presses, and what the cuts feel.
"""

import numpy as np
import pytest
from verification import Check, rows_test

import squeeze

T, RADIUS_MM, FRICTION = 0.6, 50.0, 0.5
QUARTER, HALF = np.exp(FRICTION * np.pi / 2), np.exp(FRICTION * np.pi)


def block(outline, friction=FRICTION, pulled=None, cuts=(), more=()):
    band = {"tension_n_per_mm": T, "friction": friction}
    return squeeze.Block(
        squeeze.mold_of(
            {
                "length_mm": 100,
                "rubber": {"youngs_modulus_mpa": 0.6, "poisson": 0.499},
                "block": outline,
                "cut": [{"path_mm": path, "friction": 1.5} for path in cuts],
                "band": [band | ({"pulled_at_mm": pulled} if pulled else {}), *more],
            }
        )
    )


ROUND = {"shape": "round", "diameter_mm": 2 * RADIUS_MM}
SHARP = {"shape": "square", "width_mm": 100, "round_mm": 0}


def pull(wrap, angle_deg):
    """Tension on a round block there: the band's push is T / R along each mm of it."""
    angle = np.degrees(np.arctan2(*wrap.points_mm.T[::-1]))
    near = np.abs((angle - angle_deg + 180) % 360 - 180) < 15
    way = np.array([np.cos(np.radians(angle_deg)), np.sin(np.radians(angle_deg))])
    return -(wrap.push_n_per_mm[near] @ way).sum()


@pytest.mark.parametrize("pulled_deg", [90, 0, 200])
def test_push_on_a_round_block_a_quarter_and_half_round(pulled_deg):
    """The same stretch a quarter and half a turn on; next to the pulled place both sides fall."""
    at = [60 * np.cos(np.radians(pulled_deg)), 60 * np.sin(np.radians(pulled_deg))]
    rough, even = (block(ROUND, mu, at).close().wrap for mu in (FRICTION, 0.0))
    share = {d: pull(rough, pulled_deg + d) / pull(even, pulled_deg + d) for d in (45, 135, -45)}
    assert share[45] / share[135] == pytest.approx(QUARTER, rel=0.02)
    assert share[45] == pytest.approx(share[-45], rel=0.05)
    assert share[45] == pytest.approx(np.exp(-FRICTION * np.pi / 4), rel=0.05)


def corner_push(wrap, x, y):
    at = np.hypot(*(wrap.points_mm - [x, y]).T) < 1e-6
    return wrap.push_n_per_mm[at].sum(axis=0)


def test_each_corner_of_a_square_takes_its_share():
    """Pulled on the top: on both sides the pull is T / 2.19, on the bottom T / 4.81."""
    wrap = block(SHARP).close().wrap
    assert wrap.tension_n_per_mm == pytest.approx(T)
    assert corner_push(wrap, 50, 50) == pytest.approx([-T, -T / QUARTER], rel=1e-9)
    assert corner_push(wrap, -50, 50) == pytest.approx([T, -T / QUARTER], rel=1e-9)
    assert corner_push(wrap, 50, -50) == pytest.approx([-T / HALF, T / QUARTER], rel=1e-9)
    assert corner_push(wrap, -50, -50) == pytest.approx([T / HALF, T / QUARTER], rel=1e-9)


def test_where_it_was_pulled_decides():
    wrap = block(SHARP, pulled=[60, 3]).close().wrap
    assert corner_push(wrap, 50, 50) == pytest.approx([-T / QUARTER, -T], rel=1e-9)
    assert corner_push(wrap, -50, -50) == pytest.approx([T / QUARTER, T / HALF], rel=1e-9)


@pytest.mark.parametrize(
    ("path", "force"),
    [
        ([[-60, 0], [60, 0]], 2 / QUARTER),  # crosses the two sides
        ([[0, -60], [0, 60]], 1 + 1 / HALF),  # crosses top and bottom
    ],
)
def test_a_cut_right_through_carries_the_two_pulls_that_cross_it(path, force):
    (land,) = block(SHARP, cuts=[path]).close().lands
    assert land.force_n_per_mm == pytest.approx(force * T, rel=1e-6)


def test_two_bands_pulled_on_opposite_sides_even_each_other_out():
    """Each carries half; together both sides of the block feel the same."""
    half = {"tension_n_per_mm": T, "friction": FRICTION}
    both = block(SHARP, more=[half | {"pulled_at_mm": [0, -60]}]).close().wrap
    for sx in (-1, 1):
        for sy in (-1, 1):
            expected = T * np.array([-sx * (1 + 1 / HALF), -sy * 2 / QUARTER])
            assert corner_push(both, 50 * sx, 50 * sy) == pytest.approx(expected, rel=1e-9)


def test_friction_only_takes_from_the_pull():
    (smooth,), (rough,) = (
        block(SHARP, mu, cuts=[[[-60, 0], [60, 0]]]).close().lands for mu in (0.0, 0.5)
    )
    assert rough.force_n_per_mm < smooth.force_n_per_mm == pytest.approx(2 * T, rel=1e-6)


def carried(path):
    closing = block(SHARP, cuts=[path]).close(deformation="small")
    return closing.lands[0].force_n_per_mm, closing


EULER = "L. Euler 1769, J. A. Eytelwein 1808, exp(-mu x turning); from memory"
CHECKS = tuple(
    Check(
        "Rubbing band round a square block cut in two",
        EULER,
        f"force on the {which} cut, N/mm",
        share * T,
        lambda path=path: carried(path),
        within=1e-5,
    )
    for which, path, share in (
        ("level", [[-60, 0], [60, 0]], 2 / QUARTER),
        ("upright", [[0, -60], [0, 60]], 1 + 1 / HALF),
    )
)
test_published = rows_test(CHECKS)
