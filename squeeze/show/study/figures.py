"""The figures of a study: what its file asks for, drawn from the rows of its table."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path
from typing import Any

from matplotlib.figure import Figure as Drawn

from squeeze.show.figure.closing import save
from squeeze.show.figure.plain_names import plain_names
from squeeze.show.study.lines import draw_lines
from squeeze.show.study.map import draw_map
from squeeze.show.study.sections import draw_sections
from squeeze.study import Study
from squeeze.study.plan.tables import FigureTable

Row = dict[str, Any]
DRAW: dict[str, Callable[[FigureTable, Sequence[Row], Study], Drawn]] = {
    "lines": draw_lines,
    "map": draw_map,
    "sections": draw_sections,
}


def figure_writers(study: Study, rows: Sequence[Row]) -> dict[Path, Callable[[Path], None]]:
    """Return what writes each figure of a study, by its path beside the study file."""
    assert study.path is not None
    return {
        figure_path(study, i): partial(_write, study, i, rows)
        for i in range(len(study.file.figure))
    }


def figure_path(study: Study, i: int) -> Path:
    """Return where figure `i` is written: as the file says, or ``NAME-1.png``."""
    assert study.path is not None
    name = study.file.figure[i].file
    return study.path.with_name(name or f"{study.path.stem}-{i + 1}.png")


@plain_names()
def study_figure(study: Study, i: int, rows: Sequence[Row]) -> Drawn:
    """Return figure `i` of a study.

    Parameters
    ----------
    study : Study
    i : int
        From 0.
    rows : sequence of dict
        The table, as a store's `rows` gives it.
    """
    figure = study.file.figure[i]
    wanted = [row for row in rows if fits(row, figure.where)]
    return DRAW[figure.kind](figure, wanted, study)


def fits(row: Row, where: dict[str, Any]) -> bool:
    """Return whether a row has the values, or one of those listed, that `where` holds by column."""
    return all(
        row[key] in value if isinstance(value, list) else row[key] == value
        for key, value in where.items()
    )


def _write(study: Study, i: int, rows: Sequence[Row], part: Path) -> None:
    save(study_figure(study, i, rows), part, figure_path(study, i).suffix[1:].lower())
