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
from squeeze.verdict.words import in_inches

IN_A_ROW = 3

FIRST = "Pour this one"
"""Stands over the first block."""

WIDEST = 36
"""Letters in a line of a title."""


def design_figure(answer: DesignAnswer, inches: bool = False) -> Figure:
    """Return the sections of all blocks side by side, each with its number and its name."""
    pairs = [
        (
            replace(closing, title=_title(each, inches)),
            judge(closing, inches, mold=each.mold),
        )
        for each, closing in closings_of(answer)
    ]
    columns = min(IN_A_ROW, max(len(pairs), 1))
    marked = len(pairs) > 1
    drawn = small(pairs, columns=columns, inches=inches, one_size=True, marked=marked)
    beside = {"rotation": 90, "ha": "right", "va": "center", "fontsize": 6}
    drawn.text(0.999, 0.5, CAUTION, **beside)  # below stands the scale
    return drawn


def _title(design: Design, inches: bool) -> str:
    name = in_inches(design.name) if inches else design.name
    named = fill(f"{design.number}. {name}", WIDEST)
    return f"{FIRST}\n{named}" if design.number == 1 else named
