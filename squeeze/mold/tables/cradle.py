"""The tables of a mold file for bodies besides the block: cradle pieces and fillers."""

from __future__ import annotations

from typing import Annotated, Any

from squeeze.mold.cradle.materials import MATERIALS
from squeeze.mold.tables.shape import DrawnTable, PlacedTable
from squeeze.mold.tables.table import KeyFaults, exactly_one
from squeeze.mold.tables.values import (
    XY,
    FrictionValue,
    Name,
    listed,
    number,
    numbers,
    points,
    quote,
    whole,
    word,
)

SIDES = ("top", "bottom", "left", "right")
SEATS = ("fit", "flat", "crowned", "loose")
BACKS = ("flat", "round", "drawn")


class CradleTable(DrawnTable):
    """A piece, or several like ones, between block and bands.

    Attributes
    ----------
    covers : str or None
        A side (top, bottom, left, right), or "all" for a full cradle.
    from_deg, to_deg : float or None
        In place of `covers`: from where to where round the block's middle, counter-clockwise,
        0 = right, 90 = up; the ends of the piece point to the middle.
    points_mm : tuple of (x, y) or None
        In place of both: the piece as drawn. What of it lies in the block is cut away to fit.
    pieces : int or None
        How many pieces make up a full cradle: 2 to 4, 2 unless given.
    apart_mm : float
        Gap between the pieces of a full cradle; 4 unless given, 0 = they touch [mm].
    joint_deg : float or None
        Where its first joint is; unless given 0 for two pieces, 90 for three, 45 for four.
    width_mm : float or None
        Width of a board on a side; all of the flat unless given. What is wider stands over.
    thickness_mm : float or None
        From seat to back: in the middle of a side, at the thinnest of a range [mm].
    back : str
        flat, round or drawn.
    rise_mm, back_radius_mm : float or None
        Of a round back on a side: how much its middle stands above its ends, or its radius; half
        of the thickness unless given. A round back of a range lies round the block's middle.
    back_mm : tuple of (x, y) or None
        A drawn back: its points from end to end, counter-clockwise round the block.
    round_mm : float or None
        Radius on the edges of the back; 2 or what fits unless given.
    material : str or None
    youngs_modulus_mpa, poisson : float or None
        In place of `material`; poisson 0.3 unless given.
    friction : float
        Between seat and block; 0.3 unless given.
    seat : str or None
        fit = cut to fit; flat; crowned by `crown_mm`; loose by `loose_mm`.
    crown_mm : float or None
        How much the middle of the seat stands proud of its ends; negative = hollow [mm].
    loose_mm : float or None
        How much larger than the block the seat was made, all along [mm].
    gap_mm : tuple of float or None
        Any other seat: how far it stands off, spread evenly along it, counter-clockwise [mm].
    """

    name: Name = ""
    covers: Annotated[str | None, word(*SIDES, "all")] = None
    from_deg: Annotated[float | None, number(-360, 360, "deg")] = None
    to_deg: Annotated[float | None, number(-360, 720, "deg")] = None
    points_mm: Annotated[tuple[XY, ...] | None, points(3)] = None
    pieces: Annotated[int | None, whole(2, 4)] = None
    apart_mm: Annotated[float, number(0, 100, "mm")] = 4.0
    joint_deg: Annotated[float | None, number(-360, 360, "deg")] = None
    width_mm: Annotated[float | None, number(2, 1000, "mm")] = None
    thickness_mm: Annotated[float | None, number(1, 500, "mm")] = None
    back: Annotated[str, word(*BACKS)] = "flat"
    rise_mm: Annotated[float | None, number(0.1, 500, "mm")] = None
    back_radius_mm: Annotated[float | None, number(1, 10000, "mm")] = None
    back_mm: Annotated[tuple[XY, ...] | None, points(2)] = None
    round_mm: Annotated[float | None, number(0, 100, "mm")] = None
    material: Annotated[str | None, word(*MATERIALS)] = None
    youngs_modulus_mpa: Annotated[float | None, number(0.05, 1e6, "MPa")] = None
    poisson: Annotated[float | None, number(0, 0.49999)] = None
    friction: FrictionValue = 0.3
    seat: Annotated[str, word(*SEATS)] = "fit"
    crown_mm: Annotated[float | None, number(-20, 20, "mm")] = None
    loose_mm: Annotated[float | None, number(0, 20, "mm")] = None
    gap_mm: Annotated[tuple[float, ...] | None, numbers(0, 20, "mm")] = None

    @classmethod
    def prepare(cls, given: dict[str, Any]) -> dict[str, Any]:
        """Return the table with back and seat named by the figures that were given."""
        more: dict[str, Any] = {}
        if "back" not in given and "back_mm" in given:
            more["back"] = "drawn"
        if "back" not in given and ("rise_mm" in given or "back_radius_mm" in given):
            more["back"] = "round"
        for key, seat in (("crown_mm", "crowned"), ("loose_mm", "loose")):
            if "seat" not in given and key in given:
                more["seat"] = seat
        return given | more

    @classmethod
    def rules(cls, given: dict[str, Any]) -> KeyFaults:
        """Yield keys of the raw table `given` that are missing or do not go together."""
        yield from super().rules(given)
        place: dict[str, tuple[str, ...]] = {key: (key,) for key in ("covers", "points_mm")}
        place["from_deg with to_deg"] = ("from_deg", "to_deg")
        yield from exactly_one(given, place, "where the piece sits")
        forms = ("material", "youngs_modulus_mpa")
        yield from exactly_one(given, {key: (key,) for key in forms}, "how stiff the piece is")
        yield from _span(given.get("from_deg"), given.get("to_deg"))
        yield from _only_with_a_full_one(given)
        yield from _back(given)
        yield from _seat(given)
        if "poisson" in given and "material" in given:
            yield "poisson", "goes with youngs_modulus_mpa, not with a material's name"


