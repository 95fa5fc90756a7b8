"""Which cut to move, and how: shifted, turned, or replaced by one straight out of each cavity."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from functools import partial

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import LineString, Point

from squeeze.mold import section_of
from squeeze.mold.file.mold_file import dict_of
from squeeze.mold.section.records import Cavity, Section
from squeeze.mold.tables.mold import Mold
from squeeze.verdict.advice.change import Change, change_of
from squeeze.verdict.advice.changed_mold import lengthened, reach_of, with_entry, with_tables
from squeeze.verdict.advice.trial import Trial, Trials, wanted
from squeeze.verdict.figures import reaches

Array = NDArray[np.float64]
Candidate = tuple[str, Callable[[], Mold]]

TURNS_DEG = (15, -15, 30, -30, 45, -45, 60, -60, 90)
SHIFTS = (0.3, -0.3, 0.6, -0.6)
"""Of half the width of the narrowest cavity that the cut opens."""

SIDES = {
    "top": (0.0, 1.0),
    "right": (1.0, 0.0),
    "bottom": (0.0, -1.0),
    "left": (-1.0, 0.0),
}


def advise_cut(now: Trial, leaky: Sequence[str], trials: Trials) -> tuple[list[Change], list[str]]:
    """Return the best move of a cut that leaks, and a sentence when there is none.

    Parameters
    ----------
    now : Trial
        The mold as it is, closed.
    leaky : sequence of str
        Names of the cuts along which it leaks.
    trials : Trials
    """
    if now.figures.good or not now.mold.cavity:
        return [], []
    found = []
    for number, cut in enumerate(now.mold.cut):
        if (cut.name in leaky or now.figures.seals) and not isinstance(cut.gap_mm, tuple):
            found += list(_tried(now, number, trials))
    good = [change for change in found if change.after.solved and change.better]
    if not any(reaches(change.before, change.after) for change in good):
        said = [f"No place of the cuts that was tried {wanted(now)}."] if found else []
        return _best(good), said
    return _best(good), []


def _best(found: list[Change]) -> list[Change]:
    """Return the one that seals with the least knife work, or else leaks least."""

    def order(change: Change) -> tuple[bool, int, float]:
        after = change.after
        done = reaches(change.before, after)
        return (not done, after.leaks, knife_mm(change.mold) if done else after.flash_thickness_mm)

    return sorted(found, key=order)[:1]


def knife_mm(mold: Mold) -> float:
    """Return the length of all cuts in rubber [mm]."""
    cuts = section_of(mold).cuts
    return sum(LineString(s.points).length for cut in cuts for s in cut.stretches)


def _tried(now: Trial, number: int, trials: Trials) -> Iterator[Change]:
    for say, make in moves(now.mold, number):
        trial = trials.try_out(make, say[0].lower() + say[1:])
        if trial is not None:
            yield change_of("cut", say, now, trial)


def moves(mold: Mold, number: int) -> Iterator[Candidate]:
    """Yield the places of cut `number` (from 0) to try; each opens the same cavities.

    A cut that others meet is left alone, since they would have to move with it.
    """
    section, cut = section_of(mold), mold.cut[number]
    opened = _opened(cut.path_mm, section.cavities)
    if not opened or _met(section, number):
        return
    middle = np.mean([_middle(cavity) for cavity in opened], axis=0)
    yield from _out(mold, number, opened)
    if len(cut.path_mm) == 2:
        yield from _shifted(mold, number, opened)
        yield from _turned(mold, number, opened, middle)


def _opened(path: Sequence[tuple[float, float]], cavities: Sequence[Cavity]) -> list[Cavity]:
    line = LineString(path)
    return [cavity for cavity in cavities if line.distance(cavity.loop.polygon) < 1.0]


def _met(section: Section, number: int) -> bool:
    lines = [shapely.MultiLineString([s.points for s in cut.stretches]) for cut in section.cuts]
    return any(lines[number].distance(o) < 1e-3 for k, o in enumerate(lines) if k != number)


def _middle(cavity: Cavity) -> Array:
    return np.array(cavity.loop.polygon.centroid.coords[0])


def _half(cavities: Sequence[Cavity]) -> float:
    """Half the least width of the cavities [mm]."""
    boxes = np.array([cavity.loop.polygon.bounds for cavity in cavities])
    return 0.5 * float((boxes[:, 2:] - boxes[:, :2]).min())


def _shifted(mold: Mold, number: int, opened: list[Cavity]) -> Iterator[Candidate]:
    cut = mold.cut[number]
    path = _carried(mold, number)
    along = (path[1] - path[0]) / np.hypot(*(path[1] - path[0]))
    normal = np.array([-along[1], along[0]])
    for share in SHIFTS:
        by = round(share * _half(opened), 1)
        moved = _rounded(path + by * normal)
        if _opens_deep(moved, opened):
            x, y = by * normal + 0.0
            say = f"Move the cut '{cut.name}' by ({x:.1f}, {y:.1f}) mm"
            yield say, partial(with_entry, mold, "cut", number, path_mm=moved)


def _turned(mold: Mold, number: int, opened: list[Cavity], middle: Array) -> Iterator[Candidate]:
    cut = mold.cut[number]
    path = _carried(mold, number)
    blind = [LineString(path).boundary.geoms[k].distance(Point(*middle)) for k in (0, 1)]
    one_way = min(blind) < _half(opened)  # it begins in the cavity: there are other sides to go to
    for angle in (*TURNS_DEG, *((135, -135, -90, 180) if one_way else ())):
        c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
        turned = middle + (path - middle) @ np.array([[c, s], [-s, c]])
        moved = _rounded(turned)
        if _opens_deep(moved, opened):
            sense = "counter-clockwise" if angle > 0 else "clockwise"
            say = f"Turn the cut '{cut.name}' by {abs(angle)} degrees {sense}"
            yield say, partial(with_entry, mold, "cut", number, path_mm=moved)


def _carried(mold: Mold, number: int) -> Array:
    """Return a cut's path with its ends at the outside carried well out of the block."""
    outside = section_of(mold).outline.polygon
    return np.array(lengthened(mold.cut[number].path_mm, outside, reach_of(mold)))


