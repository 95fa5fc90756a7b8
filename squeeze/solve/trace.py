"""From curves to a planar graph: nodes on all edges and cuts, spaced as the size map asks.

Nodes lie exactly on the curves; where curves meet there is one shared node, and a stretch that two
curves share has the same nodes in both.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray
from shapely import contains_xy, prepare
from shapely.geometry import Polygon

from squeeze.mold.curve import Piece
from squeeze.mold.section import Cut, Section
from squeeze.solve import meet
from squeeze.solve.meet import SNAP_MM

Points = NDArray[np.float64]
Size = Callable[[Points], NDArray[np.float64]]


@dataclass(frozen=True)
class Side:
    """A stretch of edge of the graph that belongs to one piece of one loop.

    Attributes
    ----------
    loop, piece : int
        Number among the section's loops, outline first; the piece's number within it.
    nodes : tuple of int
        Nodes in order along the piece.
    at : tuple of float
        Parameters of these nodes on the piece.
    """

    loop: int
    piece: int
    nodes: tuple[int, ...]
    at: tuple[float, ...]


@dataclass(frozen=True)
class Run:
    """A land or seat before meshing: the part of it between two places where it meets something.

    Attributes
    ----------
    cut, land : int
        Number among the section's seams (cuts come first), and of the land along it.
    start_mm : float
        Distance of its start along the cut's path, or along the seat.
    nodes : tuple of int
        Nodes in order along the path; of a seat along the block's outline.
    """

    cut: int
    land: int
    start_mm: float
    nodes: tuple[int, ...]


@dataclass(frozen=True, eq=False)
class Graph:
    """Planar straight-line graph of a section.

    Attributes
    ----------
    nodes : array (n, 2)
        [mm].
    sides : tuple of Side
        Edges of all loops; of a filler only what lies in the rubber and on nothing else.
    runs, seats, joints : tuple of Run
        Stretches along which the mesh is parted: cuts, cradle pieces on the block (along its
        outline), cradle pieces on earlier pieces (along that piece's edge).
    bodies : tuple of arrays (k, 2)
        Corners of each filler and each cradle piece, whole.
    """

    nodes: Points
    sides: tuple[Side, ...]
    runs: tuple[Run, ...]
    seats: tuple[Run, ...] = ()
    joints: tuple[Run, ...] = ()
    bodies: tuple[Points, ...] = ()


class _Nodes:
    """Nodes met so far; places nearer than SNAP_MM are one node."""

    def __init__(self) -> None:
        self.places: list[tuple[float, float]] = []
        self._found: dict[tuple[int, int], int] = {}

    def known(self, place: NDArray[np.float64]) -> int | None:
        """Number of the node at a place, None when there is none."""
        i, j = (round(float(c) / SNAP_MM) for c in place)
        for key in ((i + a, j + b) for a in (0, -1, 1) for b in (0, -1, 1)):
            if key in self._found:
                return self._found[key]
        return None

    def number(self, place: NDArray[np.float64]) -> int:
        """Number of the node at a place; it is put there when there is none."""
        number = self.known(place)
        if number is not None:
            return number
        x, y = float(place[0]), float(place[1])
        self._found[round(x / SNAP_MM), round(y / SNAP_MM)] = len(self.places)
        self.places.append((x, y))
        return len(self.places) - 1


def trace(section: Section, size: Size) -> Graph:
    """Return the graph of a section.

    Parameters
    ----------
    section : Section
    size : callable
        Points (n, 2) to wanted edge lengths (n,) [mm].

    Returns
    -------
    Graph
    """
    nodes = _Nodes()
    stops = meet.stops(section)
    fillers = meet.filler_numbers(section)
    laid = _Laid(section, nodes, size)
    for number in range(fillers.start):
        laid.loop(number, stops[number])
    runs = _all_runs(nodes, section, size)
    for run in runs:
        laid.chains.setdefault((-1, run.cut), []).append(run.nodes)
    for number in range(fillers.start, len(section.loops)):
        laid.loop(number, stops[number])
    return Graph(
        np.array(nodes.places),
        tuple(laid.sides),
        runs,
        *_seams(section, nodes, laid, runs),
        tuple(np.vstack(laid.rings[k]) for k in range(fillers.start, len(section.loops))),
    )


@dataclass(eq=False)
class _Laid:
    """Loops put down so far: their sides, chains of nodes by piece, and whole rings of corners."""

    section: Section
    nodes: _Nodes
    size: Size
    sides: list[Side] = field(default_factory=list)
    chains: dict[tuple[int, int], list[tuple[int, ...]]] = field(default_factory=dict)
    rings: dict[int, list[Points]] = field(default_factory=dict)
    onto: dict[tuple[int, int], list[tuple[int, ...]]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        holes = [c.loop.points() for c in self.section.cavities]
        self.rubber = Polygon(self.section.outline.points(), holes)
        prepare(self.rubber)

    def loop(self, number: int, stops: dict[int, list[float]]) -> None:
        """Put down one loop, stretch by stretch between the places where something meets it."""
        for k, piece in enumerate(self.section.loops[number].pieces):
            for part in _parts(piece, stops.get(k, [])):
                self._stretch(number, k, piece, part)

    def _stretch(self, number: int, k: int, piece: Piece, part: tuple[float, float]) -> None:
        ring = self.rings.setdefault(number, [])
        chain = self._found(number, piece, part)
        if chain is not None:
            ring.append(self._places(chain)[:-1])
            if number in meet.filler_numbers(self.section):
                return
            at = tuple(np.interp(np.arange(len(chain)), [0, len(chain) - 1], part))
            at = tuple(piece.nearest(p) for p in self._places(chain)) if len(chain) > 2 else at
        elif self._lies_in_nothing(number, piece, part):
            ring.append(piece.at(np.linspace(*part, 33))[:-1])
            return
        else:
            at = _steps(piece, part, self.size)
            chain = tuple(self.nodes.number(p) for p in piece.at(at))
            ring.append(self._places(chain)[:-1])
        self.sides.append(Side(number, k, chain, (part[0], *at[1:-1], part[1])))
        self.chains.setdefault((number, k), []).append(chain)

    def _lies_in_nothing(self, number: int, piece: Piece, part: tuple[float, float]) -> bool:
        x, y = piece.at(0.5 * (part[0] + part[1]))[0]
        is_filler = number in meet.filler_numbers(self.section)
        return is_filler and not bool(contains_xy(self.rubber, x, y))

    def _found(
        self, number: int, piece: Piece, part: tuple[float, float]
    ) -> tuple[int, ...] | None:
        """Nodes of a stretch that an earlier curve has as well; None when it is new."""
        for other in meet.partners(self.section, number):
            k = meet.shared(piece, part, self.section.loops[other])
            chain = None if k is None else self._slice((other, k), piece, part)
            if chain is not None:
                self.onto.setdefault((number, other), []).append(chain)
                return chain
        if number in meet.filler_numbers(self.section):
            for c, cut in enumerate(self.section.cuts):
                if _on_cut(cut, piece, part):
                    return self._slice((-1, c), piece, part)
        return None

    def _slice(
        self, key: tuple[int, int], piece: Piece, part: tuple[float, float]
    ) -> tuple[int, ...] | None:
        ends = [self.nodes.known(p) for p in piece.at(part)]
        return _between(self.chains.get(key, []), ends)

    def _places(self, chain: tuple[int, ...]) -> Points:
        return np.array([self.nodes.places[n] for n in chain])


def _parts(piece: Piece, stops: list[float]) -> list[tuple[float, float]]:
    """Stretches of a piece between its ends and stops; stops within rounding count once."""
    slack = 2 * SNAP_MM / piece.length
    knots = [0.0]
    for t in sorted(stops):
        if knots[-1] + slack < t < 1 - slack:
            knots.append(t)
    return list(zip(knots, [*knots[1:], 1.0], strict=True))


def _steps(piece: Piece, part: tuple[float, float], size: Size) -> tuple[float, ...]:
    """Parameters of the nodes of a stretch."""
    a, b = part
    fine = piece.even(max(8, int(np.ceil(piece.length / 0.5))))
    t = np.concatenate([[a], fine[(fine > a) & (fine < b)], [b]])
    at = np.interp(_spread(piece.at(t), size), np.arange(len(t)), t)
    return (a, *map(float, at[1:-1]), b)


def _between(chains: list[tuple[int, ...]], ends: list[int | None]) -> tuple[int, ...] | None:
    """Part of joined-up chains from one node to another, turned round when they run against it."""
    joined: list[list[int]] = []
    for chain in chains:
        if joined and joined[-1][-1] == chain[0]:
            joined[-1].extend(chain[1:])
        else:
            joined.append(list(chain))
    for chain in joined:
        if all(end in chain for end in ends):
            i, j = (chain.index(end) for end in ends if end is not None)
            return tuple(chain[i : j + 1]) if i < j else tuple(chain[j : i + 1][::-1])
    return None


def _on_cut(cut: Cut, piece: Piece, part: tuple[float, float]) -> bool:
    places = piece.at(np.linspace(*part, 5))
    return any(
        all(np.hypot(*(line.at(line.nearest(p))[0] - p)) < SNAP_MM for p in places)
        for line in meet.cut_lines(cut)
    )


def _seams(
    section: Section, nodes: _Nodes, laid: _Laid, runs: tuple[Run, ...]
) -> tuple[tuple[Run, ...], tuple[Run, ...]]:
    """Seats and joints of the cradle pieces, broken where another seam meets them."""
    cradles = meet.cradle_numbers(section)
    chains = [chain for (k, _), found in laid.onto.items() if k in cradles for chain in found]
    meets = _junctions([*chains, *(run.nodes for run in runs)])
    seats: list[Run] = []
    joints: list[Run] = []
    for number in cradles:
        for other in meet.partners(section, number):
            edges = {
                frozenset(pair)
                for chain in laid.onto.get((number, other), [])
                for pair in zip(chain[:-1], chain[1:], strict=True)
            }
            along = [s.nodes for s in laid.sides if s.loop == other]
            found = seats if other == 0 else joints
            found += _broken(_seam(section, number, other), along, edges, meets, nodes)
    return tuple(seats), tuple(joints)


def _seam(section: Section, number: int, other: int) -> int:
    """Number among the section's seams of a cradle piece on the block, or on an earlier piece."""
    piece = number - meet.cradle_numbers(section).start
    return len(section.cuts) + piece + (len(section.cradles) if other else 0)


def _junctions(chains: list[tuple[int, ...]]) -> set[int]:
    """Nodes at which other than two edges of seams meet."""
    count: dict[int, int] = {}
    for chain in chains:
        for a, b in zip(chain[:-1], chain[1:], strict=True):
            count[a] = count.get(a, 0) + 1
            count[b] = count.get(b, 0) + 1
    return {node for node, n in count.items() if n != 2}


def _broken(
    seam: int,
    along: list[tuple[int, ...]],
    edges: set[frozenset[int]],
    meets: set[int],
    nodes: _Nodes,
) -> list[Run]:
    """Runs of `edges` in the order of a loop, broken at `meets`."""
    ring = [pair for chain in along for pair in zip(chain[:-1], chain[1:], strict=True)]
    on = [frozenset(pair) in edges for pair in ring]
    begin = next((k for k in range(len(ring)) if on[k] and not on[k - 1]), 0)
    runs: list[Run] = []
    chain: list[int] = []
    away = started = 0.0
    for k in [*range(begin, len(ring)), *range(begin)]:
        if not on[k]:
            continue
        a, b = ring[k]
        if chain and (a != chain[-1] or a in meets):
            runs.append(Run(seam, len(runs), started, tuple(chain)))
            chain = []
        if not chain:
            chain, started = [a], away
        chain.append(b)
        away += float(np.hypot(*np.subtract(nodes.places[b], nodes.places[a])))
    return [*runs, Run(seam, len(runs), started, tuple(chain))] if chain else runs


def _spread(line: Points, size: Size) -> NDArray[np.float64]:
    """Positions (as fractional indices of `line`) that cut it into edges of the wanted length."""
    step = np.hypot(*np.diff(line, axis=0).T)
    count = np.concatenate([[0.0], np.cumsum(step / size(0.5 * (line[:-1] + line[1:])))])
    n = max(1, round(float(count[-1]) + 0.2))
    return np.interp(np.linspace(0.0, count[-1], n + 1), count, np.arange(len(line)))


def cut_meetings(cuts: tuple[Cut, ...]) -> list[Points]:
    """Places where cuts meet, by cut: crossings and ends that stop on another cut, each (k, 2) [mm]."""
    found: list[list[Points]] = [[] for _ in cuts]
    lines = [[np.array(s.points) for s in cut.stretches] for cut in cuts]
    for i in range(len(cuts)):
        for j in range(i + 1, len(cuts)):
            for a in lines[i]:
                for b in lines[j]:
                    for place in _crossings(a, b):
                        found[i].append(place)
                        found[j].append(place)
    return [np.array(f).reshape(-1, 2) for f in found]


def _crossings(a: Points, b: Points) -> list[Points]:
    """Places where two polylines meet; ends that touch count."""
    found = []
    for p, p2 in zip(a[:-1], a[1:], strict=True):
        for q, q2 in zip(b[:-1], b[1:], strict=True):
            d, e, r = p2 - p, q2 - q, q - p
            det = d[0] * e[1] - d[1] * e[0]
            if abs(det) < 1e-12 * np.hypot(*d) * np.hypot(*e):
                continue
            s, t = (r[0] * e[1] - r[1] * e[0]) / det, (r[0] * d[1] - r[1] * d[0]) / det
            slack_s, slack_t = SNAP_MM / np.hypot(*d), SNAP_MM / np.hypot(*e)
            if -slack_s <= s <= 1 + slack_s and -slack_t <= t <= 1 + slack_t:
                found.append(p + s * d)
    return found


def _all_runs(nodes: _Nodes, section: Section, size: Size) -> tuple[Run, ...]:
    meetings = cut_meetings(section.cuts)
    fillers = [section.loops[k] for k in meet.filler_numbers(section)]
    return tuple(
        run
        for number, cut in enumerate(section.cuts)
        for run in _runs(
            nodes,
            (number, cut),
            meetings[number],
            np.array([p for f in fillers for p in meet.cut_meetings_with(cut, f)]).reshape(-1, 2),
            size,
        )
    )


def _runs(
    nodes: _Nodes, which: tuple[int, Cut], meetings: Points, passing: Points, size: Size
) -> list[Run]:
    """Lands of a cut; `passing` are places at which it has a node but no land ends."""
    number, cut = which
    runs: list[Run] = []
    for stretch in cut.stretches:
        line = np.array(stretch.points)
        away = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
        stops = _stops(line, away, meetings)
        knots = sorted({*stops, *map(float, away), *_stops(line, away, passing)})
        for a, b in zip(stops[:-1], stops[1:], strict=True):
            run = _run(nodes, line, away, _apart([k for k in knots if a <= k <= b]), size)
            runs.append(Run(number, len(runs), stretch.start_mm + a, run))
    return runs


def _apart(knots: list[float]) -> list[float]:
    """Knots without those within rounding of an end or of each other."""
    kept = [knots[0]]
    for knot in knots[1:-1]:
        if knot - kept[-1] > 2 * SNAP_MM and knots[-1] - knot > 2 * SNAP_MM:
            kept.append(knot)
    return [*kept, knots[-1]]


def _stops(line: Points, away: NDArray[np.float64], meetings: Points) -> list[float]:
    """Distances along a stretch at which a land begins or ends."""
    stops = [0.0, float(away[-1])]
    for place in meetings:
        for k, (p, q) in enumerate(zip(line[:-1], line[1:], strict=True)):
            t = float((place - p) @ (q - p) / ((q - p) @ (q - p)))
            d = away[k] + t * (away[k + 1] - away[k])
            if np.hypot(*(p + t * (q - p) - place)) < SNAP_MM and min(abs(d - s) for s in stops) > 2 * SNAP_MM and 0 < d < away[-1]:
                stops.append(float(d))
    return sorted(stops)


def _run(
    nodes: _Nodes, line: Points, away: NDArray[np.float64], knots: list[float], size: Size
) -> tuple[int, ...]:
    """Nodes of one land, one at each of the knots."""
    at = [knots[0]]
    for p, q in zip(knots[:-1], knots[1:], strict=True):
        fine = np.linspace(p, q, max(9, int(np.ceil((q - p) / 0.25))))
        place = np.column_stack([np.interp(fine, away, line[:, k]) for k in (0, 1)])
        steps = _spread(place, size)
        at += list(np.interp(steps, np.arange(len(fine)), fine)[1:])
    if len(at) == 2:
        at.insert(1, 0.5 * (knots[0] + knots[-1]))
    places = np.column_stack([np.interp(at, away, line[:, k]) for k in (0, 1)])
    return tuple(nodes.number(p) for p in places)