def _number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _span(begin: Any, end: Any) -> KeyFaults:
    if _number(begin) and _number(end) and not 5 <= end - begin <= 350:
        yield (
            "to_deg",
            f"{quote(end)} given with from_deg = {quote(begin)}; the piece reaches"
            " counter-clockwise from one to the other, over 5 to 350 degrees",
        )


def _only_with_a_full_one(given: dict[str, Any]) -> KeyFaults:
    full = given.get("covers") == "all"
    for key in ("pieces", "apart_mm", "joint_deg"):
        if key in given and not full:
            yield key, 'goes with covers = "all" only'
    if "width_mm" in given and given.get("covers") not in SIDES:
        yield "width_mm", f"goes with a board on a side only: covers = {listed(SIDES)}"


def _back(given: dict[str, Any]) -> KeyFaults:
    if "points_mm" in given:
        for key in ("thickness_mm", "back", "rise_mm", "back_radius_mm", "back_mm"):
            if key in given:
                yield key, "does not go with points_mm, which draw the whole piece"
        return
    back = given.get("back", "flat")
    yield from _needs(given, back)
    if "rise_mm" in given and "back_radius_mm" in given:
        yield "rise_mm", "given together with back_radius_mm; give one of them"
    if "rise_mm" in given and given.get("covers") not in SIDES:
        yield "rise_mm", "goes with a board on a side; a range takes back_radius_mm"
    for key, needs in (("rise_mm", "round"), ("back_radius_mm", "round"), ("back_mm", "drawn")):
        if key in given and back != needs:
            yield key, f'goes with back = "{needs}" only'


def _needs(given: dict[str, Any], back: Any) -> KeyFaults:
    if back != "drawn" and "thickness_mm" not in given:
        yield "thickness_mm", "is missing; it says how thick the piece is"
    if back == "drawn" and "thickness_mm" in given:
        yield "thickness_mm", "does not go with a drawn back"
    if back == "drawn" and "back_mm" not in given:
        yield "back_mm", "is missing; a drawn back takes its points from end to end"


def _seat(given: dict[str, Any]) -> KeyFaults:
    seat = given.get("seat", "fit")
    for key, needs in (("crown_mm", "crowned"), ("loose_mm", "loose")):
        if seat == needs and key not in given:
            yield key, f"is missing; a {needs} seat takes it"
        elif key in given and seat != needs:
            yield key, f'goes with seat = "{needs}" only'
    if "gap_mm" in given and "seat" in given:
        yield "gap_mm", "given together with seat; give one of them"


class FillerTable(PlacedTable):
    """Older, cured rubber cast in: a closed shape with a hardness of its own, bonded all round.

    Attributes
    ----------
    round_mm : float
        Radius on its corners; 0 unless given, for what is cast in was cut with a knife.
    shore_a, youngs_modulus_mpa : float or None
        How hard it is; one of them.
    poisson, bulk_modulus_mpa
        As for the block's rubber.
    """

    round_mm: Annotated[float | None, number(0, 500, "mm")] = 0.0
    shore_a: Annotated[float | None, number(5, 80, "Shore A")] = None
    youngs_modulus_mpa: Annotated[float | None, number(0.05, 50, "MPa")] = None
    poisson: Annotated[float | None, number(0, 0.49999)] = None
    bulk_modulus_mpa: Annotated[float, number(100, 5000, "MPa")] = 1000.0

    @classmethod
    def rules(cls, given: dict[str, Any]) -> KeyFaults:
        """Yield what is wrong with the shape, or unless the raw table `given` has one stiffness."""
        yield from super().rules(given)
        forms = ("shore_a", "youngs_modulus_mpa")
        yield from exactly_one(given, {key: (key,) for key in forms}, "how hard the filler is")
        if "poisson" in given and "bulk_modulus_mpa" in given:
            yield "poisson", "given together with bulk_modulus_mpa; give one of them"
