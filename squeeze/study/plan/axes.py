"""What a study varies: lists, ranges, paired tables and samples, as axes of points."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np

from squeeze.mold.tables.values import listed, quote
from squeeze.study.plan.formula import StudyValueError
from squeeze.study.records import Data

MOST_POINTS = 1_000_000
"""An axis has no more points than this, a study no more cases."""

METHODS = {"sobol": "Sobol", "halton": "Halton", "latin hypercube": "LatinHypercube"}
"""Ways to spread points at random: their words, and their names in scipy.stats.qmc."""


@dataclass(frozen=True)
class Axis:
    """One direction in which a study runs: points that set one or several keys together.

    Attributes
    ----------
    place : str
        Where in the study file it stands, for faults.
    keys : tuple of str
        The keys that are set.
    points : tuple of tuple
        For each point a value for each key.
    name : str
        Name of the column of labels; empty without labels.
    labels : tuple of str
        One a point; empty without.
    """

    place: str
    keys: tuple[str, ...]
    points: tuple[tuple[Any, ...], ...]
    name: str = ""
    labels: tuple[str, ...] = ()

    @property
    def columns(self) -> tuple[str, ...]:
        """Columns of the table: the labels', and one for each key whose values are plain."""
        return ((self.name,) if self.labels else ()) + tuple(self.keys[k] for k in self._plain)

    @property
    def _plain(self) -> list[int]:
        return [k for k in range(len(self.keys)) if all(_is_plain(p[k]) for p in self.points)]

    def row(self, i: int) -> Data:
        """Return the columns of point `i`."""
        head = {self.name: self.labels[i]} if self.labels else {}
        return head | {self.keys[k]: self.points[i][k] for k in self._plain}


def _is_plain(value: object) -> bool:
    return isinstance(value, int | float | str)


def axis_of(key: str, given: object) -> Axis:
    """Return the axis of one key of ``[vary]``: a list, or a range.

    Raises
    ------
    StudyValueError
        When what is given is neither.
    """
    if isinstance(given, dict):
        values = tuple(numbers_of(given))
    elif isinstance(given, list) and given:
        values = tuple(given)
    else:
        raise StudyValueError(
            f"{quote(given)} given; needed is a list, or a range such as {{from = 0, to = 8}}"
        )
    if not all(map(_is_plain, values)):
        raise StudyValueError(
            "lists and tables as values need labels to tell them apart: write [[paired]] with"
            " name, labels and this key"
        )
    return Axis(f"vary.{key}", (key,), tuple((value,) for value in values))


def numbers_of(given: Data) -> list[float]:
    """Return the numbers of the range `given`, ``{from, to}`` with ``step`` or ``count``.

    Examples
    --------
    >>> numbers_of({"from": 1, "to": 4})
    [1, 2, 3, 4]
    >>> numbers_of({"from": 0, "to": 1, "count": 3})
    [0.0, 0.5, 1.0]

    Raises
    ------
    StudyValueError
        When it is no range, or one of too many numbers.
    """
    low, high = _ends(given, ("step", "count"))
    if "step" in given and "count" in given:
        raise StudyValueError("step and count given together; give one of them")
    if "count" in given:
        count = _whole("count", given["count"], 2)
        return [float(value) for value in np.linspace(low, high, count)]
    whole = isinstance(low, int) and isinstance(high, int)
    if "step" not in given and not whole:
        raise StudyValueError("a range between numbers that are not whole needs a step or a count")
    step = _positive("step", given.get("step", 1))
    count = math.floor((high - low) / step + 1e-9) + 1
    if count > MOST_POINTS:
        raise StudyValueError(f"the range has {count} numbers; allowed are {MOST_POINTS}")
    return [_tidy(low + k * step) for k in range(count)]


def _tidy(value: float) -> float:
    return value if isinstance(value, int) else float(f"{value:.12g}")


def _ends(given: Data, more: tuple[str, ...]) -> tuple[float, float]:
    surplus = sorted(set(given) - {"from", "to", *more})
    if surplus:
        known = ("from", "to", *more)
        raise StudyValueError(
            f"{quote(surplus[0])} is not a key of a range; allowed are {listed(known)}"
        )
    low, high = (_number(end, given.get(end)) for end in ("from", "to"))
    if not low < high:
        raise StudyValueError(
            f"from {quote(low)} to {quote(high)} is no range; from has to be less than to"
        )
    return low, high


def _number(name: str, value: object) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise StudyValueError(f"{name} = {quote(value)}; a range needs a number there")
    return value


def _positive(name: str, value: object) -> float:
    found = _number(name, value)
    if found <= 0:
        raise StudyValueError(f"{name} = {quote(found)}; needed is a number above 0")
    return found


def _whole(name: str, value: object, least: int) -> int:
    if isinstance(value, bool) or not isinstance(value, int) or not least <= value <= MOST_POINTS:
        raise StudyValueError(
            f"{name} = {quote(value)}; needed is a whole number from {least} to {MOST_POINTS}"
        )
    return value


