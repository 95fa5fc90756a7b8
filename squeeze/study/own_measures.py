"""Measures of one's own: functions that a study started from Python calls on each closing."""

from __future__ import annotations

import inspect
import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from hashlib import sha256
from textwrap import dedent
from typing import Any

import cloudpickle

from squeeze.mold.errors import Fault, SqueezeError
from squeeze.mold.tables.values import quote
from squeeze.solve.closing import Closing
from squeeze.study.measures import check_measure
from squeeze.study.plan.formula import StudyValueError
from squeeze.study.plan.numerics import syntax_of
from squeeze.study.records import Data
from squeeze.verdict.figures import bare

OwnMeasure = Callable[[Closing], float | int | bool | str | None]
"""Takes a closing with an answer; returns one value for the table, None where there is none."""

TAKEN = ("case", "state", "outcome", "error")
"""Columns that every table has."""


class OwnMeasureFault(SqueezeError, TypeError):
    """A function that is to be a measure cannot be used as one."""


@dataclass(frozen=True)
class OwnMeasures:
    """Functions and their names, in a form that other processes can read.

    Attributes
    ----------
    names : tuple of str
    digest : str
        Of the functions' code. An answer belongs to it: where a function changes, cases are
        computed again. What a function calls in other modules is not looked at.
    pickled : bytes
        The functions by name.
    """

    names: tuple[str, ...] = ()
    digest: str = ""
    pickled: bytes = b""

    def values(self, closing: Closing) -> Data:
        """Return the value of each function.

        Raises
        ------
        OwnMeasureFault
            When a function cannot be loaded here, fails, or returns no number, text, bool or None.
        """
        return {name: _value(name, function, closing) for name, function in self._functions}

    def none(self) -> Data:
        """Return the values of a case without an answer."""
        return dict.fromkeys(self.names)

    @property
    def _functions(self) -> list[tuple[str, OwnMeasure]]:
        if not self.names:
            return []
        try:
            return [*_loaded(self.pickled).items()]
        except Exception as error:
            raise OwnMeasureFault(
                f"the functions of {', '.join(self.names)} cannot be loaded in a worker process:"
                f" {type(error).__name__}: {error}"
            ) from error


NO_MEASURES = OwnMeasures()


@lru_cache(maxsize=4)
def _loaded(pickled: bytes) -> dict[str, OwnMeasure]:
    return cloudpickle.loads(pickled)


def _value(name: str, function: OwnMeasure, closing: Closing) -> Any:
    try:
        value = bare(function(closing))
    except Exception as error:
        raise OwnMeasureFault(f"{name}: {type(error).__name__}: {error}") from error
    if not isinstance(value, float | int | str | None):
        raise OwnMeasureFault(
            f"{name}: {type(value).__name__} given; needed is a number, a text, a bool or None"
        )
    return None if isinstance(value, float) and math.isnan(value) else value


def own_measures(functions: Mapping[str, OwnMeasure] | None) -> OwnMeasures:
    """Return functions by name as measures.

    Raises
    ------
    OwnMeasureFault
        When something among them is no function, or cannot be sent to another process.
    """
    if not functions:
        return NO_MEASURES
    for name, function in functions.items():
        if not callable(function):
            raise OwnMeasureFault(
                f"{name}: {quote(function)} given; needed is a function that takes a closing"
            )
    try:
        pickled = cloudpickle.dumps(dict(functions))
    except Exception as error:
        raise OwnMeasureFault(
            f"{', '.join(functions)}: a function cannot be sent to another process: {error}"
        ) from error
    code = "\n".join(f"{name} {_code(function)}" for name, function in functions.items())
    digest = sha256(code.encode()).hexdigest()[:16]
    return OwnMeasures(tuple(functions), digest, pickled)


def _code(function: OwnMeasure) -> str:
    """Return what sets a function apart from others: its source, defaults and captured values."""
    inner = inspect.unwrap(function)
    try:
        text = dedent(inspect.getsource(inner))
    except (OSError, TypeError):  # typed at a prompt, or no plain function
        return sha256(cloudpickle.dumps(inner)).hexdigest()
    try:
        text = syntax_of(text)
    except SyntaxError:
        pass  # a lambda in the middle of a statement: its line as it stands
    held = getattr(inner, "__defaults__", None), _captured(inner)
    return text + sha256(cloudpickle.dumps(held)).hexdigest()


def _captured(function: Any) -> dict[str, Any]:
    """Return the values that a function takes from the function round it."""
    cells = getattr(function, "__closure__", None) or ()
    names = function.__code__.co_freevars if cells else ()
    return {name: cell.cell_contents for name, cell in zip(names, cells, strict=True)}


def name_faults(own: OwnMeasures, columns: tuple[str, ...]) -> list[Fault]:
    """Return what is wrong with the names: no plain word, or taken already.

    `columns` are those of what the study varies.
    """
    found = []
    for name in own.names:
        place = f"own_measures.{name}"
        if not (isinstance(name, str) and name.isidentifier()):
            found.append(Fault(place, f"{quote(name)} given; needed are letters, digits and _"))
        elif name in (*TAKEN, *columns) or _is_measure(name):
            found.append(Fault(place, f"{quote(name)} is a column of the table already"))
    return found


def _is_measure(name: str) -> bool:
    try:
        check_measure(name, {})
    except StudyValueError:
        return False
    return True
