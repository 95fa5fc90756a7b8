"""Where air is caught, in plain sentences."""

from __future__ import annotations

from collections.abc import Sequence

from squeeze.verdict.air.pockets import Air, Pocket
from squeeze.verdict.air.remedy import Tilt

MOST_POCKETS = 3


def say_air(air: Air) -> list[str]:
    """Return the sentences on caught air; places are x and y in the section, and along the block.

    Parameters
    ----------
    air : Air
    """
    if not air.sprues_mm:
        return []
    at = _place(air.sprues_mm[0])
    sprue = f"the sprue at {at}" if len(air.sprues_mm) == 1 else _several(air)
    note = [f"{air.note}."] if air.note else []
    if not air.pockets:
        return [f"No place keeps air, with {sprue}.", *note]
    said = [
        f"{say_volume(pocket.volume_mm3)} of air stays{_behind(pocket)} in '{pocket.cavity}', with"
        f" {sprue}. Vent: {_place(pocket.at_mm)}{say_vent(pocket)}."
        for pocket in air.pockets[:MOST_POCKETS]
    ]
    if len(air.pockets) > MOST_POCKETS:
        said.append(f"{len(air.pockets) - MOST_POCKETS} more places keep air, smaller ones.")
    return [*said, *say_remedies(air), *note]


def say_remedies(air: Air) -> list[str]:
    """Return what keeps less air than the block as it is: to hold it tilted, another sprue."""
    said = []
    if air.tilt is not None:
        said.append(f"Held with its {say_tilt(air.tilt)}.")
    if air.other_sprue is not None:
        other = air.other_sprue
        said.append(f"With a sprue at {_place(other.at_mm)} it keeps {say_left(other.volume_mm3)}.")
    return said


def _several(air: Air) -> str:
    return f"{len(air.sprues_mm)} sprues, the first at {_place(air.sprues_mm[0])}"


def _behind(pocket: Pocket) -> str:
    return " behind a thin neck" if pocket.kind == "neck" else ""


def _place(at: tuple[float, float, float]) -> str:
    x, y, along = at
    return f"({x:.1f}, {y:.1f}) mm, {along:.1f} mm along"


def say_vent(pocket: Pocket) -> str:
    """Return what a vent straight up from a pocket would meet; empty where nothing."""
    return say_met(pocket.crosses, pocket.through)


def say_met(crosses: Sequence[str], through: Sequence[str]) -> str:
    """Return which cuts a vent straight up `crosses`, and which cavities it runs `through`."""
    crossed = f"; straight up it crosses {', '.join(crosses)}" if crosses else ""
    return crossed + (f"; straight up it runs into {', '.join(through)}" if through else "")


def say_volume(mm3: float) -> str:
    """Return a volume `mm3` [mm3] as one says it at the bench.

    Examples
    --------
    >>> say_volume(2340.0), say_volume(12.0)
    ('2.3 cm3', '12 mm3')
    """
    return f"{mm3 / 1000:.1f} cm3" if mm3 >= 100 else f"{mm3:.0f} mm3"


def say_left(mm3: float) -> str:
    """Return how much air `mm3` [mm3] is left; what is under 1 mm3 is none."""
    return say_volume(mm3) if mm3 >= 1 else "no air"


def say_tilt(tilt: Tilt) -> str:
    """Return which side of a block to raise how far, and the air that this leaves.

    Examples
    --------
    >>> say_tilt(Tilt(-20.0, 5.0, 8.0))
    'left side raised by 20 degrees and far end raised by 5 degrees it keeps 8 mm3'
    """
    said = [f"{side} raised by {degrees:.0f} degrees" for side, degrees in tilt.raised]
    return f"{' and '.join(said)} it keeps {say_left(tilt.volume_mm3)}"
