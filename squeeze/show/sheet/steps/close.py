"""The step in which the block is closed: cradle, bands, release agent."""

from __future__ import annotations

from collections.abc import Sequence

from shapely.geometry import LineString, Point

from squeeze.mold import Mold, Section, strand_n, stretch_of, wrap_mm
from squeeze.mold.forces.bands import size_of
from squeeze.mold.forces.loads import GRAVITY
from squeeze.mold.tables.loads import BandTable
from squeeze.mold.vents import vents_of
from squeeze.show.sheet.bands import BandPlace, band_places, bands_picture
from squeeze.show.sheet.parts import Part, Row, Unit
from squeeze.show.template.drawing import template_number
from squeeze.solve.closing import Closing
from squeeze.verdict.quantities import under_bands


def close_parts(mold: Mold, section: Section, closing: Closing, unit: Unit) -> list[Part]:
    """Return cradle pieces, bands with their places and pulls, and release agent.

    Parameters
    ----------
    mold : Mold
    section : Section
    closing : Closing
        For how much the block is strained under its bands.
    unit : Unit
    """
    parts: list[Part] = []
    if section.cradles:
        named = [
            f"{template_number(k)} {piece.name}" for k, piece in enumerate(section.cradles, start=1)
        ]
        parts.append(Row("Cradle", f"pieces, as numbered on their templates: {', '.join(named)}"))
    places = band_places(mold)
    if places:
        parts.append(bands_picture(mold, places))
    wrap = wrap_mm(section)
    for number, band in enumerate(mold.band):
        own = [place for place in places if place.kind == number]
        parts += _band(number, band, own, wrap, mold, unit)
    parts += _over_vents(mold, section, places, unit)
    if mold.push:
        parts.append(Row("Pushes", f"{len(mold.push)} on the outside, as in the mold file"))
    friction = max((cut.friction for cut in mold.cut), default=0.0)
    if mold.cut:
        parts.append(Row("Release agent", _release(friction)))
    strain_pct = closing.trust.largest_strain_pct if closing.outcome.has_answer else None
    parts.append(Row("Bands off", under_bands(mold.resin, strain_pct)))
    return parts


def _band(
    number: int,
    band: BandTable,
    places: Sequence[BandPlace],
    wrap: float,
    mold: Mold,
    unit: Unit,
) -> list[Part]:
    name = f"Band {number + 1}" if len(mold.band) > 1 else "Bands"
    pull, stretch = strand_n(band, wrap), stretch_of(band, wrap)
    if pull is None:
        whole = (band.tension_n_per_mm or 0.0) * mold.length_mm
        return [Row(name, f"{whole:.0f} N in all, spread evenly over the length")]
    size = _size(band, unit)
    at = ", ".join(unit.bare(place.at_mm) for place in places)
    said = [Row(name, f"{band.strands} of {size}, at {at} {unit.name} from the start")]
    once_round = f"{unit.say(wrap)} once round"
    if stretch is None:
        said.append(Row("Pull", f"{pull:.1f} N a strand ({_scale(pull)} on a scale), {once_round}"))
        return list(said)
    half = unit.say(wrap / 2)
    said.append(
        Row(
            "Stretch",
            f"{stretch:.1f} times, {once_round}. Hook a loop on a scale, pull it {half} long: it"
            f" reads {_scale(2 * pull)} ({2 * pull:.1f} N), two strands",
        )
    )
    return list(said)


def _over_vents(
    mold: Mold, section: Section, places: Sequence[BandPlace], unit: Unit
) -> list[Part]:
    """Return what closes vents and the sprue: pieces of the cradle, and bands.

    A block that stands on its start has them at its end, where nothing lies.
    """
    if mold.resin is not None and mold.resin.standing:
        return []
    met = [
        f"the band at {unit.bare(place.at_mm)} lies over v{number}"
        for number, vent in enumerate(vents_of(mold), start=1)
        for place in places
        if abs(place.at_mm - vent.at_mm[2]) < (place.width_mm + vent.diameter_mm) / 2
    ]
    under = [
        f"{template_number(k)} lies over v{number}"
        for number, vent in enumerate(vents_of(mold), start=1)
        for k, piece in enumerate(section.cradles, start=1)
        if piece.loop.polygon.distance(Point(vent.end_mm[:2])) < vent.diameter_mm / 2
    ]
    if mold.sprue is not None and mold.sprue.at_mm is not None:
        x, y = mold.sprue.at_mm
        straight_up = LineString([(x, y), (x, y + 4000.0)])
        under += [
            f"{template_number(k)} lies over the sprue"
            for k, piece in enumerate(section.cradles, start=1)
            if piece.loop.polygon.intersects(straight_up)
        ]
    said = [f"{', '.join(under)}: drill the piece through, or set them elsewhere"] * bool(under)
    said += [f"{', '.join(met)}: set band or vent elsewhere"] * bool(met)
    return [Row("" if k else "Beware", each) for k, each in enumerate(said)]


def _size(band: BandTable, unit: Unit) -> str:
    size = size_of(band)
    if band.stock or size is None:
        named = f"'{band.name}'" if band.name else "those weighed"
        return f"size {band.stock}" if band.stock else named
    across = f"{unit.bare(size.width_mm)} x {unit.say(size.thickness_mm)}"
    return f"{across}, {unit.say(size.flat_length_mm)} long lying flat"


def _scale(newton: float) -> str:
    return f"{newton / GRAVITY * 1000:.0f} g"


def _release(friction: float) -> str:
    if friction:
        return (
            f"Keep it off the cut faces: the answer counts on a friction of {friction:g} there, and"
            " release agent takes that away"
        )
    return "The answer counts on no friction, so release agent on the cut faces does not change it"
