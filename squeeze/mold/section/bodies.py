"""Bodies besides the block: fillers and cradle pieces, made and checked."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import combinations

import numpy as np
import shapely
from shapely.geometry import LinearRing, LineString, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.ops import nearest_points

from squeeze.mold.cradle.pieces import pieces_of
from squeeze.mold.errors import BadInput, Fault
from squeeze.mold.geometry.curve import CurvePiece, Points
from squeeze.mold.geometry.curve_parts import end_of, seat_of
from squeeze.mold.geometry.loop import Loop
from squeeze.mold.geometry.tolerance import ON_MM
from squeeze.mold.rubber import material
from squeeze.mold.section.clearance import LEAST_MM, THINNEST_MM, near_pairs, neck, say_at
from squeeze.mold.section.cut_path import RubberRegion
from squeeze.mold.section.records import CradlePiece, Cut, Filler
from squeeze.mold.shapes.outline import SHARPEST_DEG, loop_of
from squeeze.mold.tables.mold import Mold

_GRID = 1e-4


def fillers_of(mold: Mold, body: RubberRegion, cuts: Sequence[Cut]) -> tuple[Filler, ...]:
    """Return the fillers of a mold, checked against its block, cavities and cuts.

    Raises
    ------
    BadInput
        When one lies outside the rubber, overlaps another, or leaves slivers.
    """
    faults: list[Fault] = []
    made = []
    for entry in mold.filler:
        try:
            made.append(Filler(entry.name, loop_of(entry), material(entry)))
        except BadInput as error:
            key = f"filler.{entry.name}"
            faults += [Fault(f"{key}.{fault.key}", fault.text) for fault in error.faults]
    faults += _misplaced(made, body)
    if not faults and made:
        faults += _slivers(made, body, cuts)
    if faults:
        raise BadInput(faults)
    return tuple(made)


def _misplaced(fillers: Sequence[Filler], body: RubberRegion) -> Iterator[Fault]:
    for filler in fillers:
        if filler.loop.polygon.intersection(body.region).area < THINNEST_MM**2:
            yield Fault(f"filler.{filler.name}", "lies nowhere in the rubber")
    for i, j in near_pairs([filler.loop.polygon for filler in fillers], 0.0):
        a, b = fillers[i], fillers[j]
        both = a.loop.polygon.intersection(b.loop.polygon)
        if both.area > 0.01:
            text = f"overlaps the filler '{a.name}' at {_spot(both)}; they may only touch"
            yield Fault(f"filler.{b.name}", text)


def _slivers(fillers: Sequence[Filler], body: RubberRegion, cuts: Sequence[Cut]) -> Iterator[Fault]:
    """Yield parts that the fillers' edges leave too thin or too sharp to reckon with."""
    lines = [loop.polygon.exterior for loop in body.loops]
    lines += [LineString(s.points) for cut in cuts for s in cut.stretches]
    edges = [LinearRing(filler.loop.points(0.001)) for filler in fillers]
    faces = shapely.get_parts(
        shapely.polygonize([shapely.union_all([*lines, *edges], grid_size=_GRID)])
    )
    for face in faces:
        near = [k for k, edge in enumerate(edges) if face.boundary.distance(edge) < 2 * _GRID]
        if not near or not body.region.contains(face.representative_point()):
            continue
        key = f"filler.{fillers[near[0]].name}"
        if spot := neck(face):
            text = f"leaves a part thinner than {THINNEST_MM:g} mm at {say_at(spot)}"
            yield Fault(key, text + "; let it touch or leave more between")
        elif sharp := _sharp(face):
            yield Fault(key, f"leaves a part that tapers to {sharp[1]:.1f} degrees at {sharp[0]}")


def _sharp(face: Polygon) -> tuple[str, float] | None:
    """Return the place and angle of a face's corner that is sharper than 8 degrees, or None."""
    plain = shapely.simplify(face, 0.0005)
    rings = [np.array(ring.coords)[:-1] for ring in (plain.exterior, *plain.interiors)]
    corners = [(float(a), p) for ring in rings for a, p in zip(_angles(ring), ring, strict=True)]
    angle, place = min(corners, key=lambda corner: corner[0])
    return (say_at((place[0], place[1])), angle) if angle < SHARPEST_DEG - 1e-6 else None


