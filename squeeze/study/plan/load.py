"""Study files: reading with every fault reported at once."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from squeeze.mold import BadInput, Fault, dict_of, load, mold_of
from squeeze.mold.file.toml import dotted, tables_of, text_of, with_lines
from squeeze.mold.tables.values import listed, quote, spelling
from squeeze.study.measures import check_measure
from squeeze.study.own_measures import OwnMeasure, name_faults
from squeeze.study.own_measures import own_measures as own_measures_of
from squeeze.study.plan.axes import (
    MOST_POINTS,
    Axis,
    axis_of,
    combination_count,
    paired_axis,
    paired_place,
    sample_axis,
)
from squeeze.study.plan.formula import StudyValueError, formula
from squeeze.study.plan.keys import key_paths, with_key
from squeeze.study.plan.study import Study, evaluated, lookup_value, varied_at
from squeeze.study.plan.tables import FigureTable, StudyTable
from squeeze.study.plan.units import in_plain_numbers

KIND = "study file"
STANDARD = "study.toml"
"""Name of the study file in a folder that is given instead of one."""


def load_study(path: str | Path, own_measures: Mapping[str, OwnMeasure] | None = None) -> Study:
    """Return the study in a TOML file, or in the ``study.toml`` of a folder.

    Parameters
    ----------
    path : str or Path
    own_measures : dict of callable, optional
        Functions by the name of their column: each takes a `Closing` and returns a number, a text,
        a bool, or None.

    Returns
    -------
    Study

    Raises
    ------
    BadInput
        With every fault that was found, each with its line.
    OwnMeasureFault
        When a function cannot be sent to another process.
    """
    path = study_path(path)
    file = str(path)
    text = text_of(file, KIND)
    data = tables_of(text, file, KIND)
    if "mold" not in data and {"block", "rubber"} <= set(data):
        said = "is a mold file, not a study file; a study names it: mold = ..., and what varies"
        raise BadInput([Fault("file", said)], file)
    try:
        return study_of(data, path, own_measures)
    except BadInput as error:
        named = StudyTable.prepare(data)
        faults = [Fault(_of_file(f.key, data), f.text) for f in error.faults]
        raise BadInput(with_lines(faults, text, named), file) from None


def study_path(path: str | Path) -> Path:
    """Return the study file that a path means; for a folder its ``study.toml``."""
    path = Path(path)
    return path / STANDARD if path.is_dir() else path


def _of_file(key: str, data: dict[str, Any]) -> str:
    """Return a fault's key as it stands in the file: a single ``[figure]`` has no number."""
    single = isinstance(data.get("figure"), dict) and key.startswith("figure.1")
    return "figure" + key[8:] if single else key


def study_of(
    data: dict[str, Any],
    path: Path | None = None,
    own_measures: Mapping[str, OwnMeasure] | None = None,
) -> Study:
    """Return the study that the tables of a study file describe.

    Parameters
    ----------
    data : dict
    path : Path, optional
        The study file; the mold's path starts from its folder.
    own_measures : dict of callable, optional
        As for `load_study`.

    Returns
    -------
    Study

    Raises
    ------
    BadInput
        With every fault that was found.
    """
    file, faults = _model(data)
    if file is None:
        raise BadInput(faults)
    file = in_plain_numbers(file)
    base = _base(file, path, faults)
    axes = tuple(_gathered(_axes(file), faults))
    formulas = [_tried(f"skip.{i}", faults, formula, text) for i, text in enumerate(file.skip, 1)]
    derived = {key: _tried(f"set.{key}", faults, _read, given) for key, given in file.set.items()}
    skip = tuple(f for f in formulas if f)
    study = Study(path, file, base or {}, axes, skip, derived, own_measures_of(own_measures))
    faults += name_faults(study.own, study.columns)
    if base is not None and not faults:
        faults += _faults(study)
    if faults:
        raise BadInput(faults)
    return study


def _model(data: dict[str, Any]) -> tuple[StudyTable | None, list[Fault]]:
    try:
        return StudyTable.model_validate(data), []
    except ValidationError as error:
        named = StudyTable.prepare(data) if isinstance(data, dict) else {}
        return None, [Fault(dotted(e["loc"], named) or "study", e["msg"]) for e in error.errors()]


def _base(file: StudyTable, path: Path | None, faults: list[Fault]) -> dict[str, Any] | None:
    """Return the tables of the mold; its faults are reported with those of the study."""
    place = Path(file.mold) if path is None else path.parent / file.mold
    try:
        return dict_of(load(place))
    except BadInput as error:
        faults += [Fault("mold", fault.say(error.file)) for fault in error.faults]
        return None


def _axes(file: StudyTable) -> Iterator[tuple[str, Callable[..., Axis], tuple]]:
    for key, given in file.vary.items():
        yield f"vary.{key}", axis_of, (key, given)
    for i, given in enumerate(file.paired, start=1):
        yield paired_place(i, given), paired_axis, (i, given)
    if file.sample is not None:
        yield "sample", sample_axis, (file.sample,)


def _gathered(
    wanted: Iterator[tuple[str, Callable[..., Axis], tuple]], faults: list[Fault]
) -> list[Axis]:
    made = [_tried(place, faults, make, *given) for place, make, given in wanted]
    return [axis for axis in made if axis is not None]


