"""What every store of answers does, and the one that keeps them in memory."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import Protocol

from squeeze.mold.errors import SqueezeError
from squeeze.study.records import Answer, Case, Data, State, name_of


class StoreFault(SqueezeError, OSError):
    """A store cannot be read or written."""


@dataclass(frozen=True)
class Count:
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
        """Put down which cases the study has, in place of those put down before."""
        ...

    def put(self, answer: Answer) -> None:
        """Keep an answer; when this returns it is safe."""
        ...

    def state(self, identity: str) -> State | None:
        """Return how a case ended; None without an answer."""
        ...

    def answers(self) -> Iterator[Answer]:
        """Yield all answers, those to cases that are not in the study among them."""
        ...

    def forget(self, *states: State) -> int:
        """Drop the answers in these states; return how many."""
        ...

    def count(self) -> Count:
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


def row_of(number: int, values: Data, answer: Answer | None, keep: tuple[str, ...]) -> Data:
    """Return one row of the table; `number` counts from 1 there."""
    head: Data = {"case": number + 1, **values}
    if answer is None:
        return head | dict.fromkeys(keep) | {"state": "missing", "outcome": None, "error": None}
    kept = {measure: answer.measures.get(measure) for measure in keep}
    tail = {"state": str(answer.state), "outcome": answer.outcome, "error": answer.error}
    return head | kept | tail


def row_name(row: Data, varied: Iterable[str]) -> str:
    """Return the name of a row's case, from the columns that are varied."""
    return name_of({key: row[key] for key in varied})


@dataclass
class MemoryStore:
    """Keeps the answers until the program ends."""

    _answers: dict[str, Answer] = field(default_factory=dict)
    _planned: list[tuple[int, str, Data]] = field(default_factory=list)
    _columns: tuple[str, ...] = ()
    _keep: tuple[str, ...] = ()

    def plan(self, columns: tuple[str, ...], keep: tuple[str, ...], cases: Iterable[Case]) -> None:
        """Put down which cases the study has, in place of those put down before."""
        self._columns, self._keep = columns, keep
        self._planned = sorted(((c.number, c.id, c.values) for c in cases), key=lambda c: c[0])

    def put(self, answer: Answer) -> None:
        """Keep an answer."""
        self._answers[answer.id] = answer

    def state(self, identity: str) -> State | None:
        """Return how a case ended; None without an answer."""
        answer = self._answers.get(identity)
        return None if answer is None else answer.state

    def answers(self) -> Iterator[Answer]:
        """Yield all answers."""
        yield from self._answers.values()

    def forget(self, *states: State) -> int:
        """Drop the answers in these states; return how many."""
        gone = [key for key, answer in self._answers.items() if answer.state in states]
        for key in gone:
            del self._answers[key]
        return len(gone)

    def count(self) -> Count:
        """Return how far the study has come."""
        wanted = [identity for _, identity, _ in self._planned]
        states = [self._answers[i].state for i in wanted if i in self._answers]
        other = len(self._answers.keys() - set(wanted))
        done, failed, refused = (states.count(state) for state in State)
        return Count(len(wanted), done, failed, refused, other)

    def columns(self) -> tuple[str, ...]:
        """Return the names in `rows`."""
        return ("case", *self._columns, *self._keep, *TAIL)

    def rows(self) -> Iterator[Data]:
        """Yield a row for each planned case, in the order of the study."""
        for number, identity, values in self._planned:
            yield row_of(number, values, self._answers.get(identity), self._keep)

    def seconds(self) -> tuple[float, float] | None:
        """Return mean time for a factor and for a solve [s]; None without answers."""
        done = [answer for answer in self._answers.values() if answer.state is State.DONE]
        made = [answer.factor_s for answer in done if answer.factor_s > 0.01]
        if not made:
            return None
        return sum(made) / len(made), sum(answer.solve_s for answer in done) / len(done)

    def close(self) -> None:
        """Do nothing."""
