"""Why a mold leaks, flashes or comes apart, and what to do first.

The causes are read off the closing; nothing is solved here. `squeeze.verdict.advice` tries changes.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from squeeze.mold.fit import fit_of
from squeeze.mold.forces.bands import WORKING_STRETCH, size_of, stretch_of
from squeeze.mold.forces.loads import wrap_mm
from squeeze.mold.geometry.curve import Line
from squeeze.mold.section.records import Section
from squeeze.mold.tables.loads import BandTable
from squeeze.mold.tables.mold import Mold
from squeeze.solve.closing import Closing, Land
from squeeze.verdict.cradle import cradle_notes
from squeeze.verdict.grade import gapes
from squeeze.verdict.place import land_ends, side_of
from squeeze.verdict.remarks import NOTHING
from squeeze.verdict.seal.barrier import MARGIN, Seal
from squeeze.verdict.words import length, pressure

GOOD_STRETCH = 2.0
"""Stretch that is advised for a band; the middle of what is used (common practice)."""

STRAIGHT = 0.5
"""Share of the outline that is straight from which on the bands push only at the corners."""

SHALLOW = 0.4
"""A cut runs under a flat where it lies no deeper than so much of the block; a judgement."""

PARALLEL = 0.9
"""Least cosine between a cut and the flat that it runs under."""


@dataclass(frozen=True)
class Cause:
    """A cause of trouble.

    Attributes
    ----------
    kind : str
        ``pot``, ``no pull``, ``loose band``, ``film``, ``gap``, ``weak``, ``starved``, ``flat``,
        ``corners``, ``shape``, ``resin``.
    why : str
        One plain sentence.
    do : str
        What to do about it, in one plain sentence.
    """

    kind: str
    why: str
    do: str


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
        *_pull(closing, mold, inches),
        *_gaps(closing, lands, inches),
        *sorted(
            (*_weak(closing, seal, lands, mold), *_starved(closing)),
            key=lambda cause: cause.kind == "weak" and not _lifted(closing, lands),
        ),
        *_shape(closing, lands, mold, inches),
        *_pried(closing),
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


def _pull(closing: Closing, mold: Mold | None, inches: bool) -> Iterator[Cause]:
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
                    shorter_band(wrap, inches),
                )
    if loads.tension_n_per_mm == 0 and not loads.is_pushed:
        yield Cause(
            "no pull", "Nothing presses the block together.", "Put on bands that pull, or a clamp."
        )


def shorter_band(wrap: float, inches: bool = False) -> str:
    """Return the advice to take a band that stretches well round a `wrap` [mm]."""
    flat = length(wrap / (2 * GOOD_STRETCH), inches)
    return f"Take shorter bands: lying flat {flat} long, they stretch to twice their length."


def name_of_band(number: int, band: BandTable) -> str:
    """Return what a kind of band is called in a sentence, counted from 1."""
    return f"Band {number}{band.called}"


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


def _weak(
    closing: Closing, seal: Seal, lands: Sequence[Land], mold: Mold | None
) -> Iterator[Cause]:
    loads = closing.loads
    clamp, lifts = 2 * loads.tension_n_per_mm, resin_lifts(closing, lands)
    most = lifts if lands else max(lifts, _between_faces(closing))
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
            resin = f"and the resin pushes them apart with {lifts:.2g} N/mm"
        elif most > lifts:
            resin = (
                f"the resin pushes them apart with {lifts:.2g} N/mm in the cavities, and with"
                f" {most:.2g} N/mm once it is between the faces"
            )
        else:
            resin = f"the resin takes {lifts:.2g} N/mm of that, and too little is left on the faces"
        yield Cause(
            "weak",
            f"The bands are too weak against the resin: they press the halves together with"
            f" {clamp:.2g} N per mm of length, {resin}.",
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


def _lifted(closing: Closing, lands: Sequence[Land]) -> bool:
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
        along = _direction(max(own, key=lambda land: land.length_mm))
        found.append(
            sum(
                float(np.ptp(cavity.loop.points(0.1) @ along))
                for cavity in section.cavities
                if cavity.name in names
            )
        )
    return p * max(found)


def _between_faces(closing: Closing) -> float:
    """Return what the resin pushes with once it is all along a cut, cavities included [N/mm]."""
    if not closing.loads.enters_cuts:
        return 0.0
    return closing.loads.cavity_mpa * max(
        (_along(closing, cut) for cut in _cuts(closing)), default=0.0
    )


def _cuts(closing: Closing) -> set[str]:
    return {land.cut for land in closing.lands}


def _along(closing: Closing, cut: str) -> float:
    """Return how far a cut reaches from end to end [mm]."""
    own = [land for land in closing.lands if land.cut == cut]
    along = _direction(max(own, key=lambda land: land.length_mm))
    places = np.concatenate([np.column_stack([land.x_mm, land.y_mm]) for land in own])
    return float(np.ptp(places @ along))


def _wide(points: np.ndarray) -> float:
    return float(max(np.ptp(points, axis=0)))


def _direction(land: Land) -> np.ndarray:
    chord = np.array([land.x_mm[-1] - land.x_mm[0], land.y_mm[-1] - land.y_mm[0]])
    return chord / max(float(np.hypot(*chord)), 1e-12)


def _stronger(closing: Closing, seal: Seal, mold: Mold | None) -> str:
    """Say roughly how much more pull is needed: pressures grow with the pull, less the resin's."""
    resin = seal.needed_kpa / MARGIN
    least = min((leak.barrier_kpa for leak in seal.leaks), default=0.0)
    if not closing.outcome.has_answer or gapes(closing):
        faces = max((_along(closing, cut) for cut in _cuts(closing)), default=0.0)
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
        return (
            f"{shorter_band(wrap)} {name_of_band(1, band)} is stretched only {stretch:.2f} times."
        )
    count = math.ceil(band.strands * times)
    if count * size.width_mm > mold.length_mm:
        return (
            f"Take stronger bands: {about} is needed, and that many bands do not fit side by side."
        )
    return f"Put on about {count} bands instead of {band.strands}."


