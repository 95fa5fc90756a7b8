"""Where the curves of a section meet: crossings, ends that lie on another curve, shared stretches.

Cuts are trimmed to outline and cavities before they come here; fillers and cradle pieces are not.
"""

from __future__ import annotations

from collections import defaultdict
from itertools import pairwise

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.spatial import KDTree

from squeeze.mold.geometry.crossings import crossings
from squeeze.mold.geometry.curve import CurvePiece, Line
from squeeze.mold.geometry.edges import Edges
from squeeze.mold.geometry.loop import Loop
from squeeze.mold.geometry.tolerance import ON_MM, SAME_MM
from squeeze.mold.section.records import Cut, Section

Points = NDArray[np.float64]
RequiredNodes = list[dict[int, list[float]]]
"""By loop, by piece: the parameters at which there has to be a node."""


def required_nodes(section: Section) -> RequiredNodes:
    """Return where each loop of a section has to have a node because something meets it.

    Parameters
    ----------
    section : Section

    Returns
    -------
    list of dict
        By loop (outline, cavities, fillers, cradle pieces), by piece: parameters.
    """
    loops = section.loops
    found: RequiredNodes = [defaultdict(list) for _ in loops]
    ends = [p for cut in section.cuts for s in cut.stretches for p in (s.points[0], s.points[-1])]
    for number, loop in enumerate(loops):
        _require(found[number], loop, np.array(ends).reshape(-1, 2))
    for a, b in pairs(section):
        places = loop_meetings(loops[a], loops[b])
        _require(found[a], loops[a], places)
        _require(found[b], loops[b], places)
    for number in filler_numbers(section):
        for cut in section.cuts:
            _require(found[number], loops[number], cut_meetings_with(cut, loops[number]))
    return found


def filler_numbers(section: Section) -> range:
    """Numbers of the fillers' loops."""
    first = 1 + len(section.cavities)
    return range(first, first + len(section.fillers))


def cradle_numbers(section: Section) -> range:
    """Numbers of the cradle pieces' loops."""
    first = 1 + len(section.cavities) + len(section.fillers)
    return range(first, first + len(section.cradles))


def partners(section: Section, number: int) -> list[int]:
    """Numbers of the earlier loops that loop `number` may cross or share a stretch with."""
    if number in cradle_numbers(section):
        return [0, *range(cradle_numbers(section).start, number)]
    return list(range(number)) if number in filler_numbers(section) else []


def pairs(section: Section) -> list[tuple[int, int]]:
    """Pairs of loops that may meet: their boxes touch."""
    boxes = [shapely.box(*_box(loop)) for loop in section.loops]
    near: list[set[int]] = [set() for _ in boxes]
    for a, b in shapely.STRtree(boxes).query(boxes, predicate="intersects").T.tolist():
        near[b].add(a)
    return [(a, b) for b in range(len(boxes)) for a in partners(section, b) if a in near[b]]


def _box(loop: Loop) -> tuple[float, float, float, float]:
    boxes = loop.edges.boxes
    (x0, y0), (x1, y1) = boxes[:, :2].min(axis=0) - SAME_MM, boxes[:, 2:].max(axis=0) + SAME_MM
    return float(x0), float(y0), float(x1), float(y1)


def _require(at: dict[int, list[float]], loop: Loop, places: Points) -> None:
    if len(places):
        near = loop.edges.nearest(places)
        for k, t, distance in zip(near.piece, near.at, near.distance, strict=True):
            if distance < ON_MM:
                at[int(k)].append(float(t))


def loop_meetings(a: Loop, b: Loop) -> Points:
    """Return the places (k, 2) where two loops cross, and ends of pieces of one on the other [mm].

    A crossing within 0.02 mm of such an end is that end.
    """
    near = a.edges.near_boxes(b.edges, SAME_MM)
    if not near:
        return np.zeros((0, 2))
    crossed = [
        a.pieces[i].place(t) for i, j in near for t, _ in crossings(a.pieces[i], b.pieces[j])
    ]
    return _distinct([*_ends_on(a, b.edges), *_ends_on(b, a.edges)], crossed)


def _ends_on(loop: Loop, edges: Edges) -> list[Points]:
    """Return the ends of a loop's pieces that lie on some edges."""
    ends = np.array([piece.place(0.0) for piece in loop.pieces])
    return list(ends[edges.nearest(ends).distance < ON_MM])


def _distinct(ends: list, crossed: list) -> Points:
    """Return the ends, and the crossings that are not within 0.02 mm of one or of each other."""
    places = np.array([*ends, *crossed]).reshape(-1, 2)
    dropped: set[int] = set()
    near = KDTree(places).query_pairs(SAME_MM, output_type="ndarray") if len(places) else places
    for i, j in sorted(near.tolist()):
        if i not in dropped and j >= len(ends):
            dropped.add(j)
    return places[[k for k in range(len(places)) if k not in dropped]]


def shared(piece: CurvePiece, part: tuple[float, float], loop: Loop) -> int | None:
    """Return the number of the loop's piece on which a stretch of `piece` lies, or None.

    `part` is the stretch: the parameter at its start and at its end.
    """
    near = loop.edges.nearest(piece.at(np.linspace(*part, 5)))
    return None if near.distance.max() > 2 * ON_MM else int(near.piece[2])


def cut_meetings_with(cut: Cut, loop: Loop) -> Points:
    """Return the places (k, 2) where a cut's stretches meet a loop [mm].

    Ends of its pieces that lie on the cut are among them.
    """
    lines = cut_lines(cut)
    if not lines:
        return np.zeros((0, 2))
    edges = Edges(lines)
    ends = np.array([p for line in lines for p in (line.start, line.end)])
    on = [*ends[loop.distances(ends) < ON_MM], *_ends_on(loop, edges)]
    near = edges.near_boxes(loop.edges, SAME_MM)
    crossed = [lines[i].place(t) for i, j in near for t, _ in crossings(lines[i], loop.pieces[j])]
    return _distinct(on, crossed)


def cut_meetings(cuts: tuple[Cut, ...]) -> list[Points]:
    """Return where cuts cross or stop on each other or on themselves, by cut, each (k, 2) [mm]."""
    lines = [(number, line) for number, cut in enumerate(cuts) for line in cut_lines(cut)]
    found: list[list[tuple[float, float]]] = [[] for _ in cuts]
    if not lines:
        return [np.zeros((0, 2)) for _ in cuts]
    edges = Edges([line for _, line in lines])
    for i, j in edges.near_boxes(edges, SAME_MM):
        (a, line), (b, other) = lines[i], lines[j]
        own = a == b and i < j and line.end != other.start
        if a < b or own:
            for place in _line_meetings(line, other):
                found[a].append(place)
                found[b].append(place)
    return [np.array(places).reshape(-1, 2) for places in found]


def _line_meetings(a: Line, b: Line) -> list[tuple[float, float]]:
    """Return the ends of two lines that lie on the other one; if there are none, the crossing."""
    ends = [
        end
        for line, other in ((a, b), (b, a))
        for end in (line.start, line.end)
        if np.hypot(*np.subtract(other.place(other.nearest(end)), end)) < ON_MM
    ]
    return ends or [a.place(t) for t, _ in crossings(a, b)]


def cut_lines(cut: Cut) -> list[Line]:
    """Straight parts of a cut's stretches."""
    return [Line(p, q) for s in cut.stretches for p, q in pairwise(s.points)]
