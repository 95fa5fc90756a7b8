"""What `squeeze close --more` says besides its head and its tables, for the page."""

from __future__ import annotations

from collections.abc import Iterable

from squeeze.mold.notes import notes_of
from squeeze.page.answers.closed import ClosedMold
from squeeze.show.text.errors import error_lines, missed_lines
from squeeze.show.text.lands import notes
from squeeze.show.text.verdict import (
    area_lines,
    cost_lines,
    flash_line,
    seal_lines,
    shrinkage_lines,
)
from squeeze.verdict.advice.rubber_cost import costs
from squeeze.verdict.words import in_inches


def remarks(found: ClosedMold, inches: bool) -> list[str]:
    """Return the caveats that `squeeze close --more` prints, in its order."""
    closing, verdict, mold = found.closing, found.verdict, found.mold
    solved = closing.outcome.has_answer
    lines = [
        *missed_lines(closing, inches),
        *(seal_lines(closing, verdict, inches) if solved else ()),
        *(flash_line(verdict.flash, inches) if solved else ()),
        *(area_lines(closing, verdict) if solved and verdict.cavities else ()),
        *cost_lines(costs(mold)),
        *(f"{line.partition('; --')[0].rstrip('.')}." for line in shrinkage_lines(mold, inches)),
        verdict.yardstick,
        *error_lines(closing, inches),
        *notes_of(mold, closing.section),
        *notes(closing, inches, castings=False),
    ]
    return in_units(lines, inches)


def in_units(lines: Iterable[str], inches: bool) -> list[str]:
    """Return the sentences `lines` in the units asked for, as the command line prints them."""
    return [in_inches(line) for line in lines] if inches else list(lines)
