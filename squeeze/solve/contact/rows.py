"""Contact rows: weighted gap and slip at each place of the cuts, and pressure as counterpart.

Pressure along a land is linear between its corner nodes, p = sum psi_i p_i. Its counterpart is the
gap weighted by the same hat, w_i = integral psi_i g ds, so p_i >= 0, w_i >= 0, p_i w_i = 0 is the
exact optimality condition of the discretised one-sided problem, and pressure comes out smooth.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array, csr_array

from squeeze.mold.section.records import CradlePiece, Cut
from squeeze.solve.elastic.edge import gauss, shapes, slopes
from squeeze.solve.mesh.parting import FacePair, Mesh

Array = NDArray[np.float64]
Whole = NDArray[np.int64]
Seam = Cut | CradlePiece


@dataclass(frozen=True, eq=False)
class ContactRows:
    """All lands together; a place is a corner node of a land.

    Attributes
    ----------
    normal, along : csr_array (c, 2 n)
        Weighted gap (positive = apart) and slip (positive = left face forward) of each place from
        nodal displacement [mm].
    weight : array (c,)
        Integral of each place's hat [mm].
    gap0 : array (c,)
        Weighted unloaded gap [mm2].
    friction : array (c,)
    begins : array (lands + 1,) of int
        Land k holds the places begins[k] to begins[k + 1].
    """

    normal: csr_array
    along: csr_array
    weight: Array
    gap0: Array
    friction: Array
    begins: Whole


def contact_rows(mesh: Mesh, cuts: tuple[Seam, ...]) -> ContactRows:
    """Return the contact rows of a mesh.

    Parameters
    ----------
    mesh : Mesh
    cuts : tuple of Cut or CradlePiece
        The section's seams: cuts, then seats, then joints of cradle pieces.

    Returns
    -------
    ContactRows
    """
    begins = np.cumsum([0, *(len(land.left) // 2 + 1 for land in mesh.faces)])
    left = _edges([land.left for land in mesh.faces])
    right = _edges([land.right for land in mesh.faces])
    lasts = begins[1:] - 1
    places = np.delete(np.arange(begins[-1]), lasts)  # at which each edge begins
    length = np.hypot(*(mesh.points[left[:, 2]] - mesh.points[left[:, 0]]).T)
    weight = np.zeros(begins[-1])
    np.add.at(weight, places, length / 2)
    np.add.at(weight, places + 1, length / 2)
    entries, n = _entries(left, right, places, mesh.points)
    shape = (int(begins[-1]), 2 * len(mesh.points))
    normal, along = (_matrix(entries, v, shape) for v in (n, np.column_stack([n[:, 1], -n[:, 0]])))
    none = np.zeros(begins[-1])
    return with_friction_and_gap(ContactRows(normal, along, weight, none, none, begins), mesh, cuts)


def _edges(faces: list[Whole]) -> Whole:
    """Start, mid-side and end node of the edges of all faces (k, 3)."""
    found = [np.column_stack([face[:-2:2], face[1::2], face[2::2]]) for face in faces]
    return np.vstack([np.zeros((0, 3), np.int64), *found])


def _entries(left: Whole, right: Whole, places: Whole, points: Array) -> tuple[Whole, Array]:
    """Entries (place, left node, right node) of all edges, and the integral of each [mm].

    Of hat x shape x normal. The normal is that of the curved edge, so an even pressure on a curved
    seam is an even pressure exactly. `left` and `right` (k, 3) are the nodes of the edges, `places`
    (k,) those at which they begin.
    """
    over = _hat_shape_normal(points[left])
    size = np.abs(over).max(axis=-1)
    counts = size > 1e-9 * size.max(axis=(0, 1))  # of a straight edge one of three vanishes
    hat, shape, edge = np.nonzero(counts)
    entries = np.column_stack([places[edge] + hat, left[edge, shape], right[edge, shape]])
    return entries, over[counts]


def _hat_shape_normal(x: Array) -> Array:
    """Integrals over each quadratic edge of linear hat x quadratic shape x left normal [mm].

    `x` (k, 3, 2) are the places of the edges' nodes. Shape (2, 3, k, 2).
    """
    out = np.zeros((2, 3, len(x), 2))
    for r, w in zip(*gauss(3), strict=True):
        dx = np.einsum("s,esc->ec", slopes(r), x)
        normal = np.column_stack([-dx[:, 1], dx[:, 0]])  # times ds
        out += w * np.einsum("h,s,ec->hsec", np.array([1 - r, r]), shapes(r), normal)
    return out


def _matrix(entries: Whole, vectors: Array, shape: tuple[int, int]) -> csr_array:
    place, left, right = entries.T
    rows, columns, values = [], [], []
    for node, sign in ((left, 1.0), (right, -1.0)):
        for c in (0, 1):
            rows.append(place)
            columns.append(2 * node + c)
            values.append(sign * vectors[:, c])
    return csr_array(
        coo_array(
            (np.concatenate(values), (np.concatenate(rows), np.concatenate(columns))), shape=shape
        )
    )


def with_friction_and_gap(rows: ContactRows, mesh: Mesh, cuts: tuple[Seam, ...]) -> ContactRows:
    """Return the contact rows with friction and unloaded gap of `cuts`.

    The cuts differ from before in nothing else.
    """
    friction, gap0 = rows.friction.copy(), rows.gap0.copy()
    for land, first in zip(mesh.faces, rows.begins, strict=False):
        places = slice(int(first), int(first) + len(land.left) // 2 + 1)
        length = np.hypot(*np.diff(mesh.points[land.left[::2]], axis=0).T)
        friction[places] = cuts[land.cut].friction
        gap0[places] = _weighted_gap(land, length, cuts[land.cut])
    return replace(rows, friction=friction, gap0=gap0)


def _weighted_gap(land: FacePair, length: Array, cut: Seam) -> Array:
    """Integral of hat times unloaded gap at each place, by three Gauss points an edge [mm2]."""
    s = land.start_mm + np.concatenate([[0.0], np.cumsum(length)])
    out = np.zeros(len(s))
    for t, w in zip(*gauss(3), strict=True):
        g = w * length * gap_at(cut, s[:-1] + t * length)
        out[:-1] += (1 - t) * g
        out[1:] += t * g
    return out


def gap_at(cut: Seam, s_mm: Array) -> Array:
    """Return the unloaded gap (n,) at distances `s_mm` (n,) along the cut's path [mm]."""
    given = np.array(cut.gap_mm)
    gap = np.full(np.shape(s_mm), given[0])
    if len(given) > 1:
        gap = np.interp(s_mm, np.linspace(0.0, cut.length_mm, len(given)), given)
    if not isinstance(cut, Cut):
        return gap
    if any(cut.film_mm):
        gap = gap - film_at(cut, s_mm)
    if not cut.bow_mm:
        return gap
    for stretch in cut.stretches:
        length = float(np.hypot(*np.diff(np.array(stretch.points), axis=0).T).sum())
        r = np.clip((s_mm - stretch.start_mm) / length, 0.0, 1.0)
        gap = gap + 4.0 * cut.bow_mm * r * (1.0 - r)
    return gap


FILM_EDGE_MM = 1.0
"""Length over which a film thins out at each of its ends, a quarter of it at most [mm]; a
judgement."""


def film_at(cut: Cut, s_mm: Array) -> Array:
    """Return the thickness (n,) of the film in a cut at `s_mm` (n,) along its path [mm]."""
    low, high = cut.film_at_mm or (0.0, cut.length_mm)
    places = np.linspace(low, high, max(len(cut.film_mm), 2))
    thick = np.interp(s_mm, places, np.resize(np.array(cut.film_mm), len(places)))
    if cut.film_at_mm is None:
        return thick
    edge = min(FILM_EDGE_MM, 0.25 * (high - low))
    return thick * np.clip(np.minimum(s_mm - low, high - s_mm) / edge, 0.0, 1.0)
