"""Why a mold leaks, flashes or comes apart, and what to do first.

The causes are read off the closing; nothing is solved here. `squeeze.verdict.advice` tries changes.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from squeeze.mold.fit import fit_of
from squeeze.mold.tables.mold import Mold
from squeeze.solve.closing import Closing
from squeeze.solve.land import Land
from squeeze.verdict.cause.pull import no_pull, weak_pull
from squeeze.verdict.cause.record import Cause
from squeeze.verdict.cause.resin import lifted, pried
from squeeze.verdict.cause.shape import open_by_shape
from squeeze.verdict.cradle import cradle_notes
from squeeze.verdict.seal.barrier import Seal
from squeeze.verdict.words import length


def causes_of(
    closing: Closing,
    seal: Seal,
    lands: Sequence[Land],
    mold: Mold | None = None,
    inches: bool = False,
) -> tuple[Cause, ...]:
    """Return the causes found, the likeliest first.

    Parameters
    ----------
    closing : Closing
    seal : Seal
    lands : sequence of Land
        Those with the trouble: that leak, or stand open at a cavity.
    mold : Mold, optional
        For its bands and its pot.
    inches : bool
        Give lengths in inches.
    """
    found = [
        *no_pull(closing, mold, inches),
        *_gaps(closing, lands, inches),
        *sorted(
            (*weak_pull(closing, seal, lands, mold), *_starved(closing)),
            key=lambda cause: cause.kind == "weak" and not lifted(closing, lands),
        ),
        *open_by_shape(closing, lands, mold, inches),
        *pried(closing),
    ]
    return tuple(found)


def pot_cause(closing: Closing, mold: Mold | None) -> tuple[Cause, ...]:
    """Return the cause that a block is too large for its pot; none when it goes in."""
    if mold is None or mold.pot is None:
        return ()
    fit = fit_of(mold, closing.section)
    if fit.goes_in is not False:
        return ()
    return (Cause("pot", fit.say[-1], "Make the block smaller, or take another pot."),)


def _gaps(closing: Closing, lands: Sequence[Land], inches: bool) -> Iterator[Cause]:
    troubled = {land.cut for land in lands}
    for cut in closing.section.cuts:
        if max(cut.film_mm) > 0 and troubled:
            yield Cause(
                "film",
                f"A film of {length(max(cut.film_mm), inches)} in the cut '{cut.name}' holds the"
                " faces apart beside it.",
                f"Clean the cut '{cut.name}', or set its piece in dry.",
            )
    for cut in closing.section.cuts:
        widest = max(cut.gap_mm) + cut.bow_mm
        if cut.name in troubled and widest > 0:
            yield Cause(
                "gap",
                f"The cut '{cut.name}' stands open by up to {length(widest, inches)} before the"
                " bands are on.",
                "Make the cut true, or pull its faces together harder.",
            )


def _starved(closing: Closing) -> Iterator[Cause]:
    joints = [text for text in cradle_notes(closing) if text.startswith("The joint")]
    for text in joints[:1]:
        why = text.split(";")[0] + "."
        yield Cause("starved", why, "Leave a gap between the cradle's pieces.")
