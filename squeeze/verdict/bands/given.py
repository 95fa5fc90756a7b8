"""The bands that a mold names, at their places: what they do over the block's length."""

from __future__ import annotations

from dataclasses import replace

from squeeze.mold import Mold
from squeeze.mold.progress import Progress, silent
from squeeze.solve.along.loads import BandAt, bands_of, smeared_of
from squeeze.solve.along.record import AlongClosing
from squeeze.solve.along.stations import StationBlock, station_blocks
from squeeze.verdict.bands.barriers_along import SealAlong, seal_along
from squeeze.verdict.bands.layout import SLACK, BandLayout, as_slack, is_enough


def factorised(mold: Mold, progress: Progress = silent) -> tuple[StationBlock, ...]:
    """Return a mold's blocks, factorised for each wave; any bands of it can be tried on them.

    Parameters
    ----------
    mold : Mold
    progress : Progress
        Called with what is being done.

    Raises
    ------
    BadInput
        When a section cannot be computed as given.
    """
    progress("Preparing the block for bands at places")
    return station_blocks(mold)


def given_layout(mold: Mold, stations: tuple[StationBlock, ...]) -> BandLayout:
    """Return what a mold's own bands do on blocks that were factorised for it.

    Parameters
    ----------
    mold : Mold
        Which may differ in its bands alone from the one that was factorised.
    stations : tuple of StationBlock
        From `factorised`.

    Returns
    -------
    BandLayout
        Places of the bands [mm], closings along the length, how well each holds, with slack bands
        too. Its kind is None.
    """
    closings = _closed(mold, stations)
    holds = _seals(closings, stations)
    places = tuple(band.at_mm for band in closings[0].bands)
    layout = BandLayout(None, places, closings, holds, as_slack(holds))
    if not is_enough(layout.margin * SLACK):
        return layout
    slack = _seals(_closed(mold, stations, SLACK), stations)
    return replace(layout, slack=as_slack(holds, slack))


def _closed(
    mold: Mold, stations: tuple[StationBlock, ...], times: float = 1.0
) -> tuple[AlongClosing, ...]:
    """Close each station's block with the mold's bands, `times` as strong."""
    return tuple(
        station.block.close(
            [
                BandAt(band.at_mm, times * band.tension_n, band.width_mm)
                for band in bands_of(mold, station.block.wrap_mm)
            ],
            smeared_n_per_mm=times * smeared_of(mold),
            check=False,
        )
        for station in stations
    )


def _seals(
    closings: tuple[AlongClosing, ...], stations: tuple[StationBlock, ...]
) -> tuple[SealAlong, ...]:
    return tuple(
        seal_along(closing, station.from_mm, station.to_mm)
        for closing, station in zip(closings, stations, strict=True)
    )
