"""The comparison of cradles: a sentence, a table, plain data. Its picture: `figure.cradles`."""

from __future__ import annotations

from typing import Any

from rich.box import SIMPLE_HEAD
from rich.table import Table
from rich.text import Text

from squeeze.show.text.cells import cell, column_head
from squeeze.study.cradles.candidates import BARE, OWN
from squeeze.study.cradles.comparison import CradleComparison, CradleRow
from squeeze.study.cradles.even_seat import EvenSeat, SawError
from squeeze.verdict.casting.flash import FINE_MM
from squeeze.verdict.cradle import cradle_notes
from squeeze.verdict.figures import shown_in
from squeeze.verdict.grade import GOOD, SHUT_IN, VERBS
from squeeze.verdict.seal.barrier import MARGIN
from squeeze.verdict.words import length, pressure

STRAIN_PCT = 10.0
"""Above this strain the model leaves what it can judge."""


def cradle_words(found: CradleComparison) -> list[str]:
    """Return what the comparison says, in plain sentences."""
    says = _shut_in(found)
    if says:
        return says
    for tension in found.tensions_n_per_mm:
        at = f" at {tension:.2f} N per mm" if len(found.tensions_n_per_mm) > 1 else ""
        says.append(_simplest(found, tension, at))
    best = found.simplest()
    if best is not None:
        says += _head(best)
    says += _reasons(found)
    says += _strained(found)
    own = next((row for row in found.rows if row.name == OWN and row.closing), None)
    if own is not None and own.closing is not None:
        says += cradle_notes(own.closing)
    says += [*_unsure(found), *_close_calls(found), *_clamps(found)]
    if large := _large(found):
        says.append(
            f"The table is at small deformation, {_listed(large).lower()} at large deformation."
        )
    elif len(found.tensions_n_per_mm) == 1 and not _resin(found):
        says.append(
            "Where no seat lifts, twice the bands give twice the pressure and twice the gap,"
            " and closed stays closed: the choice of cradle does not depend on how many there are."
        )
    return says


def _shut_in(found: CradleComparison) -> list[str]:
    """Say that no cradle matters where the block cannot be opened at all."""
    heads = [row.verdict.head for row in found.rows if row.verdict is not None]
    if heads and all(head.grade == SHUT_IN for head in heads):
        return [f"{heads[0].say} No cradle mends that. {heads[0].do}"]
    return []


def _large(found: CradleComparison) -> list[str]:
    """Return the cradles whose figures are those of large deformation."""
    return list(dict.fromkeys(row.name for row in found.rows if row.solved and _is_large(row)))


def _is_large(row: CradleRow) -> bool:
    return row.closing is not None and row.closing.deformation.is_large


def _resin(found: CradleComparison) -> bool:
    """Whether resin presses in the cavities, so that figures do not just go with the pull."""
    return any(row.closing.loads.cavity_mpa > 0 for row in found.rows if row.closing is not None)


def _unsure(found: CradleComparison) -> list[str]:
    """Say what the sign behind a grade means, where one stands."""
    if all(row.is_sure for row in found.rows if row.solved and row.verdict is not None):
        return []
    return [UNSURE]


UNSURE = "A grade with ? is that of small deformation: at large deformation no answer was found."


CLOSE = 0.15
"""Share of a limit within which a finer mesh may tip a grade; a judgement."""

SLIVER = 0.1
"""A cut that is shut on less than this share of its length seals on a few edges of the mesh.

Two boards at the sides of a flat egg mold leave 4 % shut. There the weakest barrier fell from 3.9
to 0 times the resin's pressure on a mesh twice as fine, where the others moved by a tenth at most.
"""


def _close_calls(found: CradleComparison) -> list[str]:
    """Name the cradles whose grade hangs on a figure close to its limit."""
    names = [row.name for row in found.rows if row.solved and not row.yardstick and _is_close(row)]
    if not names:
        return []
    return [
        f"{_listed(list(dict.fromkeys(names)))}: close to a limit, or shut on a sliver of the cuts"
        f" alone, so a finer mesh may grade {'it' if len(set(names)) == 1 else 'them'} otherwise."
        " squeeze close says how sure that is."
    ]


