"""Check an answer with code of its own, from nothing but the records that `close` returns.

The forces inside the rubber are assembled anew from displacements, pressures and materials. They
have to balance bands, pushes, resin and contact at every node and on every piece. On the faces:
p >= 0, gap >= 0, p gap = 0, |t| <= mu p, and friction that works against the slip. The gap has to
be the one that the displacements of the two faces leave.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from scipy.spatial import KDTree
from skfem.quadrature import get_quadrature
from skfem.refdom import RefTri

Array = NDArray[np.float64]
Whole = NDArray[np.int64]

NODE = 2e-6  # force left over at a node, over the sum of the given forces
PIECE = 2e-5  # force or moment left over on a piece
PUSHED_PIECE = 2e-4  # the same with pushes, which may be off by the rounding of their places
SMOOTH_PIECE = 2e-3  # the same where a cut has no friction: a straight one resists no sliding
FACES = 2e-6  # what gaps and strains may stray, over the largest displacement or strain
SMOOTH_FACES = 1e-5  # the same where a cut has no friction, and pieces slide far
STRAIGHT = 1e-3  # of its slip, what a smooth face may open or close: it counts as straight then
MPA = 1e-3  # of a kPa

_SIDES = ((0, 1, 3), (1, 2, 4), (2, 0, 5))


def faults(closing) -> list[str]:
    """Return what is wrong with an answer that claims to be certified; nothing when all is well.

    Of an answer at large deformation only the faces are checked: inside it is another theory. Its
    slip is that since the faces lay unloaded, while friction works against the slip of the last
    step of the load: between the two the way may turn round.
    """
    if closing.deformation.is_large:
        return [*_faces(closing)]
    return [*_faces(closing), *_slips(closing), *_inside(closing)]


def _faces(closing) -> Iterator[str]:
    """Check every face by its own figures."""
    friction = {seam.name: seam.friction for seam in closing.section.seams}
    for face in (*closing.lands, *closing.seats, *closing.joints):
        who = f"'{face.cut}' {face.land}"
        p, t, gap = face.pressure_kpa, face.shear_kpa, face.gap_mm
        if not all(np.isfinite(x).all() for x in (p, t, gap, face.slip_mm, face.faces_mm)):
            yield f"{who}: a figure is not finite"
            continue
        if p.min() < 0:
            yield f"{who}: a pressure of {p.min():.3g} kPa pulls"
        if gap.min() < 0:
            yield f"{who}: a gap of {gap.min():.3g} mm passes through"
        if (p * gap).any():
            yield f"{who}: presses across a gap: {(p * gap).max():.3g} kPa mm"
        mu = friction[face.cut]
        most = 1e-9 * max(p.max(), 1e-12)
        if (np.abs(t) > mu * p + (1 + mu) * most).any():
            yield f"{who}: {np.max(np.abs(t) - mu * p):.3g} kPa more friction than {mu} allows"
        slides = ~face.sticks & (p > 0)
        if (np.abs(t) < mu * p - (1 + mu) * most)[slides].any():
            yield f"{who}: slides below the limit of friction"


def _slips(closing) -> Iterator[str]:
    """Check which way the faces slip."""
    for face in (*closing.lands, *closing.seats, *closing.joints):
        who = f"'{face.cut}' {face.land}"
        p, t, slip = face.pressure_kpa, face.shear_kpa, face.slip_mm
        if slip[face.sticks].any():
            yield f"{who}: slips where it sticks"
        inner = ~face.sticks & (p > 0)
        inner[[0, -1]] = False  # there the slip is carried on from its neighbours
        most = 1e-9 * max(p.max(), 1e-12) * np.abs(slip).max()
        if (t * slip)[inner].max(initial=0.0) > most:
            yield f"{who}: friction pushes the way it slides"


class _Spots:
    """Numbers of the places where nodes are; nodes that rounding alone parts have the same."""

    def __init__(self, points: Array):
        n, near = len(points), 1e-12 * float(np.ptp(points))
        self._tree = KDTree(points)
        a, b = self._tree.query_pairs(near, output_type="ndarray").T
        pairs = coo_array((np.ones(len(a)), (a, b)), shape=(n, n))
        self.of_node = connected_components(pairs, False)[1].astype(np.int64)

    def at(self, points: Array) -> Whole:
        return self.of_node[self._tree.query(points)[1]]


@dataclass(frozen=True)
class _Edges:
    """Edges of triangles that have no neighbour: nodes (k, 3), rubber on the left."""

    nodes: Whole
    on: list[tuple[str, int, int]]  # ("left", face, place), ("right", ...), ("cavity", i, 0)...
    spots: _Spots


def _inside(closing) -> Iterator[str]:
    """Check equilibrium and compatibility from the field."""
    field = closing.field
    if not all(np.isfinite(v).all() for v in (field.displacement_mm, field.pressure_mpa)):
        yield "the field is not finite"
        return
    if _turned(field):
        yield "a triangle is inside out"
        return
    inner, stray = _internal(closing)
    if stray > FACES:
        yield f"pressure in the rubber strays by {stray:.3g} from the change of volume"
    edges = _edges(closing)
    faces = (*closing.lands, *closing.seats, *closing.joints)
    touch = sum((_touch(closing, edges, k, face) for k, face in enumerate(faces)), _zero(closing))
    given = _pressed(closing, edges)
    given = given + _bands(closing, edges, inner - touch - given)
    given, fault = _pushes(closing, edges, given, inner - touch)
    yield from fault
    size = float(np.hypot(*given.T).sum())
    if not size:
        if np.abs(inner).max(initial=0.0) > 1e-9:
            yield "there are forces without loads"
        return
    loose, where = _pieces(closing, given + touch)
    most = PUSHED_PIECE if closing.loads.pushes else PIECE
    if any(seam.friction == 0 for seam in closing.section.seams):
        most = SMOOTH_PIECE
    if loose > most * size:
        yield f"piece {where} is out of balance by {loose / size:.3g} of the loads"
    left = float(np.hypot(*(inner - touch - given).T).max())
    if left > (NODE + 2 * loose / size) * size:
        yield f"a node is out of balance by {left / size:.3g} of the loads"
    yield from _gaps(closing, edges, faces)


def _zero(closing) -> Array:
    return np.zeros_like(closing.field.points_mm)


def _turned(field) -> bool:
    """Whether the map of a triangle folds at a corner."""
    x = field.points_mm[field.triangles]
    for i, j, k, a, b in ((0, 1, 2, 3, 5), (1, 2, 0, 4, 3), (2, 0, 1, 5, 4)):
        ahead = 4 * x[:, a] - 3 * x[:, i] - x[:, j]
        back = 4 * x[:, b] - 3 * x[:, i] - x[:, k]
        if (ahead[:, 0] * back[:, 1] - ahead[:, 1] * back[:, 0]).min() <= 0:
            return True
    return False


def _internal(closing) -> tuple[Array, float]:
    """Return what the rubber pulls at each node (n, 2), and how far p strays from -kappa div u.

    Quadratic displacement with a bubble, linear pressure in each triangle; the bubble follows from
    its own balance.
    """
    field, materials = closing.field, closing.section.materials
    E = np.array([m.youngs_modulus_mpa for m in materials])[field.body]
    nu = np.array([m.poisson for m in materials])[field.body]
    G, kappa = (E / (2 * (1 + nu)))[:, None], E / (3 * (1 - 2 * nu))
    points, weights = get_quadrature(RefTri, 4)
    L = np.array([1 - points[0] - points[1], points[0], points[1]])
    dL = np.array([[-1.0, -1.0], [1.0, 0.0], [0.0, 1.0]])
    dN = [(4 * L[i] - 1)[:, None] * dL[i] for i in range(3)]
    dN += [4 * (L[i][:, None] * dL[j] + L[j][:, None] * dL[i]) for i, j, _ in _SIDES]
    dN += [sum((L[i - 1] * L[i - 2])[:, None] * dL[i] for i in range(3))]
    dN = np.stack(dN)  # shape, place, direction
    x, u = field.points_mm[field.triangles], field.displacement_mm[field.triangles]
    J = np.einsum("mic,iqd->mqcd", x, dN[:6])
    grad = np.einsum("iqd,mqdc->miqc", dN, np.linalg.inv(J))
    dA = weights * np.linalg.det(J)

    def deviator(du: Array) -> Array:
        """Return 2 G dev e of a gradient du[..., component, direction]."""
        e = 0.5 * (du + np.swapaxes(du, -1, -2))
        e = e - np.trace(e, axis1=-2, axis2=-1)[..., None, None] / 3.0 * np.eye(2)
        return 2 * G[..., None, None] * e

    du = np.einsum("mic,miqd->mqcd", u, grad[:, :6])
    p = field.pressure_mpa @ L
    stress = deviator(du) - p[..., None, None] * np.eye(2)
    units = [np.einsum("c,mqd->mqcd", e, grad[:, 6]) for e in np.eye(2)]
    pull = np.einsum("mq,mqcd,mqd->mc", dA, stress, grad[:, 6])
    own = np.stack([np.einsum("mq,mqcd,mqd->mc", dA, deviator(b), grad[:, 6]) for b in units], -1)
    bubble = np.linalg.solve(own, -pull[..., None])[..., 0]
    swell = np.einsum("mc,mqd->mqcd", bubble, grad[:, 6])
    stress = stress + deviator(swell)
    du = du + swell
    force = np.einsum("mq,mqcd,miqd->mic", dA, stress, grad[:, :6])
    out = np.zeros_like(field.points_mm)
    np.add.at(out, field.triangles, force)
    swells = np.trace(du, axis1=-2, axis2=-1)
    stray = np.einsum("mq,kq->mk", dA * (p / kappa[:, None] + swells), L)
    scale = max(float(np.abs(du).max(initial=0.0)), 1e-12)
    return out, float(np.abs(stray / dA.sum(axis=1)[:, None]).max(initial=0.0)) / scale


def _edges(closing) -> _Edges:
    field = closing.field
    sides = np.concatenate([field.triangles[:, side] for side in _SIDES])
    _, back, count = np.unique(sides[:, 2], return_inverse=True, return_counts=True)
    nodes = sides[count[back] == 1]
    spots = _Spots(field.points_mm)
    lies: dict[tuple[int, int], tuple[str, int, int]] = {}
    for k, face in enumerate((*closing.lands, *closing.seats, *closing.joints)):
        at = spots.at(np.column_stack([face.x_mm, face.y_mm])).tolist()
        for i, (a, b) in enumerate(pairwise(at)):
            lies[a, b] = ("left", k, i)
            lies[b, a] = ("right", k, i)
    inside = [set(spots.at(cavity.edge_mm).tolist()) for cavity in closing.cavities]
    found = []
    for a, b, middle in spots.of_node[nodes].tolist():
        free = next((("cavity", i, 0) for i, at in enumerate(inside) if middle in at), None)
        found.append(lies.get((a, b)) or free or ("outside", 0, 0))
    return _Edges(nodes[:, [0, 2, 1]], found, spots)


def _along(closing, nodes: Whole, normal: Array, tangent: Array) -> Array:
    """Nodal forces (n, 2) of tractions on edges: linear from (k, 2) ends to the left and ahead."""
    x = closing.field.points_mm[nodes]
    out = _zero(closing)
    for g, w in zip(*np.polynomial.legendre.leggauss(4), strict=True):
        r = 0.5 * (1 + g)
        shape = np.array([(1 - r) * (1 - 2 * r), 4 * r * (1 - r), r * (2 * r - 1)])
        dx = np.einsum("s,ksc->kc", np.array([4 * r - 3, 4 - 8 * r, 4 * r - 1]), x)
        left = np.column_stack([-dx[:, 1], dx[:, 0]])
        hat = np.array([1 - r, r])
        f = (normal @ hat)[:, None] * left + (tangent @ hat)[:, None] * dx
        np.add.at(out, nodes, 0.5 * w * shape[None, :, None] * f[:, None, :])
    return out


def _of_face(edges: _Edges, k: int, side: str) -> tuple[Whole, Whole]:
    """Nodes of a face's edges along the path, and the place where each begins."""
    mine = [e for e, on in enumerate(edges.on) if on[:2] == (side, k)]
    nodes, place = edges.nodes[mine], np.array([edges.on[e][2] for e in mine], np.int64)
    order = np.argsort(place)
    nodes = nodes[order]
    return (nodes if side == "left" else nodes[:, ::-1]), place[order]