def _starved(closing: Closing) -> Iterator[Cause]:
    joints = [text for text in cradle_notes(closing) if text.startswith("The joint")]
    for text in joints[:1]:
        why = text.split(";")[0] + "."
        yield Cause("starved", why, "Leave a gap between the cradle's pieces.")


def _shape(
    closing: Closing, lands: Sequence[Land], mold: Mold | None, inches: bool
) -> Iterator[Cause]:
    section = closing.section
    gaping = [land for land in lands if land.largest_gap_mm > 0]
    if not gaping or closing.loads.tension_n_per_mm == 0:
        return
    land = max(gaping, key=lambda each: each.largest_gap_mm)
    under = None if section.cradles else flat_over(land, section)
    if under is not None:
        side, deep = under
        yield Cause(
            "flat",
            f"The cut runs {length(deep, inches)} under the flat {side}, where no band turns, so"
            " none presses.",
            f"Bevel or round the corners, put a round-backed board on the {side}, or move the cut.",
        )
    elif not section.cradles and straight_share(section) > STRAIGHT:
        yield Cause(
            "corners",
            "The bands push only at the corners, and the block bends open between them.",
            _rounder(mold),
        )
    else:
        yield Cause(
            "shape",
            "The shape of block and cavity leaves the cut open there.",
            "Move the cut, change the outline, or use a stiffer cradle.",
        )


def _rounder(mold: Mold | None) -> str:
    """Say how to spread a push that comes at the corners alone."""
    beveled = mold is not None and mold.block.bevel_mm > 0
    corners = "Round the corners, or bevel them more" if beveled else "Bevel or round the corners"
    return f"{corners}, or put round-backed boards under the bands."


def straight_share(section: Section) -> float:
    """Return how much of the block's outline is straight, 0..1."""
    outline = section.outline
    sides = [piece.length for piece in outline.pieces if isinstance(piece, Line)]
    return sum(side for side in sides if side > 0.05 * outline.length) / outline.length


def flat_over(land: Land, section: Section) -> tuple[str, float] | None:
    """Return the side of the block that a land runs under, and how deep [mm]; None for none."""
    along = _direction(land)
    middle = np.array([land.x_mm.mean(), land.y_mm.mean()])
    x0, y0, x1, y1 = section.outline.polygon.bounds
    for piece in section.outline.pieces:
        if not isinstance(piece, Line):
            continue
        a, b = np.array(piece.start), np.array(piece.end)
        t = (b - a) / piece.length
        s = float((middle - a) @ t)
        deep = abs(float((middle - a) @ np.array([-t[1], t[0]])))
        whole = abs(t[1]) * (x1 - x0) + abs(t[0]) * (y1 - y0)
        over = 0 < s < piece.length and piece.length > land.length_mm
        if abs(float(t @ along)) > PARALLEL and over and deep < SHALLOW * whole:
            return side_of(piece.place(0.5), section), deep
    return None


def _pried(closing: Closing) -> Iterator[Cause]:
    if closing.pried:
        yield Cause(
            "resin",
            "Resin between the faces pries them open.",
            "Pour with less head, or press harder there.",
        )
