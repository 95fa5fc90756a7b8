"""Small pictures of the closed sections of a study, side by side on one pressure scale."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from matplotlib.figure import Figure as Drawn

from squeeze.mold import mold_of
from squeeze.show.figure.thumbnails import small
from squeeze.show.study.imperial import imperial_row, imperial_words
from squeeze.show.study.labels import said
from squeeze.show.text.line_breaks import fill
from squeeze.solve import Closing
from squeeze.study import Case, Study, cases
from squeeze.study.plan.study import batches
from squeeze.study.plan.tables import FigureTable
from squeeze.study.runner.solve_batch import BlockCache, close_case
from squeeze.verdict import Verdict, judge

Row = dict[str, Any]
MOST = 16
"""More pictures are not drawn."""


def draw_sections(
    figure: FigureTable, rows: Sequence[Row], study: Study, inches: bool = False
) -> Drawn:
    """Return the pictures of the cases in `rows` that have an answer; they are closed once more."""
    done = [row for row in rows if row["state"] == "done"][:MOST]
    wanted = {row["case"] - 1: row for row in done}
    closed = _closed([case for case in cases(study) if case.number in wanted], study, inches)
    titles = {number: _title(row, figure, study, inches) for number, row in wanted.items()}
    pairs = [
        (replace(closing, title=titles[number]), verdict)
        for number, (closing, verdict) in closed.items()
    ]
    return small(pairs, columns=figure.columns, inches=inches)


def _closed(wanted: list[Case], study: Study, inches: bool) -> dict[int, tuple[Closing, Verdict]]:
    numbers = {case.id: case.number for case in wanted}
    blocks, found = BlockCache(), {}
    for batch in batches(study, wanted):
        for identity, data in batch.cases:
            mold = mold_of(data)
            closing = close_case(blocks.block_for(batch), mold, batch.deformation)
            found[numbers[identity]] = closing, judge(closing, inches, mold=mold)
    return found


def _title(row: Row, figure: FigureTable, study: Study, inches: bool) -> str:
    names = [
        name for axis in study.axes for name in ((axis.name,) if axis.labels else axis.columns)
    ]
    held = [name for name, value in figure.where.items() if not isinstance(value, list)]
    shown = {name: row[name] for name in names if name not in held}
    words = study.file.names
    if inches:
        shown, words = imperial_row(shown), imperial_words(words)
    return fill(", ".join(said(name, value, words) for name, value in shown.items()), 38)
