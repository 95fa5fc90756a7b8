"""The head of an answer: the grade and why, what to do first, and how sure that is."""

from __future__ import annotations

from dataclasses import dataclass

from squeeze.verdict.cause import Cause


@dataclass(frozen=True)
class Head:
    """The answer in a few lines.

    Attributes
    ----------
    grade : str
        One of `GRADES`.
    say : str
        The grade, why, where and how much.
    brief : str
        The grade, where and how much, without why: for small pictures.
    do : str
        What to do first.
    sure : str
        How sure that is; empty where nothing was varied.
    causes : tuple of Cause
        The causes found, the likeliest first; `do` is about the first one.
    good : bool
        There is nothing to mend, in any of the variations.
    """

    grade: str
    say: str
    brief: str
    do: str
    sure: str
    causes: tuple[Cause, ...]
    good: bool

    @property
    def lines(self) -> tuple[str, ...]:
        """What to print, a line each: first the grade, then what to do, then how sure."""
        if self.good:
            rest = " ".join(part for part in (self.do, self.sure) if part)
            return tuple(part for part in (self.say, rest) if part)
        return tuple(part for part in (self.say, self.do, self.sure) if part)
