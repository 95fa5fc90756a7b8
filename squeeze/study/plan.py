"""From a study to its cases, one after the other: a large study never stands in memory at once."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from hashlib import sha256
from itertools import groupby, islice
from pathlib import Path
from typing import Any

from squeeze.mold import BadInput, dict_of, mold_of
from squeeze.study.formula import Formula
from squeeze.study.keys import put_at, value_of
from squeeze.study.model import StudyFile
from squeeze.study.numerics import numerics
from squeeze.study.records import Case, Chunk, Data
from squeeze.study.spread import Axis, each

CHUNK = 32
"""Most cases that go to a worker at once."""

LOADS = ("title", "length_mm", "band", "push", "resin", "pot")
"""Tables and keys that neither mesh nor factor depend on."""

SEAM = ("friction", "gap_mm")
"""Keys of a cut that neither mesh nor factor depend on."""


@dataclass(frozen=True, eq=False)
class Study:
    """A study, read and checked.

    Attributes
    ----------
    path : Path or None
        Its file.
    file : StudyFile
        What the file says.
    base : dict
        The tables of the mold that is varied.
    axes : tuple of Axis
        In the order of the file: vary, paired, sample.
    skip : tuple of Formula
    set : dict
        Formulas, constants, or lists of these.
    """

    path: Path | None
    file: StudyFile
    base: Data
    axes: tuple[Axis, ...]
    skip: tuple[Formula, ...] = ()
    set: Any = None

    @property
    def columns(self) -> tuple[str, ...]:
        """Columns of the table for what is varied."""
        return tuple(name for axis in self.axes for name in axis.columns)


def cases(study: Study) -> Iterator[Case]:
    """Yield the cases in the order in which they are best run: loads change fastest."""
    order = tuple(sorted(range(len(study.axes)), key=lambda k: _only_loads(study, study.axes[k])))
    for at in each(study.axes, order):
        values, data = _at(study, at)
        if not skipped(study, values, data):
            yield _case(study, number_of(study, at), values, data)


def number_of(study: Study, at: tuple[int, ...]) -> int:
    """Return the number of a combination: the axis that stands last in the file runs fastest."""
    n = 0
    for axis, i in zip(study.axes, at, strict=True):
        n = n * len(axis.points) + i
    return n


def _only_loads(study: Study, axis: Axis) -> bool:
    return all(is_load(key) for key in axis.keys)


def is_load(key: str) -> bool:
    """Return whether a key can change without a new mesh or factor."""
    head, _, rest = key.partition(".")
    return head in LOADS or (head == "cut" and rest.rpartition(".")[2] in SEAM)


def _at(study: Study, at: tuple[int, ...]) -> tuple[Data, Data]:
    """Return the columns of a combination, and its mold's tables together with the study's own."""
    values: Data = {}
    own: Data = {}
    data = study.base
    for axis, i in zip(study.axes, at, strict=True):
        values |= axis.row(i)
        for key, value in zip(axis.keys, axis.points[i], strict=True):
            if key.startswith("own."):
                own[key] = value
            else:
                data = put_at(data, key, value)
    lookup = values | own
    for key, given in (study.set or {}).items():
        data = put_at(data, key, settled(given, lookup, data))
    return lookup, data


def settled(given: Any, own: Data, data: Data) -> Any:
    """Return the value of ``[set]``: formulas computed, at any depth of lists and tables."""
    if isinstance(given, Formula):
        return given.value(lambda key: looked_up(key, own, data))
    if isinstance(given, list):
        return [settled(entry, own, data) for entry in given]
    if isinstance(given, dict):
        return {key: settled(entry, own, data) for key, entry in given.items()}
    return given


def looked_up(key: str, own: Data, data: Data) -> Any:
    """Return the value of a key in a formula: of the study itself, or of the mold."""
    return own[key] if key in own else value_of(key, data)


def skipped(study: Study, own: Data, data: Data) -> bool:
    """Return whether a case is left out."""
    return any(rule.value(lambda key: looked_up(key, own, data)) for rule in study.skip)


def _case(study: Study, number: int, values: Data, data: Data) -> Case:
    values = {key: values[key] for key in study.columns}
    fault = None
    try:
        data = dict_of(mold_of(data))
    except BadInput as error:
        fault = str(error)
    section = _hash([section_of_case(data), study.file.fineness])
    bare = {key: value for key, value in data.items() if key != "title"}
    asked = [bare, study.file.keep, study.file.fineness, numerics()]
    return Case(_hash(asked), number, values, data, section, fault)


def section_of_case(data: Data) -> Data:
    """Return the tables of a mold without what neither its mesh nor its factor depend on."""
    bare = {key: value for key, value in data.items() if key not in LOADS}
    if "cut" in bare:
        bare["cut"] = [{k: v for k, v in cut.items() if k not in SEAM} for cut in bare["cut"]]
    return bare | {"length_mm": 100.0}


def _hash(value: Any) -> str:
    text = json.dumps(value, sort_keys=True, separators=(",", ":"), default=str)
    return sha256(text.encode()).hexdigest()[:32]


def chunks(study: Study, wanted: Iterable[Case]) -> Iterator[Chunk]:
    """Yield cases in chunks: neighbours that share a section, at most `CHUNK` of them."""
    for section, group in groupby(wanted, key=lambda case: case.section):
        while part := tuple((case.id, case.mold) for case in islice(group, CHUNK)):
            yield Chunk(part, section, study.file.keep, study.file.fineness)