def _angles(ring: Points) -> Points:
    """Return the angle at each corner of a ring, without its sign [deg]."""
    before, after = np.roll(ring, 1, axis=0) - ring, np.roll(ring, -1, axis=0) - ring
    cross = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    return np.abs(np.degrees(np.arctan2(cross, np.sum(before * after, axis=1))))


def cradles_of(mold: Mold, outline: Loop, cuts: Sequence[Cut]) -> tuple[CradlePiece, ...]:
    """Return the cradle pieces of a mold, checked against its block and each other.

    Raises
    ------
    BadInput
        When one cannot be made as described, or collides with the block or another.
    """
    faults: list[Fault] = []
    made: list[tuple[str, CradlePiece]] = []
    for entry in mold.cradle:
        key = f"cradle.{entry.name}"
        try:
            pieces = list(pieces_of(entry, outline))
        except BadInput as error:
            faults += [Fault(".".join(filter(None, (key, f.key))), f.text) for f in error.faults]
            continue
        for piece in pieces:
            if text := _unfit(piece, outline):
                faults.append(Fault(key, text))
            else:
                made.append((key, piece))
    faults += [
        Fault(key, text)
        for (_, a), (key, b) in combinations(made, 2)
        if (text := _collision(a, b, outline))
    ]
    faults += [Fault(key, text) for key, piece in made for text in _mouths(piece, outline, cuts)]
    if faults:
        raise BadInput(faults)
    return tuple(piece for _, piece in made)


def _unfit(piece: CradlePiece, outline: Loop) -> str | None:
    """Say what keeps a piece from being made and put on the block."""
    region = piece.loop.polygon
    if not region.is_valid or piece.loop.area <= 0:
        return "the piece's edge crosses itself; make it thicker or reach round less"
    inside = region.intersection(outline.polygon).buffer(-0.02)
    if not inside.is_empty:
        return f"the piece reaches into the block at {_spot(inside)}"
    if spot := neck(region):
        return f"the piece is thinner than {THINNEST_MM:g} mm at {say_at(spot)}"
    if sharp := _sharp(region):
        return f"the piece tapers to {sharp[1]:.1f} degrees at {sharp[0]}"
    return None


def _collision(a: CradlePiece, b: CradlePiece, outline: Loop) -> str | None:
    """Say where two pieces overlap, or come close without touching along an edge."""
    both = a.loop.polygon.intersection(b.loop.polygon)
    if both.area > 0.01:
        return f"overlaps the piece '{a.name}' at {_spot(both)}"
    apart = a.loop.polygon.distance(b.loop.polygon)
    if apart >= LEAST_MM:
        return None
    p, _ = nearest_points(a.loop.polygon, b.loop.polygon)
    if apart < ON_MM and any(_shared(piece, a.loop) for piece in b.loop.pieces):
        return None
    return (
        f"comes within {apart:.2f} mm of the piece '{a.name}' at {say_at((p.x, p.y))}; let them"
        f" touch along an edge, or leave {THINNEST_MM:g} mm at least"
    )


def _shared(piece: CurvePiece, loop: Loop) -> bool:
    places = piece.at([0.1, 0.5, 0.9])
    return loop.distances(places).max() < ON_MM and piece.length > THINNEST_MM


def _mouths(piece: CradlePiece, outline: Loop, cuts: Sequence[Cut]) -> Iterator[str]:
    """Yield where a cut comes out so near to an end of the seat that nothing fits between."""
    seat = seat_of(outline, piece.loop)
    for cut in cuts:
        for p in (p for s in cut.stretches for p in (s.points[0], s.points[-1])):
            for end in (seat[0].at(0.0)[0], end_of(seat[-1])):
                away = math.dist(p, end)
                if ON_MM < away < LEAST_MM:
                    yield (
                        f"the seat ends {away:.2f} mm from where the cut '{cut.name}' comes out,"
                        f" at {say_at(p)}; move one of them by {THINNEST_MM:g} mm or more"
                    )


def _spot(region: BaseGeometry) -> str:
    middle = region.representative_point()
    return say_at((middle.x, middle.y))
