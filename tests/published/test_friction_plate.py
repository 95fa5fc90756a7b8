"""A plate on a rigid plane, squeezed from its sides: its base opens, slips and sticks.

M. Raous, P. Chabrand, F. Lebon, J. Theor. Appl. Mech. 7 (1988), special issue, 111; also a case of
a published verification manual (V6.04.128). The reference digits are from memory, and were
recomputed independently.

The plate is mirrored at its line of symmetry; the plane is a second body, 10,000 times as stiff.
"""

import numpy as np
import pytest

from squeeze.mold.forces.loads import Loads, Push
from squeeze.mold.geometry.loop import polygon_loop
from squeeze.mold.section.records import CradlePiece, Material, Section
from squeeze.solve import Block

SIDE_MM = 40.0
PLATE = Material(1.3e5, 0.2)
TOP_MPA, SIDES_MPA, FRICTION = 50.0, 150.0, 1.0
AT_MM = np.array([0.0, 1.25, 5.0, 7.5, 11.25])
REMEMBERED_MM = 1e-2 * np.array([2.86, 2.72, 2.28, 1.98, 1.5])
RECOMPUTED_MM = 1e-2 * np.array([2.860, 2.722, 2.287, 1.981, 1.541])
OPEN_TO_MM, SLIDES_TO_MM = 3.1, 29.7


def rectangle(x0, y0, x1, y1):
    return polygon_loop([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])


def pressed_plate(fineness=6.0):
    w, h = 2 * SIDE_MM, SIDE_MM
    stiff = Material(1e4 * PLATE.youngs_modulus_mpa, PLATE.poisson)
    plane = CradlePiece("plane", rectangle(0, -h, w, 0), stiff, FRICTION, (0.0,), w)
    section = Section(rectangle(0, 0, w, h), PLATE, cradles=(plane,))
    pushes = (
        Push((w / 2, h), w, TOP_MPA),
        Push((w / 2, -h), w, TOP_MPA),
        Push((0, h / 2), h, SIDES_MPA),
        Push((w, h / 2), h, SIDES_MPA),
    )
    return Block(section, fineness).close(Loads(pushes=pushes))


@pytest.fixture(scope="module")
def closing():
    return pressed_plate()


@pytest.fixture(scope="module")
def base(closing):
    """Return the seat; it runs from x = 0 on, and its left face is the plate's."""
    (seat,) = closing.seats
    assert seat.x_mm[0] == pytest.approx(0, abs=1e-9)
    assert seat.x_mm[-1] == pytest.approx(2 * SIDE_MM)
    return seat


def test_it_is_certified(closing):
    assert closing.trust.outcome == "converged"
    assert closing.trust.force_balance < 1e-8


def test_displacements(base):
    u = base.faces_mm[:, 0, 0]
    u = u - np.interp(SIDE_MM, base.x_mm, u)
    found = np.interp(AT_MM, base.x_mm, u)
    assert found == pytest.approx(RECOMPUTED_MM, rel=5e-3)
    assert found[:4] == pytest.approx(REMEMBERED_MM[:4], rel=1e-2)
    assert found[4] == pytest.approx(REMEMBERED_MM[4], rel=3e-2)  # its last digit stands for 3 %


def test_zones(base):
    x = base.x_mm
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
    mirrored = np.interp(2 * SIDE_MM - base.x_mm[::-1], base.x_mm, base.slip_mm)
    assert mirrored[::-1] == pytest.approx(-base.slip_mm, abs=0.01 * np.abs(base.slip_mm).max())
