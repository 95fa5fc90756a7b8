"""Nodes along the loops of a section; a stretch that two loops share has the same nodes in both."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from shapely import contains_xy, prepare
from shapely.geometry import Polygon

from squeeze.mold.geometry.curve import CurvePiece
from squeeze.mold.geometry.edges import Edges
from squeeze.mold.geometry.tolerance import ON_MM
from squeeze.mold.section.records import Cut, Section
from squeeze.solve.mesh import meetings
from squeeze.solve.mesh.graph import NodeRegister, Points, Side, Size, divisions


@dataclass(eq=False)
class LoopNodes:
    """The loops placed so far: their sides, chains of nodes by piece, and rings of corners."""

    section: Section
    nodes: NodeRegister
    size: Size
    sides: list[Side] = field(default_factory=list)
    chains: dict[tuple[int, int], list[tuple[int, ...]]] = field(default_factory=dict)
    rings: dict[int, list[Points]] = field(default_factory=dict)
    shared: dict[tuple[int, int], list[tuple[int, ...]]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        holes = [c.loop.points() for c in self.section.cavities]
        self.rubber = Polygon(self.section.outline.points(), holes)
        prepare(self.rubber)

    def place_loops(self, numbers: range, stops: list[dict[int, list[float]]]) -> None:
        """Place the loops `numbers`, which share no stretch with others, all at once.

        `stops` are the parameters at which something meets them, by loop and piece.
        """
        stretches = [
            (number, k, piece, part)
            for number in numbers
            for k, piece in enumerate(self.section.loops[number].pieces)
            for part in _parts(piece, stops[number].get(k, []))
        ]
        steps = _steps([(piece, part) for *_, piece, part in stretches], self.size)
        for (number, k, piece, part), at in zip(stretches, steps, strict=True):
            self._place_stretch(number, k, piece, part, at)

    def place_loop(self, number: int, stops: dict[int, list[float]]) -> None:
        """Place one loop, stretch by stretch between the places where something meets it.

        `stops` are their parameters, by piece.

        `number` is that of the loop in the section, from 0.
        """
        for k, piece in enumerate(self.section.loops[number].pieces):
            for part in _parts(piece, stops.get(k, [])):
                self._place_or_share(number, k, piece, part)

    def _place_or_share(
        self, number: int, k: int, piece: CurvePiece, part: tuple[float, float]
    ) -> None:
        ring = self.rings.setdefault(number, [])
        chain = self._found(number, piece, part)
        if chain is not None:
            ring.append(self._places(chain)[:-1])
            if number in meetings.filler_numbers(self.section):
                return
            at = tuple(np.interp(np.arange(len(chain)), [0, len(chain) - 1], part))
            at = tuple(piece.nearest(p) for p in self._places(chain)) if len(chain) > 2 else at
        elif self._lies_outside_rubber(number, piece, part):
            ring.append(piece.at(np.linspace(*part, 33))[:-1])
            return
        else:
            (at,) = _steps([(piece, part)], self.size)
            self._place_stretch(number, k, piece, part, at)
            return
        self._record(number, k, part, at, chain)

    def _place_stretch(
        self,
        number: int,
        k: int,
        piece: CurvePiece,
        part: tuple[float, float],
        at: tuple[float, ...],
    ) -> None:
        """Place a stretch that no earlier curve has."""
        chain = tuple(self.nodes.number(p) for p in piece.at(at))
        self.rings.setdefault(number, []).append(self._places(chain)[:-1])
        self._record(number, k, part, at, chain)

    def _record(
        self,
        number: int,
        k: int,
        part: tuple[float, float],
        at: tuple[float, ...],
        chain: tuple[int, ...],
    ) -> None:
        self.sides.append(Side(number, k, chain, (part[0], *at[1:-1], part[1])))
        self.chains.setdefault((number, k), []).append(chain)

    def _lies_outside_rubber(
        self, number: int, piece: CurvePiece, part: tuple[float, float]
    ) -> bool:
        x, y = piece.at(0.5 * (part[0] + part[1]))[0]
        is_filler = number in meetings.filler_numbers(self.section)
        return is_filler and not bool(contains_xy(self.rubber, x, y))

    def _found(
        self, number: int, piece: CurvePiece, part: tuple[float, float]
    ) -> tuple[int, ...] | None:
        """Nodes of a stretch that an earlier curve has as well; None when it is new."""
        for other in meetings.partners(self.section, number):
            k = meetings.shared(piece, part, self.section.loops[other])
            chain = None if k is None else self._slice((other, k), piece, part)
            if chain is not None:
                self.shared.setdefault((number, other), []).append(chain)
                return chain
        if number in meetings.filler_numbers(self.section):
            for c, cut in enumerate(self.section.cuts):
                if _on_cut(cut, piece, part):
                    return self._slice((-1, c), piece, part)
        return None

    def _slice(
        self, key: tuple[int, int], piece: CurvePiece, part: tuple[float, float]
    ) -> tuple[int, ...] | None:
        ends = [self.nodes.known(p) for p in piece.at(part)]
        return _between(self.chains.get(key, []), ends)

    def _places(self, chain: tuple[int, ...]) -> Points:
        return np.array([self.nodes.places[n] for n in chain])


def _parts(piece: CurvePiece, stops: list[float]) -> list[tuple[float, float]]:
    """Stretches of a piece between its ends and stops; stops within rounding count once."""
    slack = 2 * ON_MM / piece.length
    knots = [0.0]
    for t in sorted(stops):
        if knots[-1] + slack < t < 1 - slack:
            knots.append(t)
    return list(zip(knots, [*knots[1:], 1.0], strict=True))


def _steps(
    stretches: Sequence[tuple[CurvePiece, tuple[float, float]]], size: Size
) -> list[tuple[float, ...]]:
    """Parameters of the nodes of stretches, each a piece and its part."""
    fine = []
    for piece, (a, b) in stretches:
        t = piece.even(max(8, int(np.ceil(piece.length / 0.5 - 1e-6))))
        whole = a == t[0] and b == t[-1]
        fine.append(t if whole else np.concatenate([[a], t[(t > a) & (t < b)], [b]]))
    lines = [(t, piece.at) for (piece, _), t in zip(stretches, fine, strict=True)]
    return [
        (a, *map(float, at[1:-1]), b)
        for (_, (a, b)), at in zip(stretches, divisions(lines, size), strict=True)
    ]


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


def _on_cut(cut: Cut, piece: CurvePiece, part: tuple[float, float]) -> bool:
    lines = meetings.cut_lines(cut)
    places = piece.at(np.linspace(*part, 5))
    return bool(lines) and float(Edges(lines).nearest(places).distance.max()) < ON_MM
