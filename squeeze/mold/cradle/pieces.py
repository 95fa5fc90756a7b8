"""From cradle tables to pieces: where they sit, what their backs are, how their seats stand off."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from shapely.geometry import LineString, MultiLineString, Polygon
from shapely.ops import linemerge

from squeeze.mold.cradle.backs import Back, back_of, straight_lines
from squeeze.mold.cradle.materials import MATERIALS
from squeeze.mold.geometry.curve import CurvePiece, Line, Points
from squeeze.mold.geometry.curve_parts import Spot, rounded_path, snapped, stretch, turned
from squeeze.mold.geometry.loop import Loop
from squeeze.mold.geometry.tolerance import ON_MM, SAME_MM
from squeeze.mold.section.records import CradlePiece, Material
from squeeze.mold.shapes.corners import bad
from squeeze.mold.tables.cradle import CradleTable

TOWARDS = {"right": (1.0, 0.0), "top": (0.0, 1.0), "left": (-1.0, 0.0), "bottom": (0.0, -1.0)}
FIRST_JOINT_DEG = {2: 0.0, 3: 90.0, 4: 45.0}
FACES_DEG = 40.0
"""On a curved outline a side is what faces it within this angle."""

LEAST_SEAT_MM = 1.0
GAPS = 65


def pieces_of(cradle: CradleTable, outline: Loop) -> Iterator[CradlePiece]:
    """Yield the pieces that one table describes, for a block with this outline.

    Raises
    ------
    BadInput
        With the key (within the table) when they cannot be made as described.
    """
    made = list(_made(cradle, outline))
    for number, piece in enumerate(made, start=1):
        name = cradle.name if len(made) == 1 else f"{cradle.name} {number}"
        gap, length = _gaps(cradle, piece)
        loop = Loop((*(turned(p) for p in reversed(piece.seat)), *piece.outer))
        yield CradlePiece(name, loop, _material(cradle), cradle.friction, gap, length)


def _material(cradle: CradleTable) -> Material:
    if cradle.material is not None:
        stiff = MATERIALS[cradle.material]
        return Material(stiff.youngs_modulus_mpa, stiff.poisson)
    assert cradle.youngs_modulus_mpa is not None  # reading the file makes sure of it
    return Material(cradle.youngs_modulus_mpa, 0.3 if cradle.poisson is None else cradle.poisson)


@dataclass(frozen=True)
class _Made:
    """Seat along the outline, the rest from the seat's start to its end, and where it looks."""

    seat: tuple[CurvePiece, ...]
    outer: tuple[CurvePiece, ...]
    towards: tuple[float, float]


def _made(cradle: CradleTable, outline: Loop) -> Iterator[_Made]:
    if cradle.points_mm is not None:
        yield _drawn(cradle, outline)
    elif cradle.covers in TOWARDS:
        yield _board(cradle, outline, TOWARDS[str(cradle.covers)])
    elif cradle.covers == "all":
        count = cradle.pieces or 2
        first = FIRST_JOINT_DEG[count] if cradle.joint_deg is None else cradle.joint_deg
        for k in range(count):
            turns = (first + 360 * k / count, first + 360 * (k + 1) / count)
            yield _sector(cradle, outline, turns, cradle.apart_mm / 2)
    else:
        assert cradle.from_deg is not None  # reading the file makes sure of it
        assert cradle.to_deg is not None
        yield _sector(cradle, outline, (cradle.from_deg, cradle.to_deg), 0.0)


def _board(cradle: CradleTable, outline: Loop, towards: tuple[float, float]) -> _Made:
    begin, end = _side(outline, np.array(towards), cradle.width_mm)
    seat = stretch(outline, begin, end)
    along = np.array([towards[1], -towards[0]])  # to the right, seen with `towards` up
    chord = float((seat[0].at(0.0)[0] - seat[-1].at(1.0)[0]) @ along)
    over = max(0.0, ((cradle.width_mm or 0.0) - chord) / 2)
    if 0 < over < SAME_MM:
        over = 0.0
    return _with_back(cradle, seat, np.array(towards), over, None)


def _sector(cradle: CradleTable, outline: Loop, turns: tuple[float, float], inset: float) -> _Made:
    middle = _middle(outline)
    begin = _where(outline, middle, turns[0], inset)
    end = _where(outline, middle, turns[1], -inset)
    if cradle.back == "flat" and cradle.covers != "all" and turns[1] - turns[0] > 175:
        raise bad("back", 'a flat back does not reach round that far; take back = "round"')
    half = math.radians((turns[0] + turns[1]) / 2)
    towards = np.array([math.cos(half), math.sin(half)])
    rays = None
    if cradle.back != "flat" or cradle.covers == "all":
        rays = (math.radians(turns[0]), math.radians(turns[1]))
    return _with_back(cradle, stretch(outline, begin, end), towards, 0.0, rays, middle)


