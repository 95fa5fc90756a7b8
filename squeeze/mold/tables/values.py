"""The kinds of value a mold file has, and the plain sentences for what is wrong with one.

Every error that leaves this module carries a sentence for the person at the bench: what the file
gives, and what is allowed. The wording of the validation library never reaches them.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import dataclass
from difflib import get_close_matches
from itertools import pairwise
from typing import Annotated, Any

from pydantic_core import PydanticCustomError, core_schema

from squeeze.mold.geometry.tolerance import ON_MM, SAME_MM

PLAIN = "plain"

MOST_POINTS = 5000
"""No list of points or numbers is longer than this."""


def plain_error(text: str) -> PydanticCustomError:
    """Return an error that says `text` and nothing else."""
    return PydanticCustomError(PLAIN, "{text}", {"text": text})


def quote(value: object) -> str:
    """Say which `value` was given, short enough for one line."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        text = re.sub(r"[^\x20-\x7e\xa0-\uffff]", "?", value)
        return f'"{text if len(text) <= 40 else text[:37] + "..."}"'
    if isinstance(value, int):
        return str(value) if value.bit_length() < 100 else "a number of over 30 digits"
    if isinstance(value, float):
        return f"{value:.9g}"
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list | tuple):
        return _came_list(value)
    return "nothing" if value is None else f"a {type(value).__name__}"


def _came_list(value: list | tuple) -> str:
    inner = ["a list" if isinstance(v, list | tuple) else quote(v) for v in value[:4]]
    return f"[{', '.join(inner + ['...'] * (len(value) > 4))}]"


def listed(words: Any, last: str = "or") -> str:
    """Return ``a, b or c`` for three `words`, with `last` ahead of the last one."""
    words = [str(word) for word in words]
    return f" {last} ".join([", ".join(words[:-1]), words[-1]]) if len(words) > 1 else words[0]


def spelling(word: object, known: Any) -> str:
    """Return ``; did you mean "x"?`` when one of `known` is close to `word`, else nothing."""
    close = get_close_matches(str(word).lower(), list(known), n=1, cutoff=0.6)
    return f'; did you mean "{close[0]}"?' if close else ""


IN_TEXT = {" mm": '"4 1/2 in"', " kPa": '"2 psi"', " MPa": '"90 psi"'}
"""How text gives a number with its unit, by the unit of plain numbers."""

TURNED = (*IN_TEXT, " N", " N/mm")
"""Units that answers in inches turn: a refused number needs its own, or it would stay behind."""


def as_number(value: object, low: float, high: float, unit: str = "") -> float:
    """Return `value` as a float.

    Parameters
    ----------
    value : object
    low, high : float
        Least and largest number that is allowed [unit].
    unit : str
        As the refusal prints it, after a space.

    Raises
    ------
    PydanticCustomError
        When it is not a finite number from `low` to `high`.
    """
    allowed = f"allowed is a number from {low:g} to {high:g}{unit}"
    if isinstance(value, str) and unit in IN_TEXT:
        allowed += f", or text with its unit as {IN_TEXT[unit]}"
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise plain_error(f"{quote(value)} is not a number; {allowed}")
    if not low <= value <= high or not math.isfinite(value):
        said = f"{quote(value)}{unit}" if unit in TURNED else quote(value)
        raise plain_error(f"{said} is out of range; {allowed}")
    return float(value)


@dataclass(frozen=True)
class Entry:
    """What one key takes: how a raw value is read, and the JSON Schema that editors see.

    Stands as metadata in a field's type: ``width_mm: Annotated[float, number(0.5, 1000, "mm")]``.

    Attributes
    ----------
    read : callable
        Returns the checked value, or raises `plain` with a sentence.
    schema : dict
        JSON Schema of what is allowed.
    """

    read: Callable[[object], Any]
    schema: dict[str, Any]

    def __get_pydantic_core_schema__(self, source: Any, handler: Any) -> Any:
        return core_schema.no_info_plain_validator_function(self.read)

    def __get_pydantic_json_schema__(self, core: Any, handler: Any) -> dict[str, Any]:
        return dict(self.schema)


@dataclass(frozen=True)
class AtMost:
    """Takes a list of at most `count` entries; a longer one is refused before they are read."""

    count: int
    what: str

    def check(self, value: object) -> object:
        """Return the `value` as it is, unless it is a list that is too long.

        Raises
        ------
        PydanticCustomError
            When it is longer than allowed.
        """
        if isinstance(value, list | tuple) and len(value) > self.count:
            raise plain_error(f"{len(value)} {self.what} given; allowed are {self.count} at most")
        return value

    def __get_pydantic_core_schema__(self, source: Any, handler: Any) -> Any:
        return core_schema.no_info_before_validator_function(self.check, handler(source))

    def __get_pydantic_json_schema__(self, core: Any, handler: Any) -> dict[str, Any]:
        return handler(core) | {"maxItems": self.count}


_TEXT_SCHEMA = {"type": "string", "pattern": '[0-9] *[A-Za-z"]+[.]?$'}


def number(low: float, high: float, unit: str = "") -> Entry:
    """Take a number from `low` to `high` [unit], both allowed."""
    unit = f" {unit}" if unit else ""
    schema: dict[str, Any] = {"type": "number", "minimum": low, "maximum": high}
    if unit in IN_TEXT:
        schema = {"anyOf": [schema, _TEXT_SCHEMA]}
    return Entry(lambda value: as_number(value, low, high, unit), schema)


def numbers(low: float, high: float, unit: str) -> Entry:
    """Take a list of one or more numbers from `low` to `high` [unit]."""
    one = number(low, high, unit)

    def read(value: object) -> tuple[float, ...]:
        return tuple(_each(_as_list(value, 1, "number"), one.read))

    return Entry(read, {"type": "array", "items": one.schema, "minItems": 1})