def paired_axis(i: int, given: Data) -> Axis:
    """Return the axis of a ``[[paired]]`` table: lists of equal length that run together.

    `given` is the table, the `i`-th of its kind from 1.

    Raises
    ------
    StudyValueError
        When the lists differ in length, or labels are missing.
    """
    lists = {key: value for key, value in given.items() if key != "name"}
    wrong = [key for key, value in lists.items() if not isinstance(value, list) or not value]
    if wrong:
        raise StudyValueError(
            f"{wrong[0]} = {quote(lists[wrong[0]])}; each key of a paired table takes a list"
        )
    lengths = {key: len(value) for key, value in lists.items()}
    if len(set(lengths.values())) > 1:
        said = listed([f"{key} has {n}" for key, n in lengths.items()], "and")
        raise StudyValueError(f"all lists have to be of one length, but {said}")
    labels = tuple(lists.pop("labels", ()))
    name = given.get("name", "")
    _check_labels(name, labels, lists)
    points = tuple(zip(*lists.values(), strict=True))
    return Axis(paired_place(i, given), tuple(lists), points, str(name), labels)


def paired_place(i: int, given: Data) -> str:
    """Return how faults call the ``[[paired]]`` table `given`: by its name, or its number `i`."""
    return f"paired.{given.get('name', i)}"


def _check_labels(name: object, labels: tuple, lists: Data) -> None:
    if not lists:
        raise StudyValueError("no key of the mold is varied here")
    if labels and not (isinstance(name, str) and name):
        raise StudyValueError('labels need a column to stand in: give name = "..."')
    if not all(isinstance(label, str) and label for label in labels):
        raise StudyValueError("each label is a text")
    if len(set(labels)) < len(labels):
        raise StudyValueError("the labels have to differ from each other")
    nested = [key for key, values in lists.items() if not all(map(_is_plain, values))]
    if nested and not labels:
        raise StudyValueError(
            f"the values of {nested[0]} are lists or tables; give name and labels with them"
        )


def sample_axis(given: Data) -> Axis:
    """Return the axis of a ``[sample]``: points that fill the space of several ranges evenly.

    Scrambled Sobol or Halton points, or a Latin hypercube; the same seed gives the same points.

    `given` is the table: ``count`` and ``over``, perhaps ``method`` and ``seed``.

    Raises
    ------
    StudyValueError
        When a range, the count, the method or the seed is not as it has to be.
    """
    surplus = sorted(set(given) - {"count", "seed", "method", "over"})
    if surplus:
        raise StudyValueError(
            f"{quote(surplus[0])} is not a key here; allowed are count, seed, method and over"
        )
    over, method = given.get("over"), given.get("method", "sobol")
    if not isinstance(over, dict) or not over:
        raise StudyValueError(
            "a sample needs [sample.over] with a range {from = ..., to = ...} for each key"
        )
    if method not in METHODS:
        raise StudyValueError(
            f"the method {quote(method)} is not known; allowed are {listed(METHODS)}"
        )
    count, seed = _whole("count", given.get("count"), 1), _whole("seed", given.get("seed", 0), 0)
    columns = [
        _scaled(key, over[key], u)
        for key, u in zip(over, _unit(method, len(over), count, seed).T, strict=True)
    ]
    return Axis("sample", tuple(over), tuple(zip(*columns, strict=True)))


def _unit(method: str, width: int, count: int, seed: int) -> np.ndarray:
    """Return points (count, width) in the unit cube."""
    from scipy.stats import qmc  # half of the time that a command takes to start

    source = getattr(qmc, METHODS[method])(width, rng=np.random.default_rng(seed))
    if isinstance(source, qmc.Sobol):
        return source.random_base2(math.ceil(math.log2(count)))[:count]
    return source.random(count)


def _scaled(key: str, given: object, u: np.ndarray) -> list[float]:
    if not isinstance(given, dict):
        raise StudyValueError(
            f"{key} = {quote(given)}; needed is a range such as {{from = 0, to = 8}}"
        )
    low, high = _ends(given, ("step",))
    if "step" not in given:
        return [_tidy(low + (high - low) * float(value)) for value in u]
    steps = numbers_of(given)
    return [steps[min(int(value * len(steps)), len(steps) - 1)] for value in u]


def combination_count(axes: tuple[Axis, ...]) -> int:
    """Return how many combinations the axes have."""
    return math.prod(len(axis.points) for axis in axes)


def combinations(axes: tuple[Axis, ...], order: tuple[int, ...]) -> Iterator[tuple[int, ...]]:
    """Yield the points of every combination; the axis that stands last in `order` runs fastest."""
    sizes = [len(axes[k].points) for k in order]
    for n in range(math.prod(sizes)):
        found = [0] * len(axes)
        for k, size in zip(reversed(order), reversed(sizes), strict=True):
            n, found[k] = divmod(n, size)
        yield tuple(found)
