"""Molds that cannot be opened, or whose pieces come apart, in a sentence."""

from __future__ import annotations

from collections.abc import Sequence

from squeeze.mold.tables.mold import Mold
from squeeze.solve.closing import Closing
from squeeze.verdict.cause import Cause, resin_lifts
from squeeze.verdict.head.symptom import after_colon, gap_with_error
from squeeze.verdict.seal.barrier import Seal
from squeeze.verdict.short_cuts import ShortCut, short_cuts
from squeeze.verdict.unheld import only_cradles, say_unheld
from squeeze.verdict.words import MM_PER_INCH, length


def say_shut_in(closing: Closing, seal: Seal, mold: Mold | None, inches: bool) -> tuple[str, str]:
    """Say what no cut opens, and which cut would."""
    if seal.unreached:
        names = _listed(seal.unreached)
        it = "it" if len(seal.unreached) == 1 else "each of them"
        say = f"no cut reaches {names}, so nothing can be poured in through the cuts or taken out."
        return say, f"Lead a cut from the outside through {it}."
    ends = [end for end in short_cuts(closing.section)]
    names = _listed(seal.locked)
    if not ends:
        return f"the cuts of {names} do not lead to the outside.", "Lead a cut to the outside."
    short = min(ends, key=lambda end: end.short_mm)
    say = (
        f"the cut '{short.cut}' ends in rubber, {length(short.short_mm, inches)} short of the"
        f" outside, and no other cut leads out of {names}."
    )
    return say, _carry_on(ends, mold, inches)


def _carry_on(ends: Sequence[ShortCut], mold: Mold | None, inches: bool) -> str:
    """Say where the cut that stops short has to begin and end."""
    cut = min(ends, key=lambda end: end.short_mm).cut
    own = [end for end in ends if end.cut == cut]
    scale, unit = (1 / MM_PER_INCH, "in") if inches else (1.0, "mm")
    words = [
        f"{'begin' if e.at_start else 'end'} its path at"
        f" [{e.out_mm[0] * scale:.4g}, {e.out_mm[1] * scale:.4g}] {unit}"
        for e in own
    ]
    return f"Carry the cut '{cut}' on to the outside: {' and '.join(words)}."


def _listed(names: Sequence[str]) -> str:
    quoted = [f"'{name}'" for name in names]
    return quoted[0] if len(quoted) == 1 else f"{', '.join(quoted[:-1])} or {quoted[-1]}"


def say_apart(closing: Closing, causes: Sequence[Cause], inches: bool) -> tuple[str, str]:
    """Say what comes apart, and what holds it together."""
    if closing.outcome.has_answer:
        widest = max(closing.lands, key=lambda land: land.largest_gap_mm)
        what = f"The faces stand {gap_with_error(widest, closing, inches)} apart."
    else:
        what = say_unheld(closing.trust.pieces, inches, closing.section.cradles)
    if causes:
        return f"{after_colon(causes[0].why)} {what}", causes[0].do
    if resin_lifts(closing) > 0:
        what += " The resin pushes them apart."
    if not closing.outcome.has_answer and only_cradles(closing):
        return after_colon(what), DRAGGED if closing.loads.grips else SLIDES
    return after_colon(
        what
    ), closing.outcome.remedy or "Press the pieces together with bands or a clamp."


DRAGGED = "Let the bands slide on the cradle's backs, or give its seats more friction."


SLIDES = "Give the cradle's seats friction, so that its pieces do not slide round the block."
"""What to do where nothing but pieces of a cradle is loose, with bands that rub and without."""
