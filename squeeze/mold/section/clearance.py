"""Slivers: cuts that run too close to each other or to an edge, reported with coordinates."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np
import shapely
from shapely.geometry import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.ops import nearest_points

from squeeze.mold.geometry.curve import CurvePiece, Line
from squeeze.mold.geometry.loop import Loop
from squeeze.mold.geometry.tolerance import ON_MM, SAME_MM
from squeeze.mold.section.cut_path import XY, RubberRegion
from squeeze.mold.section.records import CutStretch
from squeeze.mold.shapes.outline import SHARPEST_DEG

THINNEST_MM = 0.3
"""No feature of rubber may be thinner than this, other than a wedge of at least 8 degrees [mm]."""

LEAST_MM = THINNEST_MM - 0.01
"""What is thinner than this is refused, so that a typed 0.3 passes [mm]."""

_NEAR_JOINT_MM = 2.5  # farther from a joint of 8 degrees two lines are over 0.3 mm apart
_ROUNDED_DEG = 1e-6


@dataclass(frozen=True, eq=False)
class NumberedStretch:
    """A stretch of a cut, with the cut's number and name."""

    cut: int
    name: str
    stretch: CutStretch

    @cached_property
    def line(self) -> LineString:
        """The stretch as a line."""
        return LineString(self.stretch.points)

    @property
    def ends(self) -> tuple[XY, XY]:
        """Both ends."""
        return self.stretch.points[0], self.stretch.points[-1]

    def rays(self, at: XY) -> list[np.ndarray]:
        """Return unit vectors that lead away from the place `at` along the stretch."""
        return [ray for p, q in pairwise(self.stretch.points) for ray in _rays(Line(p, q), at)]


def say_at(p: XY) -> str:
    """Return ``(x, y) mm``, short."""
    return f"({round(p[0], 2) + 0.0:g}, {round(p[1], 2) + 0.0:g}) mm"


def joints(a: NumberedStretch, b: NumberedStretch) -> list[XY]:
    """Return the places where two stretches meet, each once."""
    found = [(p.x, p.y) for p in _points(a.line.intersection(b.line))]
    found += [p for p in a.ends if b.line.distance(Point(p)) < ON_MM]
    found += [p for p in b.ends if a.line.distance(Point(p)) < ON_MM]
    return once(found)


def _points(met: BaseGeometry) -> list[Point]:
    return [part for part in shapely.get_parts(met) if isinstance(part, Point)]


def once(places: list[XY]) -> list[XY]:
    """Return the places without those within 0.02 mm of an earlier one."""
    dropped: set[int] = set()
    for i, j in near_pairs([Point(p) for p in places], SAME_MM):
        if i not in dropped:
            dropped.add(j)
    return [p for k, p in enumerate(places) if k not in dropped]


def near_pairs(shapes: Sequence[BaseGeometry], reach_mm: float) -> list[tuple[int, int]]:
    """Return the pairs of shapes that come within `reach_mm` of each other, in order."""
    if len(shapes) < 2:
        return []
    i, j = shapely.STRtree(shapes).query(shapes, predicate="dwithin", distance=reach_mm)
    return sorted((a, b) for a, b in zip(i.tolist(), j.tolist(), strict=True) if a < b)


@dataclass(frozen=True)
class Meetings:
    """Where stretches of cuts meet each other and the edges.

    Attributes
    ----------
    near : list of (int, int)
        IndexPairs of stretches that come within 0.3 mm of each other.
    joints : dict
        The places where such a pair meets; a pair that does not meet is left out.
    on_edges : tuple of lists
        By stretch: (number of the edge, place) for each of its ends that lies on one.
    near_edges : list of (int, int)
        IndexPairs (stretch, edge) that come within 0.3 mm of each other.
    """

    near: list[tuple[int, int]]
    joints: dict[tuple[int, int], list[XY]]
    on_edges: tuple[list[tuple[int, XY]], ...]
    near_edges: list[tuple[int, int]]

    def by_stretch(self, count: int) -> list[list[XY]]:
        """Return the places where each of `count` stretches meets others."""
        found: list[list[XY]] = [[] for _ in range(count)]
        for (i, j), spots in self.joints.items():
            found[i] += spots
            found[j] += spots
        return found


