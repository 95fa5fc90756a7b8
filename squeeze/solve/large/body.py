"""Nearly incompressible neo-Hookean bodies in plane strain, with their tangent.

The stored energy of a unit of unloaded volume is

    W(F) = G/2 (J^(-2/3) (F:F + 1) - 3) + kappa/2 (J - 1)^2 ,      J = det F ,

with F the plane part of the deformation gradient (the stretch along the block is 1), G the shear
and kappa the bulk modulus: the neo-Hookean law (R. S. Rivlin, Phil. Trans. R. Soc. A 240 (1948)
459) split into a part of distortion and a part of volume (P. J. Flory, Trans. Faraday Soc. 57
(1961) 829). The mean stress is an unknown of its own, linear in each triangle,

    integral over the triangle of  psi (J - 1 - s / kappa) dA = 0 ,

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
from squeeze.solve.mesh.parting import Mesh

Array = NDArray[np.float64]

_ORDER = 4  # as in the linear element
LEAST_J = 1e-3  # below it a triangle counts as turned inside out


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
    """

    dofs: NDArray[np.int64]
    grad: Array
    dx: Array
    psi: Array
    G: Array
    kappa: Array


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


def body_of(mesh: Mesh, materials: tuple[Material, ...]) -> Body:
    """Return the triangles of a mesh with the moduli of their materials (one a body)."""
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
    )


def unloaded(mesh: Mesh) -> State:
    """Return the state in which nothing has moved."""
    m = len(mesh.triangles)
    return State(np.zeros(2 * len(mesh.points)), np.zeros((m, 2)), np.zeros((m, 3)))


def gradient(body: Body, state: State) -> Array:
    """Deformation gradient at the quadrature points, shape (m, q, 2, 2): [component, direction]."""
    local = np.concatenate([state.u[body.dofs].reshape(-1, 6, 2), state.bubble[:, None]], axis=1)
    F = np.matmul(body.grad, local[:, None]).transpose(0, 1, 3, 2)
    return F + np.eye(2)


def energy(body: Body, state: State) -> float:
    """Return the energy stored in the body, per mm of block length [N]."""
    F = gradient(body, state)
    J, I1 = np.linalg.det(F), (F**2).sum(axis=(2, 3)) + 1.0
    s = np.matmul(np.broadcast_to(body.psi, (len(J), *body.psi.shape[1:])), state.s[..., None])[
        ..., 0
    ]
    shear = 0.5 * body.G[:, None] * (J ** (-2 / 3) * I1 - 3.0)
    volume = 0.5 * s**2 / body.kappa[:, None]
    return float(((shear + volume) * body.dx).sum())


def internal_force(body: Body, state: State) -> tuple[Array, float]:
    """Return the nodal force (2 n,) of a deformed body, and its least ratio of areas."""
    F = gradient(body, state)
    cof, J = _cofactor(F)
    I1 = (F**2).sum(axis=(2, 3)) + 1.0
    m, q = body.dx.shape
    s = np.matmul(np.broadcast_to(body.psi, (m, q, 3)), state.s[..., None])[..., 0]
    P = _stress(body, F, cof, J, I1, s)
    r = np.matmul(
        (P * body.dx[..., None, None]).transpose(0, 2, 1, 3).reshape(m, 2, 2 * q),
        body.grad.reshape(m, 2 * q, 7),
    )
    nodal = r[:, :, :6].transpose(0, 2, 1).reshape(m, 12)
    return _summed(body, nodal, len(state.u)), float(J.min())


def _summed(body: Body, local: Array, size: int) -> Array:
    """Sum forces on the unknowns of the triangles (m, 12) to those of the mesh (size,)."""
    return np.asarray(np.bincount(body.dofs.ravel(), local.ravel(), size), np.float64)


def _cofactor(F: Array) -> tuple[Array, Array]:
    """Return dJ/dF and J."""
    cof = np.empty_like(F)
    cof[..., 0, 0], cof[..., 1, 1] = F[..., 1, 1], F[..., 0, 0]
    cof[..., 0, 1], cof[..., 1, 0] = -F[..., 1, 0], -F[..., 0, 1]
    return cof, F[..., 0, 0] * cof[..., 0, 0] + F[..., 0, 1] * cof[..., 0, 1]


def _stress(body: Body, F: Array, cof: Array, J: Array, I1: Array, s: Array) -> Array:
    """First Piola-Kirchhoff stress dW/dF."""
    safe = np.maximum(J, LEAST_J)
    a = body.G[:, None] * safe ** (-2 / 3)
    return a[..., None, None] * (F - (I1 / (3 * safe))[..., None, None] * cof) + (
        s[..., None, None] * cof
    )


