"""The molds that a mold file with stations stands for, one at each place along the block."""

from __future__ import annotations

from squeeze.mold.tables.mold import Mold


def stations_of(mold: Mold) -> tuple[tuple[float, Mold], ...]:
    """Return the place of each station [mm] and the mold with its section all along.

    A mold without stations is one in the middle of the block.
    """
    if not mold.station:
        return ((0.5 * mold.length_mm, mold),)
    return tuple((station.at_mm, _with_section(mold, k)) for k, station in enumerate(mold.station))


def _with_section(mold: Mold, number: int) -> Mold:
    station = mold.station[number]
    own = {key: getattr(station, key) for key in ("block", "cavity", "cut")}
    return mold.model_copy(
        update={key: value for key, value in own.items() if value is not None} | {"station": ()}
    )
