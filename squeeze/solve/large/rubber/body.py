"""Nearly incompressible bodies in plane strain: forces and tangent at a state, by any law.

A law gives the energy of shape w and the change of volume v (`law`). The mean stress s is an
unknown of its own, linear in each triangle,

    integral over the triangle of  psi (v - s / kappa) dA = 0 ,

and displacement is quadratic with a bubble: the pair that the linear element has. Bubble and mean
stress are condensed triangle by triangle at every iterate. Without displacement the tangent is the
linear stiffness, entry for entry.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from skfem import Basis, ElementTriCCR

from squeeze.mold.section.records import Material
from squeeze.solve.large.rubber.law import LEAST_J, Law, area_ratio
from squeeze.solve.large.rubber.neo_hookean import NEO_HOOKEAN
from squeeze.solve.mesh.parting import Mesh

Array = NDArray[np.float64]

_ORDER = 4  # as in the linear element


@dataclass(frozen=True, eq=False)
class State:
    """A deformed body.

    Attributes
    ----------
    u : array (2 n,)
        Nodal displacement [mm].
    bubble : array (m, 2)
        Displacement of each triangle's bubble [mm].
    s : array (m, 3)
        Mean stress at the corners of each triangle, tension positive [MPa].
    """

    u: Array
    bubble: Array
    s: Array


@dataclass(frozen=True, eq=False)
class Tangent:
    """Forces and stiffness of a deformed body, bubble and mean stress condensed.

    Attributes
    ----------
    force : array (2 n,)
        What the nodes need to stay where they are [N/mm]; bubble and mean stress moved along.
    K : array (m, 12, 12)
        Stiffness of each triangle.
    raw : array (2 n,)
        Internal force at the state as it is.
    local : float
        Largest force left over at a bubble [N/mm].
    dilation : float
        Largest violation of the condition on the mean stress, over the triangle's area.
    least_J : float
        Least ratio of deformed to unloaded area at any quadrature point.
    move : tuple of arrays
        What moves bubble and mean stress along with the nodes.
    """

    force: Array
    K: Array
    raw: Array
    local: float
    dilation: float
    least_J: float
    move: tuple[Array, ...]

    def moved(self, body: Body, state: State, du: Array) -> State:
        """Return the state with the nodes moved by `du` (2 n,), the rest along with them."""
        inverse, coupling, r_b, S, g, r_p = self.move
        local = du[body.dofs]
        db = -np.matmul(inverse, (r_b + np.matmul(coupling, local[..., None])[..., 0])[..., None])[
            ..., 0
        ]
        both = np.concatenate([local, db], axis=1)
        ds = np.matmul(S, (r_p + np.matmul(g, both[..., None])[..., 0])[..., None])[..., 0]
        return State(state.u + du, state.bubble + db, state.s + ds)


@dataclass(frozen=True, eq=False)
class Body:
    """The triangles of a mesh, ready to be deformed.

    Attributes
    ----------
    dofs : array (m, 12) of int
        Displacement unknowns of each triangle: 2 i + c is component c of node i.
    grad : array (m, q, 2, 7)
        Derivatives of the six quadratic shapes and the bubble along x and y at each quadrature
        point.
    dx : array (m, q)
        Unloaded area of each quadrature point [mm2].
    psi : array (1 or m, q, 3)
        Linear shapes of the mean stress.
    G, kappa : array (m,)
        Shear and bulk modulus [MPa].
    law : Law
    """

    dofs: NDArray[np.int64]
    grad: Array
    dx: Array
    psi: Array
    G: Array
    kappa: Array
    law: Law

    def gradient(self, state: State) -> Array:
        """Return the deformation gradient (m, q, 2, 2) at the quadrature points."""
        nodes = state.u[self.dofs].reshape(-1, 6, 2)
        local = np.concatenate([nodes, state.bubble[:, None]], axis=1)
        F = np.matmul(self.grad, local[:, None]).transpose(0, 1, 3, 2)
        return F + np.eye(2)

    def mean_stress(self, state: State) -> Array:
        """Return the mean stress (m, q) at the quadrature points [MPa]."""
        return np.matmul(self._psi, state.s[..., None])[..., 0]

    @property
    def _psi(self) -> Array:
        return np.broadcast_to(self.psi, (*self.dx.shape, 3))

    def energy(self, state: State) -> float:
        """Return the energy stored at a state, per mm of block length [N]."""
        shape = self.law.energy(self.G, self.gradient(state))
        volume = 0.5 * self.mean_stress(state) ** 2 / self.kappa[:, None]
        return float(((shape + volume) * self.dx).sum())

    def stress(self, F: Array, s: Array) -> Array:
        """Return the first Piola-Kirchhoff stress (m, q, 2, 2) [MPa].

        From the deformation gradient `F` (m, q, 2, 2) and the mean stress `s` (m, q) there [MPa].
        """
        return self.law.stress(self.G, F) + s[..., None, None] * self.law.dilation(F).dv

    def internal_force(self, state: State) -> tuple[Array, float]:
        """Return the nodal force (2 n,) at a state [N/mm], and the least ratio of areas."""
        F = self.gradient(state)
        r = self._local_force(self.stress(F, self.mean_stress(state)))
        return self._summed(r[:, :12], len(state.u)), float(area_ratio(F).min())

    def _local_force(self, P: Array) -> Array:
        """Return what a stress (m, q, 2, 2) does to each triangle's nodes and bubble (m, 14)."""
        m, q = self.dx.shape
        r = np.matmul(
            (P * self.dx[..., None, None]).transpose(0, 2, 1, 3).reshape(m, 2, 2 * q),
            self.grad.reshape(m, 2 * q, 7),
        )
        return r.transpose(0, 2, 1).reshape(m, 14)

    def _summed(self, local: Array, size: int) -> Array:
        """Sum forces on the unknowns of the triangles (m, 12) to those of the mesh (size,)."""
        return np.asarray(np.bincount(self.dofs.ravel(), local.ravel(), size), np.float64)

    def tangent(self, state: State) -> Tangent:
        """Return forces and stiffness at a state."""
        grad, dx = self.grad, self.dx
        m, q = dx.shape
        F, psi, s = self.gradient(state), self._psi, self.mean_stress(state)
        volume = self.law.dilation(F)
        D = self.law.stiffness(self.G, F)  # [c, a, d, b] = dP[c, a] / dF[d, b]
        D += s[..., None, None, None, None] * volume.d2v
        D *= dx[..., None, None, None, None]
        flat = grad.reshape(m, 2 * q, 7)
        K = np.empty((m, 7, 2, 7, 2))
        for c in (0, 1):
            for d in (0, 1):
                Dg = np.matmul(D[:, :, c, :, d, :], grad).reshape(m, 2 * q, 7)
                K[:, :, c, :, d] = np.matmul(flat.transpose(0, 2, 1), Dg)
        K = K.reshape(m, 14, 14)
        weighted = dx[..., None] * psi
        C = np.matmul(volume.dv, grad)  # (m, q, c, 7): derivative of v by the unknowns
        C = C.transpose(0, 1, 3, 2).reshape(m, q, 14)
        g = np.matmul(weighted.transpose(0, 2, 1), C)
        M = np.matmul(weighted.transpose(0, 2, 1), psi) / self.kappa[:, None, None]
        S = np.linalg.inv(M)
        r_p = np.matmul(weighted.transpose(0, 2, 1), volume.v[..., None])[..., 0]
        r_p = r_p - np.matmul(M, state.s[..., None])[..., 0]
        r = self._local_force(self.stress(F, s))
        Sg = np.matmul(S, g)
        full = r + np.matmul(Sg.transpose(0, 2, 1), r_p[..., None])[..., 0]
        K = K + np.matmul(g.transpose(0, 2, 1), Sg)
        inverse = np.linalg.inv(K[:, 12:, 12:])
        coupling, r_b = K[:, 12:, :12], full[:, 12:]
        carried = np.matmul(K[:, :12, 12:], inverse)
        Ke = K[:, :12, :12] - np.matmul(carried, coupling)
        fe = full[:, :12] - np.matmul(carried, r_b[..., None])[..., 0]
        n = len(state.u)
        return Tangent(
            force=self._summed(fe, n),
            K=0.5 * (Ke + Ke.transpose(0, 2, 1)),
            raw=self._summed(r[:, :12], n),
            local=float(np.abs(r[:, 12:]).max()),
            dilation=float((np.abs(r_p).max(axis=1) / dx.sum(axis=1)).max()),
            least_J=float(area_ratio(F).min()),
            move=(inverse, coupling, r_b, S, g, r_p),
        )


