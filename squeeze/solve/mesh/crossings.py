"""Where the curves of a section meet: crossings, ends that lie on another curve, shared stretches.

Cuts are trimmed to outline and cavities before they come here; fillers and cradle pieces are not.
"""

from __future__ import annotations

from collections import defaultdict
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq

from squeeze.mold.geometry.curve import Line, Loop, Piece
from squeeze.mold.section.records import Cut, Section

Points = NDArray[np.float64]
Stops = list[dict[int, list[float]]]
"""By loop, by piece: the parameters at which there has to be a node."""

SNAP_MM = 1e-5

_SAMPLES = 33


def stops(section: Section) -> Stops:
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
    found: Stops = [defaultdict(list) for _ in loops]
    ends = [p for cut in section.cuts for s in cut.stretches for p in (s.points[0], s.points[-1])]
    for number, loop in enumerate(loops):
        for place in ends:
            _stop(found[number], loop, place)
    for a, b in pairs(section):
        for p in loop_meetings(loops[a], loops[b]):
            _stop(found[a], loops[a], p)
            _stop(found[b], loops[b], p)
    for number in filler_numbers(section):
        for cut in section.cuts:
            for p in cut_meetings_with(cut, loops[number]):
                _stop(found[number], loops[number], p)
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
    """Numbers of the earlier loops that a loop may cross or share a stretch with."""
    if number in cradle_numbers(section):
        return [0, *range(cradle_numbers(section).start, number)]
    return list(range(number)) if number in filler_numbers(section) else []


def pairs(section: Section) -> list[tuple[int, int]]:
    """Pairs of loops that may meet."""
    return [(a, b) for b in range(len(section.loops)) for a in partners(section, b)]


def _stop(at: dict[int, list[float]], loop: Loop, place: tuple[float, float] | Points) -> None:
    k, t, distance = loop.nearest(place)
    if distance < SNAP_MM:
        at[k].append(t)


def loop_meetings(a: Loop, b: Loop) -> list[Points]:
    """Places where two loops cross, and ends of pieces of the one that lie on the other [mm]."""
    found = [p for piece in a.pieces for p in piece.at([0.0]) if b.nearest(p)[2] < SNAP_MM]
    found += [p for piece in b.pieces for p in piece.at([0.0]) if a.nearest(p)[2] < SNAP_MM]
    for piece in b.pieces:
        for other in a.pieces:
            if _apart(piece, other):
                continue
            found += [p for p in _crossings(other, piece) if _on(other, p)]
            found += [p for p in _crossings(piece, other) if _on(piece, p)]
    return found


def _apart(a: Piece, b: Piece) -> bool:
    (x0, y0, x1, y1), (x2, y2, x3, y3) = a.box(), b.box()
    return x1 < x2 - 1e-3 or x3 < x0 - 1e-3 or y1 < y2 - 1e-3 or y3 < y0 - 1e-3


def _on(piece: Piece, place: Points) -> bool:
    return float(np.hypot(*(piece.at(piece.nearest(place))[0] - place))) < SNAP_MM


def _crossings(a: Piece, b: Piece) -> list[Points]:
    """Places of `b` that lie on the whole curve of `a`; none where the two curves are the same."""
    t = np.linspace(0.0, 1.0, _SAMPLES)
    off = _off(a, b.at(t))
    if np.abs(off).max() < 1e-6:
        return []
    change = np.flatnonzero(np.sign(off[:-1]) * np.sign(off[1:]) < 0)
    roots: list[Any] = [
        brentq(lambda s: float(_off(a, b.at(s))[0]), t[i], t[i + 1], xtol=1e-14) for i in change
    ]
    return [b.at(s)[0] for s in [*roots, *t[off == 0.0]]]


def _off(piece: Piece, places: Points) -> NDArray[np.float64]:
    """Signed measure of how far places are off a piece's whole curve; about mm near it."""
    if isinstance(piece, Line):
        normal = np.array([-1.0, 1.0]) * piece.tangent(0.0)[::-1]
        return (places - np.array(piece.start)) @ normal
    r = np.array(piece.radii)
    return (np.hypot(*((places - piece.centre) / r).T) - 1.0) * float(r.min())


def shared(piece: Piece, part: tuple[float, float], loop: Loop) -> int | None:
    """Return the number of the loop's piece on which a stretch of `piece` lies, or None."""
    places = piece.at(np.linspace(*part, 5))
    if any(loop.nearest(p)[2] > 2 * SNAP_MM for p in places):
        return None
    return loop.nearest(places[2])[0]


def cut_meetings_with(cut: Cut, loop: Loop) -> list[Points]:
    """Places where a cut's stretches meet a loop, ends of its pieces on the cut included [mm]."""
    found = []
    for line in cut_lines(cut):
        a, b = np.array(line.start), np.array(line.end)
        found += [a + s * (b - a) for _, _, s in loop.crossings(a, b)]
        found += [p for piece in loop.pieces for p in piece.at([0.0]) if _on(line, p)]
        found += [p for p in (a, b) if loop.nearest(p)[2] < SNAP_MM]
    return found


def cut_lines(cut: Cut) -> list[Line]:
    """Straight parts of a cut's stretches."""
    return [
        Line(p, q) for s in cut.stretches for p, q in zip(s.points[:-1], s.points[1:], strict=True)
    ]
