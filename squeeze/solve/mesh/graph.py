"""The planar graph that a mesh follows: nodes, sides of loops, chains of nodes along the seams."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from squeeze.mold.geometry.tolerance import ON_MM, SAME_MM

Points = NDArray[np.float64]


class Size(Protocol):
    """Wanted edge lengths over the plane."""

    @property
    def least_mm(self) -> float:
        """The shortest edge that is wanted anywhere [mm]."""
        ...

    def __call__(self, points: Points) -> NDArray[np.float64]:
        """Wanted edge length at `points` (n, 2), shape (n,) [mm]."""
        ...


_CELL_MM = 1000 * ON_MM  # nodes are looked up by the cell that they lie in
MOST_HALVINGS = 20  # of the distance between places at which sizes are asked for


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
class SeamChain:
    """The nodes along a land, seat or joint before meshing, from one junction to the next.

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
        [mm]; once there are triangles, all of their corners.
    sides : tuple of Side
        Edges of all loops; of a filler only what lies in the rubber and on nothing else.
    lands, seats, joints : tuple of SeamChain
        Chains along which the mesh is parted: along the cuts, between cradle pieces and block
        (along its outline), between cradle pieces (along the edge of the earlier one).
    bodies : tuple of arrays (k, 2)
        Corners of each filler and each cradle piece, whole.
    """

    nodes: Points
    sides: tuple[Side, ...]
    lands: tuple[SeamChain, ...]
    seats: tuple[SeamChain, ...] = ()
    joints: tuple[SeamChain, ...] = ()
    bodies: tuple[Points, ...] = ()


class NodeRegister:
    """The nodes placed so far; places nearer than ON_MM share a node."""

    def __init__(self) -> None:
        self.places: list[tuple[float, float]] = []
        self._found: dict[tuple[int, int], list[int]] = {}

    def known(self, place: NDArray[np.float64]) -> int | None:
        """Return the number of the node at `place` (2,) [mm], None when there is none."""
        x, y = float(place[0]), float(place[1])
        near = [
            number
            for cell in _cells(x, y)
            for number in self._found.get(cell, ())
            if math.dist(self.places[number], (x, y)) <= ON_MM
        ]
        return min(near, default=None)

    def number(self, place: NDArray[np.float64]) -> int:
        """Return the number of the node at `place` (2,) [mm]; placed when there is none."""
        number = self.known(place)
        if number is not None:
            return number
        x, y = float(place[0]), float(place[1])
        cell = math.floor(x / _CELL_MM), math.floor(y / _CELL_MM)
        self._found.setdefault(cell, []).append(len(self.places))
        self.places.append((x, y))
        return len(self.places) - 1


def _cells(x: float, y: float) -> set[tuple[int, int]]:
    """Return the cells that places within ON_MM of (x, y) lie in, mostly one [mm]."""
    i, k = math.floor((x - 2 * ON_MM) / _CELL_MM), math.floor((x + 2 * ON_MM) / _CELL_MM)
    j, m = math.floor((y - 2 * ON_MM) / _CELL_MM), math.floor((y + 2 * ON_MM) / _CELL_MM)
    return {(i, j), (i, m), (k, j), (k, m)}


def divisions(
    lines: Sequence[tuple[NDArray[np.float64], Callable[[NDArray[np.float64]], Points]]],
    size: Size,
) -> list[NDArray[np.float64]]:
    """Return the parameters of nodes that divide lines into edges of the wanted length.

    All lines are divided at once, since asking for sizes costs more by the call than by the point.

    Parameters
    ----------
    lines : sequence of (parameters, place)
        Parameters (k,) of places at which a line is looked at, ends included, and what takes
        parameters to places (k, 2) [mm]. More places are looked at where edges are to be shorter
        than 0.02 mm.
    size : Size
    """
    found = [np.zeros(0)] * len(lines)
    left = [(number, t, place) for number, (t, place) in enumerate(lines)]
    tiny = size.least_mm < SAME_MM
    for halvings in range(MOST_HALVINGS + 1):
        places = [place(t) for _, t, place in left]
        middles = [0.5 * (p[:-1] + p[1:]) for p in places]
        asked = [*middles, *places] if tiny and halvings < MOST_HALVINGS else middles
        sizes = np.split(size(np.vstack(asked)), np.cumsum([len(p) for p in asked])[:-1])
        again = []
        for k, ((number, t, place), p, here) in enumerate(zip(left, places, sizes, strict=False)):
            step = np.hypot(*np.diff(p, axis=0).T)
            if len(asked) > len(middles):
                there = sizes[len(left) + k]
                least = np.minimum(here, np.minimum(there[:-1], there[1:]))
                long = (least < SAME_MM) & (step > 2.0 * least)
                if long.any():
                    more = 0.5 * (t[:-1] + t[1:])[long]
                    again.append((number, np.sort(np.concatenate([t, more])), place))
                    continue
            count = np.concatenate([[0.0], np.cumsum(step / here)])
            n = max(1, round(float(count[-1]) + 0.2))
            found[number] = np.interp(np.linspace(0.0, count[-1], n + 1), count, t)
        left = again
        if not left:
            break
    return found
