"""Compliance of the cuts for each wave along the block, one factorisation a wave.

As in the section (`elastic.schur`), the contact rows border the stiffness and are eliminated
last, so that their compliance falls out of the trailing block of the factors. The loads that will
be asked for ride along as further rows: what they do to the gaps then stands in the same block, and
nothing has to be solved, place by place or load by load. Waves bend the block, so no rigid motion
is left and nothing is pinned.
"""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import cast

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array, csc_array, csr_array
from scipy.sparse.linalg import splu

from squeeze.solve.elastic.dissection import dissection
from squeeze.solve.elastic.schur import trailing_block
from squeeze.solve.elastic.wave_element import WaveElements
from squeeze.solve.mesh.parting import Mesh

Array = NDArray[np.float64]
Whole = NDArray[np.integer]


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
            panel_size=1,
            options={"SymmetricMode": True},
        )
        r = len(self.unit)
        C = -trailing_block(lu, r) - self.delta * np.eye(r)
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
    n, r = len(mesh.points), _size(rows)[0]
    rank = np.empty(n, np.int64)
    rank[dissection(mesh.points, mesh.triangles)] = np.arange(n)
    place = (3 * rank[:, None] + np.arange(3)).ravel()
    nodes = rank[mesh.triangles]
    first = elements.stiffness(2 * np.pi / float(np.ptp(mesh.points)))
    dofs = (3 * nodes[:, :, None] + np.arange(3)).reshape(-1, 18)
    scaled, unit, delta = _scaled(rows, place, dofs, first)
    entries = scaled.tocoo()
    a, b = entries.coords[0].astype(np.int64), place[entries.coords[1]]
    below = csc_array((entries.data, (a, b)), shape=(r, 3 * n))
    return Bordered(elements, *_pattern(nodes, below, delta), unit, delta)


def _pattern(nodes: Whole, below: csc_array, delta: float) -> tuple[Whole, Whole, Whole, Array]:
    """Return indices, pointers, slots of the element entries, and data of the border.

    The stiffness is laid out by blocks of three unknowns a node, which is sorted nine times as fast
    as single entries. In each of its columns the entries of `below` follow.
    """
    r, wide = _size(below)
    n = wide // 3
    pair = (np.tile(nodes, (1, 6)) + n * np.repeat(nodes, 6, axis=1)).ravel()  # column major
    kept, which = np.unique(pair, return_inverse=True)
    column, row = np.divmod(kept, n)
    degree = np.bincount(column, minlength=n)
    start = np.concatenate([[0], np.cumsum(degree)])
    count = np.diff(below.indptr)
    length = np.concatenate([np.repeat(3 * degree, 3) + count, np.zeros(r, np.int64)])
    across = below.tocsr()
    length[wide:] = np.diff(across.indptr) + 1
    indptr = np.concatenate([[0], np.cumsum(length)])
    rank = np.arange(len(kept)) - start[column]  # how many blocks of its column come before
    axes = np.arange(3)
    block = indptr[3 * column[:, None] + axes] + 3 * rank[:, None]  # where its columns begin
    slot = block[which].reshape(-1, 6, 6, 3)[:, :, :, :, None] + axes  # column node, row node, b, a
    slot = slot.transpose(0, 2, 4, 1, 3).reshape(-1)
    indices = np.empty(int(indptr[-1]), np.int64)
    indices[block[:, :, None] + axes] = (3 * row[:, None] + axes)[:, None, :]
    data = np.zeros(indptr[-1])
    inside = np.repeat(indptr[:wide] + np.repeat(3 * degree, 3) - below.indptr[:-1], count)
    inside += np.arange(below.nnz)
    indices[inside], data[inside] = wide + below.indices, below.data
    last = np.arange(r)
    beside = np.repeat(indptr[wide : wide + r] - across.indptr[:-1], np.diff(across.indptr))
    beside += np.arange(across.nnz)
    indices[beside], data[beside] = across.indices, across.data
    indices[indptr[wide + 1 :] - 1], data[indptr[wide + 1 :] - 1] = wide + last, -delta
    return indices.astype(np.int32), indptr.astype(np.int32), slot, data


def _size(matrix: csr_array | csc_array) -> tuple[int, int]:
    """Return rows and columns, which scipy's types leave open."""
    rows, columns = cast("tuple[int, int]", matrix.shape)
    return rows, columns


def _scaled(rows: csr_array, place: Whole, dofs: Whole, K: Array) -> tuple[csr_array, Array, float]:
    """Rows divided so that their compliances are alike, and the number that guards their pivots."""
    diagonal = np.bincount(
        dofs.ravel(), weights=np.einsum("mii->mi", K).ravel(), minlength=len(place)
    )
    compliance = np.asarray(rows.power(2) @ (1.0 / diagonal[place]))
    typical = float(np.mean(compliance)) or 1.0
    unit = np.sqrt(np.where(compliance > 0, compliance / typical, 1.0))
    return csr_array(rows / unit[:, None]), unit, typical


def compliances(layout: Bordered, waves: Array, workers: int = 2) -> Iterator[Array]:
    """Yield the compliance between all rows at each wave number, one after the other.

    Parameters
    ----------
    layout : Bordered
    waves : array (h,)
        Wave numbers, all above 0 [1/mm].
    workers : int
        Factorisations at the same time.

    Yields
    ------
    array (r, r)
    """
    if workers == 1 or not len(waves):
        yield from map(layout.compliance, waves)
        return
    with ThreadPoolExecutor(workers) as pool:
        yield from pool.map(layout.compliance, waves)


def in_three_components(rows: csr_array) -> csr_array:
    """Return rows on two displacements a node as rows on three."""
    (r, n), coo = _size(rows), coo_array(rows)
    column = 3 * (coo.coords[1] // 2) + coo.coords[1] % 2
    return csr_array(coo_array((coo.data, (coo.coords[0], column)), shape=(r, n // 2 * 3)))
