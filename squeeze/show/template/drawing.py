"""Sawing templates of cradle pieces at true size: what stands on them, before any file form.

A template lies with the seat down and the back up, its lower left corner of all that is drawn at
the origin; y points up, 1 is 1 mm.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from squeeze.mold import section_of
from squeeze.mold.forces.bands import size_of
from squeeze.mold.geometry.curve import Arc, CurvePiece, Line, xy
from squeeze.mold.geometry.curve_parts import seat_of, turned
from squeeze.mold.geometry.tolerance import ON_MM
from squeeze.mold.section.records import CradlePiece, Section
from squeeze.mold.tables.mold import Mold

Points = NDArray[np.float64]

GROOVE_PLAY_MM = 1.0
"""A groove is this much wider than its band [mm]."""

EDGE_MM = 6.0
WRITING_MM = 88.0
"""The middle of the writing is at most so far from the left [mm]."""

FINE_MM = 0.005


@dataclass(frozen=True)
class Text:
    """A line of writing: what, where its middle is [mm], how high its letters are [mm]."""

    say: str
    at: tuple[float, float]
    high_mm: float = 3.0


@dataclass(frozen=True, eq=False)
class Template:
    """One piece to saw, or the rule along its length.

    Attributes
    ----------
    name : str
    outline : tuple of Line or Arc
        To saw along: closed, counter-clockwise. Every arc is of a circle.
    dashed : tuple of arrays (n, 2)
        Grooves' grounds and other lines that are not sawn through.
    texts : tuple of Text
    width_mm, height_mm : float
        Of all that is drawn.
    """

    name: str
    outline: tuple[CurvePiece, ...]
    dashed: tuple[Points, ...]
    texts: tuple[Text, ...]
    width_mm: float
    height_mm: float


@dataclass(frozen=True)
class Groove:
    """A groove across the back of every piece: where along the block, how wide, how deep [mm]."""

    at_mm: float
    width_mm: float
    depth_mm: float


def templates(mold: Mold, section: Section | None = None) -> tuple[Template, ...]:
    """Return the templates of a mold's cradle pieces, and the rule for their grooves.

    Parameters
    ----------
    mold : Mold
        With a cradle.
    section : Section, optional
        With seats changed, such as by `even_seat`; the mold's own unless given.
    """
    section = section or section_of(mold)
    grooves = grooves_of(mold)
    made = [
        _of_piece(number, piece, section, grooves, mold)
        for number, piece in enumerate(section.cradles, start=1)
    ]
    return (*made, _rule(mold, grooves)) if made else ()


def template_number(number: int) -> str:
    """Return what the template and the bench sheet call piece `number`, from 1: T1, T2..."""
    return f"T{number}"


def grooves_of(mold: Mold) -> tuple[Groove, ...]:
    """Return where bands lie along the block, and what grooves hold them.

    Bands whose size is not known have none; those without places are spread evenly, as they are
    reckoned with.
    """
    found = []
    for band in mold.band:
        size = size_of(band)
        if size is None:
            continue
        n = band.strands
        places = band.at_mm or [(k + 0.5) * mold.length_mm / n for k in range(n)]
        wide = size.width_mm + GROOVE_PLAY_MM
        found += [Groove(float(s), wide, size.thickness_mm) for s in places]
    return tuple(sorted(found, key=lambda groove: groove.at_mm))


def _of_piece(
    number: int, piece: CradlePiece, section: Section, grooves: tuple[Groove, ...], mold: Mold
) -> Template:
    seat = seat_of(section.outline, piece.loop)
    on = {id(p) for p in piece.loop.pieces if section.outline.nearest(p.place(0.5))[2] < ON_MM}
    back = _in_order([p for p in piece.loop.pieces if id(p) not in on], seat)
    sawn = [q for part in _as_sawn(seat, piece) for q in part]
    path = _closed([*sawn, *_meeting(sawn, [q for p in back for q in _plain(p)])])
    turn = math.pi / 2 - _towards(seat)
    path = [_turned_about(p, turn) for p in path]
    ground = [_turned_points(line, turn) for line in _grounds(back, grooves)]
    says = _writing(number, piece, grooves, mold)
    return _placed(piece.name, path, ground, says)


def _in_order(back: list[CurvePiece], seat: tuple[CurvePiece, ...]) -> list[CurvePiece]:
    """Return the rest of the edge from the seat's beginning to its end."""
    begin = seat[0].at(0.0)[0]
    first = min(range(len(back)), key=lambda k: float(np.hypot(*(back[k].at(0.0)[0] - begin))))
    return back[first:] + back[:first]