def _touch(closing, edges: _Edges, k: int, face) -> Array:
    """Nodal forces of pressure, friction and resin between two faces."""
    resin = closing.loads.cavity_mpa * face.wet
    p, t = MPA * face.pressure_kpa + resin, MPA * face.shear_kpa
    total = _zero(closing)
    for side, sign in (("left", 1.0), ("right", -1.0)):
        nodes, place = _of_face(edges, k, side)
        ends = np.column_stack([place, place + 1])
        total += sign * _along(closing, nodes, p[ends], t[ends])
    return total


def _pressed(closing, edges: _Edges) -> Array:
    """Nodal forces of the pressure all round and of the resin in the cavities."""
    total = _zero(closing)
    for what, p in (
        ("outside", closing.loads.all_round_mpa),
        ("cavity", closing.loads.cavity_mpa),
    ):
        on = [n for n, where in zip(edges.nodes, edges.on, strict=True) if where[0] == what]
        nodes = np.array(on, np.int64).reshape(-1, 3)
        total += _along(closing, nodes, np.full((len(nodes), 2), p), np.zeros((len(nodes), 2)))
    return total


def _bands(closing, edges: _Edges, needed: Array) -> Array:
    """Nodal forces of the bands; lips of one cut share them as the rubber needs it."""
    total = _zero(closing)
    if closing.wrap is None:
        return total
    at = edges.spots.at(closing.wrap.points_mm)
    for spot in np.unique(at):
        push = closing.wrap.push_n_per_mm[at == spot].sum(axis=0)
        first, *lips = np.flatnonzero(edges.spots.of_node == spot)
        total[first] = push - needed[lips].sum(axis=0)
        total[lips] = needed[lips]
    return total


