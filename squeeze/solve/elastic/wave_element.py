"""Stiffness of a prismatic block whose displacement waves along its length.

With z along the block and k the wave number [1/mm],

    u = U(x, y) cos kz ,   v = V(x, y) cos kz ,   w = W(x, y) sin kz ,   p = P(x, y) cos kz ,

waves of different k do not touch each other, and each is a problem on the section's own mesh with
three displacements a node: the semi-analytical finite-element method (E. L. Wilson, AIAA J. 3
(1965) 2269, for bodies of revolution). The elements are those of the section (quadratic with a
bubble, linear pressure in each triangle). Their matrices are quadratic in k, so the integrals are
made once.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from skfem import Basis, ElementTriCCR

from squeeze.mold.section.records import Material
from squeeze.solve.elastic.element import corner_shapes
from squeeze.solve.mesh.parting import Mesh

Array = NDArray[np.float64]

_ORDER = 6  # the product of two bubbles on a straight triangle
_NODAL = 18


@dataclass(frozen=True, eq=False)
class WaveElements:
    """Element stiffness at wave number k: F0 + k F1 + k^2 F2, bubble still in, pressure eliminated.

    Attributes
    ----------
    F0, F1, F2 : array (m, 21, 21)
        Unknown 3 i + c is component c (x, y, z) of shape i; shape 6 is the bubble.
    """

    F0: Array
    F1: Array
    F2: Array

    def stiffness(self, k: float) -> Array:
        """Element stiffness (m, 18, 18) at wave number `k` [1/mm], bubbles eliminated."""
        F = self.F0 + k * (self.F1 + k * self.F2)
        border = F[:, _NODAL:, :_NODAL]
        K = F[:, :_NODAL, :_NODAL]
        K -= np.matmul(
            border.transpose(0, 2, 1), np.matmul(_inverse(F[:, _NODAL:, _NODAL:]), border)
        )
        return K


def wave_elements(mesh: Mesh, materials: tuple[Material, ...]) -> WaveElements:
    """Integrate the element matrices of a mesh.

    Parameters
    ----------
    mesh : Mesh
    materials : tuple of Material
        One a body.
    """
    E = np.array([m.youngs_modulus_mpa for m in materials])[mesh.body]
    nu = np.array([m.poisson for m in materials])[mesh.body]
    G, kappa = E / (2 * (1 + nu)), E / (3 * (1 - 2 * nu))
    basis = Basis(mesh.tri, ElementTriCCR(), intorder=_ORDER)
    m, q = basis.dx.shape
    grad = np.stack([np.asarray(phi[0].grad) for phi in basis.basis], axis=-1).transpose(1, 2, 0, 3)
    value = np.stack([np.broadcast_to(np.asarray(phi[0]), (m, q)) for phi in basis.basis], axis=-1)
    psi = np.broadcast_to(corner_shapes(np.asarray(basis.X)), (m, q, 3))
    A = _shear(grad, value, np.asarray(basis.dx), G)
    B = _volume(grad, value, psi * np.asarray(basis.dx)[..., None])
    M = (
        np.matmul((psi * np.asarray(basis.dx)[..., None]).transpose(0, 2, 1), psi)
        / kappa[:, None, None]
    )
    P = [np.linalg.solve(M, part) for part in B]
    zero, one = (part.transpose(0, 2, 1) for part in B)
    cross = np.matmul(zero, P[1])
    return WaveElements(
        A[0] + np.matmul(zero, P[0]),
        A[1] + cross + cross.transpose(0, 2, 1),
        A[2] + np.matmul(one, P[1]),
    )


def _shear(grad: Array, value: Array, dx: Array, G: Array) -> tuple[Array, Array, Array]:
    """2 G e(u):e(v) - 2/3 G div u div v by powers of k, each (m, 21, 21).

    e_xx = U,x  e_yy = V,y  e_zz = k W  2 e_xy = U,y + V,x  2 e_xz = W,x - k U  2 e_yz = W,y - k V.
    """
    m, q = dx.shape
    d = grad.transpose(0, 1, 3, 2).reshape(m, q, 14)
    weight = dx[..., None] * G[:, None, None]
    H = np.matmul((d * weight).transpose(0, 2, 1), d).reshape(m, 7, 2, 7, 2)  # [i, a, j, b]
    C = np.matmul((d * weight).transpose(0, 2, 1), value).reshape(
        m, 7, 2, 7
    )  # shape i along a, times shape j
    N = np.matmul((value * weight).transpose(0, 2, 1), value)
    zero, one, two = (np.zeros((m, 7, 3, 7, 3)) for _ in range(3))
    same = H[:, :, 0, :, 0] + H[:, :, 1, :, 1]
    zero[:, :, :2, :, :2] = H.transpose(0, 1, 4, 3, 2) - (2.0 / 3.0) * H
    for a in range(3):
        zero[:, :, a, :, a] += same
    for a in range(2):
        one[:, :, a, :, 2] = -C[:, :, a].transpose(0, 2, 1) - (2.0 / 3.0) * C[:, :, a]
        one[:, :, 2, :, a] = one[:, :, a, :, 2].transpose(0, 2, 1)
        two[:, :, a, :, a] = N
    two[:, :, 2, :, 2] = (4.0 / 3.0) * N
    return zero.reshape(m, 21, 21), one.reshape(m, 21, 21), two.reshape(m, 21, 21)


def _volume(grad: Array, value: Array, psi: Array) -> tuple[Array, Array]:
    """Pressure shape times U,x + V,y + k W by powers of k, each (m, 3, 21); `psi` holds weights."""
    m, q, _ = psi.shape
    zero, one = (np.zeros((m, 3, 7, 3)) for _ in range(2))
    d = grad.transpose(0, 1, 3, 2).reshape(m, q, 14)
    zero[..., :2] = np.matmul(psi.transpose(0, 2, 1), d).reshape(m, 3, 7, 2)
    one[..., 2] = np.matmul(psi.transpose(0, 2, 1), value)
    return zero.reshape(m, 3, 21), one.reshape(m, 3, 21)


def _inverse(A: Array) -> Array:
    """Inverses of symmetric 3 x 3 matrices (m, 3, 3), by cofactors."""
    a, b, c = A[:, 0], A[:, 1], A[:, 2]
    rows = np.stack([np.cross(b, c), np.cross(c, a), np.cross(a, b)], axis=1)
    return rows / np.einsum("mi,mi->m", a, rows[:, 0])[:, None, None]
