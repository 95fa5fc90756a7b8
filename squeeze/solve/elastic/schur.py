"""One sparse factorisation of a section, which also gives the compliance of its cuts.

The parted body's stiffness K is bordered with the contact rows B (weighted gap and slip at every
place of every cut), and the places are eliminated last:

    [ K   B' ]
    [ B  -d I ]

Then the trailing block of the factors, multiplied out, is the Schur complement -(C + d I), with

    C = B K^-1 B' ,

the compliance of the cuts: what gap and slip at one place a unit pressure at another makes. No
solve is needed to have it, however many places there are. d is a known number that keeps the last
pivots away from zero; it is taken off again.

Nothing in the workshop bolts the block to the ground, so K is singular: three rigid motions a
piece. Each piece is held by three pins, statically determinate; `rigid` says what the motions do to
gap and slip, and the contact problem demands equilibrium of every piece, so that the pins carry
nothing and which nodes were pinned does not matter.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import cast

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import get_lapack_funcs
from scipy.sparse import csc_array, csr_array
from scipy.sparse.linalg import SuperLU, splu

from squeeze.solve.elastic.dissection import dissection
from squeeze.solve.elastic.element import Elastic
from squeeze.solve.elastic.rigid import pins, rigid_motions
from squeeze.solve.mesh.parting import Mesh

Array = NDArray[np.float64]
Whole = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Factor:
    """Factorised section.

    Attributes
    ----------
    lu : SuperLU
        Factors of the pinned, bordered, reordered stiffness.
    order : array of int
        Displacement unknown at each position of the factor, before the contact rows.
    C : array (c, c)
        Compliance of the contact rows: weighted gap or slip [mm2] per pressure or traction [MPa].
    delta : float
    rows : csr_array (c, 2 n)
        B.
    motions : array (2 n, 3 p)
        Rigid motions of each piece: along x, along y, turn by 1 at its farthest node.
    rigid : array (c, 3 p)
        B times motions.
    """

    lu: SuperLU
    order: Whole
    C: Array
    delta: float
    rows: csr_array
    motions: Array
    rigid: Array

    def free_gaps(self, f: Array) -> Array:
        """Return gap and slip (c,) that the nodal load `f` (2 n,) makes with all faces free.

        Weighted: B K^-1 f.
        """
        x = self.lu.solve(np.concatenate([f[self.order], np.zeros(len(self.C))]))[len(self.order) :]
        return self.C @ x + self.delta * x

    def displaced(self, f: Array, free_gaps: Array, traction: Array) -> Array:
        """Return the nodal displacement (2 n,) under nodal load `f` and contact traction (c,).

        Pieces are pinned. `free_gaps` is what `free_gaps(f)` gave.
        """
        border = free_gaps + self.C @ traction + self.delta * traction
        u = np.zeros(len(self.motions))
        u[self.order] = self.lu.solve(np.concatenate([f[self.order], border]))[: len(self.order)]
        return u


def factorise(mesh: Mesh, elastic: Elastic, rows: csr_array) -> Factor:
    """Factorise a section with its contact rows last.

    Parameters
    ----------
    mesh : Mesh
    elastic : Elastic
    rows : csr_array (c, 2 n)
        Weighted gap and slip of each place.

    Returns
    -------
    Factor

    Raises
    ------
    ArithmeticError
        When the stiffness is not positive definite.
    """
    order = _unknowns(dissection(mesh.points, mesh.triangles))
    pinned = np.zeros(len(order), bool)
    pinned[pins(mesh)] = True
    order = order[~pinned[order]]
    delta = _typical(elastic, rows)
    lu = splu(
        _bordered(elastic.K, rows, order, delta),
        permc_spec="NATURAL",
        diag_pivot_thresh=0.0,
        options={"SymmetricMode": True},
    )
    c = _height(rows)
    C = -trailing_block(lu, c) - delta * np.eye(c)
    motions = rigid_motions(mesh)
    rigid = rows @ motions
    # one piece against itself
    rigid[np.abs(rigid) < 1e-10 * np.asarray(abs(rows).sum(axis=1))[:, None]] = 0.0
    return Factor(lu, order, C, delta, rows, motions, rigid)


def _unknowns(nodes: Whole) -> Whole:
    return (2 * nodes[:, None] + np.arange(2)).ravel()


def _typical(elastic: Elastic, rows: csr_array) -> float:
    """Return a compliance of the order of the largest on C's diagonal."""
    stiffness = np.asarray(abs(rows) @ elastic.K.diagonal()) / np.asarray(abs(rows).sum(axis=1))
    return float(np.max(np.asarray(rows.power(2).sum(axis=1)) / stiffness, initial=1e-30))


def _bordered(K: csc_array, rows: csr_array, order: Whole, delta: float) -> csc_array:
    """Put together the bordered matrix with its columns in order."""
    n, c = len(order), _height(rows)
    place = np.full(_height(K), -1)
    place[order] = np.arange(n)
    coo, border = K.tocoo(), rows.tocoo()
    i, j = place[coo.coords[0]], place[coo.coords[1]]
    free = (i >= 0) & (j >= 0)
    a, b = n + border.coords[0], place[border.coords[1]]
    held = b >= 0
    last = n + np.arange(c)
    values = [coo.data[free], border.data[held], border.data[held], np.full(c, -delta)]
    at = [i[free], a[held], b[held], last], [j[free], b[held], a[held], last]
    return csc_array((np.concatenate(values), tuple(map(np.concatenate, at))), shape=(n + c, n + c))


def _height(matrix: csr_array | csc_array) -> int:
    """Return the number of rows."""
    return cast(tuple[int, int], matrix.shape)[0]  # declared as None until the matrix is made


def trailing_block(lu: SuperLU, size: int) -> Array:
    """Return the product (size, size) of the trailing blocks of factors, in the order asked for.

    They are L and D L' with a negative D: one triangle of the product L D L' is worked out.

    Parameters
    ----------
    lu : SuperLU
    size : int
        Rows of the block.

    Raises
    ------
    ArithmeticError
        When the factors are not in the order asked for, or the block is not negative definite.
    """
    n = lu.shape[0]
    if not size:
        return np.zeros((0, 0))
    place = lu.perm_c[n - size :] - (n - size)
    if place.min() < 0 or (lu.perm_r != lu.perm_c).any():
        raise ArithmeticError("the factorisation left its diagonal or its order")
    D = lu.U.diagonal()[n - size :]
    if not (D < 0).all():
        raise ArithmeticError("the trailing block is not negative definite")
    root = lu.L[:, n - size :][n - size :].toarray() * np.sqrt(-D)
    (product,) = get_lapack_funcs(("lauum",), (root,))  # upper triangle: U U'
    upper = product(np.asfortranarray(root[::-1, ::-1]), lower=0, overwrite_c=1)[0]
    S = np.triu(upper) + np.triu(upper, 1).T
    return -S[::-1, ::-1][np.ix_(place, place)]
