"""The table of a mold file that says what `squeeze design` may do: limits and wishes."""

from __future__ import annotations

from typing import Annotated, Any

from squeeze.mold.cradle.materials import MATERIALS
from squeeze.mold.forces.band_sizes import SIZES
from squeeze.mold.shapes.registry import SHAPES
from squeeze.mold.tables.table import KeyFaults, Table
from squeeze.mold.tables.values import (
    Entry,
    listed,
    number,
    plain_error,
    quote,
    whole,
    word,
    yes_or_no,
)

OUTLINES = tuple(word for word, kind in SHAPES.items() if kind.figures)
"""Outlines that can be tried: every shape that figures make."""

LEAST_MARGIN = 2.0
"""A barrier that presses less than this many times as hard as the resin is none."""


def words(*known: str) -> Entry:
    """Take a list of one or more of the words `known`, each once."""
    one = word(*known)

    def read(value: object) -> tuple[str, ...]:
        if not isinstance(value, list | tuple) or not value:
            raise plain_error(f"{quote(value)} given; give a list of {listed(known, 'and')}")
        found = tuple(one.read(str(v) if isinstance(v, int) else v) for v in value)
        if len(set(found)) < len(found):
            raise plain_error(f"{quote(value)} given; name each once")
        return found

    return Entry(read, {"type": "array", "items": one.schema, "minItems": 1})


class DesignTable(Table):
    """Limits and wishes for `squeeze design`; every one has a default.

    Attributes
    ----------
    least_wall_mm : float
        Least rubber between a model and the outside.
    between_mm : float
        Least rubber between models that are arranged anew.
    most_width_mm, most_height_mm : float or None
        Largest block, without cradle; None = what the pot allows.
    outlines : tuple of str
        Outlines that may be poured.
    cut : str or None
        ``"given"``: the cuts of the file go with the models. ``"free"``: straight cuts through the
        models. Given where the file has cuts, free where it has none.
    turn : bool
        Whether the models may be turned in the block.
    arrange : str
        ``"kept"``: models stay as they stand to each other. ``"free"``: in rows or a ring.
    cradle : bool
        Whether boards under the bands are allowed.
    cradle_material : str
    most_board_mm : float or None
        Longest board at hand; boards run along the whole block.
    most_bands : int or None
        Most bands on the block; as many as the file names, or 12.
    band_stock : tuple of str or None
        Trade sizes at hand besides the bands of the file.
    least_margin : float
        Weakest barrier over the resin's pressure, in the worst of the twelve variations.
    step_price, band_price, board_price : float or None
        Of a step of work, a band, a board, in the currency of the rubber.
    designs : int
        Most blocks in the answer.
    """

    least_wall_mm: Annotated[float, number(1, 200, "mm")] = 10.0
    between_mm: Annotated[float, number(1, 200, "mm")] = 6.0
    most_width_mm: Annotated[float | None, number(5, 1000, "mm")] = None
    most_height_mm: Annotated[float | None, number(5, 1000, "mm")] = None
    outlines: Annotated[tuple[str, ...], words(*OUTLINES)] = OUTLINES
    cut: Annotated[str | None, word("given", "free")] = None
    turn: Annotated[bool, yes_or_no()] = True
    arrange: Annotated[str, word("kept", "free")] = "kept"
    cradle: Annotated[bool, yes_or_no()] = True
    cradle_material: Annotated[str, word(*MATERIALS)] = "plywood"
    most_board_mm: Annotated[float | None, number(10, 2000, "mm")] = None
    most_bands: Annotated[int | None, whole(1, 60)] = None
    band_stock: Annotated[tuple[str, ...] | None, words(*SIZES)] = None
    least_margin: Annotated[float, number(LEAST_MARGIN, 50)] = LEAST_MARGIN
    step_price: Annotated[float | None, number(0, 1e6)] = None
    band_price: Annotated[float | None, number(0, 1e6)] = None
    board_price: Annotated[float | None, number(0, 1e6)] = None
    designs: Annotated[int, whole(3, 6)] = 6

    @classmethod
    def rules(cls, given: dict[str, Any]) -> KeyFaults:
        """Yield wishes of the raw table `given` that contradict each other."""
        for key in ("cradle_material", "most_board_mm", "board_price"):
            if given.get("cradle") is False and key in given:
                yield key, "given together with cradle = false; leave one of them out"
        if given.get("arrange") == "free" and given.get("cut") == "given":
            yield "arrange", "free given together with cut = given; models take their cut along"
