"""Equilibrium of the deformed block: Newton's method with the contact problem solved inside.

At each iterate forces, stiffness and contact rows are taken on the deformed block, and the
one-sided problem on them is solved exactly:

    K du + r = B' (p, t) ,     w + B du >= 0 ,  p >= 0 ,  p w = 0 ,  friction by Coulomb's law.

That is a semismooth Newton step. From the unloaded block the first step is the linear answer. A
step is shortened until the forces no longer push back along it (a line search on the slope); a load that
does not settle is put on in parts. The block as a whole is pinned, and its pins carry nothing, for
all loads balance. Other pieces hang on springs fixed to where they are at each iterate: such a
spring pulls in proportion to the step, so that it carries nothing once the steps have ended.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import cast

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array, csc_array, csr_array, vstack
from scipy.sparse.linalg import SuperLU, splu

from squeeze.mold.section.records import Loads, Section
from squeeze.solve.bands.outline_forces import pushed
from squeeze.solve.bands.wrap import Drag
from squeeze.solve.contact.active_set import settled
from squeeze.solve.contact.partial_pivoting import settled_by_parts
from squeeze.solve.contact.problem import FORWARD, OPEN, STICK, Contact, Problem
from squeeze.solve.contact.wetting import Ways, reached
from squeeze.solve.elastic.dissection import dissection
from squeeze.solve.elastic.schur import _pins
from squeeze.solve.large.band import Hull, Samples, hull, samples
from squeeze.solve.large.body import (
    Body,
    State,
    Tangent,
    body_of,
    internal_force,
    tangent,
    unloaded,
)
from squeeze.solve.large.faces import Opposite, Pairing, opposite
from squeeze.solve.large.pressure import Pressed, pressed
from squeeze.solve.mesh.parting import Mesh
from squeeze.solve.outcome import Outcome

Array = NDArray[np.float64]
Whole = NDArray[np.int64]
Mask = NDArray[np.bool_]

SETTLED = 1e-6
"""Force left over at a node, over the sum of the loads, at which the block is in equilibrium."""
GOOD_ENOUGH = 1e-5
"""As much may be left over where the band's way flickers between two nodes."""
STRAY = 1e-3
"""What pressed faces may stand apart or overlap, over the widest gap (0.01 mm at least)."""
MOST_STEPS = 30
"""Newton steps for one share of the load."""
MOST_PARTS = 24
"""Shares of the load that are tried before giving up."""
LEAST_SHARE = 1 / 64
FRICTION_PARTS = 2
"""Shares in which a load is put on when faces rub, for friction remembers its path."""
SOFT = 1e-4
"""Springs between steps, over the stiffness of the rubber."""
HARD = 1e3
"""Pins of the block as a whole, over the stiffness of the rubber."""

PullOf = Callable[[float], tuple[float, float]]
"""Pull of all bands [N/mm] and its derivative by the length once round, from that length [mm]."""


@dataclass(frozen=True, eq=False)
class Setting:
    """What of a meshed section does not change as it deforms.

    Attributes
    ----------
    mesh : Mesh
    body : Body
    outside : Samples
    cavities, all_round : Pressed
    ways : Ways
    place : array (2 n,) of int
        Position of each unknown in the factor.
    fixed, soft : array of int
        Unknowns that pin the block as a whole, and those on springs between steps.
    rows, columns : array
        Of the entries of the triangles' stiffness.
    scale : float
        Stiffness of the rubber [MPa].
    """

    mesh: Mesh
    body: Body
    outside: Samples
    cavities: Pressed
    all_round: Pressed
    ways: Ways
    place: Whole
    fixed: Whole
    soft: Whole
    rows: Whole
    columns: Whole
    scale: float


