"""A line contact that is pushed sideways: it slips at its edges and sticks in the middle.

C. Cattaneo, Rend. Accad. Naz. Lincei 27 (1938) 342; R. D. Mindlin, J. Appl. Mech. 16 (1949) 259;
K. L. Johnson, Contact Mechanics, CUP 1985. From memory. For equal materials shear does not change
the pressure, and the same stick zone answers both the load put on in two steps and the one put on
at once.

Two equal blocks, the gap between them x^2 / 2 R. The sideways force is half push, half pull, on
opposite sides of each block, so that it strains neither face in the middle; the pushes on the backs
take up its turning moment.
"""

from functools import cache

import numpy as np
import pytest
from pressed import Pressed
from verification import Check, rows_test

import squeeze
from squeeze.mold.forces.loads import Loads, Push
from squeeze.mold.section.records import Material

RUBBER = Material(0.5, 0.49)
E_STAR = RUBBER.youngs_modulus_mpa / (1 - RUBBER.poisson**2) / 2
RADIUS_MM, FORCE, FRICTION = 100.0, 0.1, 0.5
HALF_MM = np.sqrt(4 * FORCE * RADIUS_MM / (np.pi * E_STAR))  # of the contact, Hertz
WIDE_MM, HIGH_MM = 8 * HALF_MM, 8 * HALF_MM
SHARES = [0.25, 0.5, 0.75]


def stick_ratio(share):
    return np.sqrt(1 - share)


def shear_kpa(x, share):
    """Full friction less what the stick zone does not need."""
    a, c = HALF_MM, stick_ratio(share) * HALF_MM
    p0 = 2000 * FORCE / (np.pi * a)
    full = np.sqrt(np.maximum(1 - (x / a) ** 2, 0))
    return FRICTION * p0 * (full - c / a * np.sqrt(np.maximum(1 - (x / c) ** 2, 0)))


def sideways(share):
    """Press with FORCE, and push the upper block right with a share of what friction holds."""
    Q, patch = share * FRICTION * FORCE, HIGH_MM / 4
    y = HIGH_MM / 2
    tilt = Q * y / WIDE_MM  # what each half of a back has more or less
    pushes = [
        Push((side * WIDE_MM / 2, up * HIGH_MM), WIDE_MM, (FORCE / 2 - side * up * tilt) / WIDE_MM)
        for up in (1, -1)
        for side in (1, -1)
    ]
    pushes += [
        Push((side * WIDE_MM, up * y), patch, -side * up * Q / 2 / patch)
        for up in (1, -1)
        for side in (1, -1)
    ]
    return Loads(pushes=tuple(pushes))


@cache
def closed(share):
    """Close under a share of what friction holds."""
    return block().close(sideways(share), friction=FRICTION, check=False)


@cache
def block():
    a = HALF_MM
    marks = [a * k / 4 for k in range(6)] + [2 * a, 4 * a]
    row = Pressed(WIDE_MM, HIGH_MM, marks, lambda x: x**2 / (2 * RADIUS_MM), RUBBER)
    return squeeze.Block(row.mold(), fineness=1.5)


def along(closing):
    rows = [
        np.array([d.x_mm, d.pressure_kpa, d.shear_kpa, d.sticks, d.slip_mm]) for d in closing.lands
    ]
    x, p, t, sticks, slip = np.hstack(rows)
    return x, p, t, sticks.astype(bool), slip


@pytest.mark.parametrize("share", SHARES)
def test_the_stick_zone(share):
    assert closed(share).trust.outcome == "converged"
    x, p, t, sticks, slip = along(closed(share))
    a = HALF_MM
    edge = np.diff(x)[np.abs(x[1:]) < a].max()
    assert edge < 0.06 * a
    slides = (p > 0) & ~sticks
    for side in (-1, 1):
        last = 0.5 * (side * x[sticks]).max() + 0.5 * (side * x[slides & (side * x > 0)]).min()
        assert last == pytest.approx(stick_ratio(share) * a, abs=edge)
    assert np.abs(t[slides]) == pytest.approx(FRICTION * p[slides])
    assert (slip[slides] > 0).all()
    assert np.abs(slip[sticks]).max() < 1e-2 * slip[slides].max()


@pytest.mark.parametrize("share", SHARES)
def test_the_shear(share):
    x, _, t, _, _ = along(closed(share))
    a, c = HALF_MM, stick_ratio(share) * HALF_MM
    edge = np.diff(x)[np.abs(x[1:]) < a].max()
    inner = (np.abs(np.abs(x) - c) > 3 * edge) & (np.abs(x) < a - 4 * edge)
    most = np.abs(shear_kpa(x, share)).max()
    assert -t[inner] == pytest.approx(shear_kpa(x, share)[inner], abs=0.04 * most)
    assert np.trapezoid(t, x) == pytest.approx(-1000 * share * FRICTION * FORCE, rel=1e-4)


def test_pressure_does_not_feel_the_sideways_force():
    (_, still, *_), (_, moved, *_) = (along(closed(share)) for share in (0.0, 0.75))
    assert moved == pytest.approx(still, abs=1e-2 * still.max())


@pytest.mark.parametrize(("share", "outcome"), [(0.98, "converged"), (1.02, "a piece is not held")])
def test_more_than_friction_holds_is_not_held(share, outcome):
    """Both blocks stay or go as wholes, at Q = mu P whatever the elasticity."""
    assert closed(share).trust.outcome == outcome


def stick_mm(share):
    """Half-length that sticks: midway from the last such place to the first that slides."""
    x, p, _, sticks, _ = along(closed(share))
    slides = (p > 0) & ~sticks
    return 0.5 * (np.abs(x[sticks]).max() + np.abs(x[slides]).min()), closed(share)


CATTANEO = (
    "C. Cattaneo 1938, R. D. Mindlin 1949; K. L. Johnson, Contact Mechanics, 1985; from memory"
)
CHECKS = tuple(
    Check(
        f"Line contact pushed sideways with {share:g} of what friction holds",
        CATTANEO,
        "half-length that sticks, mm",
        float(stick_ratio(share) * HALF_MM),
        lambda share=share: stick_mm(share),
        within=0.06,
        scale=float(HALF_MM),
    )
    for share in SHARES
)
test_published = rows_test(CHECKS)