def _with_back(
    cradle: CradleTable,
    seat: tuple[CurvePiece, ...],
    towards: Points,
    over_mm: float,
    rays: tuple[float, float] | None,
    middle: Points | None = None,
) -> _Made:
    length = sum(piece.length for piece in seat)
    if length < LEAST_SEAT_MM:
        raise bad("", f"the seat is only {length:.2f} mm long; at least {LEAST_SEAT_MM:g} needed")
    outer = back_of(Back(cradle, seat, towards, over_mm, rays, middle))
    try:
        path = rounded_path(outer, cradle.round_mm)
    except ValueError as error:
        raise bad("round_mm", str(error)) from None
    return _Made(seat, tuple(path), (float(towards[0]), float(towards[1])))


def _middle(outline: Loop) -> Points:
    """Return the middle of the block: of the box round its outline."""
    x0, y0, x1, y1 = outline.polygon.bounds
    return np.array([(x0 + x1) / 2, (y0 + y1) / 2])


def _where(outline: Loop, middle: Points, turn_deg: float, inset: float) -> Spot:
    """Return where a ray from the middle, moved sideways by `inset`, leaves the block."""
    a = math.radians(turn_deg)
    ray, side = np.array([math.cos(a), math.sin(a)]), np.array([-math.sin(a), math.cos(a)])
    begin = middle + inset * side
    hits = outline.crossings(begin, begin + 4000.0 * ray)
    if not hits:
        raise bad("", f"nothing of the block lies in the direction of {turn_deg:g} degrees")
    k, t, _ = max(hits, key=lambda hit: hit[2])
    return snapped(outline, (k, min(max(t, 0.0), 1.0)))


def _side(outline: Loop, towards: Points, width: float | None) -> tuple[Spot, Spot]:
    """Return where a side of the outline begins and ends, no wider than `width`."""
    flats = [k for k, p in enumerate(outline.pieces) if _faces(p, towards)]
    if flats:
        far = max(float(outline.pieces[k].at(0.5)[0] @ towards) for k in flats)
        flats = [k for k in flats if outline.pieces[k].at(0.5)[0] @ towards > far - ON_MM]
        longest = max(outline.pieces[k].length for k in flats)
        k = next(k for k in flats if outline.pieces[k].length > longest - ON_MM)
        half = 0.5
        if width is not None:
            half = min(0.5, 0.5 * width / outline.pieces[k].length)
        return snapped(outline, (k, 0.5 - half)), snapped(outline, (k, 0.5 + half))
    return _curved_side(outline, towards, width)


def _faces(piece: CurvePiece, towards: Points) -> bool:
    if not isinstance(piece, Line) or piece.length < 2 * LEAST_SEAT_MM:
        return False
    t = piece.tangent(0.0)
    return float(np.array([t[1], -t[0]]) @ towards) > math.cos(math.radians(1.0))


def _curved_side(outline: Loop, towards: Points, width: float | None) -> tuple[Spot, Spot]:
    spots, places, normals = _sampled(outline)
    height = places @ towards
    top = _middle_of(np.flatnonzero(height > height.max() - ON_MM), len(spots))
    along = np.array([-towards[1], towards[0]])
    fits = normals @ towards > math.cos(math.radians(FACES_DEG)) - 1e-7
    if width is not None:
        fits &= np.abs((places - places[top]) @ along) <= width / 2 + ON_MM
    n, before, after = len(spots), 0, 0
    while before < n // 2 and fits[(top - before - 1) % n]:
        before += 1
    while after < n // 2 and fits[(top + after + 1) % n]:
        after += 1
    begin, end = spots[(top - before) % n], spots[(top + after) % n]
    return snapped(outline, begin), snapped(outline, end)