def setting(mesh: Mesh, section: Section, ways: Ways) -> Setting:
    """Prepare a meshed section for large deformation."""
    body = body_of(mesh, section.materials)
    nodes, which = np.unique(mesh.base, return_inverse=True)
    rank = np.empty(len(nodes), np.int64)  # both faces of a cut together: contact couples them
    rank[dissection(mesh.points[nodes], which[mesh.triangles])] = np.arange(len(nodes))
    order = np.argsort(rank[which], kind="stable")
    place = np.empty(2 * len(order), np.int64)
    place[(2 * order[:, None] + np.arange(2)).ravel()] = np.arange(2 * len(order))
    pins = _pins(mesh).reshape(-1, 3)
    largest = int(np.argmax(np.bincount(mesh.piece)))
    return Setting(
        mesh=mesh,
        body=body,
        outside=samples(mesh),
        cavities=pressed(mesh, [edges[::-1, ::-1] for edges in mesh.edges[1:]]),
        all_round=pressed(mesh, [mesh.outside]),
        ways=ways,
        place=place,
        fixed=pins[largest],
        soft=np.delete(pins, largest, axis=0).ravel(),
        rows=np.repeat(body.dofs, 12, axis=1).ravel(),
        columns=np.tile(body.dofs, (1, 12)).ravel(),
        scale=section.material.youngs_modulus_mpa,
    )


@dataclass(frozen=True, eq=False)
class Case:
    """One load case.

    Attributes
    ----------
    loads : Loads
    pull_of : callable
    drags : tuple of (share, Drag)
        Parts of the pull by their friction; empty when all slides freely.
    friction : array (c,)
        Between the faces, at each place.
    pairs : Pairing
    """

    loads: Loads
    pull_of: PullOf
    drags: tuple[tuple[float, Drag], ...]
    friction: Array
    pairs: Pairing


@dataclass(frozen=True, eq=False)
class Deformed:
    """The block at large deformation.

    Attributes
    ----------
    outcome : Outcome
    share : float
        Of the loads that was reached in equilibrium.
    state : State
    contact : Contact
        Pressures, shear, weighted gaps, slips since the unloaded block.
    wet : array (c,) of bool
    faces : Opposite
    band : Hull
    pull_n_per_mm : float
    residual : float
        Largest force left over at a node, over the sum of the loads.
    balance : float
        Largest force at the pins of the whole, over the sum of the loads.
    stray : float
        How far faces pass through each other or pressed ones stand apart, over the widest gap.
    on_pieces : array (2 n,)
        Given forces and contact at each node.
    load : float
        Sum of the sizes of all given forces.
    steps : int
        Tangents that were factorised.
    negative : int
        Motions, held by no face, along which the block is not stable.
    """

    outcome: Outcome
    share: float
    state: State
    contact: Contact
    wet: Mask
    faces: Opposite
    band: Hull
    pull_n_per_mm: float
    residual: float
    balance: float
    stray: float
    on_pieces: Array
    load: float
    steps: int
    negative: int


@dataclass(frozen=True, eq=False)
class _Outer:
    """Given forces on the deformed block: their sum, sizes and stiffness."""

    force: Array
    size: float
    band: Hull
    pull: float
    rate: float
    rows: Whole
    columns: Whole
    values: Array


@dataclass(frozen=True, eq=False)
class _Walk:
    """Where the solve stands: the body, what presses on it, and what it slid since the start."""

    state: State
    contact: Contact | None = None
    wet: Mask = field(default_factory=lambda: np.zeros(0, bool))
    slid: Array = field(default_factory=lambda: np.zeros(0))
    faces: Opposite | None = None
    outer: _Outer | None = None
    residual: float = np.inf
    balance: float = np.inf
    stray: float = np.inf
    on_pieces: Array = field(default_factory=lambda: np.zeros(0))
    negative: int = 0
    good: bool = False
    held: bool = True


