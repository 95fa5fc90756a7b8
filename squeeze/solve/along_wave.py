"""Compliance of the cuts for each wave along the block, one factorisation a wave.

As in the section (`squeeze.solve.factor`), the contact rows border the stiffness and are eliminated
last, so that their compliance falls out of the trailing block of the factors. The loads that will
be asked for ride along as further rows: what they do to the gaps then stands in the same block, and
nothing has to be solved, place by place or load by load. Waves bend the block, so no rigid motion
is left and nothing is pinned.
"""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array, csc_array, csr_array
from scipy.sparse.linalg import splu

from squeeze.solve.along_element import WaveElements
from squeeze.solve.factor import _trailing
from squeeze.solve.order import dissection
from squeeze.solve.split import Mesh

Array = NDArray[np.float64]
Whole = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Bordered:
    """Pattern of the bordered stiffness, the same for every wave.

    Attributes
    ----------
    elements : WaveElements
    indices, indptr : array of int
        The pattern of the matrix by columns, contact rows last.
    slot : array (m * 18 * 18,) of int
        Where each entry of the element matrices goes.
    border : array
        Data of the pattern that does not depend on the wave: rows and the last diagonal.
    unit : array (r,)
        What each row was divided by.
    delta : float
    """

    elements: WaveElements
    indices: Whole
    indptr: Whole
    slot: Whole
    border: Array
    unit: Array
    delta: float

    def compliance(self, k: float) -> Array:
        """Compliance (r, r) between all rows at wave number `k` > 0 [1/mm]."""
        values = self.elements.stiffness(k).ravel()
        data = self.border + np.bincount(self.slot, weights=values, minlength=len(self.border))
        n = len(self.indptr) - 1
        lu = splu(
            csc_array((data, self.indices, self.indptr), shape=(n, n)),
            permc_spec="NATURAL",
            diag_pivot_thresh=0.0,
            options={"SymmetricMode": True},
        )
        r = len(self.unit)
        C = -_trailing(lu, r) - self.delta * np.eye(r)
        return C * (self.unit[:, None] * self.unit)


def bordered(mesh: Mesh, elements: WaveElements, rows: csr_array) -> Bordered:
    """Lay out the bordered matrix.

    Parameters
    ----------
    mesh : Mesh
    elements : WaveElements
    rows : csr_array (r, 3 n)
        Contact rows and loads; unknown 3 i + c is component c of node i.
    """
    n, r = 3 * len(mesh.points), rows.shape[0]
    place = np.empty(n, np.int64)
    place[(3 * dissection(mesh.points, mesh.triangles)[:, None] + np.arange(3)).ravel()] = (
        np.arange(n)
    )
    dofs = place[(3 * mesh.triangles[:, :, None] + np.arange(3)).reshape(-1, 18)]
    first = elements.stiffness(2 * np.pi / float(np.ptp(mesh.points)))
    scaled, unit, delta = _scaled(rows, place, dofs, first)
    at, values = _entries(scaled, place, dofs, delta, n)
    shape = (n + r, n + r)
    key = at[1] * shape[0] + at[0]
    kept, slot = np.unique(key, return_inverse=True)
    indptr = np.searchsorted(kept, np.arange(shape[0] + 1) * shape[0])
    count = 18 * 18 * len(dofs)
    border = np.bincount(slot[count:], weights=values, minlength=len(kept))
    indices = (kept % shape[0]).astype(np.int32)
    return Bordered(elements, indices, indptr.astype(np.int32), slot[:count], border, unit, delta)


def _scaled(rows: csr_array, place: Whole, dofs: Whole, K: Array) -> tuple[csr_array, Array, float]:
    """Rows divided so that their compliances are alike, and the number that guards their pivots."""
    diagonal = np.bincount(
        dofs.ravel(), weights=np.einsum("mii->mi", K).ravel(), minlength=len(place)
    )
    compliance = np.asarray(rows.power(2) @ (1.0 / diagonal[place]))
    typical = float(np.mean(compliance)) or 1.0
    unit = np.sqrt(np.where(compliance > 0, compliance / typical, 1.0))
    return csr_array(rows / unit[:, None]), unit, typical


def _entries(
    rows: csr_array, place: Whole, dofs: Whole, delta: float, n: int
) -> tuple[tuple[Whole, Whole], Array]:
    """Row and column of every entry: elements first, then the border; values of the border."""
    border = rows.tocoo()
    last = n + np.arange(rows.shape[0])
    a, b = n + border.coords[0].astype(np.int64), place[border.coords[1]]
    i, j = np.repeat(dofs, 18, axis=1).ravel(), np.tile(dofs, (1, 18)).ravel()
    values = np.concatenate([border.data, border.data, np.full(len(last), -delta)])
    return (np.concatenate([i, a, b, last]), np.concatenate([j, b, a, last])), values


def compliances(layout: Bordered, waves: Array, workers: int = 2) -> Array:
    """Compliance between all rows at each wave number.

    Parameters
    ----------
    layout : Bordered
    waves : array (h,)
        Wave numbers, all above 0 [1/mm].
    workers : int
        Factorisations at the same time.

    Returns
    -------
    array (h, r, r)
    """
    r = len(layout.unit)
    if not len(waves):
        return np.zeros((0, r, r))
    if workers == 1:
        return np.stack([layout.compliance(k) for k in waves])
    with ThreadPoolExecutor(workers) as pool:
        return np.stack(list(pool.map(layout.compliance, waves)))


def three(rows: csr_array) -> csr_array:
    """Rows on two displacements a node, as rows on three."""
    coo = coo_array(rows)
    column = 3 * (coo.coords[1] // 2) + coo.coords[1] % 2
    return csr_array(
        coo_array(
            (coo.data, (coo.coords[0], column)), shape=(rows.shape[0], rows.shape[1] // 2 * 3)
        )
    )
