"""The mold file as people write it: one frozen record per table, same words, same units.

Units stand in the field names. A value that is not given is None unless a default is named here.
"""

from __future__ import annotations

from typing import Annotated, Any

from squeeze.mold.tables.channels import SprueTable, VentTable
from squeeze.mold.tables.cradle import CradleTable, FillerTable
from squeeze.mold.tables.cut import CutTable
from squeeze.mold.tables.design import DesignTable
from squeeze.mold.tables.entries import entries, is_raw_number, named, twice
from squeeze.mold.tables.loads import (
    BandTable,
    PotTable,
    PushTable,
    ResinTable,
    StockTable,
)
from squeeze.mold.tables.model import ModelFileTable
from squeeze.mold.tables.rubber import RubberTable
from squeeze.mold.tables.shape import BlockTable, CavityTable, spans_of
from squeeze.mold.tables.station import StationTable
from squeeze.mold.tables.table import KeyFaults, Table
from squeeze.mold.tables.values import (
    AtMost,
    listed,
    number,
    quote,
    text,
)

NAMED = ("cavity", "cut", "filler", "cradle", "vent")
"""Tables whose entries have a name each."""

MOST_POINTS_IN_ALL = 20_000
"""More points than this, of outlines and paths together, are no mold."""


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
    vent: Annotated[tuple[VentTable, ...], AtMost(100, "vents")] = ()
    pot: PotTable | None = None
    design: DesignTable | None = None
    station: Annotated[tuple[StationTable, ...], AtMost(50, "stations")] = ()
    model: Annotated[tuple[ModelFileTable, ...], AtMost(50, "models")] = ()

    @classmethod
    def prepare(cls, given: dict[str, Any]) -> dict[str, Any]:
        """Return the table with a name for every cavity, cut and so on without one: "cut 1"...

        `given` is the raw table. A band that names a stock of the same file takes over its keys.
        """
        return given | named(given, NAMED) | _from_stock(given)

    @classmethod
    def rules(cls, given: dict[str, Any]) -> KeyFaults:
        """Yield names that stand twice in the raw table `given`, and what lies beside the block."""
        if (count := _points(given)) > MOST_POINTS_IN_ALL:
            yield "", f"{count} points given in all; allowed are {MOST_POINTS_IN_ALL} at most"
        for kind in NAMED:
            yield from twice(kind, given.get(kind))
        yield from twice("stock", given.get("stock"))
        yield from _beside(given.get("length_mm"), given.get("band"))
        yield from _over_the_end(given.get("length_mm"), given.get("cavity"))
        yield from _channels_beside(given.get("length_mm"), given)
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


def _from_stock(given: dict[str, Any]) -> dict[str, Any]:
    """Return the bands with what their own stock says in place of its name."""
    own = {entry.get("name"): entry for _, entry in entries(given.get("stock"))}
    bands = given.get("band")
    if not own or not isinstance(bands, list | tuple):
        return {}
    return {"band": [_taken_from(own, band) for band in bands]}


def _taken_from(own: dict[Any, dict[str, Any]], band: Any) -> Any:
    name = band.get("stock") if isinstance(band, dict) else None
    if not isinstance(name, str) or name not in own:
        return band
    return own[name] | {key: value for key, value in band.items() if key != "stock"}


def _beside(length: Any, bands: object) -> KeyFaults:
    if isinstance(length, bool) or not isinstance(length, int | float):
        return
    for i, band in entries(bands):
        places = band.get("at_mm")
        places = places if isinstance(places, list | tuple) else []
        off = [p for p in places if isinstance(p, int | float) and p > length]
        if off:
            yield (
                ("band", i, "at_mm"),
                f"{listed(map(quote, off), 'and')} mm lies beyond the end of the block, which is"
                f" {quote(length)} mm long",
            )


def _channels_beside(length: Any, given: dict[str, Any]) -> KeyFaults:
    """Yield sprues and vents beyond the end of the block."""
    if not is_raw_number(length):
        return
    places: list[tuple[tuple[str | int, ...], Any]] = [
        (("vent", i, "along_mm"), vent.get("along_mm")) for i, vent in entries(given.get("vent"))
    ]
    if isinstance(given.get("sprue"), dict):
        places.append((("sprue", "along_mm"), given["sprue"].get("along_mm")))
    for key, along in places:
        if is_raw_number(along) and along > length:
            yield (
                key,
                f"{quote(along)} mm lies beyond the end of the block, which is {quote(length)} mm"
                " long",
            )


def _over_the_end(length: Any, cavities: object) -> KeyFaults:
    """Yield models that stick out of the block."""
    if not is_raw_number(length):
        return
    for i, cavity in entries(cavities):
        for k, (low, high) in enumerate(spans_of(cavity.get("models"))):
            if low < -1e-9 or high > length + 1e-9:
                yield (
                    ("cavity", i, "models", k),
                    f"reaches from {low:g} to {high:g} mm along the block, which is"
                    f" {quote(length)} mm long",
                )


def _in_order(length: Any, stations: object) -> KeyFaults:
    before = -1.0
    for i, station in entries(stations):
        at: Any = station.get("at_mm")
        if not is_raw_number(at):
            continue
        if is_raw_number(length) and at > length:
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
