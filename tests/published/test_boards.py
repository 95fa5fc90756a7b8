"""Boards on rubber: the edge of a flat one, and a cylinder between two.

K. L. Johnson, Contact Mechanics, Cambridge University Press 1985; from memory. The rigid flat punch
(M. A. Sadowsky 1928) is p = P / (pi sqrt(a^2 - x^2)); line contact (H. Hertz 1882) has the
half-width b = sqrt(4 P R / (pi E*)) and the peak p0 = sqrt(P E* / (pi R)).
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from verification import Check, rows_test

import squeeze
from squeeze.mold.forces.loads import Loads, Push
from squeeze.mold.geometry.curve import Arc, Line
from squeeze.mold.geometry.loop import Loop, circle
from squeeze.mold.section.records import CradlePiece, Material, Section
from squeeze.solve import Block, Outcome

RIGID = Material(1e5, 0.3)


def box(x0: float, y0: float, x1: float, y1: float) -> list[list[float]]:
    return [[x0, y0], [x1, y0], [x1, y1], [x0, y1]]


@cache
def punch(fineness: float) -> squeeze.Closing:
    """Press a rigid board 20 mm wide on a block 400 x 300 mm; the floor carries it evenly."""
    mold = squeeze.mold_of(
        {
            "length_mm": 100,
            "rubber": {"youngs_modulus_mpa": 0.5, "poisson": 0.49},
            "block": {
                "shape": "rectangle", "width_mm": 400, "height_mm": 300, "round_mm": 0
            },
            "cradle": [
                {
                    "points_mm": box(-10, 150, 10, 160), "round_mm": 0,
                    "youngs_modulus_mpa": 1e5, "friction": 0,
                }
            ],
            "push": [
                {"at_mm": [0, 160], "width_mm": 10, "force_n_per_mm": 0.1},
                {"at_mm": [0, -150], "width_mm": 400, "force_n_per_mm": 0.1},
            ],
        }
    )  # fmt: skip
    closing = squeeze.close(mold, fineness=fineness, deformation="small")
    assert closing.trust.outcome is Outcome.CONVERGED
    return closing


@pytest.mark.slow
def test_edge_of_a_rigid_flat_board():
    a, P = 10.0, 0.1
    (seat,) = punch(4.0).seats
    x = seat.x_mm
    assert seat.force_n_per_mm == pytest.approx(P, rel=1e-6)
    for at in (0.0, 5.0, 8.0):
        exact = 1000 * P / (np.pi * np.sqrt(a**2 - at**2))
        assert np.interp(at, x[::-1], seat.pressure_kpa[::-1]) == pytest.approx(exact, rel=0.03)


def test_edge_of_a_rigid_flat_board_comes_nearer_with_finer_meshes():
    inner = [(seat, np.abs(seat.x_mm) < 8) for fine in (1, 2, 4) for seat in punch(fine).seats]
    off = []
    for seat, at in inner:
        exact = 100 / (np.pi * np.sqrt(100 - seat.x_mm[at] ** 2))
        off.append(float(np.abs(seat.pressure_kpa[at] / exact - 1).max()))
    assert off[2] < off[0] / 2


@cache
def hertz(load: float, fineness: float):
    """Press a rubber cylinder R = 25 between rigid flat boards; its own curve is the seats' gap."""
    R, half = 25.0, np.radians(20)
    rubber = Material(0.5, 0.49)
    pieces = []
    for name, turn in (("over", np.pi / 2), ("under", -np.pi / 2)):
        a, b = ((R * np.cos(t), R * np.sin(t)) for t in (turn - half, turn + half))
        up = 15.0 * np.sign(turn)
        outer = (a[0], a[1] + up), (b[0], b[1] + up)
        loop = Loop(
            (
                Arc((0.0, 0.0), (R, R), turn + half, -2 * half),
                Line(a, outer[0]),
                Line(outer[0], outer[1]),
                Line(outer[1], b),
            )
        )
        s = np.linspace(-half, half, 401)
        gap = R * (1 - np.cos(s)) * np.cos(s)  # how far the flat stands off, normal to the curve
        pieces.append(CradlePiece(name, loop, RIGID, 0.0, tuple(gap), 2 * half * R))
    section = Section(circle(R), rubber, cradles=tuple(pieces))
    y = R * np.cos(half) + 15.0
    pushes = (Push((0, y), 10, load / 10), Push((0, -y), 10, load / 10))
    closing = Block(section, fineness).close(Loads(pushes=pushes))
    assert closing.trust.outcome is Outcome.CONVERGED
    return closing.seats


def test_cylinder_between_rigid_boards():
    P, R, E = 0.05, 25.0, 0.5 / (1 - 0.49**2)
    b, p0 = np.sqrt(4 * P * R / (np.pi * E)), 1000 * np.sqrt(P * E / (np.pi * R))
    for seat in hertz(P, 6.0):
        element = float(np.diff(seat.s_mm).max())
        assert seat.force_n_per_mm == pytest.approx(P, rel=1e-3)  # along the curve, not down
        assert seat.pressure_kpa.max() == pytest.approx(p0, rel=0.03)
        width = float(np.trapezoid((seat.pressure_kpa > 0).astype(float), seat.s_mm))
        assert width / 2 == pytest.approx(b, abs=element)
        assert b > 3 * element


def under_the_board(x: float) -> tuple[float, object]:
    closing = punch(4.0)
    (seat,) = closing.seats
    return float(np.interp(x, seat.x_mm[::-1], seat.pressure_kpa[::-1])), closing


CHECKS = tuple(
    Check(
        "Rigid flat board on rubber, 20 mm wide",
        "M. A. Sadowsky 1928; K. L. Johnson, Contact Mechanics, 1985; from memory",
        f"contact pressure {where}, kPa",
        float(1000 * 0.1 / (np.pi * np.sqrt(100.0 - x**2))),
        lambda x=x: under_the_board(x),
        within=0.01,
    )
    for x, where in ((0.0, "in the middle"), (5.0, "halfway to the edge"))
)
test_published = rows_test(CHECKS)
