"""Records of arrays: read-only once made, and shown by the shapes of their arrays."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields
from typing import Protocol

import numpy as np


class ArrayRecord:
    """Base of a frozen dataclass that holds arrays.

    Its arrays become read-only when it is made. Its text gives the shape of each array in place of
    the numbers; a subclass takes that text with ``@dataclass(repr=False)``.
    """

    def __post_init__(self) -> None:
        for entry in fields(self):  # type: ignore[arg-type]
            value = getattr(self, entry.name)
            if isinstance(value, np.ndarray):
                value.flags.writeable = False

    def __repr__(self) -> str:
        parts = []
        for entry in fields(self):  # type: ignore[arg-type]
            value = getattr(self, entry.name)
            shown = f"array {value.shape}" if isinstance(value, np.ndarray) else repr(value)
            parts.append(f"{entry.name}={shown}")
        return f"{type(self).__name__}({', '.join(parts)})"


class LandRecord(ArrayRecord):
    """Base of a land, of a section or over the length; its text is a line with its figures."""

    def __repr__(self) -> str:
        return short(f"{type(self).__name__}:", [self]).replace("\n ", "")  # type: ignore[list-item]


class _LandFigures(Protocol):
    """What the short text on a land needs: of a section, or over the length."""

    @property
    def cut(self) -> str: ...
    @property
    def land(self) -> int: ...
    @property
    def closed_share(self) -> float: ...
    @property
    def mean_pressure_kpa(self) -> float: ...
    @property
    def largest_gap_mm(self) -> float: ...


def short(head: str, lands: Sequence[_LandFigures]) -> str:
    """Return a text for the prompt: a head, then a line for each land."""
    lines = [f"  {land.cut!r} land {land.land}: {_in_words(land)}" for land in lands]
    return "\n".join([head, *lines])


def _in_words(land: _LandFigures) -> str:
    if np.isnan(land.closed_share):
        return "no answer"
    return (
        f"{100 * land.closed_share:.0f} % closed, {land.mean_pressure_kpa:.3g} kPa,"
        f" gap up to {land.largest_gap_mm:.2g} mm"
    )
