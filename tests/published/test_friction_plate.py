"""A plate on a rigid plane, squeezed from its sides: its base opens, slips and sticks.

M. Raous, P. Chabrand, F. Lebon, J. Theor. Appl. Mech. 7 (1988), special issue, 111; also a case of
a published verification manual (V6.04.128). The reference digits are from memory;
`recompute_friction_plate.py` beside this file recomputes them by a method of its own.

The plate is mirrored at its line of symmetry; the plane is a second body, 10,000 times as stiff.
"""

from functools import cache

import numpy as np
import pytest
from verification import Check, closed, rows_test

import squeeze

pytestmark = pytest.mark.slow

SIDE_MM, NU, FRICTION = 40.0, 0.2, 1.0
SOFTER = 1e-4
"""Times the plate's modulus and pressures: displacements stay, and a mold may say it."""
E_MPA, TOP_MPA, SIDES_MPA = 1.3e5 * SOFTER, 50.0 * SOFTER, 150.0 * SOFTER
AT_MM = np.array([0.0, 1.25, 5.0, 7.5, 11.25])
REMEMBERED_MM = 1e-2 * np.array([2.86, 2.72, 2.28, 1.98, 1.5])
RECOMPUTED_MM = 1e-2 * np.array([2.860, 2.722, 2.287, 1.981, 1.541])
OPEN_TO_MM, SLIDES_TO_MM = 3.1, 29.7


def plate():
    """Lay the plate, mirrored at its line of symmetry, on a plane 10,000 times as stiff."""
    w, h = 2 * SIDE_MM, SIDE_MM
    pushes = [
        ([0, h / 2], w, TOP_MPA),
        ([0, -1.5 * h], w, TOP_MPA),
        ([-w / 2, 0], h, SIDES_MPA),
        ([w / 2, 0], h, SIDES_MPA),
    ]
    return squeeze.mold_of(
        {
            "length_mm": 100,
            "rubber": {"youngs_modulus_mpa": E_MPA, "poisson": NU},
            "block": {"shape": "rectangle", "width_mm": w, "height_mm": h, "round_mm": 0},
            "cradle": [
                {
                    "points_mm": [
                        [-w / 2, -1.5 * h], [w / 2, -1.5 * h], [w / 2, -h / 2], [-w / 2, -h / 2]
                    ],
                    "round_mm": 0,
                    "youngs_modulus_mpa": 1e4 * E_MPA,
                    "poisson": NU,
                    "friction": FRICTION,
                }
            ],
            "push": [
                {"at_mm": at, "width_mm": wide, "force_n_per_mm": pressure * wide}
                for at, wide, pressure in pushes
            ],
        }
    )  # fmt: skip


@cache
def pressed_plate():
    return closed(plate, 6)


@pytest.fixture(scope="module")
def closing():
    return pressed_plate()


@pytest.fixture(scope="module")
def base(closing):
    """Return the seat; it runs from the left edge on, and its left face is the plate's."""
    (seat,) = closing.seats
    assert from_left(seat)[[0, -1]] == pytest.approx([0, 2 * SIDE_MM], abs=1e-9)
    return seat


def from_left(seat):
    return seat.x_mm + SIDE_MM


def moved(seat):
    """Displacement of the base against its middle [mm], at AT_MM."""
    x, u = from_left(seat), seat.faces_mm[:, 0, 0]
    return np.interp(AT_MM, x, u - np.interp(SIDE_MM, x, u))


def test_it_is_certified(closing):
    assert closing.trust.outcome == "converged"
    assert closing.trust.force_balance < 1e-8


def test_displacements(base):
    found = moved(base)
    assert found == pytest.approx(RECOMPUTED_MM, rel=5e-3)
    assert found[:4] == pytest.approx(REMEMBERED_MM[:4], rel=1e-2)
    assert found[4] == pytest.approx(REMEMBERED_MM[4], rel=3e-2)  # its last digit stands for 3 %


def test_zones(base):
    x = from_left(base)
    half = x < SIDE_MM
    edge = np.diff(x).max()
    opens = half & (base.pressure_kpa == 0)
    sticks = half & base.sticks
    slides = half & ~opens & ~sticks
    assert 0.5 * (x[opens].max() + x[slides].min()) == pytest.approx(OPEN_TO_MM, abs=edge)
    assert 0.5 * (x[slides].max() + x[sticks].min()) == pytest.approx(SLIDES_TO_MM, abs=edge)
    assert (np.diff(np.where(opens, 0, np.where(sticks, 2, 1))[half]) >= 0).all()


def test_forces(base):
    """The base carries the push on the top; where it slides, friction is full and against it."""
    assert base.force_n_per_mm == pytest.approx(2 * SIDE_MM * TOP_MPA, rel=1e-6)
    slides = (base.pressure_kpa > 0) & ~base.sticks
    shear = base.shear_kpa[slides] / base.pressure_kpa[slides]
    assert np.abs(shear) == pytest.approx(FRICTION)
    assert (np.sign(shear) == -np.sign(base.slip_mm[slides])).all()


def test_both_halves_do_the_same(base):
    mirrored = np.interp(2 * SIDE_MM - from_left(base)[::-1], from_left(base), base.slip_mm)
    assert mirrored[::-1] == pytest.approx(-base.slip_mm, abs=0.01 * np.abs(base.slip_mm).max())


RAOUS = "M. Raous, P. Chabrand, F. Lebon, J. Theor. Appl. Mech. 7 (1988) 111; recomputed here"
CHECKS = tuple(
    Check(
        "Plate on a rigid plane, squeezed from its sides, friction 1",
        RAOUS,
        f"displacement of the base at {at:g} mm, mm",
        float(value),
        lambda k=k: (float(moved(pressed_plate().seats[0])[k]), pressed_plate()),
        within=5e-3,
    )
    for k, (at, value) in enumerate(zip(AT_MM, RECOMPUTED_MM, strict=True))
    if at in (0.0, 5.0, 11.25)
)
test_published = rows_test(CHECKS)