def _tried(place: str, faults: list[Fault], make: Callable[..., Any], *given: Any) -> Any:
    """Return what `make` makes; when it cannot, note the fault and return None."""
    try:
        return make(*given)
    except StudyValueError as error:
        faults.append(Fault(place, str(error)))
        return None


def _read(given: Any) -> Any:
    """Return a value of ``[set]`` with each text that begins with = as a formula."""
    if isinstance(given, str) and given.startswith("="):
        return formula(given[1:])
    if isinstance(given, list):
        return [_read(entry) for entry in given]
    if isinstance(given, dict):
        return {key: _read(entry) for key, entry in given.items()}
    return given


def _faults(study: Study) -> list[Fault]:
    faults: list[Fault] = []
    faults += _twice(study)
    for axis in study.axes:
        for k, key in enumerate(axis.keys):
            place = axis.place if axis.place.startswith("vary") else f"{axis.place}.{key}"
            _tried(place, faults, _key_fits, study, axis, k, faults, place)
    if not faults:
        faults += _formula_faults(study)
    names = _names(study)
    for i, measure in enumerate(study.file.keep, start=1):
        _tried(f"keep.{i}", faults, check_measure, measure, names)
    faults += _name_faults(study)
    for i, figure in enumerate(study.file.figure, start=1):
        faults += _figure_faults(f"figure.{i}", figure, study)
    if combination_count(study.axes) > MOST_POINTS:
        faults.append(
            Fault(
                "vary",
                f"{combination_count(study.axes)} cases were asked for; allowed are {MOST_POINTS}",
            )
        )
    return faults


def _twice(study: Study) -> list[Fault]:
    seen: dict[str, str] = {}
    faults = []
    for axis in study.axes:
        for name in dict.fromkeys((*axis.keys, *axis.columns)):
            if name in seen:
                faults.append(Fault(axis.place, f"{quote(name)} is varied in {seen[name]} already"))
            seen[name] = axis.place
    return faults


def _key_fits(study: Study, axis: Axis, k: int, faults: list[Fault], place: str) -> None:
    """Check one key of an axis: that it is there, and that the mold takes each of its values."""
    key = axis.keys[k]
    if key.startswith("own."):
        return
    key_paths(key, study.base)
    for i in dict.fromkeys(range(len(axis.points))):
        said = _value_faults(key, axis.points[i][k], study.base)
        if said:
            which = f" ({axis.labels[i]})" if axis.labels else ""
            faults.append(Fault(place, f"value {i + 1}{which}: {said[0]}"))


def _value_faults(key: str, value: Any, base: dict[str, Any]) -> list[str]:
    """Return why the mold refuses a value; faults of other keys are left out."""
    prefixes = [dotted(path, base) for path in key_paths(key, base)]
    try:
        mold_of(with_key(base, key, value))
    except BadInput as error:
        return [
            fault.text if fault.key == prefix else f"{fault.key[len(prefix) + 1 :]}: {fault.text}"
            for fault in error.faults
            for prefix in prefixes
            if (fault.key + ".").startswith(prefix + ".")
        ]
    return []


def _formula_faults(study: Study) -> list[Fault]:
    """Compute each formula for the first case, so that a wrong one is refused at its line."""
    faults: list[Fault] = []
    own, data = varied_at(study, (0,) * len(study.axes))
    for key, given in (study.set or {}).items():
        value = _tried(f"set.{key}", faults, evaluated, given, own, data)
        _tried(f"set.{key}", faults, with_key, data, key, value)
    for i, rule in enumerate(study.skip, start=1):
        _tried(f"skip.{i}", faults, rule.value, lambda key: lookup_value(key, own, data))
    return faults


def _names(study: Study) -> dict[str, list[str]]:
    """Return the names of the cuts, cavities and cradle pieces that every case has."""
    varied = {key for axis in study.axes for key in axis.keys} | set(study.file.set)
    return {
        kind: [str(entry.get("name", "")) for entry in study.base.get(kind, ())]
        for kind in ("cut", "cavity", "cradle")
        if kind not in varied and all("name" in entry for entry in study.base.get(kind, ()))
    }


def _name_faults(study: Study) -> list[Fault]:
    known = (*study.columns, *study.keep)
    return [
        Fault(f"names.{key}", f"{quote(key)} is neither varied nor kept{spelling(key, known)}")
        if key not in known
        else Fault(f"names.{key}", f"{quote(name)} is not text; needed is text in quotes")
        for key, name in study.file.names.items()
        if key not in known or not (isinstance(name, str) and name.strip())
    ]


def _figure_faults(place: str, figure: FigureTable, study: Study) -> list[Fault]:
    columns, keep = study.columns, study.keep
    asked = [("x", figure.x, columns), ("each", figure.each, columns)]
    asked += [("y", y, columns if figure.kind == "map" else keep) for y in figure.y]
    asked += [("value", figure.value, keep)]
    asked += [(f"where.{key}", key, columns) for key in figure.where]
    return [
        Fault(
            f"{place}.{key}",
            f"{quote(name)} is not {_what(known, keep)}; there are"
            f" {listed(map(quote, known), 'and')}{spelling(name, known)}",
        )
        for key, name, known in asked
        if name is not None and name not in known
    ]


def _what(known: tuple[str, ...], keep: tuple[str, ...]) -> str:
    return "a measure that is kept" if known is keep else "varied"
