"""A table of the mold file: which keys it knows, and which go together."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from pydantic import (
    BaseModel,
    ConfigDict,
    ModelWrapValidatorHandler,
    ValidationError,
    model_validator,
)
from pydantic_core import InitErrorDetails

from squeeze.mold.tables.values import PLAIN, listed, plain_error, quote, spelling

KeyFaults = Iterator[tuple[str | tuple[str | int, ...], str]]
"""Faults as (key within the table, sentence); a tuple of keys leads into inner tables."""


class Table(BaseModel):
    """A table of the mold file: known keys only, frozen, every fault reported at once."""

    model_config = ConfigDict(extra="forbid", frozen=True, hide_input_in_errors=True)

    @classmethod
    def rules(cls, given: dict[str, Any]) -> KeyFaults:
        """Yield (key, sentence) for keys that do not go together.

        `given` is the raw table; the key "" stands for the table as a whole.
        """
        yield from ()

    @classmethod
    def prepare(cls, given: dict[str, Any]) -> dict[str, Any]:
        """Return the raw table `given` with what follows from the rest of it filled in."""
        return given

    def __repr_args__(self) -> Iterator[tuple[str | None, Any]]:
        """Yield what was given: defaults would bury it."""
        every = super().__repr_args__()
        return ((key, value) for key, value in every if key in self.model_fields_set)

    @model_validator(mode="wrap")
    @classmethod
    def _everything(cls, given: Any, check: ModelWrapValidatorHandler) -> Any:
        if isinstance(given, cls):
            return given
        if not isinstance(given, dict):
            raise plain_error(
                f"{quote(given)} is not a table; write {listed(cls.model_fields, 'and')}"
                " as keys of a table"
            )
        given = cls.prepare(given)
        bad = [_detail(_loc(key), text, given) for key, text in cls.rules(given)]
        made = None
        try:
            made = check(given)
        except ValidationError as error:
            bad += [_reword(cls, entry, given) for entry in error.errors(include_url=False)]
        if bad:
            raise ValidationError.from_exception_data(cls.__name__, bad)
        return made


def _loc(key: str | tuple[str | int, ...]) -> tuple[str | int, ...]:
    if isinstance(key, tuple):
        return key
    return (key,) if key else ()


def _detail(loc: tuple[int | str, ...], text: str, given: object) -> InitErrorDetails:
    return InitErrorDetails(type=plain_error(text), loc=loc, input=given)


def _reword(table: type[Table], error: Any, given: dict[str, Any]) -> InitErrorDetails:
    return _detail(error["loc"], _sentence(table, error, given), given)


def _sentence(table: type[Table], error: Any, given: dict[str, Any]) -> str:
    kind, key = error["type"], error["loc"][-1] if error["loc"] else ""
    if kind == PLAIN:
        return error["msg"]
    keys = list(table.model_fields)
    if kind == "extra_forbidden":
        return f"this key is not known here; allowed are {listed(keys)}{spelling(key, keys)}"
    if kind == "missing":
        return "is missing and must be given"
    if kind == "tuple_type":
        return f"{quote(error['input'])} given; write [[{key}]] over each {key}"
    return f"{quote(error['input'])} given; that is not a kind of value allowed here"


def exactly_one(
    given: dict[str, Any], forms: Mapping[str, tuple[str, ...]], what: str
) -> KeyFaults:
    """Yield what is wrong unless the keys given make up exactly one of the `forms`.

    Parameters
    ----------
    given : dict
        The raw table.
    forms : dict
        How a form is called when spoken of, and its keys.
    what : str
        What the forms describe, e.g. ``"the band"``.
    """
    begun = [name for name, keys in forms.items() if any(key in given for key in keys)]
    if len(begun) != 1:
        say = f"{listed(begun, 'and')} given together" if begun else f"nothing says {what}"
        yield "", f"{say}; give exactly one of {listed(forms)}"
        return
    for key in forms[begun[0]]:
        if key not in given:
            yield key, f"is missing; {what} takes {listed(forms[begun[0]], 'and')} together"
