"""The mold file as people write it: one frozen record per table, same words, same units.

Units stand in the field names. A value that is not given is None unless a default is named here.
"""

from __future__ import annotations

from typing import Annotated, Any

from squeeze.mold.faces import FACES
from squeeze.mold.tables.cradle import CradleTable, FillerTable
from squeeze.mold.tables.design import DesignTable
from squeeze.mold.tables.loads import (
    WASTE_PERCENT,
    BandTable,
    PotTable,
    PushTable,
    ResinTable,
    SprueTable,
    StockTable,
)
from squeeze.mold.tables.shape import BlockTable, CavityTable, DrawnTable, spans_of
from squeeze.mold.tables.table import KeyFaults, Table, exactly_one
from squeeze.mold.tables.values import (
    XY,
    AtMost,
    FrictionValue,
    Name,
    listed,
    number,
    number_or_numbers,
    numbers,
    parts,
    points,
    quote,
    text,
    word,
)

NAMED = ("cavity", "cut", "filler", "cradle")
"""Tables whose entries have a name each."""

MOST_POINTS_IN_ALL = 20_000
"""More points than this, of outlines and paths together, are no mold."""


class RubberTable(Table):
    """The block's rubber.

    Attributes
    ----------
    shore_a : float or None
        Hardness, Shore A.
    youngs_modulus_mpa : float or None
        E, in place of the hardness [MPa].
    poisson : float or None
        nu; when it is not given it follows from E and the bulk modulus.
    bulk_modulus_mpa : float
        K, 1000 MPa unless given.
    density_g_cm3 : float
        1.1 unless given (common practice for mold silicones).
    price_per_kg : float or None
        In any currency.
    mix_by_weight : tuple of float or None
        Mixing ratio on the pot, such as (100, 10).
    waste_percent : float
        What stays in the mixing vessel and on the stick; 10 unless given (common practice).
    shrinkage_percent : float or None
        Linear shrinkage while curing, from the data sheet.
    """

    shore_a: Annotated[float | None, number(5, 80, "Shore A")] = None
    youngs_modulus_mpa: Annotated[float | None, number(0.05, 50, "MPa")] = None
    poisson: Annotated[float | None, number(0, 0.49999)] = None
    bulk_modulus_mpa: Annotated[float, number(100, 5000, "MPa")] = 1000.0
    density_g_cm3: Annotated[float, number(0.5, 3, "g/cm3")] = 1.1
    price_per_kg: Annotated[float | None, number(0, 1e6)] = None
    mix_by_weight: Annotated[tuple[float, ...] | None, parts()] = None
    waste_percent: Annotated[float, number(0, 100, "%")] = WASTE_PERCENT
    shrinkage_percent: Annotated[float | None, number(0, 5, "%")] = None

    @classmethod
    def rules(cls, given: dict[str, Any]) -> KeyFaults:
        """Yield what is wrong unless there is one stiffness and one measure of compressibility."""
        forms = ("shore_a", "youngs_modulus_mpa")
        yield from exactly_one(given, {key: (key,) for key in forms}, "how stiff the rubber is")
        if "poisson" in given and "bulk_modulus_mpa" in given:
            yield (
                "poisson",
                "given together with bulk_modulus_mpa; each follows from the other, so"
                " give one of them",
            )


