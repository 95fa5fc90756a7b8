"""The table of lands on the terminal."""

from __future__ import annotations

from rich.box import SIMPLE_HEAD
from rich.markup import escape
from rich.table import Table

from squeeze.solve.closing import Closing, Land
from squeeze.verdict import LandVerdict, Verdict
from squeeze.verdict.cradle import cradle_notes
from squeeze.verdict.words import MM_PER_INCH, length


def table(closing: Closing, verdict: Verdict, inches: bool = False) -> Table:
    """Return the table of lands, which rich prints.

    Lengths and gaps stand in mm, or in inches when asked.
    """
    unit = "in" if inches else "mm"
    made = Table(box=SIMPLE_HEAD, pad_edge=False)
    made.add_column("land", overflow="fold")
    heads = (f"length\n{unit}", "closed\n%", "mean\nkPa", "least\nkPa", f"gap\n{unit}")
    for head in (*heads, "force\nN/mm"):
        made.add_column(head, justify="right", no_wrap=True)
    made.add_column("seals\n", no_wrap=True)
    several = len(closing.section.cuts) > 1
    for number, (land, word) in enumerate(zip(closing.lands, verdict.lands, strict=True), start=1):
        made.add_row(_name(number, land, word, several), *_figures(land, word, closing, inches))
    return made


def seats(closing: Closing, inches: bool = False) -> Table:
    """Return the table of the cradle pieces' seats, which rich prints."""
    unit = "in" if inches else "mm"
    scale, digits = (1 / MM_PER_INCH, 3) if inches else (1.0, 2)
    made = Table(box=SIMPLE_HEAD, pad_edge=False)
    made.add_column("seat of", overflow="fold")
    heads = (f"length\n{unit}", "bears\n%", "mean\nkPa", "most\nkPa", f"gap\n{unit}")
    for head in (*heads, "force\nN/mm"):
        made.add_column(head, justify="right", no_wrap=True)
    for name in dict.fromkeys(seat.cut for seat in closing.seats):
        parts = [seat for seat in closing.seats if seat.cut == name]
        made.add_row(escape(name), *_bearing(parts, scale, digits))
    return made


def _bearing(parts: list[Land], scale: float, digits: int) -> list[str]:
    """Return what a seat bears, over all its stretches."""
    length = sum(part.length_mm for part in parts)
    force = sum(part.force_n_per_mm for part in parts)
    bears = sum(part.closed_share * part.length_mm for part in parts) / length
    most = max(float(part.pressure_kpa.max()) for part in parts)
    return [
        f"{length * scale:.{digits - 1}f}",
        f"{100 * bears:.0f}",
        f"{1000 * force / length:.1f}",
        f"{most:.1f}",
        _gap(max(part.largest_gap_mm for part in parts) * scale, digits),
        f"{force:.3f}",
    ]


def _name(number: int, land: Land, word: LandVerdict, several: bool) -> str:
    cut = f"{land.cut}: " if several else ""
    return escape(f"{number}  {cut}{word.name}")


def _figures(land: Land, word: LandVerdict, closing: Closing, inches: bool) -> list[str]:
    scale, digits = (1 / MM_PER_INCH, 3) if inches else (1.0, 2)
    length = f"{land.length_mm * scale:.{digits - 1}f}"
    if not closing.outcome.has_answer:
        return [length, *("-",) * 5, "no answer"]
    return [
        length,
        f"{100 * land.closed_share:.0f}",
        f"{land.mean_pressure_kpa:.1f}",
        f"{land.least_pressure_kpa:.1f}",
        _gap(land.largest_gap_mm * scale, digits),
        f"{land.force_n_per_mm:.3f}",
        ("yes" if word.seals else "no") if word.fed else "-",
    ]


def _gap(gap: float, digits: int) -> str:
    least = 10.0**-digits
    return f"<{least:.{digits}f}" if 0 < gap < least else f"{gap:.{digits}f}"


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
