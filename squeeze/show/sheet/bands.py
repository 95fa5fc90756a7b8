"""Where bands go along the block and in which order, and the picture of that."""

from __future__ import annotations

from dataclasses import dataclass

from squeeze.mold.forces.bands import size_of
from squeeze.mold.tables.mold import Mold
from squeeze.show.sheet.picture import BLACK, PALE, DrawnLine, Picture, Word


@dataclass(frozen=True)
class BandPlace:
    """Where a band goes along the block, of which kind, and when."""

    at_mm: float
    kind: int
    turn: int
    width_mm: float


def band_places(mold: Mold) -> tuple[BandPlace, ...]:
    """Return where bands go: from the middle outwards by turns, so that no end gapes meanwhile."""
    found = []
    for kind, band in enumerate(mold.band):
        size, n = size_of(band), band.strands
        if band.tension_n_per_mm is not None:
            continue
        places = band.at_mm or [(k + 0.5) * mold.length_mm / n for k in range(n)]
        found += [(float(at), kind, size.width_mm if size else 3.0) for at in places]
    middle = mold.length_mm / 2
    order = sorted(range(len(found)), key=lambda k: (abs(found[k][0] - middle), found[k][0]))
    turn = {k: number for number, k in enumerate(order, start=1)}
    places = [BandPlace(at, kind, turn[k], wide) for k, (at, kind, wide) in enumerate(found)]
    return tuple(sorted(places, key=lambda place: place.at_mm))


def bands_picture(mold: Mold, places: tuple[BandPlace, ...]) -> Picture:
    """Return the block from the side with its bands, numbered in the order of putting them on."""
    long, high = mold.length_mm, 0.12 * mold.length_mm
    strokes = [DrawnLine(((0, 0), (long, 0), (long, high), (0, high)), True, BLACK, PALE, 0.3)]
    words = [Word("start", (0.0, 0.0), False, (4.0, -3.4))]
    for place in places:
        a, b = place.at_mm - place.width_mm / 2, place.at_mm + place.width_mm / 2
        ring = ((a, 0.0), (b, 0.0), (b, high), (a, high))
        strokes.append(DrawnLine(ring, True, BLACK, 0.6, 0.15))
        words.append(Word(str(place.turn), (place.at_mm, high), False, (0.0, 2.2)))
    caption = "The block from the side, {scale}: bands in the order to put them on."
    return Picture(caption, tuple(strokes), tuple(words), (0.0, 0.0, long, high), 6.0, 32.0)
