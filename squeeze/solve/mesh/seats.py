"""Seats and joints of cradle pieces before meshing: along what, and where they are broken."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from squeeze.mold.section.records import Section
from squeeze.solve.mesh import meetings
from squeeze.solve.mesh.graph import NodeRegister, SeamChain
from squeeze.solve.mesh.loops import LoopNodes


def seat_chains(
    section: Section, nodes: NodeRegister, placed: LoopNodes, found: tuple[SeamChain, ...]
) -> tuple[tuple[SeamChain, ...], tuple[SeamChain, ...]]:
    """Return seats and joints of the cradle pieces, broken where another seam meets them.

    `section` has the pieces, `nodes` and `placed` the nodes so far, `found` the chains of the cuts.
    """
    cradles = meetings.cradle_numbers(section)
    chains = [chain for (k, _), found in placed.shared.items() if k in cradles for chain in found]
    meets = _junctions([*chains, *(chain.nodes for chain in found)])
    seats: list[SeamChain] = []
    joints: list[SeamChain] = []
    for number in cradles:
        for other in meetings.partners(section, number):
            edges = {
                frozenset(pair)
                for chain in placed.shared.get((number, other), [])
                for pair in pairwise(chain)
            }
            along = [s.nodes for s in placed.sides if s.loop == other]
            onto = seats if other == 0 else joints
            onto += _broken_chains(_seam(section, number, other), along, edges, meets, nodes)
    return tuple(seats), tuple(joints)


def _seam(section: Section, number: int, other: int) -> int:
    """Return the number of a seat, or of a joint, among the section's seams."""
    piece = number - meetings.cradle_numbers(section).start
    return len(section.cuts) + piece + (len(section.cradles) if other else 0)


def _junctions(chains: list[tuple[int, ...]]) -> set[int]:
    """Nodes at which other than two edges of seams meet."""
    count: dict[int, int] = {}
    for chain in chains:
        for a, b in pairwise(chain):
            count[a] = count.get(a, 0) + 1
            count[b] = count.get(b, 0) + 1
    return {node for node, n in count.items() if n != 2}


def _broken_chains(
    seam: int,
    along: list[tuple[int, ...]],
    edges: set[frozenset[int]],
    meets: set[int],
    nodes: NodeRegister,
) -> list[SeamChain]:
    """Return the chains of `edges` in the order of a loop, broken at `meets`."""
    ring = [pair for chain in along for pair in pairwise(chain)]
    on = [frozenset(pair) in edges for pair in ring]
    begin = next((k for k in range(len(ring)) if on[k] and not on[k - 1]), 0)
    found: list[SeamChain] = []
    chain: list[int] = []
    away = started = 0.0
    for k in [*range(begin, len(ring)), *range(begin)]:
        if not on[k]:
            continue
        a, b = ring[k]
        if chain and (a != chain[-1] or a in meets):
            found.append(SeamChain(seam, len(found), started, tuple(chain)))
            chain = []
        if not chain:
            chain, started = [a], away
        chain.append(b)
        away += float(np.hypot(*np.subtract(nodes.places[b], nodes.places[a])))
    return [*found, SeamChain(seam, len(found), started, tuple(chain))] if chain else found
