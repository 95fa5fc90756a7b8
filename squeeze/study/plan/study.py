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
from squeeze.study.measure_errors import with_errors
from squeeze.study.own_measures import NO_MEASURES, OwnMeasures
from squeeze.study.plan.axes import Axis, combinations
from squeeze.study.plan.formula import Formula, StudyValueError
from squeeze.study.plan.keys import key_value, with_key
from squeeze.study.plan.numerics import numerics
from squeeze.study.plan.sections import is_load, section_of_case
from squeeze.study.plan.tables import StudyTable
from squeeze.study.records import Batch, Case, Data

BATCH_SIZE = 32
"""Most cases that go to a worker at once."""


@dataclass(frozen=True, eq=False)
class Study:
    """A study, read and checked.

    Attributes
    ----------
    path : Path or None
        Its file.
    file : StudyTable
        What the file says.
    base : dict
        The tables of the mold that is varied.
    axes : tuple of Axis
        In the order of the file: vary, paired, sample.
    skip : tuple of Formula
    set : dict
        Formulas, constants, or lists of these.
    own : OwnMeasures
        Functions whose values are kept as well; none in a study that is run from its file.
    """

    path: Path | None
    file: StudyTable
    base: Data
    axes: tuple[Axis, ...]
    skip: tuple[Formula, ...] = ()
    set: Any = None
    own: OwnMeasures = NO_MEASURES

    @property
    def keep(self) -> tuple[str, ...]:
        """Columns of the table for what comes out: measures, with their errors, then one's own."""
        return (*self.measures, *self.own.names)

    @property
    def measures(self) -> tuple[str, ...]:
        """Columns of the measures that the file asks for, with their errors where it asks."""
        return self.file.keep if self.file.accuracy is None else with_errors(self.file.keep)

    @property
    def columns(self) -> tuple[str, ...]:
        """Columns of the table for what is varied."""
        return tuple(name for axis in self.axes for name in axis.columns)


def cases(study: Study) -> Iterator[Case]:
    """Yield the cases in the order in which they are best run: loads change fastest."""
    order = tuple(sorted(range(len(study.axes)), key=lambda k: _only_loads(study.axes[k])))
    for at in combinations(study.axes, order):
        values, data, fault = _case_tables(study, at)
        try:
            left_out = fault is None and skipped(study, values, data)
        except StudyValueError as error:
            left_out, fault = False, f"skip: {error}"
        if not left_out:
            yield _case(study, number_of(study, at), values, data, fault)


def number_of(study: Study, at: tuple[int, ...]) -> int:
    """Return the number of a combination: the axis that stands last in the file runs fastest.

    `at` is the number of the point on each axis, from 0.
    """
    n = 0
    for axis, i in zip(study.axes, at, strict=True):
        n = n * len(axis.points) + i
    return n


def _only_loads(axis: Axis) -> bool:
    return all(is_load(key) for key in axis.keys)


def _case_tables(study: Study, at: tuple[int, ...]) -> tuple[Data, Data, str | None]:
    """Return the columns of a combination, with the study's own, its mold's tables, and a fault.

    The fault says which formula cannot be computed for this combination; None where all can.
    """
    lookup, data = varied_at(study, at)
    for key, given in (study.set or {}).items():
        try:
            data = with_key(data, key, evaluated(given, lookup, data))
        except StudyValueError as error:
            return lookup, data, f"set.{key}: {error}"
    return lookup, data, None


def varied_at(study: Study, at: tuple[int, ...]) -> tuple[Data, Data]:
    """Return what formulas may name of a combination, and the mold, before any formula.

    Parameters
    ----------
    study : Study
    at : tuple of int
        Number of the point on each axis, from 0.

    Returns
    -------
    (dict, dict)
        Columns and figures of the study's own, and the tables of the mold.
    """
    own: Data = {}
    data = study.base
    for axis, i in zip(study.axes, at, strict=True):
        own |= axis.row(i)
        for key, value in zip(axis.keys, axis.points[i], strict=True):
            if key.startswith("own."):
                own[key] = value
            else:
                data = with_key(data, key, value)
    return own, data


def evaluated(given: Any, own: Data, data: Data) -> Any:
    """Return the value of ``[set]``: formulas computed, at any depth of lists and tables.

    Parameters
    ----------
    given : object
        As the study file has it.
    own, data : dict
        Figures of the study's own, and the mold: what formulas may name.
    """
    if isinstance(given, Formula):
        return given.value(lambda key: lookup_value(key, own, data))
    if isinstance(given, list):
        return [evaluated(entry, own, data) for entry in given]
    if isinstance(given, dict):
        return {key: evaluated(entry, own, data) for key, entry in given.items()}
    return given


def lookup_value(key: str, own: Data, data: Data) -> Any:
    """Return the value of a key in a formula: of the study itself, or of the mold.

    Parameters
    ----------
    key : str
    own, data : dict
        Figures of the study's own, and the mold.
    """
    return own[key] if key in own else key_value(key, data)


def skipped(study: Study, own: Data, data: Data) -> bool:
    """Return whether a case is left out.

    Parameters
    ----------
    study : Study
    own, data : dict
        Figures of the study's own, and the mold of the case.
    """
    return any(rule.value(lambda key: lookup_value(key, own, data)) for rule in study.skip)


def _case(study: Study, number: int, values: Data, data: Data, fault: str | None) -> Case:
    values = {key: values[key] for key in study.columns}
    unset = fault  # which formula failed; its value is left out of the mold
    if fault is None:
        try:
            data = dict_of(mold_of(data))
        except BadInput as error:
            fault = str(error)
    section = _hash([section_of_case(data), study.file.fineness])
    bare = {key: value for key, value in data.items() if key != "title"}
    question = [bare, study.file.keep, study.file.fineness, study.file.deformation, numerics()]
    if study.file.accuracy is not None:
        question.append({"accuracy": study.file.accuracy})
    if study.own.names:
        question.append(study.own.digest)
    if unset:
        question.append([unset, values])
    return Case(_hash(question), number, values, data, section, fault)


def _hash(value: Any) -> str:
    text = json.dumps(value, sort_keys=True, separators=(",", ":"), default=str)
    return sha256(text.encode()).hexdigest()[:32]


def batches(study: Study, wanted: Iterable[Case]) -> Iterator[Batch]:
    """Yield cases in batches: neighbours that share a section, at most `BATCH_SIZE` of them."""
    file, own = study.file, study.own if study.own.names else None
    for section, group in groupby(wanted, key=lambda case: case.section):
        while part := tuple((case.id, case.mold) for case in islice(group, BATCH_SIZE)):
            yield Batch(
                part, section, file.keep, file.fineness, file.deformation, file.accuracy, own
            )
