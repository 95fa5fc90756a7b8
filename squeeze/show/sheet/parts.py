"""What a bench sheet is made of: rows, tables and pictures in steps, and lengths as measured."""

from __future__ import annotations

from dataclasses import dataclass

from squeeze.show.sheet.picture import Picture
from squeeze.verdict.words import MM_PER_INCH


@dataclass(frozen=True)
class Row:
    """One thing to do or to know: its label, and what it says."""

    label: str
    say: str


@dataclass(frozen=True)
class Grid:
    """A table: heads, and rows of as many words; `wide` are the columns' shares of its width."""

    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    wide: tuple[float, ...]


Part = Row | Grid | Picture


@dataclass(frozen=True)
class Step:
    """A step of the work, in its order: its name and its parts."""

    name: str
    parts: tuple[Part, ...]

    @property
    def rows(self) -> tuple[Row, ...]:
        """The rows alone."""
        return tuple(part for part in self.parts if isinstance(part, Row))


@dataclass(frozen=True)
class Unit:
    """Lengths as they are measured at the bench: to a tenth of a mm, or a hundredth of an inch."""

    inches: bool

    def bare(self, mm: float) -> str:
        """Return a length of `mm` [mm] in this unit, without the unit's name."""
        if self.inches:
            return f"{mm / MM_PER_INCH:.2f}"
        return f"{mm:.1f}".removesuffix(".0")

    def say(self, mm: float) -> str:
        """Return a length of `mm` [mm] in this unit, with the unit's name."""
        return f"{self.bare(mm)} {self.name}"

    @property
    def name(self) -> str:
        """The unit."""
        return "in" if self.inches else "mm"
