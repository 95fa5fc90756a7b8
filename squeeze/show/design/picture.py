"""The blocks of a design side by side, closed, on one scale of length and one of pressure."""

from __future__ import annotations

from dataclasses import replace

from matplotlib.figure import Figure

from squeeze.design import Design, DesignAnswer
from squeeze.design.closings import closings_of
from squeeze.show.figure.thumbnails import small
from squeeze.show.start import CAUTION
from squeeze.show.text.line_breaks import fill
from squeeze.verdict import judge

IN_A_ROW = 3

FIRST = "Pour this one"
"""Stands over the first block."""

WIDEST = 36
"""Letters in a line of a title."""


def design_figure(answer: DesignAnswer) -> Figure:
    """Return the sections of all blocks side by side, each with its number and its name."""
    pairs = [
        (
            replace(closing, title=_title(each)),
            judge(closing, mold=each.mold),
        )
        for each, closing in closings_of(answer)
    ]
    columns = min(IN_A_ROW, max(len(pairs), 1))
    drawn = small(pairs, columns=columns, one_size=True, marked=len(pairs) > 1)
    beside = {"rotation": 90, "ha": "right", "va": "center", "fontsize": 6}
    drawn.text(0.999, 0.5, CAUTION, **beside)  # below stands the scale
    return drawn


def _title(design: Design) -> str:
    named = fill(f"{design.number}. {design.name}", WIDEST)
    return f"{FIRST}\n{named}" if design.number == 1 else named
