"""The table of lands on the terminal."""

from __future__ import annotations

from collections.abc import Sequence

from rich.box import SIMPLE_HEAD
from rich.table import Table
from rich.text import Text

from squeeze.show.text.cells import cell, column_head
from squeeze.solve.closing import Closing
from squeeze.solve.land import Land
from squeeze.verdict import LandVerdict, Verdict
from squeeze.verdict.cradle import cradle_notes
from squeeze.verdict.figures import Figure, shown_in
from squeeze.verdict.words import length

SHORT = ("closed_share", "least_pressure_kpa", "largest_pressure_kpa", "largest_gap_mm")
"""What the short table shows of a land."""


def table(closing: Closing, verdict: Verdict, inches: bool = False, short: bool = False) -> Table:
    """Return the table of lands, which rich prints; lengths in mm, or in inches when asked.

    The short one takes a line a land, and one for what heads its few columns.
    """
    heads, rows = land_rows(closing, verdict, inches, SHORT if short else None)
    made = _table(heads, last="seals", tight=short)
    for row in rows:
        made.add_row(*map(Text, row))
    return made


def land_rows(
    closing: Closing,
    verdict: Verdict,
    inches: bool = False,
    names: Sequence[str] | None = None,
) -> tuple[list[str], list[list[str]]]:
    """Return the heads and the rows of the table of lands, as plain text.

    It has all figures of lands, or those whose `names` are given.
    """
    shown = [each for each in shown_in("lands") if names is None or each.name in names]
    heads = ["land", *(column_head(each, "lands", inches) for each in shown), "seals"]
    several = len(closing.section.cuts) > 1
    rows = []
    for number, (land, word) in enumerate(zip(closing.lands, verdict.lands, strict=True), start=1):
        cut = f"{land.cut}: " if several else ""
        cells = _cells(shown, land, word, closing, inches)
        rows.append([f"{number}  {cut}{word.name}", *cells])
    return heads, rows


def _cells(
    shown: Sequence[Figure], land: Land, word: LandVerdict, closing: Closing, inches: bool
) -> list[str]:
    solved = closing.outcome.has_answer
    found = [
        cell(each, each.take([land]), inches) if solved or each.name == "length_mm" else "-"
        for each in shown
    ]
    if not solved:
        return [*found, "no answer"]
    return [*found, ("yes" if word.seals else "no") if word.fed else "-"]


def seats(closing: Closing, inches: bool = False) -> Table:
    """Return the table of the cradle pieces' seats, which rich prints."""
    shown = shown_in("seats")
    made = _table(["seat of", *(column_head(each, "seats", inches) for each in shown)])
    for name in dict.fromkeys(seat.cut for seat in closing.seats):
        parts = [seat for seat in closing.seats if seat.cut == name]
        made.add_row(Text(name), *(cell(each, each.take(parts), inches) for each in shown))
    return made


def _table(heads: Sequence[str], last: str = "", tight: bool = False) -> Table:
    """Return an empty table whose first column folds; `last` names one that is not a number.

    A tight one has no rules and heads of one line.
    """
    made = empty_table(tight)
    made.add_column(heads[0], overflow="fold")
    for head in heads[1:]:
        head = head.replace("\n", " ") if tight else head
        made.add_column(head, justify="left" if head == last else "right", no_wrap=True)
    return made


def empty_table(tight: bool) -> Table:
    """Return a table without columns; a tight one has no rules."""
    if tight:
        return Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="dim")
    return Table(box=SIMPLE_HEAD, pad_edge=False)


def notes(closing: Closing, inches: bool = False, castings: bool = True) -> list[str]:
    """Return what else there is to say, one line each; `castings` asks for the line on them."""
    if not closing.outcome.has_answer:
        return []
    return [*(_cavities(closing, inches) if castings else ()), *_seats(closing), _trust(closing)]


def _cavities(closing: Closing, inches: bool) -> list[str]:
    if not closing.cavities:
        return []
    worst = max(closing.cavities, key=lambda cavity: cavity.largest_shift_mm)
    step = max(cavity.step_mm for cavity in closing.cavities)
    return [
        f"The castings: '{worst.name}' changes most, by {length(worst.largest_shift_mm, inches)} "
        f"and {worst.area_change_pct:+.1f} % of its area; "
        f"largest step at a parting line {length(step, inches)}."
    ]


def _seats(closing: Closing) -> list[str]:
    return cradle_notes(closing)


def _trust(closing: Closing) -> str:
    trust = closing.trust
    return (
        f"Checked: forces balance to {max(trust.force_balance, 1e-16):.0e}, largest strain "
        f"{trust.largest_strain_pct:.1f} %, {trust.unknowns} unknowns, "
        f"{closing.seconds.total:.1f} s."
    )
