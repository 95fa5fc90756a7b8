"""Leaks: paths of open parts of lands that join a cavity to the outside or to another cavity."""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass

from squeeze.verdict.seal.land_graph import LandPart, Node


@dataclass(frozen=True)
class Leak:
    """A path without a barrier.

    Attributes
    ----------
    start, end : str
        What it joins, in words: a cavity in quotes, or the outside.
    lands : tuple of int
        Numbers of the lands that it runs along, in order.
    barrier_kpa : float
        The hardest stretch on its path [kPa]; less than what is needed.
    """

    start: str
    end: str
    lands: tuple[int, ...]
    barrier_kpa: float


def leak_paths(parts: Sequence[LandPart], open_parts: Sequence[int]) -> list[list[int]]:
    """Return the open parts by the paths that they form; paths join where cuts meet.

    `open_parts` are places in `parts`, from 0; a path lists such places too.
    """
    left, found = list(open_parts), []
    while left:
        path = [left.pop(0)]
        nodes = {node for node in ends(parts[path[0]]) if not node.terminal}
        grown = True
        while grown:
            more = [k for k in left if any(node in nodes for node in ends(parts[k]))]
            path += more
            left = [k for k in left if k not in more]
            nodes |= {n for k in more for n in ends(parts[k]) if not n.terminal}
            grown = bool(more)
        found.append(path)
    return found


def carrying(parts: Sequence[LandPart], path: Sequence[int]) -> list[int]:
    """Return the parts of a path that lead on at both ends; none unless it joins two things."""
    left = list(path)
    while True:
        nodes = [node for k in left for node in ends(parts[k])]
        kept = [k for k in left if all(n.terminal or nodes.count(n) > 1 for n in ends(parts[k]))]
        if len(kept) == len(left):
            break
        left = kept
    joined = {node for k in left for node in ends(parts[k]) if node.terminal}
    return left if len(joined) > 1 else []


def leaks_of(
    parts: Sequence[LandPart], strength: Sequence[float], path: Sequence[int]
) -> tuple[Leak, ...]:
    """Return the leaks between each two of cavities and outside that one path joins.

    Parameters
    ----------
    parts : sequence of LandPart
    strength : sequence of float
        By part, of its best barrier [kPa].
    path : sequence of int
        Numbers of its parts.
    """
    found: dict[frozenset[Node], Leak] = {}
    for start in dict.fromkeys(node for k in path for node in ends(parts[k])):
        if start.terminal:
            for end, steps in _shortest_paths(start, parts, path).items():
                if frozenset((start, end)) not in found:
                    found[frozenset((start, end))] = _leak(start, end, steps, parts, strength)
    return tuple(found.values())


def ends(part: LandPart) -> tuple[Node, Node]:
    """Return the nodes at both ends of a part."""
    return part.start, part.end


def _shortest_paths(
    start: Node, parts: Sequence[LandPart], open_parts: Sequence[int]
) -> dict[Node, list[int]]:
    """Return the path with the fewest parts to each terminal, through junctions of cuts alone."""
    path: dict[Node, list[int]] = {start: []}
    queue = deque([start])
    while queue:
        node = queue.popleft()
        for k in open_parts:
            if node in ends(parts[k]):
                other = parts[k].other(node)
                if other not in path:
                    path[other] = [*path[node], k]
                    if not other.terminal:
                        queue.append(other)
    return {node: steps for node, steps in path.items() if node.terminal and steps}


def _leak(
    start: Node, end: Node, path: list[int], parts: Sequence[LandPart], strength: Sequence[float]
) -> Leak:
    if end.kind == "cavity" and start.kind != "cavity":
        start, end, path = end, start, path[::-1]
    lands = tuple(dict.fromkeys(parts[k].land for k in path))
    return Leak(start.text, end.text, lands, max(strength[k] for k in path))
