"""A study in words: what it is about to do, how it stands, what failed; and its table."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Any

from rich.box import SIMPLE_HEAD
from rich.table import Table
from rich.text import Text

from squeeze.show.study.imperial import imperial_name, imperial_row
from squeeze.study import CaseCounts, RunProgress, Study
from squeeze.study.measure_errors import ERROR
from squeeze.study.store.contract import row_name
from squeeze.study.store.repair import Repair

ROWS = 40
"""A longer table is not printed."""

NAMED = 20
"""Most failed cases that are named."""


def planned_words(progress: RunProgress, study: Study) -> str:
    """Say what a run is about to do."""
    workload = progress.workload
    there = workload.planned - workload.waiting
    head = f"{study.file.title or 'Study'}: {_count(workload.planned, 'case')}"
    if there:
        head += f", {there} of them computed before"
    return f"{head}; {workload.waiting} to compute on {_count(workload.sections, 'section')}."


def time_words(progress: RunProgress) -> str:
    """Say how long a run will take."""
    workers = _count(progress.workers, "process", "processes")
    return f"Expected time: {duration(progress.left_s)} with {workers}."


def duration(seconds: float) -> str:
    """Return a time `seconds` [s] in words.

    Examples
    --------
    >>> duration(0.4), duration(100), duration(9000)
    ('a second', '1 min 40 s', '2 h 30 min')
    """
    if math.isnan(seconds):
        return "not known yet"
    whole = max(1, round(seconds))
    if whole == 1:
        return "a second"
    if whole < 60:
        return f"{whole} s"
    if whole < 3600:
        return f"{whole // 60} min {whole % 60} s"
    return f"{whole // 3600} h {whole % 3600 // 60} min"


def count_words(count: CaseCounts) -> str:
    """Say how a study stands."""
    parts = [f"{count.done} of {_count(count.planned, 'case')} done"]
    parts += [f"{count.missing} missing"] if count.missing else []
    parts += [f"{count.failed} failed"] if count.failed else []
    parts += [f"{count.refused} refused (no such mold can be made)"] if count.refused else []
    said = ", ".join(parts) + "."
    if count.other:
        also = _count(count.other, "answer")
        said += f" The store also holds {also} to cases that are no longer in the study."
    return said


def repair_words(repair: Repair) -> str:
    """Say what was lost of a damaged store, and what becomes of it."""
    if repair.moved_to is None:
        lost = _count(repair.broken, "damaged answer")
        return f"The store had {lost}, to be computed once more. The other {repair.kept} are kept."
    return (
        f"The store was damaged. What could be read is kept ({_count(repair.kept, 'answer')}); the"
        f" rest is computed once more. The damaged file is now {repair.moved_to}."
    )


def broken_words(broken: int) -> str:
    """Say that `broken` answers in a store are not as they were written."""
    lost = _count(broken, "damaged answer")
    return f"The store has {lost}, counted as missing. The next run computes what is missing."


def accuracy_words(study: Study) -> str:
    """Say how far the figures are off, or that nobody looked."""
    if study.file.accuracy is None:
        return (
            "How far these figures are off was not computed: every case keeps to one even mesh."
            ' With "accuracy = 1.0" in the study file each figure gets its error.'
        )
    return (
        "The columns that begin with error say how far each figure is off because the mesh is not"
        f" infinitely fine. Pressures were to be within {study.file.accuracy:g} % of the highest."
    )


def failed_words(rows: Iterable[dict[str, Any]], study: Study, inches: bool = False) -> list[str]:
    """Name the cases among `rows` that have no answer, with the reason, one line each."""
    lines = []
    for row in rows:
        if row["state"] in ("failed", "refused"):
            reason = str(row["error"]).replace("\n", "; ")
            name = row_name(row, study.columns)
            if inches:
                name = _imperial_name(row, study)
            lines.append(f"case {row['case']} ({name}): {reason}")
    more = len(lines) - NAMED
    return lines[:NAMED] + ([f"and {more} more"] if more > 0 else [])


def _imperial_name(row: dict[str, Any], study: Study) -> str:
    """Return the name of a case in inches, to the digits that the table shows."""
    known = {
        name: float(shown(value)) if isinstance(value, float) else value
        for name, value in imperial_row(row).items()
    }
    return row_name(known, map(imperial_name, study.columns))


def _count(n: int, one: str, many: str = "") -> str:
    return f"{n} {one if n == 1 else many or one + 's'}"


def study_table(
    rows: Sequence[dict[str, Any]], study: Study, width: int, inches: bool = False
) -> Table | None:
    """Return the table of a study, which rich prints; None when it is too long or too wide.

    Parameters
    ----------
    rows : sequence of dict
        A case each.
    study : Study
    width : int
        Characters of a line.
    inches : bool
        Give lengths in inches, pressures in psi, forces in lbf.
    """
    if not 0 < len(rows) <= ROWS:
        return None
    names = ["case", *study.columns, *study.keep]
    if inches:
        names, rows = [*map(imperial_name, names)], [*map(imperial_row, rows)]
    heads = [measure_head(name) for name in names]
    digits = [2 if name.startswith(ERROR) else 4 for name in names]
    cells = [[shown(row[name], n) for name, n in zip(names, digits, strict=True)] for row in rows]
    if any(row["state"] != "done" or row["outcome"] != "converged" for row in rows):
        heads.append("state")
        for line, row in zip(cells, rows, strict=True):
            line.append(_state(row))
    if _wide(heads, cells) > width:
        return None
    made = Table(box=SIMPLE_HEAD, pad_edge=False)
    for head, column in zip(heads, zip(*cells, strict=True), strict=True):
        left = any(text[:1].isalpha() for text in column)
        made.add_column(Text(head), justify="left" if left else "right", no_wrap=True)
    for line in cells:
        made.add_row(*map(Text, line))
    return made


def measure_head(name: str) -> str:
    """Return a column's head: a part of its name a line.

    Examples
    --------
    >>> measure_head("cut.across.closed_share").split()
    ['cut', 'across', 'closed', 'share']
    """
    return "\n".join(part.replace("_", "\n") for part in name.split("."))


def _wide(heads: list[str], cells: list[list[str]]) -> int:
    widest = [max(map(len, head.split("\n"))) for head in heads]
    for line in cells:
        widest = [max(w, len(text)) for w, text in zip(widest, line, strict=True)]
    return sum(widest) + 3 * len(widest) + 2


def _state(row: dict[str, Any]) -> str:
    return str(row["state"] if row["state"] != "done" else row["outcome"])


def shown(value: Any, digits: int = 4) -> str:
    """Return a value as a table shows it: a number with at most `digits` significant figures.

    Examples
    --------
    >>> [shown(v) for v in (0.123456, 120.0, True, None, 0.0)]
    ['0.1235', '120', 'yes', '-', '0']
    """
    if value is None:
        return "-"
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:.{digits}g}" if isinstance(value, float) else str(value)
