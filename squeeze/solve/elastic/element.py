"""Plane-strain elasticity that does not lock.

Quadratic displacement with a bubble, linear pressure in each triangle. The bubble and the pressure
are condensed out triangle by triangle, which leaves a symmetric positive definite matrix of the
quadratic displacement alone. The pressure is the mean stress of all three directions, so that the
deviator goes with G and the pressure with the bulk modulus kappa. The pair is known as conforming
Crouzeix-Raviart (M. Crouzeix, P.-A. Raviart, RAIRO 7 (1973) 33): stable as nu -> 0.5, of second
order in pressure and third in displacement.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array, csc_array
from skfem import ElementTriCCR, ElementTriP2
from skfem.quadrature import get_quadrature

from squeeze.mold.section.records import Material
from squeeze.solve.mesh.parting import Mesh

Array = NDArray[np.float64]

_ORDER = 4  # exact for straight triangles
_SHAPES = ElementTriCCR()


@dataclass(frozen=True, eq=False)
class Elastic:
    """Stiffness of a parted mesh, and what is needed to get stresses back.

    Attributes
    ----------
    K : csc_array (2 n, 2 n)
        Stiffness [N/mm per mm]; unknown 2 i + c is component c of node i. Positive semi-definite:
        three rigid motions a piece.
    bubble : array (m, 2, 12)
        Bubble displacement of each triangle from its nodal displacements.
    pressure : array (m, 3, 12)
        Corner pressures [MPa, compression positive] from nodal displacements.
    strain : array (m, 9, 12)
        Corner strains (e_xx, e_yy, e_xy at each corner in turn) from nodal displacements.
    G : array (m,)
        Shear modulus [MPa].
    """

    K: csc_array
    bubble: Array
    pressure: Array
    strain: Array
    G: Array


def elastic(mesh: Mesh, materials: tuple[Material, ...]) -> Elastic:
    """Assemble the stiffness of a mesh.

    Parameters
    ----------
    mesh : Mesh
    materials : tuple of Material
        One a body.

    Returns
    -------
    Elastic
    """
    E = np.array([m.youngs_modulus_mpa for m in materials])[mesh.body]
    nu = np.array([m.poisson for m in materials])[mesh.body]
    G, kappa = E / (2 * (1 + nu)), E / (3 * (1 - 2 * nu))
    X, W = get_quadrature(_SHAPES.refdom, _ORDER)
    nodes = mesh.points[mesh.triangles]
    grad, jacobian = _gradients(nodes, X)
    A, B, M = _forms(grad, corner_shapes(X), np.abs(jacobian) * W, G, kappa)
    K, bubble, pressure = _condensed(A, B, M)
    corners = np.array([[0.0, 1.0, 0.0], [0.0, 0.0, 1.0]])
    strain = _corner_strains(_gradients(nodes, corners)[0], bubble)
    return Elastic(_assembled(K, mesh), bubble, pressure, strain, G)


def _gradients(nodes: Array, X: Array) -> tuple[Array, Array]:
    """Gradients of the shapes at places `X` (2, q) of every triangle, and the Jacobian there.

    `nodes` (m, 6, 2) are the triangles' nodes [mm]. Shapes (m, q, 2, 7) and (m, q).
    """
    m, q = len(nodes), X.shape[1]
    # by the two coordinates of the triangle that both have: of the place, and of the shapes
    place = np.matmul(_slopes(ElementTriP2(), 6, X).reshape(2 * q, 6), nodes).reshape(m, q, 2, 2)
    jacobian = place[..., 0, 0] * place[..., 1, 1] - place[..., 0, 1] * place[..., 1, 0]
    inverse = np.empty((m, q, 2, 2))
    inverse[..., 0, 0], inverse[..., 1, 1] = place[..., 1, 1], place[..., 0, 0]
    inverse[..., 0, 1], inverse[..., 1, 0] = -place[..., 0, 1], -place[..., 1, 0]
    inverse /= jacobian[..., None, None]
    return np.matmul(inverse, _slopes(_SHAPES, 7, X)), jacobian


def _slopes(element: ElementTriCCR | ElementTriP2, count: int, X: Array) -> Array:
    """Return derivatives of an element's first shapes at places `X` (2, q), (q, 2, count)."""
    return np.stack([element.lbasis(X, k)[1].T for k in range(count)], axis=-1)


def corner_shapes(X: Array) -> Array:
    """Return the three linear shapes (1, q, 3) at places `X` (2, q) of a triangle."""
    return np.stack([1 - X[0] - X[1], X[0], X[1]], axis=-1)[None]