def _pushes(closing, edges: _Edges, given: Array, needed: Array) -> tuple[Array, list[str]]:
    """Add the pressure patches: what the outside needs near them, which has to sum up to them."""
    if not closing.loads.pushes:
        return given, []
    points = closing.field.points_mm
    outside = [n for n, where in zip(edges.nodes, edges.on, strict=True) if where[0] == "outside"]
    nodes = np.unique(np.array(outside, np.int64))
    patch = _zero(closing)
    patch[nodes] = (needed - given)[nodes]
    near = np.zeros(len(points), bool)
    for push in closing.loads.pushes:
        far = np.hypot(*(points - np.array(push.at_mm)).T)
        near |= far < far[nodes].min() + push.width_mm / 2 + _longest(points, edges)
    patch[~near] = 0.0
    wanted = sum(push.width_mm * push.pressure_mpa for push in closing.loads.pushes)
    size = float(np.hypot(*patch.T).sum())
    wrong = not 0.8 * wanted <= size <= 1.2 * wanted
    return given + patch, [f"pushes of {wanted:.4g} N/mm act with {size:.4g}"] if wrong else []


def _longest(points: Array, edges: _Edges) -> float:
    ends = points[edges.nodes[:, [0, 2]]]
    return float(np.hypot(*(ends[:, 1] - ends[:, 0]).T).max())


