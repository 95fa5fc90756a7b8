"""The gap between two deformed edges, with its first and second derivatives.

From a point x(r) of the left edge the normal meets the right edge at y(q). With a = x', b = y',
e = x - y and N a quarter turn,

    a . e = 0 ,      phi = (N a) . e + gap0 |a| ,

so that phi dr is the gap times the length on the left edge, an unloaded gap in it. The integral of
phi times a hat is the weighted gap of a place. A pressure does the work p d(weighted gap), so its
force is the first derivative and its stiffness the second one, and neither force nor moment is
left over. With k = (N a . b) / (a . b), the slope of one face against the other,

    d(phi) = (N - k) a . de + ((N' - k) e + gap0 a / |a|) . da .

The second derivative is that of phi + k a . e with q moved along,
d(q) = (a . de + e . da) / (a . b).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from squeeze.solve.elastic.edge import shapes, slopes

Array = NDArray[np.float64]
Whole = NDArray[np.int64]

_BEND = np.array([4.0, -8.0, 4.0])  # second derivatives of the shapes of an edge
_TURN = np.array([[0.0, -1.0], [1.0, 0.0]])


@dataclass(frozen=True, eq=False)
class Facing:
    """Points of left edges and what stands opposite them.

    Attributes
    ----------
    x : array (k, 6, 2)
        Nodes of the left, then of the right edge.
    r, q : array (k,)
        Parameters on the left and on the right edge.
    gap0 : array (k,)
        Unloaded gap [mm].
    """

    x: Array
    r: Array
    q: Array
    gap0: Array

    def _zero(self) -> Array:
        return np.zeros((len(self.r), 3))

    @cached_property
    def across(self) -> Array:
        """Shares (k, 6) of the nodes in e."""
        return np.hstack([shapes(self.r), -shapes(self.q)])

    @cached_property
    def _own(self) -> Array:
        """Shares (k, 6) of the nodes in a."""
        return np.hstack([slopes(self.r), self._zero()])

    @cached_property
    def _other(self) -> Array:
        """Shares (k, 6) of the nodes in b."""
        return np.hstack([self._zero(), slopes(self.q)])

    @cached_property
    def a(self) -> Array:
        """Slope (k, 2) of the left edge."""
        return _combined(self._own, self.x)

    @cached_property
    def b(self) -> Array:
        """Slope (k, 2) of the right edge."""
        return _combined(self._other, self.x)

    @cached_property
    def e(self) -> Array:
        """From the right edge to the left one (k, 2) [mm]."""
        return _combined(self.across, self.x)

    @cached_property
    def size(self) -> Array:
        """Length per parameter of the left edge (k,) [mm]."""
        return np.hypot(*self.a.T)

    @cached_property
    def t(self) -> Array:
        """Unit tangent (k, 2) of the left edge."""
        return self.a / self.size[:, None]

    @cached_property
    def _ab(self) -> Array:
        return _dot(self.a, self.b)

    @cached_property
    def k(self) -> Array:
        """Slope (k,) of one face against the other."""
        return _dot(self.a @ _TURN.T, self.b) / self._ab

    @cached_property
    def apart(self) -> Array:
        """Gap (k,) between the edges with the unloaded gap in it [mm]."""
        return _dot(self.a @ _TURN.T, self.e) / self.size + self.gap0

    @property
    def phi(self) -> Array:
        """Gap times length per parameter (k,) [mm2]."""
        return self.apart * self.size

    @cached_property
    def phi_x(self) -> Array:
        """Derivative of phi by the nodes (k, 6, 2)."""
        k = self.k[:, None]
        by_e = self.a @ _TURN.T - k * self.a
        by_a = self.e @ _TURN - k * self.e + self.gap0[:, None] * self.t
        return _outer(self.across, by_e) + _outer(self._own, by_a)

    @cached_property
    def q_x(self) -> Array:
        """Derivative by the nodes (k, 6, 2) of where the normal meets the right edge."""
        found = _outer(self.across, self.a) + _outer(self._own, self.e)
        return found / self._ab[:, None, None]

    @property
    def slip_x(self) -> Array:
        """Derivative by the nodes (k, 6, 2) of the distance along the right edge [1]."""
        return self.q_x * np.hypot(*self.b.T)[:, None, None]

    def phi_xx(self) -> Array:
        """Second derivative of phi by the nodes (k, 12, 12)."""
        M = _TURN.T - self.k[:, None, None] * np.eye(2)
        n = self.t @ _TURN.T
        own = _flat(_outer(self._own, n))
        mixed = np.einsum("ks,kcd,ku->kscud", self._own, M, self.across, optimize=True)
        mixed = mixed.reshape(-1, 12, 12)
        H = mixed + mixed.transpose(0, 2, 1)
        H += (self.gap0 / self.size)[:, None, None] * _product(own, own)
        forth = _flat(
            -_outer(self._own, np.einsum("kcd,kd->kc", M, self.b))
            - _outer(self._other, np.einsum("kdc,kd->kc", M, self.a))
        )
        q = _flat(self.q_x)
        bend = self.x[:, 3:].transpose(0, 2, 1) @ _BEND
        along = -np.einsum("kc,kcd,kd->k", self.a, M, bend)
        return H + _product(forth, q) + _product(q, forth) + along[:, None, None] * _product(q, q)

    def end_x(self) -> Array:
        """Return the derivative of r by the nodes (k, 6, 2) where a corner of the right edge faces.

        There q is 0 or 1, and r is the projection of the corner on the left edge.
        """
        bend = self.x[:, :3].transpose(0, 2, 1) @ _BEND
        rate = self.size**2 + _dot(self.e, bend)
        rate = np.where(np.abs(rate) > 1e-12, rate, np.inf)
        found = _outer(self.across, self.a) + _outer(self._own, self.e)
        return -found / rate[:, None, None]


def _combined(shares: Array, x: Array) -> Array:
    return np.einsum("ks,ksc->kc", shares, x)


def _dot(a: Array, b: Array) -> Array:
    return np.einsum("kc,kc->k", a, b)


def _outer(shares: Array, v: Array) -> Array:
    return shares[:, :, None] * v[:, None, :]


def _flat(found: Array) -> Array:
    return found.reshape(len(found), 12)


def _product(a: Array, b: Array) -> Array:
    return a[:, :, None] * b[:, None, :]