class CutTable(DrawnTable):
    """A knife line.

    Attributes
    ----------
    friction : float
        Coulomb's coefficient between the faces; `coefficient` is that of `faces` where they are
        given in words.
    faces : str or None
        How slippery they are: ``"released"``, ``"dusted"`` or ``"clean"``.
    gap_mm : float or tuple of float
        Gap of the unloaded cut: one number, or several spread evenly along the path [mm].
    bow_mm : float
        Gap in the middle of each land, on top of `gap_mm`: what shrinkage and springy rubber
        leave [mm].
    film_mm : float or tuple of float
        How thick glue, old flash or dirt lies in the cut before the bands are on: one number, or
        several spread evenly along the path [mm].
    film_at_mm : tuple of float or None
        The stretch of the path that it lies on, from and to; all of it unless given [mm].
    along_mm : tuple of float or None
        Where along the block it begins and ends; all of the length unless given [mm].
    """

    name: Name = ""
    path_mm: Annotated[tuple[XY, ...], points(2)]
    friction: FrictionValue = 0.0
    faces: Annotated[str | None, word(*FACES)] = None
    gap_mm: Annotated[float | tuple[float, ...], number_or_numbers(0, 20, "mm")] = 0.0
    bow_mm: Annotated[float, number(0, 20, "mm")] = 0.0
    film_mm: Annotated[float | tuple[float, ...], number_or_numbers(0, 5, "mm")] = 0.0
    film_at_mm: Annotated[tuple[float, ...] | None, numbers(0, 4000, "mm")] = None
    along_mm: Annotated[tuple[float, ...] | None, numbers(0, 2000, "mm")] = None

    @property
    def misfits(self) -> bool:
        """Whether unloaded faces stand apart or overlap somewhere: by a gap, a bow or a film."""
        given = (self.gap_mm, self.bow_mm, self.film_mm)
        return any(any(value) if isinstance(value, tuple) else bool(value) for value in given)

    @property
    def coefficient(self) -> float:
        """Coulomb's coefficient between the faces, as a number or by the word for them."""
        return self.friction if self.faces is None else FACES[self.faces].friction

    @classmethod
    def rules(cls, given: dict[str, Any]) -> KeyFaults:
        """Yield what is wrong unless both spans end beyond where they begin, and more.

        The friction is given once, and a stretch for the film goes with a film.
        """
        yield from super().rules(given)
        spans = {
            "along_mm": "two places along the block, first where the cut begins, then where it"
            " ends",
            "film_at_mm": "two distances along the path, first where the film begins, then where"
            " it ends",
        }
        for key, wanted in spans.items():
            span = given.get(key)
            if isinstance(span, list | tuple) and all(_is_number(v) for v in span):
                if len(span) != 2 or not span[0] < span[1]:
                    yield key, f"{quote(span)} given; give {wanted}"
        if given.get("faces") is not None and "friction" in given:
            yield "friction", "given together with faces; give the number or the word"
        if given.get("film_at_mm") is not None and not given.get("film_mm"):
            yield "film_at_mm", "given without film_mm, which says how thick the film is"


class StationTable(Table):
    """A place along the block with a section of its own; what it does not name is the mold's.

    Attributes
    ----------
    at_mm : float
        Where along the block.
    """

    at_mm: Annotated[float, number(0, 2000, "mm")]
    block: BlockTable | None = None
    cavity: Annotated[tuple[CavityTable, ...] | None, AtMost(300, "cavities")] = None
    cut: Annotated[tuple[CutTable, ...] | None, AtMost(200, "cuts")] = None

    @classmethod
    def prepare(cls, given: dict[str, Any]) -> dict[str, Any]:
        """Return the table with a name for every cavity and cut without one."""
        return given | _named(given, ("cavity", "cut"))

    @classmethod
    def rules(cls, given: dict[str, Any]) -> KeyFaults:
        """Yield names that stand twice."""
        for kind in ("cavity", "cut"):
            yield from _twice(kind, given.get(kind))


class Mold(Table):
    """One mold: everything a mold file says. Lists carry the file's own words.

    ``mold.cut[0].path_mm`` is the path of the first cut.
    """

    title: Annotated[str, text(200)] = ""
    length_mm: Annotated[float, number(1, 2000, "mm")]
    rubber: RubberTable
    block: BlockTable
    cavity: Annotated[tuple[CavityTable, ...], AtMost(300, "cavities")] = ()
    cut: Annotated[tuple[CutTable, ...], AtMost(200, "cuts")] = ()
    filler: Annotated[tuple[FillerTable, ...], AtMost(100, "fillers")] = ()
    cradle: Annotated[tuple[CradleTable, ...], AtMost(24, "cradles")] = ()
    stock: Annotated[tuple[StockTable, ...], AtMost(100, "stocks")] = ()
    band: Annotated[tuple[BandTable, ...], AtMost(100, "kinds of band")] = ()
    push: Annotated[tuple[PushTable, ...], AtMost(100, "pushes")] = ()
    resin: ResinTable | None = None
    sprue: SprueTable | None = None
    pot: PotTable | None = None
    design: DesignTable | None = None
    station: Annotated[tuple[StationTable, ...], AtMost(50, "stations")] = ()

    @classmethod
    def prepare(cls, given: dict[str, Any]) -> dict[str, Any]:
        """Return the table with a name for every cavity, cut and so on without one: "cut 1"..."""
        return given | _named(given, NAMED) | _from_stock(given)

    @classmethod
    def rules(cls, given: dict[str, Any]) -> KeyFaults:
        """Yield names that stand twice and bands beside the block."""
        if (count := _points(given)) > MOST_POINTS_IN_ALL:
            yield "", f"{count} points given in all; allowed are {MOST_POINTS_IN_ALL} at most"
        for kind in NAMED:
            yield from _twice(kind, given.get(kind))
        yield from _twice("stock", given.get("stock"))
        yield from _beside(given.get("length_mm"), given.get("band"))
        yield from _over_the_end(given.get("length_mm"), given.get("cavity"))
        yield from _in_order(given.get("length_mm"), given.get("station"))