def _pieces(closing, f: Array) -> tuple[float, int]:
    """Largest force or moment (over its farthest arm) left over on a piece, and on which."""
    field = closing.field
    a, b = field.triangles[:, :1].repeat(5, axis=1).ravel(), field.triangles[:, 1:].ravel()
    n = len(field.points_mm)
    count, piece = connected_components(coo_array((np.ones(len(a)), (a, b)), shape=(n, n)), False)
    left = np.zeros(count)
    for k in range(count):
        on = piece == k
        arm = field.points_mm[on] - field.points_mm[on].mean(axis=0)
        moment = float(np.sum(arm[:, 0] * f[on, 1] - arm[:, 1] * f[on, 0]))
        left[k] = max(np.hypot(*f[on].sum(axis=0)), abs(moment) / np.hypot(*arm.T).max())
    worst = int(np.argmax(left))
    return float(left[worst]), worst


def _gaps(closing, edges: _Edges, faces) -> Iterator[str]:
    """Check that the faces stand apart by what their displacements say."""
    unloaded = {seam.name: seam for seam in (*closing.section.cuts, *closing.section.cradles)}
    field, joints = closing.field, len(closing.lands) + len(closing.seats)
    smooth = any(seam.friction == 0 for seam in closing.section.seams)
    most = SMOOTH_FACES if smooth else FACES
    scale = max(float(np.abs(field.displacement_mm).max()), 1e-12)
    for k, face in enumerate(faces):
        seam = unloaded[face.cut]
        if k < joints and (len(seam.gap_mm) > 1 or getattr(seam, "bow_mm", 0.0)):
            continue  # the unloaded gap changes along it
        rest = seam.gap_mm[0] if k < joints else 0.0
        w, v, size = _jumps(field, edges, k, len(face.gap_mm))
        apart = w / size + rest
        inner = slice(1, -1)
        slid = float(np.abs(v / size).max(initial=0.0)) if smooth else 0.0
        bound = most * max(scale, rest) + STRAIGHT * slid
        for what, said, is_so in (
            ("gap", face.gap_mm[inner], apart[inner]),
            ("slip", face.slip_mm[inner], (v / size)[inner]),
        ):
            off = float(np.abs(said - is_so).max(initial=0.0))
            if off > bound:
                yield f"'{face.cut}' {face.land}: a {what} is {off:.3g} mm off its displacements"
        if apart.min() < -bound:
            yield f"'{face.cut}' {face.land}: faces pass each other by {-apart.min():.3g} mm"