def deform(
    setting: Setting,
    case: Case,
    parts: int | None = None,
    progress: Callable[[float], None] | None = None,
    start: State | None = None,
) -> Deformed:
    """Put the loads of a case on the block and find its equilibrium.

    Parameters
    ----------
    setting : Setting
    case : Case
    parts : int, optional
        Shares in which the load is put on at least; one, or four with friction, unless given.
    progress : callable, optional
        Told the share of the load that has settled, 0..1.
    start : State, optional
        Of a case much like this one: tried first, all of the load at once.

    Returns
    -------
    Deformed
    """
    rubs = bool(case.friction.any())
    step = 1.0 / (parts or (FRICTION_PARTS if rubs else 1))
    here = _Walk(unloaded(setting.mesh), slid=np.zeros(case.pairs.places))
    share, steps, unstable, failures = 0.0, 0, False, 0
    if start is not None and not rubs:
        near, steps = _settle(setting, case, replace(here, state=start), 1.0)
        if near.good:
            return _record(setting, case, near, 1.0, steps, Outcome.CONVERGED)
    for _ in range(MOST_PARTS):
        target = min(1.0, share + step)
        after, used = _settle(setting, case, here, target)
        steps += used
        if after.good:
            share, here = target, after
            if progress:
                progress(share)
            if share >= 1.0:
                break
            if failures:
                step = min(2 * step, 1.0 - share)
            continue
        unstable = unstable or (after.negative > 0)
        failures += 1
        step /= 2
        if step < LEAST_SHARE or not after.held:
            break
    outcome = Outcome.CONVERGED if share >= 1.0 else Outcome.NOT_SETTLED
    if share < 1.0 and unstable:
        outcome = Outcome.UNSTABLE
    return _record(setting, case, here, share, steps, outcome)


def _record(
    setting: Setting, case: Case, here: _Walk, share: float, steps: int, outcome: Outcome
) -> Deformed:
    if here.faces is None or here.contact is None or here.outer is None:
        x = setting.mesh.points
        faces, outer = opposite(case.pairs, x), _outer(setting, case, x, 0.0)
        none = np.zeros(case.pairs.places)
        contact = Contact(
            outcome, none, none, faces.gap, none, np.full(len(none), OPEN, np.int8),
            np.zeros(0), steps, 1.0, 1.0,
        )  # fmt: skip
        here = replace(here, faces=faces, outer=outer, contact=contact, wet=none > 0)
    assert here.faces is not None
    assert here.contact is not None
    assert here.outer is not None
    contact = replace(
        here.contact,
        outcome=outcome,
        w=np.where(here.faces.counts, here.faces.gap, np.inf),
        v=here.slid,
    )
    return Deformed(
        outcome,
        share,
        here.state,
        contact,
        here.wet,
        here.faces,
        here.outer.band,
        here.outer.pull,
        here.residual,
        here.balance,
        here.stray,
        here.on_pieces if len(here.on_pieces) else here.outer.force,
        here.outer.size,
        steps,
        here.negative,
    )


def _outer(setting: Setting, case: Case, x: Array, share: float) -> _Outer:
    """Given forces on nodes at `x` (n, 2), `share` of the whole loads."""
    loads = case.loads
    band = hull(setting.outside, x, case.drags)
    pull, rate = case.pull_of(band.length_mm)
    pull, rate = share * pull, share * rate
    force = pull * band.dragged
    size = np.hypot(*force.reshape(-1, 2).T).sum()
    rows, columns, values = [band.rows], [band.columns], [pull * band.values]
    for pressure, edges in (
        (loads.all_round_mpa, setting.all_round),
        (loads.cavity_mpa, setting.cavities),
    ):
        if pressure:
            one = share * pressure * (edges.A @ x.ravel())
            force = force + one
            size += np.hypot(*one.reshape(-1, 2).T).sum()
            rows.append(edges.A.coords[0])
            columns.append(edges.A.coords[1])
            values.append(-share * pressure * edges.A.data)
    for push in loads.pushes:
        one = share * pushed(setting.mesh.points, setting.mesh.outside, push)
        force = force + one
        size += np.hypot(*one.reshape(-1, 2).T).sum()
    return _Outer(
        force, float(size), band, pull, rate,
        np.concatenate(rows), np.concatenate(columns), np.concatenate(values),
    )  # fmt: skip


def given_forces(setting: Setting, case: Case, x: Array) -> Array:
    """Return the given forces (2 n,) on nodes at `x` (n, 2)."""
    return _outer(setting, case, x, 1.0).force


