"""A rigid flat board pressed on rubber that rubs: it sticks in the middle and slips at its edges.

D. A. Spence, Proc. Camb. Phil. Soc. 73 (1973) 249; J. Elasticity 5 (1975) 297. Where rubber is
compressible its surface is drawn in under a board, and friction holds it out. With
beta = (1 - 2 nu) / (2 (1 - nu)) and the pressure taken as that of a smooth board, the part that
sticks is c / a wide, where

    K'(c / a) / K(c / a) = beta / mu

with the complete elliptic integral K of modulus c / a (derived: the shear at c has a limit). The
pressure does feel the shear a little: the coupled equations of the half-plane

    (1 / pi) integral q / (x - s) ds = -beta p   where it sticks, q = mu p outwards where it slips,
    (1 / pi) integral p / (x - s) ds = beta q    all over

are solved here by elements of even traction, and the width is where slip turns to stick.
"""

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.special import ellipk
from verification import Check, closed, rows_test

import squeeze

NU, HALF_MM, P = 0.3, 5.0, 0.1
BETA = (1 - 2 * NU) / (2 * (1 - NU))
FRICTION = BETA
WIDE_MM = 900.0


def smooth_ratio(friction, beta=BETA):
    """Stick over contact when the shear does not change the pressure."""

    def off(c):
        return ellipk(1 - c**2) / ellipk(c**2) - beta / friction

    return brentq(off, 1e-6, 1 - 1e-12)


def coupled_ratio(friction, beta=BETA, count=240):
    """Stick over contact from the coupled equations, half-width 1."""
    edge = -np.cos(np.linspace(0, np.pi, count + 1))
    x = 0.5 * (edge[1:] + edge[:-1])

    def potential(at):
        """Integral of ln|at - s| over each element."""
        d = at[:, None] - edge[None, :]
        f = d * np.log(np.maximum(np.abs(d), 1e-300)) - d
        return f[:, :-1] - f[:, 1:]

    L = potential(x) / np.pi
    step = np.tril(np.ones((count, count)), -1) + 0.5 * np.eye(count)
    step = (step - 0.5) * np.diff(edge)  # displacement by an even traction under it, odd in x
    # d/dx (L p) = (1 / pi) integral p / (x - s); so L p - beta (sum of q) is even in the same sense
    width = np.diff(edge)

    def solve(slips):
        n = count
        A, right = np.zeros((2 * n + 1, 2 * n + 1)), np.zeros(2 * n + 1)
        A[:n, :n], A[:n, n : 2 * n], A[:n, 2 * n] = L, -beta * step, -1.0
        A[n : 2 * n, n : 2 * n], A[n : 2 * n, :n] = L, beta * step
        for i in np.flatnonzero(slips):
            A[n + i] = 0.0
            A[n + i, n + i], A[n + i, i] = 1.0, -friction * np.sign(x[i])
        A[2 * n, :n], right[2 * n] = width, 1.0
        found = np.linalg.solve(A, right)
        return found[:n], found[n : 2 * n]

    low, high = 0.05, 0.999  # slip outside: too narrow a stick leaves no slip at its edge undone
    while high - low > 2e-3:
        c = 0.5 * (low + high)
        p, q = solve(np.abs(x) > c)
        inside = np.flatnonzero((x > 0) & (x <= c))[-1]
        low, high = (low, c) if q[inside] > friction * p[inside] else (c, high)
    return 0.5 * (low + high)


def mold():
    h = WIDE_MM / 2
    return squeeze.mold_of(
        {
            "length_mm": 100,
            "rubber": {"youngs_modulus_mpa": 0.5, "poisson": NU},
            "block": {"shape": "square", "width_mm": WIDE_MM, "round_mm": 0},
            "cradle": [
                {
                    "name": name,
                    "points_mm": [
                        [-HALF_MM, s * h],
                        [HALF_MM, s * h],
                        [HALF_MM, s * (h + 10)],
                        [-HALF_MM, s * (h + 10)],
                    ],
                    "round_mm": 0,
                    "youngs_modulus_mpa": 1e5,
                    "friction": FRICTION,
                }
                for name, s in (("over", 1), ("under", -1))
            ],
            "push": [
                {"at_mm": [0, s * (h + 10)], "width_mm": 2 * HALF_MM, "force_n_per_mm": P}
                for s in (1, -1)
            ],
        }
    )


def sticks():
    closing = closed(mold, 6)
    seat = closing.seats[0]
    x, stick = np.abs(seat.x_mm), seat.sticks
    slides = (seat.pressure_kpa > 0) & ~stick
    return 0.5 * (x[stick].max() + x[slides].min()) / HALF_MM, closing


SPENCE = "D. A. Spence, Proc. Camb. Phil. Soc. 73 (1973) 249; solved here"
CHECKS = (
    Check(
        "Rigid board on rubber that rubs, nu = 0.3, friction 0.2857",
        SPENCE,
        "part of the seat that sticks",
        coupled_ratio(FRICTION),
        sticks,
        within=0.04,
        slow=True,  # tests/published/test_friction_plate.py is the quick one of its kind
    ),
)
test_published = rows_test(CHECKS)


def test_the_coupled_equations_come_to_the_closed_form_as_beta_falls():
    assert smooth_ratio(0.03, 0.03) == pytest.approx(np.sqrt(0.5))
    assert coupled_ratio(0.03, 0.03) == pytest.approx(smooth_ratio(0.03, 0.03), rel=0.01)
    off = [1 - coupled_ratio(beta, beta) / np.sqrt(0.5) for beta in (0.03, BETA)]
    assert off[0] < off[1] / 4