def _as_sawn(seat: tuple[CurvePiece, ...], piece: CradlePiece) -> list[list[CurvePiece]]:
    """Return the seat from its end to its beginning, stood off by the piece's gap."""
    if not any(piece.gap_mm):
        return [_plain(turned(p)) for p in reversed(seat)]
    length = sum(p.length for p in seat)
    places, normals, s = _sampled(seat)
    given = np.array(piece.gap_mm)
    gap = np.interp(s, np.linspace(0, length, len(given)), given) if len(given) > 1 else given[0]
    line = (places + np.reshape(gap, (-1, 1)) * normals)[::-1]
    return [[Line(xy(a), xy(b)) for a, b in pairwise(line)]]


def _meeting(sawn: list[CurvePiece], back: list[CurvePiece]) -> list[CurvePiece]:
    """Return the rest of the edge with its straight ends carried to the ends of the sawn seat."""
    first, last = back[0], back[-1]
    if isinstance(first, Line):
        back = [Line(xy(sawn[-1].at(1.0)[0]), first.end), *back[1:]]
    if isinstance(last, Line):
        back = [*back[:-1], Line(last.start, xy(sawn[0].at(0.0)[0]))]
    return back


def _sampled(seat: tuple[CurvePiece, ...]) -> tuple[Points, Points, Points]:
    """Return places about every 2 mm along a seat, normals away from the block, and lengths."""
    places, normals, s, done = [], [], [], 0.0
    for piece in seat:
        n = max(2, math.ceil(piece.length / 2.0))
        for k, t in enumerate(piece.even(n)):
            u = piece.tangent(float(t))
            places.append(piece.at(t)[0])
            normals.append(np.array([u[1], -u[0]]))
            s.append(done + piece.length * k / n)
        done += piece.length
    return np.array(places), np.array(normals), np.array(s)


def _plain(piece: CurvePiece) -> list[CurvePiece]:
    """Return the piece, or short lines for an arc that is not of a circle."""
    if isinstance(piece, Line) or piece.radii[0] == piece.radii[1]:
        return [piece]
    n = math.ceil(piece.length / math.sqrt(8 * FINE_MM * piece.least_radius))
    p = piece.at(piece.even(n))
    return [Line(xy(a), xy(b)) for a, b in pairwise(p)]


def _closed(path: list[CurvePiece]) -> list[CurvePiece]:
    """Join what the seat's gap has moved apart; leave out what has no length."""
    joined: list[CurvePiece] = []
    for piece, after in zip(path, path[1:] + path[:1], strict=True):
        joined.append(piece)
        a, b = piece.at(1.0)[0], after.at(0.0)[0]
        if np.hypot(*(b - a)) > 1e-6:
            joined.append(Line(xy(a), xy(b)))
    return [p for p in joined if p.length > 1e-6]


