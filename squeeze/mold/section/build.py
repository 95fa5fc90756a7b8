"""From the mold as written to the section that the solver takes, with every geometric check."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import lru_cache
from typing import Any

import shapely
from shapely.geometry import Polygon
from shapely.ops import nearest_points

from squeeze.mold.errors import BadInput, Fault
from squeeze.mold.faces import FACES
from squeeze.mold.geometry.loop import Loop
from squeeze.mold.geometry.tolerance import ON_MM
from squeeze.mold.rubber import material
from squeeze.mold.section import clearance
from squeeze.mold.section.bodies import cradles_of, fillers_of
from squeeze.mold.section.clearance import Meetings, NumberedStretch, near_pairs, say_at
from squeeze.mold.section.cut_path import (
    PathPart,
    RubberRegion,
    carried_to_edges,
    in_rubber,
    path_length,
    path_parts,
    path_place,
    self_crossing,
)
from squeeze.mold.section.merging import gathered
from squeeze.mold.section.records import Cavity, CradlePiece, Cut, Filler, Section
from squeeze.mold.shapes.outline import loop_of
from squeeze.mold.shapes.registry import FIGURES
from squeeze.mold.tables.cut import CutTable
from squeeze.mold.tables.loads import PushTable
from squeeze.mold.tables.mold import Mold
from squeeze.mold.tables.shape import BlockTable

LEAST_WALL_MM = 0.5
"""Least rubber between cavities, and between a cavity and the outline [mm]."""

SMALLEST_MM, LARGEST_MM = 5.0, 1000.0
"""Least and largest width and height of a block [mm]."""


def section_of(mold: Mold) -> Section:
    """Return the cross-section of a mold, checked and ready for the solver.

    Raises
    ------
    BadInput
        With every geometric fault that was found: shapes that do not fit or cross themselves,
        cavities outside or too near to something, pushes wider than the outline; when there are
        none of these, cuts that open nowhere or leave slivers.
    """
    shape: Any = mold.model_copy(update=_OF_NO_SECTION)  # frozen, so that it can be a key
    return _built(shape)


_OF_NO_SECTION = {
    "title": "", "length_mm": 1.0, "band": (), "resin": None, "sprue": None,
    "vent": (), "model": (), "pot": None, "station": (), "design": None
}  # fmt: skip
"""What a section does not depend on, so that molds that differ in it share theirs."""


@lru_cache(maxsize=32)
def _built(mold: Mold) -> Section:
    faults: list[Fault] = []
    outline = _taken(faults, "block", lambda: _outline(mold.block))
    loops = [_taken(faults, f"cavity.{c.name}", lambda c=c: loop_of(c)) for c in mold.cavity]
    cavities = [
        Cavity(c.name, loop) for c, loop in zip(mold.cavity, loops, strict=True) if loop is not None
    ]
    faults += _self_crossings(mold.cut)
    if outline is not None:
        faults += [*_cavity_faults(outline, cavities), *_push_faults(mold.push, outline)]
    if faults or outline is None:
        raise BadInput(faults)
    body = _body(outline, cavities)
    parts = [path_parts(cut.path_mm, body) for cut in mold.cut]
    runs = _runs(mold.cut, parts, body)
    if faults := [*_neck_faults(body), *_cut_faults(mold.cut, parts, runs, body)]:
        raise BadInput(faults)
    cuts = _cuts(mold.cut, runs)
    fillers, cradles = _others(mold, body, cuts)
    rubber = material(mold.rubber)
    return Section(outline, rubber, tuple(cavities), cuts, fillers, cradles)


def _others(
    mold: Mold, body: RubberRegion, cuts: tuple[Cut, ...]
) -> tuple[tuple[Filler, ...], tuple[CradlePiece, ...]]:
    """Return fillers and cradle pieces; the faults of both are reported together."""
    faults: list[Fault] = []
    fillers: tuple[Filler, ...] = ()
    cradles: tuple[CradlePiece, ...] = ()
    try:
        fillers = fillers_of(mold, body, cuts)
    except BadInput as error:
        faults += error.faults
    try:
        cradles = cradles_of(mold, body.loops[0], cuts)
    except BadInput as error:
        faults += error.faults
    if faults:
        raise BadInput(faults)
    return fillers, cradles


def _taken(faults: list[Fault], key: str, make: Callable[[], Loop]) -> Loop | None:
    """Return what `make` makes; its faults go to `faults` with `key` before their own."""
    try:
        return make()
    except BadInput as error:
        faults += [Fault(f"{key}.{fault.key}", fault.text) for fault in error.faults]
        return None


def _outline(block: BlockTable) -> Loop:
    loop = loop_of(block)
    x0, y0, x1, y1 = loop.polygon.bounds
    least, most = min(x1 - x0, y1 - y0), max(x1 - x0, y1 - y0)
    if least < SMALLEST_MM - ON_MM or most > LARGEST_MM + ON_MM:
        key = next(key for key in FIGURES if getattr(block, key) is not None)
        text = (
            f"the block is {x1 - x0:.4g} x {y1 - y0:.4g} mm; allowed are {SMALLEST_MM:g} to"
            f" {LARGEST_MM:g} mm each way"
        )
        raise BadInput([Fault(key, text)])
    return loop


def _cavity_faults(outline: Loop, cavities: Sequence[Cavity]) -> Iterator[Fault]:
    for cavity in cavities:
        if text := _outside(outline, cavity):
            yield Fault(f"cavity.{cavity.name}", text)
    for a, b in near_pairs([cavity.loop.polygon for cavity in cavities], LEAST_WALL_MM):
        if text := _near(cavities[a], cavities[b]):
            yield Fault(f"cavity.{cavities[b].name}", text)


def _outside(outline: Loop, cavity: Cavity) -> str | None:
    inner, outer = cavity.loop.polygon, outline.polygon
    if not outer.intersects(inner):
        middle = inner.centroid
        return f"lies outside the block, round {say_at((middle.x, middle.y))}"
    if not outer.contains(inner) and not (beyond := inner.difference(outer)).is_empty:
        out = beyond.representative_point()
        return f"reaches out of the block at {say_at((out.x, out.y))}"
    return _thin_wall(outer.exterior, inner, "the outline")


def _near(a: Cavity, b: Cavity) -> str | None:
    if a.loop.polygon.intersects(b.loop.polygon):
        spot = a.loop.polygon.intersection(b.loop.polygon).representative_point()
        return f"overlaps the cavity '{a.name}' at {say_at((spot.x, spot.y))}"
    return _thin_wall(a.loop.polygon, b.loop.polygon, f"the cavity '{a.name}'")


def _thin_wall(a: shapely.Geometry, b: shapely.Geometry, what: str) -> str | None:
    wall = shapely.distance(a, b)
    if wall >= LEAST_WALL_MM - 1e-3:
        return None
    p, q = nearest_points(a, b)
    spot = say_at(((p.x + q.x) / 2, (p.y + q.y) / 2))
    return (
        f"leaves only {wall:.2f} mm of rubber towards {what} at {spot}; at least"
        f" {LEAST_WALL_MM:g} mm are needed"
    )


def _body(outline: Loop, cavities: Sequence[Cavity]) -> RubberRegion:
    holes = [c.loop.polygon.exterior.coords for c in cavities]
    names = ("the outline", *(f"the edge of the cavity '{c.name}'" for c in cavities))
    loops = (outline, *(c.loop for c in cavities))
    return RubberRegion(names, loops, Polygon(outline.polygon.exterior.coords, holes))


def _neck_faults(body: RubberRegion) -> Iterator[Fault]:
    if spot := clearance.neck(body.region):
        yield Fault(
            "block", f"the rubber at {say_at(spot)} is thinner than {clearance.THINNEST_MM:g} mm"
        )


def _self_crossings(cuts: Sequence[CutTable]) -> Iterator[Fault]:
    for cut in cuts:
        if spot := self_crossing(cut.path_mm):
            yield Fault(
                f"cut.{cut.name}.path_mm",
                f"the path crosses or touches itself at {say_at(spot)}; write it as two cuts",
            )


def _runs(
    cuts: Sequence[CutTable], parts: Sequence[list[PathPart]], body: RubberRegion
) -> list[NumberedStretch]:
    found = [
        (i, stretch)
        for i, (cut, own) in enumerate(zip(cuts, parts, strict=True))
        for stretch in in_rubber(cut.path_mm, own)
    ]
    ready = carried_to_edges([stretch for _, stretch in found], body)
    runs = [NumberedStretch(i, cuts[i].name, s) for (i, _), s in zip(found, ready, strict=True)]
    return gathered(runs, body)


def _cut_faults(
    cuts: Sequence[CutTable],
    parts: Sequence[list[PathPart]],
    runs: Sequence[NumberedStretch],
    body: RubberRegion,
) -> list[Fault]:
    met = clearance.meetings(runs, body)
    said = list(_along_edges(cuts, parts, body))
    said += _absent(cuts, {run.cut for run in runs} | {i for i, _ in said})
    said += [*_slivers(runs, met, body), *_buried(runs, met)]
    if not said:  # cuts that lie near each other were reported: they make thin pieces
        said = [(run.cut, text) for run, text in clearance.thin_pieces(runs, body)]
    unique = dict.fromkeys(sorted(said, key=lambda pair: pair[0]))
    return [Fault(f"cut.{cuts[i].name}.path_mm", text) for i, text in unique]


def _absent(cuts: Sequence[CutTable], found: set[int]) -> Iterator[tuple[int, str]]:
    for i, cut in enumerate(cuts):
        if i not in found:
            yield (
                i,
                f"lies nowhere in rubber; it runs from {say_at(cut.path_mm[0])} to"
                f" {say_at(cut.path_mm[-1])}",
            )


def _along_edges(
    cuts: Sequence[CutTable], parts: Sequence[list[PathPart]], body: RubberRegion
) -> Iterator[tuple[int, str]]:
    """Yield where paths lie on an edge; the trimming would leave that out unseen."""
    spots = [
        (i, [path_place(cut.path_mm, a + f * (b - a)) for f in (0.25, 0.5, 0.75)])
        for i, (cut, own) in enumerate(zip(cuts, parts, strict=True))
        for a, b, inside in own
        if b - a > 2.0 and not inside
    ]
    if not spots:
        return
    near = body.nearest([three[1] for _, three in spots])
    for (i, three), piece, distance in zip(spots, near.piece, near.distance, strict=True):
        loop = int(body.loop_of(piece))
        if distance < 0.1 and body.loops[loop].distances(three).max() < 0.1:
            where = f"runs along {body.names[loop]} near {say_at(three[1])}"
            yield i, f"{where}; a cut must go through rubber"


def _slivers(
    runs: Sequence[NumberedStretch], met: Meetings, body: RubberRegion
) -> Iterator[tuple[int, str]]:
    for i, j in met.near:
        faults = clearance.pair_faults(runs[j], runs[i], met.joints.get((i, j), []))
        yield from ((runs[j].cut, text) for text in faults)
    for i, k in met.near_edges:
        ends = [spot for loop, spot in met.on_edges[i] if loop == k]
        faults = clearance.edge_faults(runs[i], body.names[k], body.loops[k], ends)
        yield from ((runs[i].cut, text) for text in faults)
    others = met.by_stretch(len(runs))
    for run, spots in zip(runs, others, strict=True):
        yield from ((run.cut, text) for text in clearance.own_faults(run, spots))


def _buried(runs: Sequence[NumberedStretch], met: Meetings) -> Iterator[tuple[int, str]]:
    """Yield the stretches from which no path along cuts leads to the outside or a cavity."""
    beside: dict[int, list[int]] = {}
    for i, j in met.joints:
        beside.setdefault(i, []).append(j)
        beside.setdefault(j, []).append(i)
    walk = [i for i, ends in enumerate(met.on_edges) if ends]
    opened = set(walk)
    while walk:
        further = [j for j in beside.get(walk.pop(), []) if j not in opened]
        walk += further
        opened.update(further)
    for i, run in enumerate(runs):
        if i in opened:
            continue
        a, b = run.ends
        yield (
            run.cut,
            f"is buried in rubber from {say_at(a)} to {say_at(b)}; one end at least"
            " must open at the outline, at a cavity, or at a cut that does",
        )


def _cuts(cuts: Sequence[CutTable], runs: Sequence[NumberedStretch]) -> tuple[Cut, ...]:
    return tuple(
        Cut(
            name=cut.name,
            stretches=tuple(run.stretch for run in runs if run.cut == i),
            length_mm=path_length(cut.path_mm),
            friction=cut.coefficient,
            gap_mm=cut.gap_mm if isinstance(cut.gap_mm, tuple) else (cut.gap_mm,),
            bow_mm=cut.bow_mm,
            film_mm=cut.film_mm if isinstance(cut.film_mm, tuple) else (cut.film_mm,),
            film_at_mm=None if cut.film_at_mm is None else (cut.film_at_mm[0], cut.film_at_mm[1]),
            friction_range=_range(cut.faces),
        )
        for i, cut in enumerate(cuts)
    )


def _range(faces: str | None) -> tuple[float, float] | None:
    """Return the least and the largest friction of faces that are given in words."""
    return None if faces is None else (FACES[faces].low, FACES[faces].high)


def _push_faults(pushes: Sequence[PushTable], outline: Loop) -> Iterator[Fault]:
    for i, push in enumerate(pushes, start=1):
        if push.width_mm is not None and push.width_mm > outline.length:
            yield Fault(
                f"push.{i}.width_mm",
                f"{push.width_mm:g} given, but the outline is only {outline.length:.4g} mm round",
            )
