"""The blocks of a design side by side, closed, on one scale of pressure."""

from __future__ import annotations

from dataclasses import replace

from matplotlib.figure import Figure

from squeeze.design import DesignAnswer
from squeeze.design.closings import closings_of
from squeeze.show.figure.thumbnails import small
from squeeze.show.start import CAUTION
from squeeze.show.text.line_breaks import fill
from squeeze.verdict import judge

IN_A_ROW = 3

WIDEST = 36
"""Letters in a line of a title."""


def design_figure(answer: DesignAnswer) -> Figure:
    """Return the sections of all blocks side by side, each with its number and its name."""
    pairs = [
        (
            replace(closing, title=fill(f"{each.number}. {each.name}", WIDEST)),
            judge(closing, mold=each.mold),
        )
        for each, closing in closings_of(answer)
    ]
    drawn = small(pairs, columns=min(IN_A_ROW, max(len(pairs), 1)))
    beside = {"rotation": 90, "ha": "right", "va": "center", "fontsize": 6}
    drawn.text(0.999, 0.5, CAUTION, **beside)  # below stands the scale
    return drawn