def _towards(seat: tuple[CurvePiece, ...]) -> float:
    """Return the direction from block to back [rad]."""
    chord = seat[0].at(0.0)[0] - seat[-1].at(1.0)[0]
    if np.hypot(*chord) < 1e-6:
        u = seat[len(seat) // 2].tangent(0.5)
        return math.atan2(-u[0], u[1])
    return math.atan2(chord[0], -chord[1])


def _grounds(back: list[CurvePiece], grooves: tuple[Groove, ...]) -> list[Points]:
    """Return the grounds of the grooves: the back without its end faces, set in by their depth."""
    if not grooves or len(back) < 3:
        return []
    inner = back[1:-1]
    places, normals, _ = _sampled(tuple(inner))
    depths = sorted({round(groove.depth_mm, 3) for groove in grooves})
    return [places - depth * normals for depth in depths]


def _placed(
    name: str, path: list[CurvePiece], ground: list[Points], says: Sequence[str]
) -> Template:
    """Put the drawing with its writing into the first quarter of the plane."""
    every = np.vstack([p.at(p.even(16)) for p in path])
    (x0, y0), (x1, y1) = every.min(axis=0), every.max(axis=0)
    high = 4.6
    shift = np.array([EDGE_MM - x0, EDGE_MM + high * len(says) - y0])
    wide = max(x1 - x0, 2.0 * max(len(say) for say in says)) + 2 * EDGE_MM
    shift[0] = (wide - (x0 + x1)) / 2
    near = min(wide / 2, WRITING_MM)  # on the first sheet, where it takes several
    texts = [
        Text(say, (near, EDGE_MM / 2 + high * (len(says) - k - 0.5)), 3.0)
        for k, say in enumerate(says)
    ]
    tip = float(EDGE_MM + high * len(says) + y1 - y0 - 1.5)
    ground = [*(line + shift for line in ground), _arrow(wide / 2, tip)]
    return Template(
        name=name,
        outline=tuple(_moved(p, shift) for p in path),
        dashed=tuple(ground),
        texts=tuple(texts),
        width_mm=float(wide),
        height_mm=float(y1 - y0 + 2 * EDGE_MM + high * len(says)),
    )


def _arrow(x: float, tip: float) -> Points:
    """Return an arrow that points up to the back."""
    return np.array([[x, tip - 6], [x, tip], [x - 1, tip - 2], [x, tip], [x + 1, tip - 2]])


def _writing(number: int, piece: CradlePiece, grooves: tuple[Groove, ...], mold: Mold) -> list[str]:
    title = f" - {mold.title}" if mold.title else ""
    says = [
        f"{template_number(number)} {piece.name}{title}",
        "this side up (the arrow): the back, under the bands",
        "seat below, on the rubber; seen from the block's start",
        f"saw along the full line; the piece is {mold.length_mm:g} mm long",
    ]
    if any(piece.gap_mm) and len(piece.gap_mm) > 1:
        says.append(f"the seat stands off by up to {max(piece.gap_mm):.2f} mm: saw it as drawn")
    if grooves:
        says.append("dashed: ground of the band grooves; the rule says where they are")
    return says


def _rule(mold: Mold, grooves: tuple[Groove, ...]) -> Template:
    """Return a rule as long as the block with the places of its grooves."""
    long, high, base = mold.length_mm, 14.0, 16.0
    x0 = EDGE_MM
    corners = [(x0, base), (x0 + long, base), (x0 + long, base + high), (x0, base + high)]
    edges = zip(corners, corners[1:] + corners[:1], strict=True)
    lines: list[Points] = []
    texts = [
        Text(f"rule along the back - {mold.title or 'cradle'}", (x0 + long / 2, base + high + 4)),
        Text("block's start", (x0 + min(12.0, long / 4), base + high / 2), 2.4),
        Text(
            "a dashed pair = a band's groove" if grooves else "the bands' sizes are not known",
            (x0 + long / 2, 3.0),
            2.6,
        ),
    ]
    for groove in grooves:
        for side in (-0.5, 0.5):
            x = x0 + groove.at_mm + side * groove.width_mm
            lines.append(np.array([[x, base], [x, base + high]]))
        texts.append(Text(f"{groove.at_mm:.4g}", (x0 + groove.at_mm, base - 3.5), 2.4))
    wide = max(long, 110.0) + 2 * EDGE_MM
    outline = tuple(Line(a, b) for a, b in edges)
    return Template("rule", outline, tuple(lines), tuple(texts), wide, base + high + 8.0)


def _turned_about(piece: CurvePiece, turn: float) -> CurvePiece:
    """Return a piece turned about the origin."""
    if isinstance(piece, Line):
        a, b = _turned_points(np.array([piece.start, piece.end]), turn)
        return Line(xy(a), xy(b))
    centre = _turned_points(np.array([piece.centre]), turn)[0]
    return replace(piece, centre=xy(centre), start_rad=piece.start_rad + turn)


def _turned_points(points: Points, turn: float) -> Points:
    c, s = math.cos(turn), math.sin(turn)
    return points @ np.array([[c, s], [-s, c]])


def _moved(piece: CurvePiece, by: Points) -> CurvePiece:
    if isinstance(piece, Line):
        return Line(xy(np.add(piece.start, by)), xy(np.add(piece.end, by)))
    return Arc(xy(np.add(piece.centre, by)), piece.radii, piece.start_rad, piece.sweep_rad)
