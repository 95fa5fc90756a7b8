"""The errors of squeeze: one short tree, each with a builtin as second parent."""

from __future__ import annotations

from dataclasses import dataclass


class SqueezeError(Exception):
    """Anything that squeeze itself reports; the text is meant for the person at the bench."""


@dataclass(frozen=True)
class Fault:
    """One thing wrong with what was given.

    Attributes
    ----------
    key : str
        Where in the mold it is, dotted, e.g. ``"cut.across the barrels.path_mm"``.
    text : str
        What was given and what is allowed, in plain words, with coordinates in mm.
    line : int or None
        Line in the file, counted from 1, when the mold came from a file.
    """

    key: str
    text: str
    line: int | None = None

    def say(self, file: str | None = None) -> str:
        """Return ``file:line: key: text``; parts that are not known are left out."""
        place = ":".join(str(part) for part in (file, self.line) if part is not None)
        return f"{place}: {self.key}: {self.text}" if place else f"{self.key}: {self.text}"


class BadInput(SqueezeError, ValueError):
    """The mold cannot be computed as given; every fault that was found is listed.

    Parameters
    ----------
    faults : list of Fault
        All faults, in the order of the file.
    file : str, optional
        Name of the file as the user gave it.
    """

    def __init__(self, faults: list[Fault] | tuple[Fault, ...], file: str | None = None):
        self.faults = tuple(faults)
        self.file = file
        super().__init__("\n".join(fault.say(file) for fault in self.faults))

    def __reduce__(self):
        return (type(self), (self.faults, self.file))


class NotSolved(SqueezeError, ArithmeticError):
    """A solve ended without a certified answer; the text says why, and what to do about it."""