def _settle(setting: Setting, case: Case, start: _Walk, share: float) -> tuple[_Walk, int]:
    """Newton steps at one share of the load, from `start`."""
    here, best = start, start
    first = start.state.u
    slid = start.slid
    loads = share * case.loads.cavity_mpa if case.loads.enters_cuts else 0.0
    x = setting.mesh.points + here.state.u.reshape(-1, 2)
    outer, faces = _outer(setting, case, x, share), opposite(case.pairs, x)
    used, previous = 0, np.inf
    softness = SOFT
    contact = here.contact
    wet = here.wet if len(here.wet) else np.zeros(case.pairs.places, bool)
    for _ in range(MOST_STEPS):
        here_tangent = tangent(setting.body, here.state)
        system = _system(setting, outer, here_tangent, faces, contact, loads * wet, softness)
        used += 1
        if system is None:
            break
        f = outer.force - here_tangent.force
        opened = system.opened(f)
        slip = faces.along @ (here.state.u - first)
        found = _contact(
            setting, case, system, faces, opened, slip, contact, wet, loads, outer.size
        )
        if found is None:
            if softness >= 1.0:
                break
            softness *= 100.0
            continue
        contact, wet, traction = found
        du = system.displaced(f, traction)
        moved = here_tangent.moved(setting.body, here.state, du)
        ahead = _along(here.state, moved)
        force = faces.normal.T @ traction[: len(wet)] + faces.along.T @ traction[len(wet) :]
        g0 = float(du @ (outer.force - here_tangent.raw + force))
        alpha, state, outer, faces = _line_search(setting, case, share, ahead, du, traction, g0)
        if state is None:
            break
        force = faces.normal.T @ traction[: len(wet)] + faces.along.T @ traction[len(wet) :]
        raw, _ = internal_force(setting.body, state)
        left = outer.force - raw + force
        size = max(outer.size, 1e-300)
        balance = float(np.abs(left[setting.fixed]).max() / size)
        left[setting.fixed] = 0.0
        residual = float(np.abs(left).max() / size)
        stray = _stray(faces, contact)
        here = _Walk(
            state, contact, wet, slid + faces.along @ (state.u - first), faces, outer,
            residual, balance, stray, outer.force + force, system.negative(contact),
        )  # fmt: skip
        change = float(np.abs(alpha * du).max())
        if residual < best.residual or best is start:
            best = here
        if residual < SETTLED and stray < STRAY and alpha == 1.0:
            return replace(here, good=True), used
        stalled = residual > 0.5 * previous
        if residual < GOOD_ENOUGH and stray < STRAY and stalled and change < 1e-3:
            return replace(here, good=True), used
        previous = residual
        softness = max(softness / 10.0, SOFT)
    return best, used


def _stray(faces: Opposite, contact: Contact) -> float:
    """How far faces pass through each other or pressed ones stand apart, over the largest gap."""
    mean = faces.gap[faces.counts] / faces.weight[faces.counts]
    closed = contact.state[faces.counts] != OPEN
    stray = max(
        float(np.abs(mean[closed]).max(initial=0.0)), float(-mean[~closed].min(initial=0.0))
    )
    return stray / max(float(np.abs(mean).max(initial=0.0)), 1e-2)


def _along(start: State, end: State) -> Callable[[float], State]:
    def at(a: float) -> State:
        return State(
            start.u + a * (end.u - start.u),
            start.bubble + a * (end.bubble - start.bubble),
            start.s + a * (end.s - start.s),
        )

    return at


def _line_search(
    setting: Setting,
    case: Case,
    share: float,
    ahead: Callable[[float], State],
    du: Array,
    traction: Array,
    g0: float,
) -> tuple[float, State | None, _Outer, Opposite]:
    """Shorten a step until the forces push back along it by less than half of what drove it."""
    c = case.pairs.places
    alpha, low, g_low = 1.0, 0.0, abs(g0)
    for _ in range(8):
        state = ahead(alpha)
        raw, least = internal_force(setting.body, state)
        x = setting.mesh.points + state.u.reshape(-1, 2)
        if least > 0.1 and np.isfinite(raw).all():
            outer, faces = _outer(setting, case, x, share), opposite(case.pairs, x)
            force = faces.normal.T @ traction[:c] + faces.along.T @ traction[c:]
            g = float(du @ (outer.force - raw + force))
            if g >= -0.5 * abs(g0):
                return alpha, state, outer, faces
            share_of_way = min(max(g_low / (g_low - g), 0.1), 0.9)
        else:
            share_of_way = 0.5
        alpha = low + (alpha - low) * share_of_way
    x = setting.mesh.points
    return 0.0, None, _outer(setting, case, x, share), opposite(case.pairs, x)


