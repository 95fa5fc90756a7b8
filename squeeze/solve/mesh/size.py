"""How large triangles should be: small at lands and tight curves, growing away from them."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import KDTree
from shapely import contains_xy
from shapely.geometry import Polygon

from squeeze.mold.geometry.curve import Arc, even_parts
from squeeze.mold.geometry.loop import Loop
from squeeze.mold.geometry.tolerance import ON_MM
from squeeze.mold.section.records import Section

Points = NDArray[np.float64]
FineSpot = tuple[float, float, float]
Place = tuple[float, float]

GROWTH = 0.4  # by how much the edge length may grow per mm of distance
EDGES_PER_LAND = 12
EDGES_PER_TURN = 18  # edges on a full circle
EDGES_PER_SEAT = 16
EDGES_PER_CRADLE_TURN = 10  # a cradle piece is stiff: what counts is its seat
EDGES_PER_BLOCK = 9  # edges across the whole section, at most
ASLANT_DEG = 5.0  # off the right angle, beyond which pressure is singular at a cut's outlet
OUTLET_EDGES = 480  # edges of an outlet's size across the section; they halve twice as fast


@dataclass(frozen=True, eq=False)
class SizeMap:
    """Wanted edge length over the plane: least over all sources of (its size + growth x distance).

    Attributes
    ----------
    sources : tuple of (size [mm], tree of points)
    largest_mm : float
        The largest answer.
    growth : float
        By how much the edge length may grow per mm of distance.
    block : Polygon or None
        Where `in_block_mm` is the largest; None where there is nothing but the block.
    in_block_mm : float
    """

    sources: tuple[tuple[float, KDTree], ...]
    largest_mm: float
    growth: float = GROWTH
    block: Polygon | None = None
    in_block_mm: float = np.inf

    @property
    def least_mm(self) -> float:
        """The shortest edge that is wanted anywhere [mm]."""
        return min((h for h, _ in self.sources), default=self.largest_mm)

    def __call__(self, points: Points) -> NDArray[np.float64]:
        """Wanted edge length at `points` (n, 2), shape (n,) [mm]."""
        size = np.full(len(points), self.largest_mm)
        if self.block is not None:
            size[contains_xy(self.block, *points.T)] = self.in_block_mm
        for h, tree in self.sources:
            asked = np.flatnonzero(size > h)
            if not len(asked):
                continue
            here = size[asked]
            # beyond its reach a source asks for nothing: the distance is infinite
            reach = 1.001 * (float(here.max()) - h) / self.growth + ON_MM
            away = tree.query(points[asked], distance_upper_bound=reach)[0]
            size[asked] = np.minimum(here, h + self.growth * away)
        return size


def size_map(section: Section, fineness: float = 1.0, finer: tuple[FineSpot, ...] = ()) -> SizeMap:
    """Return the size map of a section.

    Parameters
    ----------
    section : Section
    fineness : float
        1 = the default mesh; 2 halves every edge.
    finer : tuple of (x, y, size)
        Spots with an edge length of their own [mm], from which edges grow as everywhere.

    Returns
    -------
    SizeMap
    """
    width = across(section)
    largest = width / EDGES_PER_BLOCK
    wanted = [source for loop in _soft(section) for source in _of_loop(loop, EDGES_PER_TURN)]
    coarse = max([largest, *(_thickness(piece.loop) / 2 for piece in section.cradles)])
    if coarse > largest:
        wanted.append((largest, section.outline.points(0.05)))
    for piece in section.cradles:
        wanted += _of_loop(piece.loop, EDGES_PER_CRADLE_TURN)
        wanted += [(piece.loop.length / 2 / EDGES_PER_SEAT, p) for p in _seat(piece.loop, section)]
    wanted += [
        (min(largest, max(_length(p) / EDGES_PER_LAND, width / 200)), p)
        for cut in section.cuts
        for p in (np.array(stretch.points) for stretch in cut.stretches)
    ]
    floor = width / 1500
    lines: dict[float, list[Points]] = {}
    for size, line in wanted:
        lines.setdefault(float(max(size, floor)), []).append(line)
    sources = [
        (h / fineness, KDTree(_dense(same, h / fineness))) for h, same in sorted(lines.items())
    ]
    spots: dict[float, list[Place]] = {}
    for x, y, size in (*_outlets(section, fineness), *finer):
        spots.setdefault(size, []).append((x, y))
    sources += [(size, KDTree(np.array(places))) for size, places in spots.items()]
    made = SizeMap(tuple(sources), coarse / fineness, GROWTH / fineness)
    if coarse == largest:
        return made
    # somewhat wider: places on the outline are inside, whatever their last bit says
    block = section.outline.polygon.buffer(2 * ON_MM)
    return replace(made, block=block, in_block_mm=largest / fineness)


def across(section: Section) -> float:
    """Return the lesser of width and height of the block [mm]."""
    x0, y0, x1, y1 = section.outline.polygon.bounds
    return float(min(x1 - x0, y1 - y0))


def outlet_mm(section: Section, fineness: float) -> float:
    """Return the edge length at a cut's outlet, where pressure is singular [mm].

    It falls with the square of the `fineness`.
    """
    return across(section) / OUTLET_EDGES / fineness**2


def _outlets(section: Section, fineness: float) -> list[FineSpot]:
    """Return the places where a cut leaves the rubber aslant.

    There pressure goes to zero like a power of the distance, which even edges miss by far.
    """
    size = outlet_mm(section, fineness)
    found = []
    for cut in section.cuts:
        for stretch in cut.stretches:
            line = np.array(stretch.points)
            for end, near in ((line[0], line[1]), (line[-1], line[-2])):
                if lip_angle(end, near - end, section) is not None:
                    found.append((float(end[0]), float(end[1]), size))
    return found


def lip_angle(place: Points, along: Points, section: Section) -> float | None:
    """Return the angle at which a cut leaves the rubber, where that is not the right one [rad].

    Parameters
    ----------
    place, along : array (2,)
        Where the cut ends, and from there along it [mm].
    section : Section

    Returns
    -------
    float or None
        Between the cut and the rubber's edge that differs most from the right angle; None where no
        edge of the rubber runs through the place aslant.
    """
    for loop in _soft(section):
        if pieces := loop.pieces_near(place, ON_MM):
            tangents = (piece.tangent(piece.nearest(place)) for piece in pieces)
            cosine = max((float(t @ along) for t in tangents), key=abs) / np.hypot(*along)
            is_aslant = abs(cosine) > np.sin(np.radians(ASLANT_DEG))
            return float(np.arccos(np.clip(cosine, -1.0, 1.0))) if is_aslant else None
    return None


def _thickness(loop: Loop) -> float:
    """Return the thickness of a piece that is longer than thick, about [mm]."""
    return 2 * loop.area / loop.length


def _soft(section: Section) -> list[Loop]:
    inner = (*section.cavities, *section.fillers)
    return [section.outline, *(entry.loop for entry in inner)]


def _seat(loop: Loop, section: Section) -> list[Points]:
    """Pieces of a cradle piece's edge that lie on the block's outline."""
    on = section.outline.distances([piece.place(0.5) for piece in loop.pieces]) < ON_MM
    return [p.at(p.even(8)) for p, lies_on in zip(loop.pieces, on, strict=True) if lies_on]


def _of_loop(loop: Loop, edges_per_turn: int) -> list[tuple[float, Points]]:
    """Arcs ask for a share of their turn, the whole loop for a share of its length."""
    found = [(loop.length / edges_per_turn, loop.points(0.05))]
    for piece in loop.pieces:
        if isinstance(piece, Arc):
            h = 2 * np.pi * piece.least_radius / edges_per_turn
            found.append((h, piece.at(even_parts(8))))
    return found


def _length(p: Points) -> float:
    return float(np.hypot(*np.diff(p, axis=0).T).sum())


def _dense(lines: list[Points], h: float) -> Points:
    """Points along polylines, at most h / 2 apart."""
    begin = np.vstack([line[:-1] for line in lines])
    step = np.vstack([line[1:] for line in lines]) - begin
    parts = np.maximum(1, np.ceil(2 * np.hypot(*step.T) / h - 1e-6)).astype(np.int64)
    number = np.arange(parts.sum()) - np.repeat(np.cumsum(parts) - parts, parts)
    share = (number + 1) / np.repeat(parts, parts)
    inner = np.repeat(begin, parts, axis=0) + np.repeat(step, parts, axis=0) * share[:, None]
    return np.vstack([*(line[:1] for line in lines), inner])
