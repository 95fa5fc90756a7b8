"""The tables of a mold file that press: bands, pushes, resin; and its pot."""

from __future__ import annotations

from itertools import pairwise
from typing import Annotated, Any

from squeeze.mold.forces.band_sizes import SIZES
from squeeze.mold.tables.shape import DrawnTable
from squeeze.mold.tables.table import KeyFaults, Table, exactly_one
from squeeze.mold.tables.values import (
    XY,
    Entry,
    FrictionValue,
    Name,
    as_number,
    listed,
    number,
    numbers,
    parts,
    plain_error,
    point,
    quote,
    spelling,
    text,
    whole,
    yes_or_no,
)

RESIN_DENSITY_G_CM3 = 1.05
"""Of resin, where the mold names none [g/cm3]."""

GRAVITY = 9.80665
"""Standard acceleration of free fall [m/s2], from gram-force to newtons."""

WASTE_PERCENT = 10.0
"""What stays in the mixing vessel, of rubber and of resin (common practice)."""


def _stock(value: object) -> str:
    name = str(value) if isinstance(value, int) and not isinstance(value, bool) else value
    if isinstance(name, str) and name.upper() in SIZES:
        return name.upper()
    raise plain_error(
        f"{quote(value)} is not a size in the table; known are {listed(SIZES, 'and')}, or"
        f" give width_mm, thickness_mm and flat_length_mm, or a [[stock]] of that name"
        f"{spelling(value, SIZES)}"
    )


MOST_GRAMS = 100_000.0


def _weighed(value: object, unit: str, most: float) -> tuple[tuple[float, float], ...]:
    """Read pairs of distance between the hooks [mm] and the scale's reading, in g or N."""
    allowed = f"give [distance between the hooks in mm, reading in {unit}] pairs, longest last"
    if not isinstance(value, list | tuple) or len(value) < 2:
        raise plain_error(f"{quote(value)} given; {allowed}, two at least")
    found = []
    for pair in value:
        if not isinstance(pair, list | tuple) or len(pair) != 2:
            raise plain_error(f"{quote(pair)} is no pair; {allowed}")
        found.append((as_number(pair[0], 1, 2000, " mm"), as_number(pair[1], 0, most, f" {unit}")))
    if any(b[0] <= a[0] or b[1] < a[1] for a, b in pairwise(found)):
        raise plain_error(f"distances and readings have to grow from pair to pair; {allowed}")
    return tuple(found)


_WEIGHED_SCHEMA = {
    "type": "array",
    "minItems": 2,
    "items": {"type": "array", "items": {"type": "number"}, "minItems": 2, "maxItems": 2},
}


_IN_GRAMS = Entry(lambda value: _weighed(value, "g", MOST_GRAMS), _WEIGHED_SCHEMA)
_IN_NEWTONS = Entry(lambda value: _weighed(value, "N", MOST_GRAMS / 100), _WEIGHED_SCHEMA)
Weighed = tuple[tuple[float, float], ...]


class StockTable(Table):
    """Bands of one's own, under a name that ``stock`` of a band may give.

    Attributes
    ----------
    name : str
    width_mm, thickness_mm, flat_length_mm : float or None
    weighed_g, weighed_n : tuple of (distance, reading) or None
        As for a band.
    """

    name: Annotated[str, text(60)]
    width_mm: Annotated[float | None, number(0.5, 100, "mm")] = None
    thickness_mm: Annotated[float | None, number(0.1, 20, "mm")] = None
    flat_length_mm: Annotated[float | None, number(5, 2000, "mm")] = None
    weighed_g: Annotated[Weighed | None, _IN_GRAMS] = None
    weighed_n: Annotated[Weighed | None, _IN_NEWTONS] = None

    @classmethod
    def rules(cls, given: dict[str, Any]) -> KeyFaults:
        """Yield what is wrong unless there is one form of strength, and a name of its own.

        `given` is the raw table.
        """
        sizes = ("width_mm", "thickness_mm", "flat_length_mm")
        forms = {"width_mm with thickness_mm and flat_length_mm": sizes}
        forms |= {key: (key,) for key in ("weighed_g", "weighed_n")}
        yield from exactly_one(given, forms, "how hard the band pulls")
        if str(given.get("name", "")).upper() in SIZES:
            yield "name", f"{quote(given['name'])} is a trade size; give it another name"