def tangent(body: Body, state: State) -> Tangent:
    """Return forces and stiffness at a state."""
    grad, dx = body.grad, body.dx
    m, q = dx.shape
    F = gradient(body, state)
    cof, J = _cofactor(F)
    I1 = (F**2).sum(axis=(2, 3)) + 1.0
    psi = np.broadcast_to(body.psi, (m, q, 3))
    s = np.matmul(psi, state.s[..., None])[..., 0]
    P = _stress(body, F, cof, J, I1, s)
    safe = np.maximum(J, LEAST_J)
    a = body.G[:, None] * safe ** (-2 / 3)
    H = cof / safe[..., None, None]
    # D[c, a, d, b] = dP[c, a] / dF[d, b]
    FH = np.einsum("mqca,mqdb->mqcadb", F, H)
    HH = np.einsum("mqca,mqdb->mqcadb", H, H)
    D = -(2 / 3) * (FH + FH.transpose(0, 1, 4, 5, 2, 3))
    D += (2 / 9) * I1[..., None, None, None, None] * HH
    D += (I1 / 3)[..., None, None, None, None] * HH.transpose(0, 1, 4, 3, 2, 5)
    D[:, :, 0, 0, 0, 0] += 1.0
    D[:, :, 0, 1, 0, 1] += 1.0
    D[:, :, 1, 0, 1, 0] += 1.0
    D[:, :, 1, 1, 1, 1] += 1.0
    D *= a[..., None, None, None, None]
    D[:, :, 0, 0, 1, 1] += s
    D[:, :, 1, 1, 0, 0] += s
    D[:, :, 0, 1, 1, 0] -= s
    D[:, :, 1, 0, 0, 1] -= s
    D *= dx[..., None, None, None, None]
    flat = grad.reshape(m, 2 * q, 7)
    K = np.empty((m, 7, 2, 7, 2))
    for c in (0, 1):
        for d in (0, 1):
            Dg = np.matmul(D[:, :, c, :, d, :], grad).reshape(m, 2 * q, 7)
            K[:, :, c, :, d] = np.matmul(flat.transpose(0, 2, 1), Dg)
    K = K.reshape(m, 14, 14)
    weighted = dx[..., None] * psi
    C = np.matmul(cof, grad)  # (m, q, c, 7): derivative of J
    C = C.transpose(0, 1, 3, 2).reshape(m, q, 14)
    g = np.matmul(weighted.transpose(0, 2, 1), C)
    M = np.matmul(weighted.transpose(0, 2, 1), psi) / body.kappa[:, None, None]
    S = np.linalg.inv(M)
    r_p = np.matmul(weighted.transpose(0, 2, 1), (J - 1)[..., None])[..., 0]
    r_p = r_p - np.matmul(M, state.s[..., None])[..., 0]
    r = np.matmul((P * dx[..., None, None]).transpose(0, 2, 1, 3).reshape(m, 2, 2 * q), flat)
    r = r.transpose(0, 2, 1).reshape(m, 14)
    Sg = np.matmul(S, g)
    full = r + np.matmul(Sg.transpose(0, 2, 1), r_p[..., None])[..., 0]
    K = K + np.matmul(g.transpose(0, 2, 1), Sg)
    inverse = np.linalg.inv(K[:, 12:, 12:])
    coupling, r_b = K[:, 12:, :12], full[:, 12:]
    carried = np.matmul(K[:, :12, 12:], inverse)
    Ke = K[:, :12, :12] - np.matmul(carried, coupling)
    fe = full[:, :12] - np.matmul(carried, r_b[..., None])[..., 0]
    n = len(state.u)
    force, raw = _summed(body, fe, n), _summed(body, r[:, :12], n)
    area = dx.sum(axis=1)
    return Tangent(
        force=force,
        K=0.5 * (Ke + Ke.transpose(0, 2, 1)),
        raw=raw,
        local=float(np.abs(r[:, 12:]).max()),
        dilation=float((np.abs(r_p).max(axis=1) / area).max()),
        least_J=float(J.min()),
        move=(inverse, coupling, r_b, S, g, r_p),
    )


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
    F = gradient(there, state)
    cof, J = _cofactor(F)
    I1 = (F**2).sum(axis=(2, 3)) + 1.0
    P = _stress(there, F, cof, J, I1, state.s)
    sigma = np.matmul(P, F.transpose(0, 1, 3, 2)) / np.maximum(J, LEAST_J)[..., None, None]
    stress = np.stack([sigma[..., 0, 0], sigma[..., 1, 1], sigma[..., 0, 1]], axis=-1)
    stretch = np.asarray(np.linalg.svd(F, compute_uv=False)[..., ::-1], np.float64)
    return np.asarray(stress, np.float64), -state.s, stretch