@dataclass(frozen=True, eq=False)
class _System:
    """A factorised tangent bordered with the contact rows, and their compliance.

    Where the bands' pull changes with their length, the stiffness has a part of rank one, rate x
    slope (x) slope. The slope of the length then is one more row of the border, and its spring is
    put on here.
    """

    lu: SuperLU
    place: Whole
    full: Array
    delta: float
    below_zero: int
    rate: float

    @property
    def rows(self) -> int:
        """Contact rows."""
        return len(self.full) - bool(self.rate)

    @property
    def C(self) -> Array:
        """Compliance of the contact rows."""
        if not self.rate:
            return self.full
        spring = 1.0 / self.rate + self.full[-1, -1]
        return self.full[:-1, :-1] - np.outer(self.full[:-1, -1], self.full[-1, :-1]) / spring

    def _bare(self, f: Array) -> Array:
        b = np.zeros(self.lu.shape[0])
        b[self.place] = f
        x = self.lu.solve(b)[len(f) :]
        return self.full @ x + self.delta * x

    def opened(self, f: Array) -> Array:
        """Contact rows times displacement under the nodal force `f`."""
        bare = self._bare(f)
        if not self.rate:
            return bare
        spring = bare[-1] / (1.0 / self.rate + self.full[-1, -1])
        return bare[:-1] - self.full[:-1, -1] * spring

    def displaced(self, f: Array, traction: Array) -> Array:
        """Displacement under nodal force and traction on the contact rows."""
        bare = self._bare(f)
        if self.rate:
            pulled = bare[-1] + self.full[-1, :-1] @ traction
            traction = np.append(traction, -pulled / (1.0 / self.rate + self.full[-1, -1]))
        b = np.zeros(self.lu.shape[0])
        b[self.place] = f
        b[len(f) :] = bare + self.full @ traction + self.delta * traction
        return self.lu.solve(b)[self.place]

    def negative(self, contact: Contact) -> int:
        """Unstable motions that no pressed place holds (Sylvester's law of inertia)."""
        c = len(contact.state)
        kept = np.concatenate(
            [np.flatnonzero(contact.state != OPEN), c + np.flatnonzero(contact.state == STICK)]
        )
        C = self.C[np.ix_(kept, kept)]
        held = int((np.linalg.eigvalsh(0.5 * (C + C.T)) < 0).sum()) if len(kept) else 0
        return max(self.below_zero - held, 0)


def _system(
    setting: Setting,
    outer: _Outer,
    body: Tangent,
    faces: Opposite,
    contact: Contact | None,
    floor: Array,
    softness: float,
) -> _System | None:
    """Factorise the tangent with the contact rows last."""
    n = len(setting.place)
    rows, columns = [setting.rows, outer.rows], [setting.columns, outer.columns]
    values = [body.K.ravel(), outer.values]
    if contact is not None:
        turning = faces.turning(np.where(faces.counts, np.maximum(contact.p, 0.0) + floor, 0.0))
        rows.append(turning.coords[0])
        columns.append(turning.coords[1])
        values.append(turning.data)
    for at, stiff in ((setting.fixed, HARD), (setting.soft, softness)):
        rows.append(at)
        columns.append(at)
        values.append(np.full(len(at), stiff * setting.scale))
    rows_of = [faces.normal, faces.along]
    if outer.rate:
        rows_of.append(csr_array(outer.band.slope[None, :]))
    border = coo_array(vstack(rows_of))
    c = cast(tuple[int, int], border.shape)[0]
    i, j = (np.concatenate(part) for part in (rows, columns))
    delta = _typical(np.bincount(i[i == j], np.concatenate(values)[i == j], n), border)
    last = n + np.arange(c)
    at = (
        np.concatenate(
            [setting.place[i], n + border.coords[0], setting.place[border.coords[1]], last]
        ),
        np.concatenate(
            [setting.place[j], setting.place[border.coords[1]], n + border.coords[0], last]
        ),
    )
    data = np.concatenate([*values, border.data, border.data, np.full(c, -delta)])
    if not np.isfinite(data).all():
        return None
    matrix = csc_array(coo_array((data, at), shape=(n + c, n + c)))
    try:
        lu = splu(
            matrix, permc_spec="NATURAL", diag_pivot_thresh=0.0, options={"SymmetricMode": True}
        )
        C = -_trailing_block(lu, c) - delta * np.eye(c)
    except (RuntimeError, ArithmeticError):
        return None
    below = int((lu.U.diagonal()[:n] < 0).sum())
    return _System(lu, setting.place, C, delta, below, outer.rate)