def _forms(
    grad: Array, psi: Array, dx: Array, G: Array, kappa: Array
) -> tuple[Array, Array, Array]:
    """Element matrices: A = 2 G e(u):e(v) - 2/3 G div u div v, B = p div v, M = p q / kappa.

    Shapes (m, 14, 14), (m, 3, 14), (m, 3, 3); displacement unknown 2 i + c is component c of
    shape i.
    """
    m, q = dx.shape
    d = grad.transpose(0, 1, 3, 2).reshape(m, q, 14)  # d[2 i + a] = derivative of shape i along a
    H = np.matmul((d * dx[..., None]).transpose(0, 2, 1), d)
    H4 = H.reshape(m, 7, 2, 7, 2)  # [i, a, j, b]
    A = H4.transpose(0, 1, 4, 3, 2) - (2.0 / 3.0) * H4
    same = H4[:, :, 0, :, 0] + H4[:, :, 1, :, 1]
    A[:, :, 0, :, 0] += same
    A[:, :, 1, :, 1] += same
    A = (G[:, None, None, None, None] * A).reshape(m, 14, 14)
    weighted = psi * dx[..., None]
    B = np.matmul(weighted.transpose(0, 2, 1), d)
    M = (
        np.matmul(weighted.transpose(0, 2, 1), np.broadcast_to(psi, weighted.shape))
        / kappa[:, None, None]
    )
    return A, B, M


def _condensed(A: Array, B: Array, M: Array) -> tuple[Array, Array, Array]:
    """Condense pressure, then bubble.

    Returns element stiffness (m, 12, 12), bubble and pressure recovery.
    """
    P = np.linalg.solve(M, B)  # kappa x projection of div u; pressure = -P u
    A = A + np.matmul(B.transpose(0, 2, 1), P)
    bubble = -np.asarray(np.linalg.solve(A[:, 12:, 12:], A[:, 12:, :12]), np.float64)
    K = A[:, :12, :12] + np.matmul(A[:, :12, 12:], bubble)
    pressure = -(P[:, :, :12] + np.matmul(P[:, :, 12:], bubble))
    return 0.5 * (K + K.transpose(0, 2, 1)), bubble, pressure


def _assembled(K: Array, mesh: Mesh) -> csc_array:
    n = 2 * len(mesh.points)
    dofs = (2 * mesh.triangles[:, :, None] + np.arange(2)).reshape(-1, 12)
    rows, columns = np.repeat(dofs, 12, axis=1), np.tile(dofs, (1, 12))
    return csc_array(coo_array((K.ravel(), (rows.ravel(), columns.ravel())), shape=(n, n)))


def recover(mesh: Mesh, elastic: Elastic, u: Array) -> tuple[Array, Array, Array]:
    """Stresses and strains at the corners of each triangle.

    Parameters
    ----------
    mesh : Mesh
    elastic : Elastic
    u : array (n, 2)
        Nodal displacement [mm].

    Returns
    -------
    stress : array (m, 3, 3)
        s_xx, s_yy, s_xy [MPa], tension positive.
    pressure : array (m, 3)
        The mixed method's pressure -(s_xx + s_yy + s_zz) / 3 [MPa].
    strain : array (m, 3, 3)
        e_xx, e_yy, e_xy.
    """
    local = u[mesh.triangles].reshape(-1, 12, 1)
    p = np.matmul(elastic.pressure, local)[..., 0]
    e = np.matmul(elastic.strain, local).reshape(-1, 3, 3)
    mean = (e[..., 0] + e[..., 1]) / 3.0
    stress = 2 * elastic.G[:, None, None] * e
    stress[..., :2] -= (2 * elastic.G[:, None] * mean + p)[..., None]
    return stress, p, e


def _corner_strains(grad: Array, bubble: Array) -> Array:
    """Strains at the corners from nodal displacement, shape (m, 9, 12).

    e_xx, e_yy, e_xy at each corner in turn.
    """
    m = len(grad)
    B = np.zeros((m, 3, 3, 7, 2))
    B[:, :, 0, :, 0] = grad[:, :, 0]
    B[:, :, 1, :, 1] = grad[:, :, 1]
    B[:, :, 2, :, 0], B[:, :, 2, :, 1] = 0.5 * grad[:, :, 1], 0.5 * grad[:, :, 0]
    B = B.reshape(m, 9, 14)
    return B[:, :, :12] + np.matmul(B[:, :, 12:], bubble)