def meetings(runs: Sequence[NumberedStretch], body: RubberRegion) -> Meetings:
    """Return where stretches meet each other and the edges of a body."""
    if not runs:
        return Meetings([], {}, (), [])
    near = near_pairs([run.line for run in runs], THINNEST_MM)
    met = {(i, j): spots for i, j in near if (spots := joints(runs[i], runs[j]))}
    ends = body.nearest(np.array([end for run in runs for end in run.ends]))
    loops = body.loop_of(ends.piece)
    on = tuple(
        [
            (int(loops[2 * i + k]), end)
            for k, end in enumerate(run.ends)
            if ends.distance[2 * i + k] < ON_MM
        ]
        for i, run in enumerate(runs)
    )
    edges = [loop.polygon.exterior for loop in body.loops]
    lines = [run.line for run in runs]
    i, k = shapely.STRtree(edges).query(lines, predicate="dwithin", distance=THINNEST_MM)
    return Meetings(near, met, on, sorted(zip(i.tolist(), k.tolist(), strict=True)))


def _rays(piece: CurvePiece, at: XY) -> list[np.ndarray]:
    t = piece.nearest(at)
    if math.dist(piece.place(t), at) > ON_MM:
        return []
    along, off = piece.tangent(t), ON_MM / piece.length
    return [along] * (t < 1 - off) + [-along] * (t > off)


def _least_angle(some: Sequence[np.ndarray], others: Sequence[np.ndarray]) -> float:
    """Return the least angle between a ray of the one and a ray of the other [deg]."""
    angles = [abs(math.atan2(u[0] * v[1] - u[1] * v[0], u @ v)) for u in some for v in others]
    return math.degrees(min(angles, default=math.pi))


def overlaps(a: NumberedStretch, b: NumberedStretch) -> str | None:
    """Say where two stretches lie on top of each other; None when they do not."""
    met = [p for p in shapely.get_parts(a.line.intersection(b.line)) if p.length > SAME_MM]
    if not met:
        return None
    ends = met[0].coords
    return (
        f"lies on top of the cut '{b.name}' from {say_at(ends[0])} to {say_at(ends[-1])};"
        " leave one of them out there"
    )


def pair_faults(a: NumberedStretch, b: NumberedStretch, met: list[XY]) -> Iterator[str]:
    """Yield what is too close between two stretches that meet at the given places."""
    if said := overlaps(a, b):
        yield said
        return
    what = f"the cut '{b.name}'"
    sharp = [_too_sharp(what, p, _least_angle(a.rays(p), b.rays(p))) for p in met]
    if said := [text for text in sharp if text]:
        yield from said
    elif close := _too_close(a.line, b.line, met) or _too_close(b.line, a.line, met):
        yield _say_close(what, *close)


def edge_faults(run: NumberedStretch, name: str, loop: Loop, met: list[XY]) -> Iterator[str]:
    """Yield what is too close between a stretch `run` and an edge that it meets at places `met`.

    `name` is what the edge is called: the outline or a cavity; `loop` is its curve.
    """
    rays = [[ray for piece in loop.pieces_near(p, ON_MM) for ray in _rays(piece, p)] for p in met]
    sharp = [
        _too_sharp(name, p, _least_angle(run.rays(p), edge))
        for p, edge in zip(met, rays, strict=True)
    ]
    if said := [text for text in sharp if text]:
        yield from said
    elif close := _too_close(run.line, loop.polygon.exterior, met):
        yield _say_close(name, *close)


def own_faults(run: NumberedStretch, met: list[XY]) -> Iterator[str]:
    """Yield what is too close along one stretch: its own corners, its ends and its joints."""
    yield from _sharp_turns(run.stretch.points)
    if spot := _comes_back(run.line):
        yield (
            f"comes back to within {THINNEST_MM:g} mm of itself at {say_at(spot)}; leave more"
            " rubber between"
        )
    places = sorted({run.line.project(Point(p)) for p in (*met, *run.ends)})
    for s, after in pairwise(places):
        if SAME_MM < after - s < LEAST_MM:
            p, q = (run.line.interpolate(x) for x in (s, after))
            yield (
                f"only {after - s:.2f} mm lie between {say_at((p.x, p.y))} and"
                f" {say_at((q.x, q.y))}, where it meets something or ends; at least"
                f" {THINNEST_MM:g} mm are needed"
            )