def _trailing_block(lu: SuperLU, size: int) -> Array:
    """Product of the trailing blocks of the factors: the Schur complement of what comes before."""
    n = lu.shape[0]
    if (lu.perm_r != lu.perm_c).any() or (lu.perm_c[: n - size] >= n - size).any():
        raise ArithmeticError("the factorisation left its diagonal or its order")
    place = lu.perm_c[n - size :] - (n - size)
    L, U = (part[:, n - size :][n - size :].toarray() for part in (lu.L, lu.U))
    return (L @ U)[np.ix_(place, place)]


def _typical(diagonal: Array, border: coo_array) -> float:
    size = np.bincount(border.coords[0], np.abs(border.data))
    if not len(size):
        return 1e-30
    own = np.bincount(border.coords[0], np.abs(border.data) * np.abs(diagonal[border.coords[1]]))
    square = np.bincount(border.coords[0], border.data**2)
    good = own > 0
    return float(np.max(square[good] * size[good] / own[good], initial=1e-30))


def _contact(
    setting: Setting,
    case: Case,
    system: _System,
    faces: Opposite,
    opened: Array,
    slip: Array,
    before: Contact | None,
    wet: Mask,
    pressure: float,
    load: float,
) -> tuple[Contact, Mask, Array] | None:
    """Contact on the current faces: tractions with the resin's pressure in them."""
    c = case.pairs.places
    C, q = system.C, opened[: 2 * c] + np.concatenate([faces.gap, slip])
    away = np.flatnonzero(~faces.counts)
    if len(away):
        both = np.concatenate([away, away + c])
        C = C.copy()
        C[both], C[:, both] = 0.0, 0.0
        C[both, both] = np.abs(np.diag(system.C)).max()
        q[away], q[away + c] = 1.0, 0.0
    size = np.tile(1.0 / np.sqrt(np.maximum(np.abs(np.diag(C)[:c]), 1e-300)), 2)
    scaled = C * size[:, None] * size
    state = np.where(case.friction > 0, STICK, FORWARD).astype(np.int8)
    if before is not None:
        state = before.state
    wet = np.zeros(c, bool) if not pressure else wet & (state == OPEN)
    for _ in range(20):
        floor = np.concatenate([pressure * wet, np.zeros(c)])
        problem = Problem(
            C=scaled, q=(q + C @ floor) * size, G=np.zeros((2 * c, 0)), e=np.zeros(0),
            mu=case.friction, load=load,
        )  # fmt: skip
        found, restless = settled(problem, state, most=40)
        if found.outcome is not Outcome.CONVERGED:
            found = settled_by_parts(problem, found, restless)
        if found.outcome is not Outcome.CONVERGED:
            return None
        state = found.state
        more = wet | (reached(setting.ways, state == OPEN) if pressure else wet)
        if (more == wet).all():
            break
        wet = more
    found = replace(
        found,
        p=found.p * size[:c],
        t=found.t * size[:c],
        w=found.w / size[:c],
        v=found.v / size[:c],
    )
    return found, wet, np.concatenate([found.p + pressure * wet, found.t])
