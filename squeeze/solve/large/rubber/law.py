"""What a law of rubber gives the deformed body: stress and stiffness of shape, change of volume.

The energy stored in a unit of unloaded volume is split into a part of shape and a part of volume.
The mean stress s is an unknown of its own, tension positive:

    W(F, s) = w(F) + s v(F) - s^2 / (2 kappa) ,

F the plane part of the deformation gradient (the stretch along the block is 1), w the energy of
shape with the shear modulus G, v the change of volume, kappa the bulk modulus. A law gives w and v
with their derivatives by F, at any number of places at once. `body` makes forces and tangent of
them, and the Newton loop sees neither.
"""

from __future__ import annotations

from typing import NamedTuple, Protocol

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

LEAST_J = 1e-3
"""Below this ratio of areas a triangle counts as turned inside out."""


class Dilation(NamedTuple):
    """The change of volume v and its derivatives by F.

    Attributes
    ----------
    v : array (m, q)
    dv : array (m, q, 2, 2)
    d2v : array (m, q, 2, 2, 2, 2) or (2, 2, 2, 2)
    """

    v: Array
    dv: Array
    d2v: Array


class Law(Protocol):
    """A law of nearly incompressible rubber in plane strain.

    G is the shear modulus of each triangle, F the deformation gradient at its places: [component,
    direction].
    """

    def energy(self, G: Array, F: Array) -> Array:
        """Return w (m, q), the energy of shape [MPa], from `G` (m,) [MPa] and `F` (m, q, 2, 2)."""
        ...

    def stress(self, G: Array, F: Array) -> Array:
        """Return dw/dF (m, q, 2, 2) [MPa], from `G` (m,) [MPa] and `F` (m, q, 2, 2)."""
        ...

    def stiffness(self, G: Array, F: Array) -> Array:
        """Return d2w/dF2 (m, q, 2, 2, 2, 2) [MPa], from `G` (m,) [MPa] and `F` (m, q, 2, 2).

        Whoever asks for it may change it.
        """
        ...

    def dilation(self, F: Array) -> Dilation:
        """Return the change of volume at `F` (m, q, 2, 2)."""
        ...


D2J = np.zeros((2, 2, 2, 2))
"""Second derivative of J by F, which is the same everywhere."""
D2J[0, 0, 1, 1] = D2J[1, 1, 0, 0] = 1.0
D2J[0, 1, 1, 0] = D2J[1, 0, 0, 1] = -1.0


def cofactor(F: Array) -> Array:
    """Return dJ/dF (..., 2, 2) of deformation gradients `F` (..., 2, 2)."""
    cof = np.empty_like(F)
    cof[..., 0, 0], cof[..., 1, 1] = F[..., 1, 1], F[..., 0, 0]
    cof[..., 0, 1], cof[..., 1, 0] = -F[..., 1, 0], -F[..., 0, 1]
    return cof


def area_ratio(F: Array) -> Array:
    """Return J = det F, the ratio of deformed to unloaded area, for `F` (..., 2, 2)."""
    return F[..., 0, 0] * F[..., 1, 1] - F[..., 0, 1] * F[..., 1, 0]


def true_dilation(F: Array) -> Dilation:
    """Return J - 1 with its derivatives, for `F` (m, q, 2, 2)."""
    return Dilation(area_ratio(F) - 1.0, cofactor(F), D2J)
