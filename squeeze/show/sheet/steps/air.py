"""The rows of a bench sheet on sprues, vents and caught air."""

from __future__ import annotations

from collections.abc import Sequence

from squeeze.mold import Mold, section_of, stations_of
from squeeze.mold.vents import vents_of
from squeeze.show.sheet.parts import Part, Row, Unit
from squeeze.show.text.air import MOST_POCKETS, say_left, say_met, say_tilt, say_vent, say_volume
from squeeze.verdict.air.pockets import Air, met_straight_up
from squeeze.verdict.air.void import XYZ, up_of

MOST_PLACES = 6
"""Places that a row lists; of more it says how many there are."""


def channels(mold: Mold, air: Air, unit: Unit) -> list[Part]:
    """Return where sprues and vents stand, from two edges of the block, and how high they are.

    Parameters
    ----------
    mold : Mold
    air : Air
    unit : Unit
    """
    if not mold.cavity:
        return []
    parts: list[Part] = []
    sprue, resin = mold.sprue, mold.resin
    size = ""
    if sprue is not None:
        size = f"{unit.say(sprue.diameter_mm)} across, {unit.say(sprue.height_mm)} high; "
    elif resin is not None and resin.head_mm is not None:
        size = f"up to {unit.say(resin.head_mm)} of resin (see Head); "
    many = "Sprue" if len(air.sprues_mm) == 1 else "Sprues"
    parts.append(Row(many, size + _places(mold, air.sprues_mm, unit)))
    parts += _vents(mold, unit)
    missing = [pocket for pocket in air.pockets if pocket.kind == "high point"]
    if not missing and not mold.vent:
        where = "high points of the cavity as it is poured"
        parts.append(Row("Vents", f"none needed: the sprue stands on the {where}"))
    for k, pocket in enumerate(missing[:MOST_POCKETS]):
        said = _places(mold, [pocket.at_mm], unit) + say_vent(pocket)
        parts.append(Row(("Add vents" if mold.vent else "Vents") if k == 0 else "", said))
    return parts


def _vents(mold: Mold, unit: Unit) -> list[Row]:
    """Return the vents of the mold file: bore and height, place, and what they cross."""
    up = up_of(0.0, 0.0, mold.resin is not None and mold.resin.standing)
    rows: list[Row] = []
    stations = [(at, section_of(each)) for at, each in stations_of(mold)]
    for number, vent in enumerate(vents_of(mold), start=1):
        section = min(stations, key=lambda each: abs(each[0] - vent.at_mm[2]))[1]
        crosses, through = met_straight_up(vent.at_mm[:2], up, section, vent.cavity)
        said = (
            f"v{number}: {unit.say(vent.diameter_mm)} across, {unit.say(vent.height_mm)} high;"
            f" {_places(mold, [vent.at_mm], unit)}{say_met(crosses, through)}"
        )
        rows.append(Row("" if rows else "Vents", said))
    return rows


def _places(mold: Mold, places: Sequence[XYZ], unit: Unit) -> str:
    """Return places from two edges and along the block; those in a row share their words.

    Places are as true as the grid they were found on, so they are given to a mm.
    """
    x0, y0, _, _ = section_of(mold).outline.polygon.bounds
    rows: dict[tuple[str, str], list[float]] = {}
    for x, y, along in places:
        below_and_along = unit.bare(round(y - y0)), unit.say(round(along))
        rows.setdefault(below_and_along, []).append(round(x - x0))
    said = [
        f"{', '.join(map(unit.bare, sorted(lefts)))} from left, {below} from below, {along} along"
        for (below, along), lefts in list(rows.items())[:MOST_PLACES]
    ]
    if len(rows) > MOST_PLACES:
        said.append(f"and {len(rows) - MOST_PLACES} rows more")
    return "; ".join(said)


def caught_air(mold: Mold, air: Air, unit: Unit) -> list[Part]:
    """Return how much air is caught where, and the tilt or the sprue that lets it out.

    Parameters
    ----------
    mold : Mold
    air : Air
    unit : Unit
    """
    if not mold.cavity:
        return []
    note = [Row("", air.note)] if air.note else []
    if not air.pockets:
        return [Row("Air", "no place keeps any"), *note]
    parts: list[Part] = []
    for pocket in air.pockets[:MOST_POCKETS]:
        left = "" if pocket.in_pot_mm3 is None else f", {say_volume(pocket.in_pot_mm3)} in the pot"
        at = _places(mold, [pocket.at_mm], unit)
        why = " behind a thin neck" if pocket.kind == "neck" else ""
        said = f"{say_volume(pocket.volume_mm3)} caught{why} in {pocket.cavity}{left}: {at}"
        parts.append(Row("Air" if not parts else "", said))
    if len(air.pockets) > MOST_POCKETS:
        parts.append(Row("", f"{len(air.pockets) - MOST_POCKETS} more places, smaller ones"))
    if air.tilt is not None:
        parts.append(Row("Tilt", f"with its {say_tilt(air.tilt)}"))
    if air.other_sprue is not None:
        at = _places(mold, [air.other_sprue.at_mm], unit)
        parts.append(Row("Other sprue", f"{at}: keeps {say_left(air.other_sprue.volume_mm3)}"))
    return [*parts, *note]
