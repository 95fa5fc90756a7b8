"""The figures of a study: what its file asks for, drawn from the rows of its table."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Any

from matplotlib.figure import Figure as Drawn

from squeeze.show.figure.closing import save
from squeeze.show.figure.plain_names import plain_names
from squeeze.show.study.imperial import imperial_figure, imperial_row, imperial_words
from squeeze.show.study.lines import draw_lines
from squeeze.show.study.map import draw_map
from squeeze.show.study.sections import draw_sections
from squeeze.study import Study
from squeeze.study.plan.tables import FigureTable

Row = dict[str, Any]
CHARTS: dict[str, Callable[[FigureTable, Sequence[Row], Study], Drawn]] = {
    "lines": draw_lines,
    "map": draw_map,
}


def figure_writers(
    study: Study, rows: Sequence[Row], inches: bool = False
) -> dict[Path, Callable[[Path], None]]:
    """Return what writes each figure of a study, by its path beside the study file.

    Parameters
    ----------
    study : Study
    rows : sequence of dict
        The table, as a store's `rows` gives it.
    inches : bool
    """
    assert study.path is not None
    return {
        figure_path(study, i): partial(_write, study, i, rows, inches)
        for i in range(len(study.file.figure))
    }


def figure_path(study: Study, i: int) -> Path:
    """Return where figure `i` is written: as the file says, or ``NAME-1.png``."""
    assert study.path is not None
    name = study.file.figure[i].file
    return study.path.with_name(name or f"{study.path.stem}-{i + 1}.png")


@plain_names()
def study_figure(study: Study, i: int, rows: Sequence[Row], inches: bool = False) -> Drawn:
    """Return figure `i` of a study.

    Parameters
    ----------
    study : Study
    i : int
        From 0.
    rows : sequence of dict
        The table, as a store's `rows` gives it.
    inches : bool
        Give lengths in inches, pressures in psi, forces in lbf.
    """
    figure = study.file.figure[i]
    wanted = [row for row in rows if fits(row, figure.where)]
    if figure.kind == "sections":
        return draw_sections(figure, wanted, study, inches)
    if inches:
        figure, wanted = imperial_figure(figure), [*map(imperial_row, wanted)]
        names = imperial_words(study.file.names)
        study = replace(study, file=study.file.model_copy(update={"names": names}))
    return CHARTS[figure.kind](figure, wanted, study)


def fits(row: Row, where: dict[str, Any]) -> bool:
    """Return whether a row has the values, or one of those listed, that `where` holds by column."""
    return all(
        row[key] in value if isinstance(value, list) else row[key] == value
        for key, value in where.items()
    )


def _write(study: Study, i: int, rows: Sequence[Row], inches: bool, part: Path) -> None:
    save(study_figure(study, i, rows, inches), part, figure_path(study, i).suffix[1:].lower())
