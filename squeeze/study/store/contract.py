"""The contract of a store: what every store of answers does, whatever keeps them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Protocol

from squeeze.mold.errors import SqueezeError
from squeeze.study.records import Case, CaseAnswer, CaseState, Data, case_name


class StoreFault(SqueezeError, OSError):
    """A store cannot be read or written."""


@dataclass(frozen=True)
class CaseCounts:
    """How far a study has come, in cases.

    Attributes
    ----------
    planned, done, failed, refused : int
    other : int
        Answers to cases that are not in the study as it stands.
    """

    planned: int = 0
    done: int = 0
    failed: int = 0
    refused: int = 0
    other: int = 0

    @property
    def missing(self) -> int:
        """Cases without an answer."""
        return self.planned - self.done - self.failed - self.refused


class Store(Protocol):
    """What every store does. A case has at most one answer; a later one takes its place."""

    def plan(self, columns: tuple[str, ...], keep: tuple[str, ...], cases: Iterable[Case]) -> None:
        """Put down which cases the study has, in place of those put down before.

        Parameters
        ----------
        columns, keep : tuple of str
            What the study varies, and the measures that it keeps.
        cases : iterable of Case
        """
        ...

    def put(self, answer: CaseAnswer) -> None:
        """Keep an answer; when this returns it is safe."""
        ...

    def state(self, case_id: str) -> CaseState | None:
        """Return how the case `case_id` ended; None without an answer."""
        ...

    def answers(self) -> Iterator[CaseAnswer]:
        """Yield all answers, those to cases that are not in the study among them."""
        ...

    def forget(self, *states: CaseState) -> int:
        """Drop the answers in these states; return how many."""
        ...

    def count(self) -> CaseCounts:
        """Return how far the study has come."""
        ...

    def columns(self) -> tuple[str, ...]:
        """Return the names in `rows`."""
        ...

    def rows(self) -> Iterator[Data]:
        """Yield a row for each planned case, in the order of the study."""
        ...

    def seconds(self) -> tuple[float, float] | None:
        """Return mean time for a factor and for a solve [s]; None without answers."""
        ...

    def close(self) -> None:
        """Let go of it."""
        ...


TAIL = ("state", "outcome", "error")


def row_of(number: int, values: Data, answer: CaseAnswer | None, keep: tuple[str, ...]) -> Data:
    """Return one row of the table; `number` counts from 1 there.

    Parameters
    ----------
    number : int
        Of the case, from 0.
    values : dict
        What is varied.
    answer : CaseAnswer or None
        None = not solved yet.
    keep : tuple of str
        Measures of the table.
    """
    head: Data = {"case": number + 1, **values}
    if answer is None:
        return head | dict.fromkeys(keep) | {"state": "missing", "outcome": None, "error": None}
    kept = {measure: answer.measures.get(measure) for measure in keep}
    tail = {"state": str(answer.state), "outcome": answer.outcome, "error": answer.error}
    return head | kept | tail


def row_name(row: Data, varied: Iterable[str]) -> str:
    """Return the name of a row's case, from the columns that are varied."""
    return case_name({key: row[key] for key in varied})