class BandTable(DrawnTable):
    """Rubber bands of one kind, each once round the block: a strand on every side of it.

    A drawing of its path is compared with the path that a taut band takes, when a file is read.

    Attributes
    ----------
    stock : str or None
        Trade size.
    flat_length_mm : float or None
        Length of the band lying flat: half of its loop [mm].
    tension_n : float or None
        Pull of one strand, as weighed with a scale [N].
    name : str
        What the answer calls it; that of its `StockTable`, if it is one of those.
    weighed_g, weighed_n : tuple of (distance, reading) or None
        The band hooked to a scale: distance between the hooks [mm] and what it reads [g] or [N],
        two places or more; on the block the hooks are half a round apart.
    tension_n_per_mm : float or None
        Pull of all strands together, spread over the block's length [N/mm].
    count : int
        How many bands, evenly spread; 1 unless given. Where `at_mm` is given, as many as it lists.
    at_mm : tuple of float or None
        Places along the block's length [mm].
    friction : float
        Coulomb's coefficient of the band on the block.
    pulled_at_mm : (x, y) or None
        Where the band was pulled, when it rubs; the middle of the top unless given [mm].
    """

    name: Name = ""
    stock: Annotated[
        str | None, Entry(_stock, {"type": ["string", "integer"], "enum": [*SIZES]})
    ] = None
    width_mm: Annotated[float | None, number(0.5, 100, "mm")] = None
    thickness_mm: Annotated[float | None, number(0.1, 20, "mm")] = None
    flat_length_mm: Annotated[float | None, number(5, 2000, "mm")] = None
    tension_n: Annotated[float | None, number(0, 2000, "N")] = None
    weighed_g: Annotated[Weighed | None, _IN_GRAMS] = None
    weighed_n: Annotated[Weighed | None, _IN_NEWTONS] = None
    tension_n_per_mm: Annotated[float | None, number(0, 100, "N/mm")] = None
    count: Annotated[int, whole(0, 500)] = 1
    at_mm: Annotated[tuple[float, ...] | None, numbers(0, 2000, "mm")] = None
    friction: FrictionValue = 0.0
    pulled_at_mm: Annotated[XY | None, point] = None

    @property
    def weighed(self) -> Weighed | None:
        """Distance between the hooks [mm] and pull of both strands [N]; None unless weighed."""
        if self.weighed_g is not None:
            return tuple((mm, grams * GRAVITY / 1000) for mm, grams in self.weighed_g)
        return self.weighed_n

    @property
    def called(self) -> str:
        """What kind it is, in brackets after its number; empty where nothing names it."""
        if self.stock:
            return f" (size {self.stock})"
        return f" ('{self.name}')" if self.name else ""

    @property
    def strands(self) -> int:
        """How many bands there are."""
        return self.count if self.at_mm is None else len(self.at_mm)

    @classmethod
    def rules(cls, given: dict[str, Any]) -> KeyFaults:
        """Yield what is wrong unless there is one form of strength and one of place.

        `given` is the raw table.
        """
        yield from super().rules(given)
        sizes = ("width_mm", "thickness_mm", "flat_length_mm")
        forms = {"stock": ("stock",), "width_mm with thickness_mm and flat_length_mm": sizes}
        keys = ("tension_n", "tension_n_per_mm", "weighed_g", "weighed_n")
        forms |= {key: (key,) for key in keys}
        yield from exactly_one(given, forms, "how hard the band pulls")
        if "count" in given and "at_mm" in given:
            yield "count", "given together with at_mm; the places say how many bands there are"
        for key in ("count", "at_mm"):
            if key in given and "tension_n_per_mm" in given:
                yield (
                    key,
                    "does not go with tension_n_per_mm, which is the pull of all strands"
                    " together, spread over the block's length",
                )