def _rounded(path: Array) -> list[tuple[float, float]]:
    """Return a path to 0.1 mm."""
    return [(round(float(x), 1), round(float(y), 1)) for x, y in path]


def _opens_deep(path: Sequence[tuple[float, float]], opened: list[Cavity]) -> bool:
    """Whether a path runs through all cavities, 0.3 of a half width or more from their edges."""
    line = LineString(path)
    return all(
        line.distance(cavity.loop.polygon.buffer(-0.3 * _half([cavity]))) < 1e-9
        for cavity in opened
    )


def _out(mold: Mold, number: int, opened: list[Cavity]) -> Iterator[Candidate]:
    """One cut for each cavity instead, straight out to one side."""
    cut = mold.cut[number]
    for side, direction in SIDES.items():
        paths = [_ray(mold, cavity, direction) for cavity in opened]
        if not all(_free(mold, p, c) for p, c in zip(paths, opened, strict=True)):
            continue
        names = ", ".join(f"'{cavity.name}'" for cavity in opened)
        one = "a cut" if len(opened) == 1 else "a cut each"
        say = f"Instead of the cut '{cut.name}', {one} straight from {names} out to the {side}"
        yield say, partial(_replaced, mold, number, opened, paths, side)


def _ray(mold: Mold, cavity: Cavity, direction: tuple[float, float]) -> list[tuple[float, float]]:
    start = np.round(_middle(cavity), 1)
    end = start + reach_of(mold) * np.array(direction)
    return [(float(start[0]), float(start[1])), (float(end[0]), float(end[1]))]


def _free(mold: Mold, path: list[tuple[float, float]], own: Cavity) -> bool:
    """Whether a path out runs clear of all other cavities, by a millimetre."""
    line = LineString(path)
    others = [c for c in section_of(mold).cavities if c.name != own.name]
    return own.loop.polygon.contains(Point(path[0])) and all(
        line.distance(cavity.loop.polygon) > 1.0 for cavity in others
    )


def _replaced(
    mold: Mold, number: int, opened: list[Cavity], paths: list[list[tuple[float, float]]], side: str
) -> Mold:
    cuts = list(dict_of(mold)["cut"])
    old = cuts.pop(number)
    taken = {entry["name"] for entry in cuts}
    for cavity, path in zip(opened, paths, strict=True):
        name = f"{cavity.name} to the {side}"
        name = name if name not in taken else f"{name}, from {old['name']}"
        cuts.append(old | {"name": name, "path_mm": path})
    return with_tables(mold, cut=cuts)