def _sharp_turns(points: Sequence[XY]) -> Iterator[str]:
    for before, at, after in zip(points, points[1:], points[2:], strict=False):
        angle = _least_angle([np.subtract(before, at)], [np.subtract(after, at)])
        if angle < SHARPEST_DEG - _ROUNDED_DEG:
            yield (
                f"the path turns back sharply at {say_at(at)}, to {angle:.1f} degrees; at least"
                f" {SHARPEST_DEG:g} are needed"
            )


def _comes_back(line: LineString) -> XY | None:
    """Return a place where a stretch is near to itself again after over 5 mm of its length."""
    if len(line.coords) < 4:
        return None
    s = np.linspace(0.0, line.length, int(line.length / (THINNEST_MM / 2)) + 2)
    places = shapely.line_interpolate_point(line, s)
    i, j = shapely.STRtree(places).query(places, predicate="dwithin", distance=LEAST_MM)
    back = np.flatnonzero(s[j] - s[i] > 2 * _NEAR_JOINT_MM)
    if not len(back):
        return None
    x, y = shapely.get_coordinates(places[i[back[0]]])[0]
    return float(x), float(y)


def _too_close(line: BaseGeometry, other: BaseGeometry, met: list[XY]) -> tuple[XY, float] | None:
    """Return (place, distance) where `line`, away from its joints, comes too near to `other`."""
    rest = line.difference(shapely.multipoints(met).buffer(_NEAR_JOINT_MM)) if met else line
    if rest.is_empty or rest.distance(other) >= LEAST_MM:
        return None
    p, _ = nearest_points(rest, other)
    return (p.x, p.y), rest.distance(other)


def _too_sharp(what: str, p: XY, angle: float) -> str | None:
    if angle >= SHARPEST_DEG - _ROUNDED_DEG:
        return None
    return (
        f"meets {what} at {say_at(p)} at {angle:.1f} degrees; at least"
        f" {SHARPEST_DEG:g} are needed, or the rubber between tapers to nothing"
    )


def _say_close(what: str, p: XY, distance: float) -> str:
    return (
        f"runs {distance:.2f} mm from {what} at {say_at(p)} without meeting it there; at least"
        f" {THINNEST_MM:g} mm are needed"
    )


def thin_pieces(
    runs: Sequence[NumberedStretch], body: RubberRegion
) -> Iterator[tuple[NumberedStretch, str]]:
    """Yield (a cut at its side, sentence) for every piece too thin to hold a 0.3 mm circle."""
    lines = [loop.polygon.exterior for loop in body.loops] + [run.line for run in runs]
    for piece in shapely.get_parts(shapely.polygonize([shapely.union_all(lines, grid_size=1e-4)])):
        middle = piece.representative_point()
        x0, y0, x1, y1 = piece.bounds
        if max(x1 - x0, y1 - y0) < 2 * SAME_MM:  # three cuts through what counts as one place
            continue
        if body.region.contains(middle) and piece.buffer(-LEAST_MM / 2).is_empty:
            nearest = min(runs, key=lambda run: run.line.distance(piece), default=None)
            if nearest is not None:
                yield (
                    nearest,
                    f"leaves a piece of rubber at {say_at((middle.x, middle.y))} that"
                    f" is thinner than {THINNEST_MM:g} mm",
                )


def neck(region: Polygon) -> XY | None:
    """Return a place where the rubber between edges is thinner than 0.3 mm, or None."""
    core = region.buffer(-LEAST_MM / 2)
    if isinstance(core, Polygon) and not core.is_empty:
        if len(core.interiors) == len(region.interiors):
            return None
    lost = region.difference(core.buffer(THINNEST_MM / 2 + 0.02))
    part = max(shapely.get_parts(lost), key=lambda p: p.area, default=region)
    middle = part.representative_point()
    return middle.x, middle.y