def _is_close(row: CradleRow) -> bool:
    figures = row.figures
    limits = ((figures.margin, MARGIN), (figures.flash_thickness_mm, FINE_MM))
    near = any(abs(value - limit) < CLOSE * limit for value, limit in limits)
    return near or (figures.seals and figures.closed_share < SLIVER)


def _clamps(found: CradleComparison) -> list[str]:
    """Say with how much force the clamps press that pull as hard as the bands."""
    forces = sorted({round(row.clamp_n) for row in found.rows if row.clamp_n is not None})
    if not forces:
        return []
    words = " or ".join(f"{force} N" for force in forces)
    return [f"A clamp presses each board with {words} in all, spread over the block's length."]


def _head(row: CradleRow) -> list[str]:
    """Return the head of the mold with the cradle that is named first."""
    if row.verdict is None:
        return []
    head = row.verdict.head
    first, *rest = head.lines
    why = first.removeprefix(f"{head.grade}: ")
    return [f"With {row.name}, the mold {VERBS[head.grade]}: {why}", *rest]


def _reasons(found: CradleComparison) -> list[str]:
    """Say why cradles have no answer, each reason once, with the cradles that it holds for.

    What `_none` has said of the bands alone is not said again.
    """
    names: dict[str, list[str]] = {}
    said = next((_reason(row) for row in found.rows if _said_at_once(found, row)), "")
    for row in found.rows:
        if row.fault is not None and _reason(row) != said:
            names.setdefault(_reason(row), []).append(row.name)
    tried = {row.name for row in found.rows}
    return [
        f"{'All' if set(who) == tried else _listed(list(dict.fromkeys(who)))}: {why}"
        for why, who in names.items()
    ]


def _said_at_once(found: CradleComparison, row: CradleRow) -> bool:
    """Return whether the first sentence gives the cause that a row of bands alone comes apart."""
    bare = row.name == BARE and row.fault is not None
    head = None if row.verdict is None else row.verdict.head
    return bare and head is not None and bool(head.causes) and not _answered(found)


def _answered(found: CradleComparison) -> bool:
    return any(row.solved and not row.yardstick for row in found.rows)


def _reason(row: CradleRow) -> str:
    """Return why a cradle has no answer: the cause alone, where there is one."""
    head = None if row.verdict is None else row.verdict.head
    if head is None or not head.causes:
        fault = (row.fault or "").split(" The piece round ")[0]
        graded = head is not None and fault.startswith(f"{head.grade}:")
        return fault[0].lower() + fault[1:] if graded else fault
    return f"{head.grade.lower()}; {head.causes[0].why[0].lower()}{head.causes[0].why[1:]}"


def _listed(names: list[str]) -> str:
    between = "; " if any("," in name for name in names) else ", "
    last = "; and " if between == "; " else " and "
    said = names[0] if len(names) == 1 else f"{between.join(names[:-1])}{last}{names[-1]}"
    return said[0].upper() + said[1:]


def _simplest(found: CradleComparison, tension: float, at: str) -> str:
    best = found.simplest(tension)
    if best is None:
        return _none(found, tension, at)
    figures = best.figures
    least = pressure(figures.least_pressure_kpa)
    if not figures.seals:
        return (
            f"None of these seals{at}: they press too lightly. The simplest that closes every land:"
            f" {best.name}, with {least} at least."
        )
    if figures.grade not in GOOD:
        thick = length(figures.flash_thickness_mm)
        return (
            f"The simplest that seals{at}: {best.name}. Its castings carry {thick} of flash; none"
            " of these seals without."
        )
    if best.name == BARE:
        return f"No cradle is needed{at}: bands alone seal, and no flash is left to mend."
    bare = next((row for row in found.at(tension) if row.name == BARE), None)
    without = f" Bands alone: {_grade(bare).lower()}." if bare is not None else ""
    return f"The simplest that seals without flash{at}: {best.name}.{without}"


def _none(found: CradleComparison, tension: float, at: str) -> str:
    rows = [row for row in found.at(tension) if row.solved and not row.yardstick]
    if not rows:
        bare = next((row for row in found.at(tension) if row.name == BARE), None)
        head = None if bare is None or bare.verdict is None else bare.verdict.head
        if head is None or not head.causes:
            return f"No cradle gives an answer to rely on{at}."
        return f"No cradle helps{at}. {head.causes[0].why} {head.do}".strip()
    near = max(rows, key=lambda row: (row.figures.sealing_lands, row.figures.closed_share))
    return (
        f"None of these seals or closes every land{at}. {near.name[0].upper()}{near.name[1:]}"
        f" comes nearest, with {100 * near.figures.closed_share:.0f} % closed: move the cut or"
        " change the outline."
    )


