"""From nodal displacement and contact pressure to the records that people read."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from squeeze.mold.section.records import Section
from squeeze.solve.bands.wrap import BandPath
from squeeze.solve.contact.coulomb import OPEN, STICK
from squeeze.solve.contact.problem import ContactSolution
from squeeze.solve.contact.rows import ContactRows
from squeeze.solve.elastic.element import Elastic, recover
from squeeze.solve.elastic.rigid import rigid_fit
from squeeze.solve.field import CavityChange, Field, Wrap
from squeeze.solve.land import Land, LandRange
from squeeze.solve.mesh.parting import FacePair, Mesh

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]
Whole = NDArray[np.int64]


def face_displacements(mesh: Mesh, u: Array) -> Array:
    """Return the displacement (c, 2, 2) of both faces at every place [mm].

    `u` (n, 2) is that of the nodes.
    """
    none = [np.zeros((0, 2, 2))]
    return np.concatenate(
        [*none, *(np.stack([u[f.left[::2]], u[f.right[::2]]], axis=1) for f in mesh.faces)]
    )


def _to_ends(mean: Array, h: Array) -> Array:
    """Return values at the places of a land from means over their hats.

    Along a straight line to the land's ends, unless it would change its sign; `h` are the edges'
    lengths.
    """
    out = mean.copy()
    if len(h) > 1:
        for end, near, a, b in ((0, 1, h[0], h[1]), (-1, -2, h[-1], h[-2])):
            between = a + (b - a) / 3 - a / 3
            further = mean[end] - (mean[near] - mean[end]) * (a / 3) / between
            out[end] = further if further * mean[end] > 0 else mean[end]
    return out


def face_records(
    mesh: Mesh,
    section: Section,
    rows: ContactRows,
    moved: Array | None,
    contact: ContactSolution,
    wet: Mask,
) -> tuple[tuple[Land, ...], tuple[Land, ...], tuple[Land, ...]]:
    """Return the closing of each land, seat of a cradle piece, and joint between cradle pieces.

    Gaps and slips are those of the contact conditions: means round each place.

    Parameters
    ----------
    mesh, section, rows
    moved : array (c, 2, 2) or None
        Displacement of the left and the right face at every place [mm]; without it half of gap and
        slip stands for each.
    contact : ContactSolution
    wet : array (c,) of bool
        Places where resin stands between the faces.
    """
    every = []
    for faces, a, b in zip(mesh.faces, rows.begins[:-1], rows.begins[1:], strict=True):
        here = None if moved is None else moved[a:b]
        name = section.seams[faces.cut].name
        weight = rows.weight[a:b]
        every.append(_land(mesh, name, faces, weight, here, contact, wet, slice(a, b)))
    lands, seats = len(mesh.lands), len(mesh.lands) + len(mesh.seats)
    return tuple(every[:lands]), tuple(every[lands:seats]), tuple(every[seats:])


def ranges(
    mesh: Mesh, section: Section, rows: ContactRows, contact: ContactSolution, wet: Mask
) -> tuple[LandRange, ...]:
    """Return the range of each land over all states that were found; none where there is one.

    Parameters
    ----------
    mesh, section, rows
    contact : ContactSolution
        With the other states that were found.
    wet : array (c,) of bool
        Places where resin stands between the faces.
    """
    if not contact.others:
        return ()
    states = [
        face_records(mesh, section, rows, None, each, wet)[0] for each in (contact, *contact.others)
    ]
    return tuple(
        LandRange(
            lands[0].cut,
            lands[0].land,
            _least_and_most([land.pressure_kpa for land in lands]),
            _least_and_most([land.gap_mm for land in lands]),
        )
        for lands in zip(*states, strict=True)
    )


def _least_and_most(values: list[Array]) -> Array:
    return np.stack([np.min(values, axis=0), np.max(values, axis=0)])


def _land(
    mesh: Mesh,
    name: str,
    faces: FacePair,
    weight: Array,
    moved: Array | None,
    contact: ContactSolution,
    wet: Mask,
    at: slice,
) -> Land:
    x = mesh.points[faces.left[::2]]
    step = np.hypot(*np.diff(x, axis=0).T)
    is_open = contact.state[at] == OPEN
    apart = np.maximum(_to_ends(contact.w[at] / weight, step), 0.0)
    sticks = contact.state[at] == STICK
    gap = np.where(is_open, apart, 0.0)
    slip = np.where(sticks, 0.0, _to_ends(contact.v[at] / weight, step))
    if moved is None:
        t = _tangents(x)
        jump = gap[:, None] * np.column_stack([-t[:, 1], t[:, 0]]) + slip[:, None] * t
        moved = np.stack([0.5 * jump, -0.5 * jump], axis=1)
    return Land(
        cut=name,
        land=faces.land,
        s_mm=np.concatenate([[0.0], np.cumsum(step)]),
        x_mm=x[:, 0].copy(),
        y_mm=x[:, 1].copy(),
        pressure_kpa=1000.0 * contact.p[at],
        gap_mm=gap,
        slip_mm=slip,
        shear_kpa=1000.0 * contact.t[at],
        sticks=sticks,
        wet=wet[at],
        faces_mm=moved.copy(),
    )


def _tangents(x: Array) -> Array:
    """Return the unit direction of a polyline at its nodes; at a kink the mean of both sides."""
    d = np.diff(x, axis=0)
    d /= np.hypot(*d.T)[:, None]
    t = np.vstack([d[:1], d[:-1] + d[1:], d[-1:]])
    return t / np.hypot(*t.T)[:, None]


def cavities(mesh: Mesh, section: Section, u: Array) -> tuple[CavityChange, ...]:
    """Return how each cavity deformed, for the nodal displacement `u` (n, 2)."""
    along = {n: t for faces in mesh.lands for n, t in _end_tangents(mesh, faces)}
    return tuple(
        _cavity(mesh, edges, cavity.name, u, along)
        for cavity, edges in zip(section.cavities, mesh.edges[1:], strict=True)
    )


def _cavity(mesh: Mesh, edges: Whole, name: str, u: Array, along: dict[int, Array]) -> CavityChange:
    """Return how one cavity deformed; `along` are the directions of lands at their end nodes."""
    nodes = np.unique(edges)
    shift = u - rigid_fit(mesh.points, nodes, u, _along_edges(mesh.points, edges, nodes))
    before, after = (_enclosed(mesh.points + part, edges) for part in (0.0, shift))
    mouths = edges[:, 2] != np.roll(edges[:, 0], -1)
    every = np.ones(len(edges), bool)
    ring = edges[np.column_stack([every, every, mouths])]  # both lips of a mouth
    gone = np.hypot(*shift[ring].T)
    pairs = np.column_stack([edges[:, 2], np.roll(edges[:, 0], -1)])[mouths]
    return CavityChange(
        name=name,
        area_mm2=before,
        area_change_pct=100.0 * (after - before) / before,
        largest_shift_mm=float(gone.max()),
        step_mm=_step(pairs, u, along),
        edge_mm=mesh.points[ring],
        shift_mm=shift[ring],
    )


def _along_edges(points: Array, edges: Whole, nodes: Whole) -> Array:
    """Return the length along quadratic edges that each of `nodes` stands for [mm].

    Simpson's rule: a sixth of an edge for each end, two thirds for its middle. So a fit does not
    depend on how finely the mesh happens to divide an edge.
    """
    length = np.hypot(*(points[edges[:, 2]] - points[edges[:, 0]]).T)
    share = np.zeros(len(points))
    for k, part in enumerate((1 / 6, 2 / 3, 1 / 6)):
        np.add.at(share, edges[:, k], part * length)
    return share[nodes]


def _enclosed(x: Array, edges: Whole) -> float:
    """Area inside quadratic edges [mm2]; across the mouth of a cut the edge is taken straight."""
    a, m, b = (x[edges[:, k]] for k in range(3))
    area = 0.5 * (a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0])
    bow = (2.0 / 3.0) * ((b - a)[:, 0] * (m - a)[:, 1] - (b - a)[:, 1] * (m - a)[:, 0])
    c = np.roll(a, -1, axis=0)
    mouth = 0.5 * (b[:, 0] * c[:, 1] - b[:, 1] * c[:, 0])
    return float(np.sum(area) - np.sum(bow) + np.sum(mouth))


def _step(pairs: Whole, u: Array, along: dict[int, Array]) -> float:
    """Largest sliding of the two lips of a cut at the cavity, along the cut [mm]."""
    steps = [abs(float((u[a] - u[b]) @ along[int(a)])) for a, b in pairs if int(a) in along]
    return max(steps, default=0.0)


def _end_tangents(mesh: Mesh, faces: FacePair) -> list[tuple[int, Array]]:
    x = mesh.points
    found = []
    for nodes in (faces.left, faces.right):
        for end, near in ((nodes[0], nodes[1]), (nodes[-1], nodes[-2])):
            d = x[near] - x[end]
            found.append((int(end), d / np.hypot(*d)))
    return found


def wrapped(points: Array, path: BandPath, tension: float) -> Wrap:
    """Return the band's record: its places in order and what it pushes there.

    `points` (n, 2) are the nodes [mm], `tension` is that of all strands [N/mm].
    """
    nodes = path.edges[:, :2].ravel()
    nodes = nodes[nodes >= 0]
    push = tension * path.load.reshape(-1, 2)[nodes]
    return Wrap(tension, float(path.length_mm), points[nodes], push)


def field(mesh: Mesh, elastic: Elastic, u: Array) -> Field:
    """Return the finite-element field for the nodal displacement `u` (n, 2)."""
    stress, pressure, e = recover(mesh, elastic, u)
    middle, radius = (
        0.5 * (e[..., 0] + e[..., 1]),
        np.hypot(0.5 * (e[..., 0] - e[..., 1]), e[..., 2]),
    )
    largest = (np.abs(middle) + radius).max(axis=1)
    return Field(mesh.points, mesh.triangles, mesh.body, u, stress, pressure, 100.0 * largest)


def largest_strain(mesh: Mesh, made: Field, is_rubber: Mask) -> tuple[float, tuple[float, float]]:
    """Return the largest strain in the rubber [%], and the middle of its triangle [mm].

    Parameters
    ----------
    mesh : Mesh
    made : Field
    is_rubber : array (m,) of bool
        Which triangles are block or filler; cradle pieces do not count.
    """
    worst = int(np.argmax(np.where(is_rubber, made.strain_pct, 0.0)))
    x, y = mesh.points[mesh.triangles[worst, :3]].mean(axis=0)
    return float(made.strain_pct[worst]), (float(x), float(y))