def _middle_of(tops: NDArray[np.int64], count: int) -> int:
    """Return the middle one of neighbouring numbers on a ring of `count`."""
    steps = np.diff(np.append(tops, tops[0] + count))
    return int(np.roll(tops, -int(np.argmax(steps)) - 1)[len(tops) // 2])


def _sampled(outline: Loop) -> tuple[list[Spot], Points, Points]:
    """Return spots every 0.1 mm or so, their places, and the outward normals there."""
    spots, places, normals = [], [], []
    for k, piece in enumerate(outline.pieces):
        for t in piece.even(max(4, math.ceil(piece.length / 0.1 - 1e-6)))[:-1]:
            u = piece.tangent(float(t))
            spots.append((k, float(t)))
            places.append(piece.at(t)[0])
            normals.append((u[1], -u[0]))
    return spots, np.array(places), np.array(normals)


def _drawn(cradle: CradleTable, outline: Loop) -> _Made:
    """Cut a drawn piece to fit: what of it lies in the block is taken away."""
    drawn = Polygon(np.array(cradle.points_mm))
    if not drawn.is_valid:
        raise bad("points_mm", "the piece's outline crosses or touches itself")
    ring = drawn.exterior if drawn.exterior.is_ccw else drawn.exterior.reverse()
    line = _outside(LineString(ring.coords), outline.polygon)
    ends = []
    for p in (line[0], line[-1]):
        k, t, distance = outline.nearest(p)
        if distance > 0.1:
            raise bad("points_mm", "the piece does not reach the block; let it overlap the block")
        ends.append(snapped(outline, (k, t)))
    seat = stretch(outline, ends[0], ends[1])
    middle = seat[len(seat) // 2]
    u = middle.tangent(0.5)
    path = [seat[0].at(0.0)[0], *line[1:-1], seat[-1].at(1.0)[0]]
    outer = straight_lines(path)
    try:
        return _Made(seat, tuple(rounded_path(outer, cradle.round_mm)), (float(u[1]), -float(u[0])))
    except ValueError as error:
        raise bad("round_mm", str(error)) from None


def _outside(ring: LineString, block: Polygon) -> list[Points]:
    """Return the one stretch of a drawn ring that lies outside the block, from end to end."""
    rest = ring.difference(block.buffer(SAME_MM))
    rest = linemerge(rest) if isinstance(rest, MultiLineString) else rest
    if not isinstance(rest, LineString) or rest.is_empty or rest.is_closed:
        count = 0 if rest.is_empty else len(getattr(rest, "geoms", [rest]))
        text = (
            f"{count} stretches of the piece's edge lie outside the block; let it reach into the"
            " block at one place, and draw a second piece for a second place"
        )
        raise bad("points_mm", text)
    return [np.array(p) for p in rest.coords]


def _gaps(cradle: CradleTable, piece: _Made) -> tuple[tuple[float, ...], float]:
    """Return how far the seat stands off, evenly along it, and its length [mm]."""
    length = float(sum(p.length for p in piece.seat))
    if cradle.gap_mm is not None:
        return cradle.gap_mm, length
    if cradle.seat == "loose":
        return (cradle.loose_mm or 0.0,), length
    s = np.linspace(-1.0, 1.0, GAPS)
    if cradle.seat == "crowned":
        return tuple(map(float, crown(cradle.crown_mm or 0.0, s))), length
    return (
        tuple(map(float, flat_gap(piece.seat, piece.towards))) if cradle.seat == "flat" else (0.0,)
    ), length


def crown(crown_mm: float, s: Points) -> Points:
    """Return how far (n,) a crowned seat stands off at `s` (n,), -1..1 along it [mm].

    A `crown_mm` over 0 sets the ends off by so much [mm], one under 0 the middle.
    """
    return crown_mm * s**2 if crown_mm >= 0 else -crown_mm * (1 - s**2)


def flat_gap(seat: tuple[CurvePiece, ...], towards: tuple[float, float]) -> Points:
    """Return how far a flat seat stands off the outline, at even distances along it (n,) [mm].

    It touches the outermost place.

    Parameters
    ----------
    seat : tuple of pieces
        The stretch of the outline under it.
    towards : (x, y)
        Unit vector out of the block, over the seat [-].
    """
    length = np.cumsum([0.0, *(p.length for p in seat)])
    gap = []
    for s in np.linspace(0.0, length[-1], GAPS):
        k = min(int(np.searchsorted(length, s, side="right")) - 1, len(seat) - 1)
        t = float(np.interp(s - length[k], np.linspace(0, seat[k].length, 257), seat[k].even(256)))
        x, u = seat[k].at(t)[0], seat[k].tangent(t)
        gap.append((float(x @ towards), max(0.0, u[1] * towards[0] - u[0] * towards[1])))
    height, facing = np.array(gap).T
    return (height.max() - height) * facing
