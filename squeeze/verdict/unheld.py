"""Pieces that nothing holds: which they are, and where they go."""

from __future__ import annotations

import math
from collections.abc import Sequence

from shapely.geometry import Point

from squeeze.mold.section.records import CradlePiece
from squeeze.solve.closing import Closing
from squeeze.solve.trust import Piece
from squeeze.verdict.words import place

_DIRECTIONS = (
    "to the right",
    "up and to the right",
    "upward",
    "up and to the left",
    "to the left",
    "down and to the left",
    "downward",
    "down and to the right",
)


def say_unheld(
    pieces: Sequence[Piece], inches: bool = False, cradles: Sequence[CradlePiece] = ()
) -> str:
    """Return the sentence on the pieces that nothing holds, for a section without an answer."""
    found = [piece for piece in pieces if piece.goes is not None]
    if not found:
        return "A piece of the block is held by nothing and will shift."
    said = "; ".join(_say(piece, inches, cradles) for piece in found)
    return f"{said[0].upper()}{said[1:]}."


def only_cradles(closing: Closing) -> bool:
    """Return whether all pieces that nothing holds are pieces of a cradle."""
    found = [piece for piece in closing.trust.pieces if piece.goes is not None]
    return bool(found) and all(_cradle(p, closing.section.cradles) is not None for p in found)


def _cradle(piece: Piece, cradles: Sequence[CradlePiece]) -> CradlePiece | None:
    """Return the cradle piece that a piece of the section is; None where it is rubber."""
    for cradle in cradles:  # by area first: middles of nodes may agree
        close = abs(cradle.loop.area - piece.area_mm2) < 0.02 * piece.area_mm2
        if close and cradle.loop.polygon.convex_hull.covers(Point(piece.middle_mm)):
            return cradle
    return None


def _say(piece: Piece, inches: bool, cradles: Sequence[CradlePiece]) -> str:
    cradle = _cradle(piece, cradles)
    if cradle is not None:
        return f"the cradle piece '{cradle.name}' is held by nothing and will {_motion(piece)}"
    x, y = (place(v, inches) for v in piece.middle_mm)
    return f"the piece round x = {x}, y = {y} is held by nothing and will {_motion(piece)}"


def _motion(piece: Piece) -> str:
    turn = {1: "turn counter-clockwise", -1: "turn clockwise"}.get(piece.turns, "")
    shift = f"shift {direction_word(piece.goes)}" if piece.goes and any(piece.goes) else ""
    return " and ".join(part for part in (shift, turn) if part) or "shift"


def direction_word(direction: tuple[float, float]) -> str:
    """Return a direction in words.

    Examples
    --------
    >>> [direction_word(d) for d in ((1.0, 0.05), (0.0, -1.0), (-0.7, 0.7))]
    ['to the right', 'downward', 'up and to the left']
    """
    return _DIRECTIONS[round(math.degrees(math.atan2(direction[1], direction[0])) / 45) % 8]
