"""The blocks of a design side by side, closed, on one scale of length and one of pressure."""

from __future__ import annotations

from dataclasses import replace

from matplotlib.figure import Figure

from squeeze.design import Design, DesignAnswer
from squeeze.design.certified.choose import CLEAN_ENOUGH
from squeeze.design.closings import closings_of
from squeeze.show.figure.thumbnails import small
from squeeze.show.text.line_breaks import fill
from squeeze.verdict import judge
from squeeze.verdict.words import in_inches

IN_A_ROW = 3

FIRST, WHY = "Pour this one", "least rubber and work together"
"""Stand over the first block; the reason only where there are others and it comes out clean."""

LINE_IN = 0.17
"""Height of a line of a title [in]."""

WIDEST = 36
"""Letters in a line of a title."""


def design_figure(answer: DesignAnswer, inches: bool = False) -> Figure:
    """Return the sections of all blocks side by side, each with its number and its name."""
    pairs = [
        (
            replace(closing, title=_title(each, len(answer.designs), inches)),
            judge(closing, inches, mold=each.mold),
        )
        for each, closing in closings_of(answer)
    ]
    columns = min(IN_A_ROW, max(len(pairs), 1))
    marked = len(pairs) > 1
    lines = max((closing.title.count("\n") + 1 for closing, _ in pairs), default=1)
    return small(
        pairs,
        columns=columns,
        inches=inches,
        one_size=True,
        marked=marked,
        title_in=0.2 + LINE_IN * lines,
    )


def _title(design: Design, count: int, inches: bool) -> str:
    """Return what stands over a block of `count`: its name, and what it costs."""
    name = in_inches(design.name) if inches else design.name
    own = design.figures
    bands = "1 band" if own.bands == 1 else f"{own.bands} bands"
    costs = f"{own.rubber_g:.0f} g of rubber, {bands}, {own.steps} steps"
    named = f"{fill(f'{design.number}. {name}', WIDEST)}\n{costs}"
    if design.number > 1:
        return named
    first = f"{FIRST}:\n{WHY}" if count > 1 and own.clean_in >= CLEAN_ENOUGH else FIRST
    return f"{first}\n{named}"