def body_of(mesh: Mesh, materials: tuple[Material, ...], law: Law = NEO_HOOKEAN) -> Body:
    """Return the triangles of a mesh with the moduli of their materials (one a body), and a law."""
    E = np.array([m.youngs_modulus_mpa for m in materials])[mesh.body]
    nu = np.array([m.poisson for m in materials])[mesh.body]
    basis = Basis(mesh.tri, ElementTriCCR(), intorder=_ORDER)
    grad = np.stack([np.asarray(phi[0].grad) for phi in basis.basis], axis=-1)
    X = np.asarray(basis.X)
    psi = np.stack([1 - X[0] - X[1], X[0], X[1]], axis=-1)
    dofs = (2 * mesh.triangles[:, :, None] + np.arange(2)).reshape(-1, 12)
    return Body(
        dofs=dofs,
        grad=np.ascontiguousarray(grad.transpose(1, 2, 0, 3)),
        dx=np.asarray(basis.dx),
        psi=psi if psi.ndim == 3 else psi[None],
        G=E / (2 * (1 + nu)),
        kappa=E / (3 * (1 - 2 * nu)),
        law=law,
    )


def unloaded(mesh: Mesh) -> State:
    """Return the state in which nothing has moved."""
    m = len(mesh.triangles)
    return State(np.zeros(2 * len(mesh.points)), np.zeros((m, 2)), np.zeros((m, 3)))


def corner_fields(mesh: Mesh, body: Body, state: State) -> tuple[Array, Array, Array]:
    """Stresses and stretches at the corners of each triangle.

    Returns
    -------
    stress : array (m, 3, 3)
        Cauchy stress s_xx, s_yy, s_xy [MPa], tension positive.
    pressure : array (m, 3)
        Mean pressure, compression positive [MPa].
    stretch : array (m, 3, 2)
        Principal stretches in the plane, the smaller one first.
    """
    corners = np.array([[0.0, 1.0, 0.0], [0.0, 0.0, 1.0]])
    basis = Basis(mesh.tri, ElementTriCCR(), quadrature=(corners, np.ones(3)))
    grad = np.stack([np.asarray(phi[0].grad) for phi in basis.basis], axis=-1)
    there = replace(body, grad=np.ascontiguousarray(grad.transpose(1, 2, 0, 3)))
    F = there.gradient(state)
    sigma = np.matmul(there.stress(F, state.s), F.transpose(0, 1, 3, 2))
    sigma /= np.maximum(area_ratio(F), LEAST_J)[..., None, None]
    stress = np.stack([sigma[..., 0, 0], sigma[..., 1, 1], sigma[..., 0, 1]], axis=-1)
    stretch = np.asarray(np.linalg.svd(F, compute_uv=False)[..., ::-1], np.float64)
    return np.asarray(stress, np.float64), -state.s, stretch