def _points(given: object, depth: int = 4) -> int:
    """Return how many points the outlines and paths in raw tables have, to a depth of tables."""
    if isinstance(given, list | tuple):
        return sum(_points(entry, depth) for entry in given if isinstance(entry, dict))
    if not isinstance(given, dict) or depth == 0:
        return 0
    own = [given[key] for key in ("points_mm", "path_mm", "back_mm") if key in given]
    counted = sum(len(points) for points in own if isinstance(points, list | tuple))
    return counted + sum(_points(inner, depth - 1) for inner in given.values())


def _named(given: dict[str, Any], kinds: tuple[str, ...]) -> dict[str, Any]:
    """Return the lists of some kinds with a name for every entry without one."""
    return {
        kind: [
            {"name": f"{kind} {i}"} | entry if isinstance(entry, dict) else entry
            for i, entry in enumerate(given[kind], start=1)
        ]
        for kind in kinds
        if isinstance(given.get(kind), list | tuple)
    }


def _from_stock(given: dict[str, Any]) -> dict[str, Any]:
    """Return the bands with what their own stock says in place of its name."""
    own = {entry.get("name"): entry for _, entry in _entries(given.get("stock"))}
    bands = given.get("band")
    if not own or not isinstance(bands, list | tuple):
        return {}
    return {"band": [_taken_from(own, band) for band in bands]}


def _taken_from(own: dict[Any, dict[str, Any]], band: Any) -> Any:
    name = band.get("stock") if isinstance(band, dict) else None
    if not isinstance(name, str) or name not in own:
        return band
    return own[name] | {key: value for key, value in band.items() if key != "stock"}


def _entries(value: object) -> list[tuple[int, dict[str, Any]]]:
    values = value if isinstance(value, list | tuple) else []
    return [(i, entry) for i, entry in enumerate(values) if isinstance(entry, dict)]


def _twice(kind: str, tables: object) -> KeyFaults:
    taken: dict[str, int] = {}
    for i, entry in _entries(tables):
        name = entry.get("name")
        if not isinstance(name, str):
            continue
        if name in taken:
            yield (
                (kind, i, "name"),
                f"{quote(name)} is the name of {kind} number {taken[name] + 1} already; each {kind}"
                " needs a name of its own",
            )
        taken.setdefault(name, i)


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _beside(length: Any, bands: object) -> KeyFaults:
    if isinstance(length, bool) or not isinstance(length, int | float):
        return
    for i, band in _entries(bands):
        places = band.get("at_mm")
        places = places if isinstance(places, list | tuple) else []
        off = [p for p in places if isinstance(p, int | float) and p > length]
        if off:
            yield (
                ("band", i, "at_mm"),
                f"{listed(map(quote, off), 'and')} mm lies beyond the end of the block, which is"
                f" {quote(length)} mm long",
            )


def _over_the_end(length: Any, cavities: object) -> KeyFaults:
    """Yield models that stick out of the block."""
    if not _is_number(length):
        return
    for i, cavity in _entries(cavities):
        for k, (low, high) in enumerate(spans_of(cavity.get("models"))):
            if low < -1e-9 or high > length + 1e-9:
                yield (
                    ("cavity", i, "models", k),
                    f"reaches from {low:g} to {high:g} mm along the block, which is"
                    f" {quote(length)} mm long",
                )


def _in_order(length: Any, stations: object) -> KeyFaults:
    before = -1.0
    for i, station in _entries(stations):
        at: Any = station.get("at_mm")
        if not _is_number(at):
            continue
        if _is_number(length) and at > length:
            yield (
                ("station", i, "at_mm"),
                f"{quote(at)} mm lies beyond the end of the block, which is {quote(length)} mm"
                " long",
            )
        if at <= before:
            yield (
                ("station", i, "at_mm"),
                f"{quote(at)} given; give the stations in ascending order",
            )
        before = at
