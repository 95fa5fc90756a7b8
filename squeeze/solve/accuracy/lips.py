"""Where a mesh has to be fine at the lips of cuts that leave the rubber aslant.

Two wedges of rubber meet at such a lip, and the pressure between them goes to zero as a power of
the distance that hangs on the angle and the friction alone (M. L. Williams, J. Appl. Mech. 19
(1952) 526, for one wedge; M. Comninou, J. Appl. Math. Phys. 27 (1976) 493, for two that rub; both
from memory). The place next to the lip is off by a share of its own pressure, whatever the edges.
So edges there shrink as 2 / power of the fineness: that pressure then shrinks as the square of the
edges elsewhere.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from squeeze.mold.section.records import Cut, Section
from squeeze.solve.closing import Closing
from squeeze.solve.land import Land
from squeeze.solve.mesh.size import EDGES_PER_LAND, FineSpot, across, lip_angle, outlet_mm

Array = NDArray[np.float64]

SHORTEST_SHARE = 1e-6  # of the section: shorter edges would come near ON_MM
CORNER_POWER = 3.0
"""Power of the fineness as which edges shrink at a cavity, at the other end of such a cut. Faces
slide there; the place next to the cavity feels whether one triangle or two lie in the corner. As
the first or second power, the error there fell by chance from mesh to mesh; with the third it lies
below all others. Measured at a bore of 40 mm."""
_POWERS = np.linspace(0.01, 0.99, 197)


def lip_spots(closing: Closing, fineness: float) -> tuple[FineSpot, ...]:
    """Return the lips at which pressure goes to zero as a power, and the edge length there.

    Meshes of fineness 1 and below have none, nor has large deformation: faces that slide and turn
    press without limit at their lip, the more so the shorter the edges.

    Parameters
    ----------
    closing : Closing
        On another mesh.
    fineness : float
        Of the mesh that is to be made.

    Returns
    -------
    tuple of (x, y, size)
    """
    if fineness <= 1.0 or closing.deformation.is_large:
        return ()
    cuts = {cut.name: cut for cut in closing.section.cuts}
    return tuple(
        spot
        for land in closing.lands
        for spot in _of_land(land, cuts[land.cut], closing.section, fineness)
    )


def _of_land(land: Land, cut: Cut, section: Section, fineness: float) -> Iterator[FineSpot]:
    places = np.column_stack([land.x_mm, land.y_mm])
    ends = ((0, 1), (-1, -2))
    angles = [lip_angle(places[end], places[near] - places[end], section) for end, near in ends]
    if not any(angles):
        return
    for (end, near), angle in zip(ends, angles, strict=True):
        if not land.pressure_kpa[near] or land.sticks[near]:
            continue
        size = land.length_mm / EDGES_PER_LAND / fineness**CORNER_POWER
        if angle is not None:
            power = lip_power(round(angle, 6), cut.friction)
            if power is None:
                continue
            size = outlet_mm(section, 1.0) / fineness ** (2.0 / power)
        x, y = places[end]
        yield float(x), float(y), max(size, SHORTEST_SHARE * across(section))


@lru_cache(maxsize=256)
def lip_power(angle: float, friction: float) -> float | None:
    """Return the power of the distance as which pressure goes to zero at a lip.

    Parameters
    ----------
    angle : float
        Between the cut and the edge of the rubber, on either side of the cut [rad].
    friction : float
        Coulomb's coefficient; which face slides forward makes a difference, and the lesser power of
        both is returned.

    Returns
    -------
    float or None
        Between 0.01 and 0.99. None where there is none: at the right angle, where pressure has no
        limit, and where faces open and close by turns.

    Notes
    -----
    In each wedge stresses are r^power times a sum of four functions of the direction. The outer
    edges are free; on the cut both wedges have one pressure, one shear and one normal displacement,
    and the shear is friction times pressure. There is such a field where the determinant of these
    eight conditions vanishes. The elastic constants cancel: both wedges are of one rubber.

    Examples
    --------
    >>> import numpy as np
    >>> round(lip_power(np.radians(60), 0.3), 2)
    0.32
    >>> lip_power(np.radians(90), 0.3) is None
    True
    """
    found = []
    for signed in {friction, -friction}:
        values = np.array([_determinant(power, angle, signed) for power in _POWERS])
        for k in np.flatnonzero(values[:-1] * values[1:] < 0)[:1]:
            found.append(_root(float(_POWERS[k]), float(_POWERS[k + 1]), angle, signed))
    return min(found, default=None)


def _root(low: float, high: float, angle: float, friction: float) -> float:
    """Return where the determinant vanishes between two powers, by bisection."""
    is_positive = _determinant(low, angle, friction) > 0
    for _ in range(40):
        middle = 0.5 * (low + high)
        if (_determinant(middle, angle, friction) > 0) == is_positive:
            low = middle
        else:
            high = middle
    return float(0.5 * (low + high))


def _determinant(power: float, angle: float, friction: float) -> float:
    """Return the determinant of the eight conditions at a lip; its size means nothing."""
    normal, shear, motion = _wedge(power, 0.0)
    rows = np.zeros((8, 8))
    rows[0, :4], rows[1, :4], _ = _wedge(power, angle)
    rows[2, 4:], rows[3, 4:], _ = _wedge(power, angle - np.pi)
    for k, value in enumerate((normal, shear, motion)):
        rows[4 + k] = np.concatenate([value, -value])
    rows[7, :4] = shear + friction * normal
    return float(np.linalg.det(rows / np.linalg.norm(rows, axis=1)[:, None]))


def _wedge(power: float, direction: float) -> tuple[Array, Array, Array]:
    """Return normal stress, shear and normal displacement across a ray, each for four functions.

    They are those of Airy's function r^(power + 2) times sines and cosines of (power + 2) and of
    power times the direction [rad], without their power of r; displacements are of an
    incompressible rubber, whose shear modulus is 1/2.
    """
    a, b, t = power + 2.0, power, direction
    values = np.array([np.cos(a * t), np.sin(a * t), np.cos(b * t), np.sin(b * t)])
    slopes = np.array([-a, a, -b, b]) * values[[1, 0, 3, 2]]
    turned = np.array([0.0, 0.0, 2.0 * np.sin(b * t), -2.0 * np.cos(b * t)])
    return (power + 2.0) * (power + 1.0) * values, -(power + 1.0) * slopes, turned - slopes
