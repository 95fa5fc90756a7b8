"""What may have gone wrong at the bench: why a casting flashed, where air is caught."""

from __future__ import annotations

from typing import Any

from squeeze.mold.progress import Progress
from squeeze.page.closed import Refused, mold_in
from squeeze.show.text.why import why_data
from squeeze.verdict.why import thickness_of, why

MOST_TILT_DEG = 60.0


def flashed(asked: dict[str, Any], tell: Progress) -> dict[str, Any]:
    """Return what may have caused the flash on a casting, as `squeeze why` says it."""
    flash, at = asked.get("flash"), asked.get("at") or ""
    if not isinstance(flash, str | int | float) or isinstance(flash, bool):
        raise Refused("How thick the flash was is missing: a number of mm, or words.")
    if not isinstance(at, str):
        raise Refused("The casting is named by the name of its cavity.")
    return why_data(why(mold_in(asked), thickness_of(str(flash)), at, tell))