def _strained(found: CradleComparison) -> list[str]:
    best = found.simplest()
    if best is None or best.closing is None:
        return []
    strain = best.closing.trust.largest_strain_pct
    if strain <= STRAIN_PCT:
        return []
    calm = next(
        (
            row
            for row in found.at(best.tension_n_per_mm)
            if row.rank == best.rank and not row.yardstick and row.closing is not None
            if row.closing.trust.largest_strain_pct <= STRAIN_PCT
        ),
        None,
    )
    more = f" The simplest one without such places: {calm.name}." if calm else ""
    return [
        f"With {best.name} the rubber is strained by {strain:.0f} % at its worst place, beyond"
        f" what the model can judge (10 %): the figures near it are rough.{more}"
    ]


def cradle_table(found: CradleComparison, tension: float, inches: bool = False) -> Table:
    """Return the table of one `tension` [N/mm], which rich prints."""
    made = Table(box=SIMPLE_HEAD, pad_edge=False)
    made.add_column("cradle", overflow="fold", min_width=24)
    for each in shown_in("cradles"):
        made.add_column(column_head(each, "cradles", inches), justify="right", no_wrap=True)
    made.add_column("grade\n", no_wrap=True)
    best = found.simplest(tension)
    for row in found.at(tension):
        style = "bold" if row is best else None
        made.add_row(*_cells(row, inches), style=style)
    return made


def _cells(row: CradleRow, inches: bool) -> list[Text | str]:
    name = row.name + (" (yardstick)" if row.yardstick else "")
    shown = shown_in("cradles")
    if not row.solved:
        return [Text(name), *("-",) * len(shown), _grade(row)]
    values = row.figures.values
    return [
        Text(name),
        *(cell(each, values[each.name], inches) for each in shown),
        _grade(row),
    ]


def _grade(row: CradleRow) -> str:
    """Return the grade of a cradle, also of one that comes apart, or that nobody can make."""
    if row.verdict is None:
        return "no answer"
    sure = row.is_sure or not row.solved
    return row.verdict.head.grade if sure else f"{row.verdict.head.grade}?"


def cradle_data(found: CradleComparison) -> dict[str, Any]:
    """Return the comparison as plain data for JSON."""
    best = {
        str(t): row.name if (row := found.simplest(t)) else None for t in found.tensions_n_per_mm
    }
    return {"simplest": best, "cradles": [_data(row) for row in found.rows]}


def _data(row: CradleRow) -> dict[str, Any]:
    data = {"name": row.name, "tension_n_per_mm": row.tension_n_per_mm, "fault": row.fault}
    data["clamp_n"] = row.clamp_n
    if row.verdict is not None:
        head = row.verdict.head
        data["verdict"] = {"grade": head.grade, "say": head.say, "do": head.do}
    return data | row.figures.as_data() if row.solved else data


def seat_words(
    found: EvenSeat,
    what: str,
    errors: tuple[SawError, ...] = (),
    tolerance_mm: float | None = None,
    inches: bool = False,
) -> list[str]:
    """Return what a search for an even seat says.

    Parameters
    ----------
    found : EvenSeat
    what : str
        Which seats are changed, and how.
    errors : tuple of SawError
        The worst first.
    tolerance_mm : float or None
        How far the saw may stray before the gain is lost.
    inches : bool
    """
    says = [
        f"{what}: evenness {found.evenness:.2f} instead of {max(0.0, found.evenness_before):.2f},"
        f" {pressure(found.least_kpa)} at least."
    ]
    if errors:
        worst = errors[0]
        says.append(
            f"If the saw strays: with {worst.say} the evenness is {worst.evenness:.2f} and the"
            f" least pressure {pressure(worst.least_kpa)}."
        )
    if tolerance_mm is not None and errors and errors[0].evenness < found.evenness_before:
        says.append(
            "That costs more than the crown gains: saw and sand to"
            f" {length(tolerance_mm, inches)} or better, or leave the seat as it is."
        )
    return says
