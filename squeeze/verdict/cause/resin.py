"""What the resin pushes with: from the cavities, and once it is between the faces."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from squeeze.solve.closing import Closing
from squeeze.solve.land import Land
from squeeze.verdict.cause.record import Cause
from squeeze.verdict.place import land_ends


def lifted(closing: Closing, lands: Sequence[Land]) -> bool:
    """Return whether the resin alone outweighs the bands, whatever a cradle keeps of their pull."""
    return 2 * closing.loads.tension_n_per_mm <= resin_lifts(closing, lands)


def resin_lifts(closing: Closing, lands: Sequence[Land] = ()) -> float:
    """Return the force with which the resin in the cavities pushes the halves apart [N/mm].

    Its pressure times the width of the cavities that a cut runs through, along that cut; where no
    land is named, times the greatest width of any cavity.
    """
    p, section = closing.loads.cavity_mpa, closing.section
    if not lands:
        return p * max((_wide(c.loop.points(0.1)) for c in section.cavities), default=0.0)
    found = [0.0]
    for cut in {land.cut for land in lands}:
        own = [land for land in closing.lands if land.cut == cut]
        names = {e.text.strip("'") for land in own for e in land_ends(land, section)}
        along = direction(max(own, key=lambda land: land.length_mm))
        found.append(
            sum(
                float(np.ptp(cavity.loop.points(0.1) @ along))
                for cavity in section.cavities
                if cavity.name in names
            )
        )
    return p * max(found)


def between_faces(closing: Closing) -> float:
    """Return what the resin pushes with once it is all along a cut, cavities included [N/mm]."""
    if not closing.loads.enters_cuts:
        return 0.0
    return closing.loads.cavity_mpa * max(
        (length_along(closing, cut) for cut in cut_names(closing)), default=0.0
    )


def cut_names(closing: Closing) -> set[str]:
    """Return the names of the cuts with rubber on both sides."""
    return {land.cut for land in closing.lands}


def length_along(closing: Closing, cut: str) -> float:
    """Return how far a cut reaches from end to end [mm]."""
    own = [land for land in closing.lands if land.cut == cut]
    along = direction(max(own, key=lambda land: land.length_mm))
    places = np.concatenate([np.column_stack([land.x_mm, land.y_mm]) for land in own])
    return float(np.ptp(places @ along))


def _wide(points: np.ndarray) -> float:
    return float(max(np.ptp(points, axis=0)))


def direction(land: Land) -> np.ndarray:
    """Return the unit vector from the start of a land to its end, of shape (2,)."""
    chord = np.array([land.x_mm[-1] - land.x_mm[0], land.y_mm[-1] - land.y_mm[0]])
    return chord / max(float(np.hypot(*chord)), 1e-12)


def pried(closing: Closing) -> Iterator[Cause]:
    """Yield the cause that resin between the faces pries them open."""
    if closing.pried:
        yield Cause(
            "resin",
            "Resin between the faces pries them open.",
            "Pour with less head, or press harder there.",
        )
