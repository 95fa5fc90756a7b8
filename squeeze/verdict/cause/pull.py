"""Bands that hang loose, or pull too weakly against the resin."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from squeeze.mold.forces.band_sizes import BandSize
from squeeze.mold.forces.bands import (
    WORKING_STRETCH,
    size_of,
    strand_tension,
    stretch_of,
    stretching_well,
)
from squeeze.mold.forces.loads import wrap_mm
from squeeze.mold.tables.loads import BandTable
from squeeze.mold.tables.mold import Mold
from squeeze.solve.closing import Closing
from squeeze.solve.land import Land
from squeeze.verdict.cause.record import Cause
from squeeze.verdict.cause.resin import between_faces, cut_names, resin_lifts
from squeeze.verdict.grade import gapes
from squeeze.verdict.remarks import NOTHING
from squeeze.verdict.seal.barrier import MARGIN, Seal
from squeeze.verdict.words import length, pressure


def no_pull(closing: Closing, mold: Mold | None, inches: bool) -> Iterator[Cause]:
    """Yield a cause for each band that hangs loose, and one where nothing presses at all."""
    loads = closing.loads
    if mold is not None:
        wrap = wrap_mm(closing.section)
        for number, band in enumerate(mold.band, start=1):
            stretch = stretch_of(band, wrap)
            if stretch is not None and stretch <= 1 and band.strands:
                yield Cause(
                    "loose band",
                    f"{name_of_band(number, band)} hangs loose round {length(wrap, inches)} and"
                    " does not pull.",
                    f"Take {shorter_band(band, wrap, inches)}.",
                )
    if loads.tension_n_per_mm == 0 and not loads.is_pushed:
        yield Cause(
            "no pull", "Nothing presses the block together.", "Put on bands that pull, or a clamp."
        )


def shorter_band(band: BandTable, wrap: float, inches: bool = False) -> str:
    """Return which bands stretch well round a `wrap` [mm], as wide and thick as a given kind.

    A part of a sentence; `inches` gives lengths in inches.
    """
    size = size_of(band)
    assert size is not None
    number, better = stretching_well(size, wrap)
    stretched = f"they stretch to {wrap / (2 * better.flat_length_mm):.1f} times their length"
    return f"shorter bands, {called(number, better, inches)}: {stretched}"


def called(number: str, size: BandSize, inches: bool = False) -> str:
    """Return what a size is called: its trade `number`, if it has one, and its flat length."""
    flat = f"{length(size.flat_length_mm, inches)} long when flat"
    return f"size {number} ({flat})" if number else flat


def pulls_as(size: BandSize, other: BandSize, wrap: float) -> float:
    """Return the pull of a band over that of another, both round a `wrap` [mm]."""
    a, b = (
        strand_tension(each.width_mm * each.thickness_mm, wrap / (2 * each.flat_length_mm))
        for each in (size, other)
    )
    return a / b


def name_of_band(number: int, band: BandTable) -> str:
    """Return what a kind of band is called in a sentence: its `number` from 1, name or size."""
    return f"Band {number}{band.called}"


def weak_pull(
    closing: Closing, seal: Seal, lands: Sequence[Land], mold: Mold | None
) -> Iterator[Cause]:
    """Yield the cause that the bands press the halves together less than the resin needs."""
    loads = closing.loads
    clamp, lifts = 2 * loads.tension_n_per_mm, resin_lifts(closing, lands)
    most = lifts if lands else max(lifts, between_faces(closing))
    if loads.tension_n_per_mm == 0 or loads.is_pushed:
        return
    top = max((float(land.pressure_kpa.max()) for land in closing.lands), default=0.0)
    solved = closing.outcome.has_answer
    softly = solved and any(
        leak.barrier_kpa > NOTHING * top and leak.barrier_kpa > 0 for leak in seal.leaks
    )
    if clamp >= MARGIN * most and not softly:
        return
    if clamp < 2 * MARGIN * most:
        if clamp <= lifts:
            resin = f"and the resin pushes them apart with {_line_load(lifts)}"
        elif most > lifts:
            resin = (
                f"the resin pushes them apart with {_line_load(lifts)} in the cavities, and with"
                f" {_line_load(most)} once it is between the faces"
            )
        else:
            resin = (
                f"the resin takes {_line_load(lifts)} of that, and too little is left on the faces"
            )
        yield Cause(
            "weak",
            f"The bands are too weak against the resin: they press the halves together with"
            f" {_line_load(clamp)} of the block's length, {resin}.",
            _stronger(closing, seal, mold),
        )
        return
    best = max(leak.barrier_kpa for leak in seal.leaks)
    yield Cause(
        "weak",
        f"The bands pull too weakly: the faces press {pressure(best)}, and"
        f" {pressure(seal.needed_kpa)} is needed.",
        _stronger(closing, seal, mold),
    )


def _faces_mm(closing: Closing, cut: str) -> float:
    """Return how much rubber on rubber a cut has [mm]; its cavities do not press."""
    return sum(land.length_mm for land in closing.lands if land.cut == cut)


def _line_load(n_per_mm: float) -> str:
    """Return a force per length in two digits, zeros at the end included.

    Two of them stand in one sentence, so both show as many digits.

    Examples
    --------
    >>> _line_load(0.09), _line_load(0.085), _line_load(12.0)
    ('0.090 N/mm', '0.085 N/mm', '12 N/mm')
    """
    return f"{n_per_mm:#.2g}".rstrip(".") + " N/mm"


def _small(words: str) -> str:
    return words[0].lower() + words[1:]


def _stronger(closing: Closing, seal: Seal, mold: Mold | None) -> str:
    """Say roughly how much more pull is needed: pressures grow with the pull, less the resin's."""
    resin = seal.needed_kpa / MARGIN
    least = min((leak.barrier_kpa for leak in seal.leaks), default=0.0)
    if not closing.outcome.has_answer or gapes(closing):
        faces = max((_faces_mm(closing, cut) for cut in cut_names(closing)), default=0.0)
        needed = seal.needed_kpa / 1000 * faces + resin_lifts(closing)
        times = needed / (2 * closing.loads.tension_n_per_mm)
    else:
        times = (seal.needed_kpa + resin) / (least + resin)
    times = 1.1 * max(times, 1.1)
    about = f"about {times:.1f} times the pull"
    if mold is None or len(mold.band) != 1:
        return f"Pull harder: {about}."
    band, wrap = mold.band[0], wrap_mm(closing.section)
    size, stretch = size_of(band), stretch_of(band, wrap)
    if size is None or stretch is None:
        return f"Pull harder: {about}."
    if stretch < WORKING_STRETCH[0]:
        number, better = stretching_well(size, wrap)
        count = math.ceil(band.strands * times / pulls_as(better, size, wrap))
        more = f" and more of them, about {count}" if count > band.strands else ""
        return (
            f"Take shorter bands{more}: {called(number, better)}. They stretch to"
            f" {wrap / (2 * better.flat_length_mm):.1f} times their length,"
            f" {_small(name_of_band(1, band))} only to {stretch:.2f} times."
        )
    count = math.ceil(band.strands * times)
    if count * size.width_mm > mold.length_mm:
        return (
            f"Take stronger bands: {about} is needed, and that many bands do not fit side by side."
        )
    return f"Put on about {count} bands instead of {band.strands}."