def number_or_numbers(low: float, high: float, unit: str) -> Entry:
    """Take one number from `low` to `high` [unit], or a list of them."""
    one, many = number(low, high, unit), numbers(low, high, unit)

    def read(value: object) -> float | tuple[float, ...]:
        return (many if isinstance(value, list | tuple) else one).read(value)

    return Entry(read, {"anyOf": [*one.schema.get("anyOf", [one.schema]), many.schema]})


def parts() -> Entry:
    """Take a mixing ratio: two or three parts by weight, such as [100, 10]."""
    many = numbers(0.01, 1000, "parts")

    def read(value: object) -> tuple[float, ...]:
        found = many.read(value)
        if not 2 <= len(found) <= 3:
            raise plain_error(
                f"{quote(value)} given; a mixing ratio has two or three parts, as [100, 10]"
            )
        return found

    return Entry(read, {**many.schema, "minItems": 2, "maxItems": 3})


def whole(low: int, high: int) -> Entry:
    """Take a whole number from `low` to `high`."""

    def read(value: object) -> int:
        found = as_number(value, low, high)
        if found != int(found):
            raise plain_error(
                f"{quote(value)} is not whole; allowed is a whole number {low} to {high}"
            )
        return int(found)

    return Entry(read, {"type": "integer", "minimum": low, "maximum": high})


def text(longest: int) -> Entry:
    """Take one line of text of 1 to `longest` characters."""

    def read(value: object) -> str:
        if not isinstance(value, str):
            raise plain_error(f"{quote(value)} is not text; needed is text in quotes")
        if not 1 <= len(value.strip()) <= longest or not value.isprintable():
            raise plain_error(
                f"{quote(value)} given; allowed is one line of 1 to {longest} characters"
            )
        return value

    return Entry(read, {"type": "string", "minLength": 1, "maxLength": longest})


def yes_or_no() -> Entry:
    """Take true or false."""

    def read(value: object) -> bool:
        if not isinstance(value, bool):
            raise plain_error(f"{quote(value)} given; allowed are true and false")
        return value

    return Entry(read, {"type": "boolean"})


REACH_MM = 2000.0
"""No coordinate may be farther from the middle than this [mm]."""


def as_point(value: object) -> tuple[float, float]:
    """Return the list `value` as an (x, y) pair in mm.

    Raises
    ------
    PydanticCustomError
        When it is not two finite numbers.
    """
    if not isinstance(value, list | tuple) or len(value) != 2:
        raise plain_error(f"{quote(value)} is not a point; a point is two numbers [x, y] in mm")
    x, y = (as_number(v, -REACH_MM, REACH_MM, " mm") for v in value)
    return x, y


_POINT_SCHEMA = {
    "type": "array",
    "items": {"anyOf": [{"type": "number"}, _TEXT_SCHEMA]},
    "minItems": 2,
    "maxItems": 2,
}
point = Entry(as_point, _POINT_SCHEMA)
"""Takes a point [x, y] in mm."""


def points(least: int) -> Entry:
    """Take a list of at least `least` points, none twice in a row."""

    def read(value: object) -> tuple[tuple[float, float], ...]:
        found = _each(_as_list(value, least, "point"), as_point)
        _no_repeats(found)
        return tuple(found)

    return Entry(read, {"type": "array", "items": _POINT_SCHEMA, "minItems": least})


def _no_repeats(found: list[tuple[float, float]]) -> None:
    same = [
        f"points {i} and {i + 1} are the same place ({a[0]:g}, {a[1]:g}) mm"
        for i, (a, b) in enumerate(pairwise(found), start=1)
        if math.dist(a, b) < SAME_MM - ON_MM
    ]
    if same:
        raise plain_error(f"{_some(same)}; neighbours must be at least {SAME_MM} mm apart")


def _as_list(value: object, least: int, what: str) -> list:
    if not isinstance(value, list | tuple):
        raise plain_error(f"{quote(value)} is not a list; a list of {what}s is needed")
    if not least <= len(value) <= MOST_POINTS:
        raise plain_error(f"{len(value)} {what}s given; allowed are {least} to {MOST_POINTS}")
    return list(value)


def _each(values: list, check: Callable[[object], Any]) -> list[Any]:
    """Check every value; say all that is wrong in one sentence, with the places from 1."""
    good: list[Any] = []
    bad: list[str] = []
    for i, value in enumerate(values, start=1):
        try:
            good.append(check(value))
        except PydanticCustomError as error:
            bad.append(f"entry {i}: {error.message()}")
    if bad:
        raise plain_error(_some(bad))
    return good


def _some(sentences: list[str]) -> str:
    more = [f"and {len(sentences) - 3} more"] if len(sentences) > 3 else []
    return "; ".join(sentences[:3] + more)


def word(*known: str) -> Entry:
    """Take one of the words `known`."""

    def read(value: object) -> str:
        if isinstance(value, str) and value in known:
            return value
        raise plain_error(
            f"{quote(value)} is not known; allowed are {listed(known)}" + spelling(value, known)
        )

    return Entry(read, {"type": "string", "enum": list(known)})


XY = tuple[float, float]
MOST_FRICTION = 3.0
FrictionValue = Annotated[float, number(0, MOST_FRICTION)]
LEAST_FINENESS, MOST_FINENESS = 0.25, 8.0  # of a mesh, over the default one
LEAST_ACCURACY_PCT, MOST_ACCURACY_PCT = 0.05, 20.0  # error of a pressure over the largest
Name = Annotated[str, text(60)]