class PushTable(Table):
    """A hand, a clamp pad or a board edge; with `pressure_kpa` alone, pressure all round."""

    at_mm: Annotated[XY | None, point] = None
    width_mm: Annotated[float | None, number(0.5, 1000, "mm")] = None
    force_n_per_mm: Annotated[float | None, number(0, 100, "N/mm")] = None
    pressure_kpa: Annotated[float | None, number(0, 1000, "kPa")] = None

    @classmethod
    def rules(cls, given: dict[str, Any]) -> KeyFaults:
        """Yield what is wrong unless the raw table `given` has a patch, or a pressure all round."""
        patch = ("at_mm", "width_mm", "force_n_per_mm")
        forms = {
            "at_mm with width_mm and force_n_per_mm": patch,
            "pressure_kpa alone": ("pressure_kpa",),
        }
        yield from exactly_one(given, forms, "the push")


class ResinTable(Table):
    """The casting resin in the cavity.

    Attributes
    ----------
    head_mm : float or None
        Height of liquid resin above the station [mm].
    pressure_kpa : float or None
        In place of `force_n_per_mm`: how hard it presses [kPa].
    enters_cuts : bool
        Whether it presses inside open lands too.
    standing : bool
        Whether the block stands on its start, so that the head grows along it; `head_mm` is then
        that above its upper end.
    price_per_kg : float or None
        In the currency of the rubber's price.
    mix_by_weight : tuple of float or None
        Mixing ratio on the bottle, such as (100, 90).
    waste_percent : float
        What stays in the mixing vessel; 10 unless given (common practice).
    castings : int
        How many times the mold is filled; 1 unless given.
    demold_min : float or None
        From filling to taking the casting out, from the data sheet.
    """

    head_mm: Annotated[float | None, number(0, 5000, "mm")] = None
    pressure_kpa: Annotated[float | None, number(0, 1000, "kPa")] = None
    enters_cuts: Annotated[bool, yes_or_no()] = True
    standing: Annotated[bool, yes_or_no()] = False
    density_g_cm3: Annotated[float, number(0.5, 5, "g/cm3")] = RESIN_DENSITY_G_CM3
    viscosity_mpa_s: Annotated[float | None, number(0.1, 1e6, "mPa s")] = None
    pot_life_min: Annotated[float | None, number(0.1, 10000, "min")] = None
    price_per_kg: Annotated[float | None, number(0, 1e6)] = None
    mix_by_weight: Annotated[tuple[float, ...] | None, parts()] = None
    waste_percent: Annotated[float, number(0, 100, "%")] = WASTE_PERCENT
    castings: Annotated[int, whole(1, 10000)] = 1
    demold_min: Annotated[float | None, number(0.1, 100000, "min")] = None

    @classmethod
    def rules(cls, given: dict[str, Any]) -> KeyFaults:
        """Yield what is wrong unless the raw table `given` has a head or a pressure."""
        forms = ("head_mm", "pressure_kpa")
        yield from exactly_one(given, {key: (key,) for key in forms}, "how hard the resin presses")
        if given.get("standing") is True and "pressure_kpa" in given:
            yield (
                "standing",
                "goes with head_mm, which grows along the block, not with pressure_kpa",
            )


class PotTable(Table):
    """The pressure pot, inside; and the pressure over that of the air that is used in it."""

    bore_mm: Annotated[float, number(20, 5000, "mm")]
    depth_mm: Annotated[float, number(20, 5000, "mm")]
    pressure_kpa: Annotated[float | None, number(0, 1000, "kPa")] = None
