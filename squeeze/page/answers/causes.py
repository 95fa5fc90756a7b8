"""What may have gone wrong at the bench: why a casting flashed, where air is caught."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from typing import Any

from squeeze.mold.progress import Progress
from squeeze.page.answers.closed import Refused, mold_in
from squeeze.page.answers.remarks import in_units
from squeeze.show.text.air import say_remedies
from squeeze.show.text.why import why_data
from squeeze.verdict.air.pockets import Air, air_in, filling_of, pockets_at
from squeeze.verdict.why import thickness_of, why

MOST_TILT_DEG = 60.0


def flashed(asked: dict[str, Any], progress: Progress) -> dict[str, Any]:
    """Return what may have caused the flash on a casting, as `squeeze why` says it.

    Raises
    ------
    Refused
        When no thickness or no name of a casting was asked with.
    """
    flash, at = asked.get("flash"), asked.get("at") or ""
    if not isinstance(flash, str | int | float) or isinstance(flash, bool):
        raise Refused("How thick the flash was is missing: a number, or words.")
    if not isinstance(at, str):
        raise Refused("The casting is named by the name of its cavity.")
    inches = asked.get("inches") is True
    thick = thickness_of(str(flash), inches)
    return why_data(why(mold_in(asked), thick, at, progress, inches))


def air(asked: dict[str, Any], progress: Progress) -> dict[str, Any]:
    """Return where air is caught while the block is held at a tilt.

    At none it is what `squeeze close` writes of the air, with what keeps less of it.

    `asked` has the ``mold`` and perhaps its ``folder``, with the tilts ``about_length_deg`` and
    ``end_up_deg`` [deg].

    Raises
    ------
    Refused
        When a tilt is no angle that it allows.
    """
    tilt = [asked.get(name, 0) for name in ("about_length_deg", "end_up_deg")]
    if not all(
        isinstance(deg, int | float) and -MOST_TILT_DEG <= deg <= MOST_TILT_DEG for deg in tilt
    ):
        raise Refused(f"A tilt is a number from -{MOST_TILT_DEG:g} to {MOST_TILT_DEG:g} degrees.")
    mold, folder = mold_in(asked), asked.get("folder")
    filling = filling_of(mold, Path(folder) if isinstance(folder, str) else None, inside=True)
    inches = asked.get("inches") is True
    if any(tilt):
        pockets, sprues = pockets_at(mold, filling, *map(float, tilt))
        found = Air(pockets, sprues, None, None, 0.0, filling.source, filling.note)
    else:
        found = air_in(mold, filling)
    said = asdict(found)
    return said | {
        "volume_mm3": sum(pocket.volume_mm3 for pocket in found.pockets),
        "remedies": in_units(say_remedies(found), inches),
        "note": in_units([found.note], inches)[0],
    }
