"""Line contacts between bodies much larger than the contact.

K. L. Johnson, Contact Mechanics, Cambridge University Press 1985. From memory; that the pressure
of the punch sums to the force is integrated below.

Two arrangements stand for what the source draws. A cylinder on a flat: a parting line whose
unloaded gap is x^2 / 2R, which is all that Hertz's theory knows of the cylinder. A rigid flat
punch: two equal blocks that can touch over 2a only. The parting line is a line of symmetry, so it
stays straight and free of shear over 2a and carries nothing outside: each block meets it as it
would meet a frictionless rigid punch.
"""

from functools import cache

import numpy as np
import pytest
from pressed import Pressed, along
from scipy.integrate import quad
from verification import Check, rows_test

import squeeze
from squeeze.mold.section.records import Material

RUBBER = Material(0.5, 0.49)
E_STAR = RUBBER.youngs_modulus_mpa / (1 - RUBBER.poisson**2) / 2
R, P = 25.0, 0.05
PUNCH_A, PUNCH_P = 4.0, 0.05


def hertz(E_star):
    """Half-length [mm] and largest pressure [kPa]."""
    return np.sqrt(4 * P * R / (np.pi * E_star)), 1000 * np.sqrt(P * E_star / (np.pi * R))


def punch_kpa(x):
    return 1000 * PUNCH_P / (np.pi * np.sqrt(PUNCH_A**2 - x**2))


def test_the_punch_pressure_sums_to_the_force():
    assert quad(punch_kpa, -PUNCH_A, PUNCH_A)[0] == pytest.approx(1000 * PUNCH_P)


def round_on_flat():
    return Pressed(
        half_width_mm=60.0,
        height_mm=60.0,
        marks_mm=(2.4, 8.0, 20.0),
        gap_mm=lambda x: x**2 / (2 * R),
        material=RUBBER,
    )


@cache
def line(times):
    """Close the line contact under so many times the force."""
    mold = round_on_flat().pushed(times * P, 60.0)
    return squeeze.close(mold, fineness=3, deformation="small")


def half_length(x, p, g):
    """Between the last place that presses and the first that is open [mm]."""
    return 0.5 * (np.abs(x[p > 0]).max() + np.abs(x[g > 0]).min())


@pytest.mark.slow
def test_cylinder_on_flat():
    b, p0 = hertz(E_STAR)
    x, p, g = along(line(1))
    edge = np.diff(x)[np.abs(x[1:]) < b].max()
    assert edge < b / 8
    assert half_length(x, p, g) == pytest.approx(b, abs=edge)
    assert p.max() == pytest.approx(p0, rel=1e-2)
    inner = np.abs(x) < b - 2 * edge
    assert p[inner] == pytest.approx(p0 * np.sqrt(1 - (x[inner] / b) ** 2), rel=3e-2)
    assert np.trapezoid(p, x) == pytest.approx(1000 * P, rel=1e-9)


@pytest.mark.slow
def test_four_times_the_force_doubles_contact_and_pressure():
    (_, p, _), (x4, p4, g4) = (along(line(times)) for times in (1, 4))
    assert p4.max() / p.max() == pytest.approx(2, rel=2e-2)
    edge = np.diff(x4)[np.abs(x4[1:]) < 5].max()
    assert half_length(x4, p4, g4) == pytest.approx(2 * hertz(E_STAR)[0], abs=edge)


@pytest.fixture(scope="module")
def punched():
    """Blocks that touch over 2a: beside that the faces stand 5 mm apart, unloaded."""
    row = Pressed(
        half_width_mm=80.0,
        height_mm=80.0,
        marks_mm=(PUNCH_A, 16.0, 40.0),
        gap_mm=lambda x: np.where(np.abs(x) > PUNCH_A + 1e-6, 5.0, 0.0),
        material=RUBBER,
    )
    return row.places(PUNCH_P, over_mm=80.0, fineness=8)


@pytest.mark.slow
def test_flat_rigid_edge(punched):
    x, p, _ = punched
    inner = np.abs(x) <= 0.9 * PUNCH_A
    assert inner.sum() > 50
    assert p[inner] == pytest.approx(punch_kpa(x[inner]), rel=3e-2)
    assert p.max() > 10 * punch_kpa(0)
    assert np.trapezoid(p, x) == pytest.approx(1000 * PUNCH_P, rel=1e-9)


@pytest.mark.slow
def test_beside_the_punch_nothing_touches(punched):
    x, p, g = punched
    assert (p[np.abs(x) > PUNCH_A + 1e-6] == 0).all()
    assert (g[np.abs(x) < PUNCH_A - 1e-6] == 0).all()


def of_line(figure):
    return figure(*along(line(1))), line(1)


HERTZ = "H. Hertz 1882; K. L. Johnson, Contact Mechanics, 1985; from memory"
CHECKS = (
    Check(
        "Line contact of two rubber bodies, R = 25 mm",
        HERTZ,
        "half-length of the contact, mm",
        float(hertz(E_STAR)[0]),
        lambda: of_line(half_length),
        within=0.06,
    ),
    Check(
        "Line contact of two rubber bodies, R = 25 mm",
        HERTZ,
        "largest pressure, kPa",
        float(hertz(E_STAR)[1]),
        lambda: of_line(lambda x, p, g: float(p.max())),
        within=0.01,
    ),
)
test_published = rows_test(CHECKS)