def _jumps(field, edges: _Edges, k: int, places: int) -> tuple[Array, Array, Array]:
    """Integrals over each place's hat of gap and slip that displacements make [mm2], and of 1."""
    (left, place), (right, _) = (_of_face(edges, k, side) for side in ("left", "right"))
    x, jump = field.points_mm[left], field.displacement_mm[left] - field.displacement_mm[right]
    w, v, size = np.zeros(places), np.zeros(places), np.zeros(places)
    for g, weight in zip(*np.polynomial.legendre.leggauss(4), strict=True):
        r = 0.5 * (1 + g)
        shape = np.array([(1 - r) * (1 - 2 * r), 4 * r * (1 - r), r * (2 * r - 1)])
        dx = np.einsum("s,ksc->kc", np.array([4 * r - 3, 4 - 8 * r, 4 * r - 1]), x)
        apart = np.einsum("s,ksc->kc", shape, jump)
        for end, hat in ((0, 1 - r), (1, r)):
            across = dx[:, 0] * apart[:, 1] - dx[:, 1] * apart[:, 0]
            np.add.at(w, place + end, 0.5 * weight * hat * across)
            np.add.at(v, place + end, 0.5 * weight * hat * np.sum(dx * apart, axis=1))
    length = np.hypot(*(x[:, 2] - x[:, 0]).T)
    np.add.at(size, place, length / 2)
    np.add.at(size, place + 1, length / 2)
    return w, v, size
