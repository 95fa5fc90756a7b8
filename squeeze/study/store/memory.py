"""The store that keeps the answers in memory until the program ends."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from squeeze.study.records import Case, CaseAnswer, CaseState, Data
from squeeze.study.store.contract import TAIL, CaseCounts, row_of


@dataclass
class MemoryStore:
    """Keeps the answers until the program ends."""

    _answers: dict[str, CaseAnswer] = field(default_factory=dict)
    _planned: list[tuple[int, str, Data]] = field(default_factory=list)
    _columns: tuple[str, ...] = ()
    _keep: tuple[str, ...] = ()

    def plan(self, columns: tuple[str, ...], keep: tuple[str, ...], cases: Iterable[Case]) -> None:
        """Put down which cases the study has, in place of those put down before.

        Parameters
        ----------
        columns, keep : tuple of str
            What the study varies, and the measures that it keeps.
        cases : iterable of Case
        """
        self._columns, self._keep = columns, keep
        self._planned = sorted(((c.number, c.id, c.values) for c in cases), key=lambda c: c[0])

    def put(self, answer: CaseAnswer) -> None:
        """Keep an answer."""
        self._answers[answer.id] = answer

    def state(self, case_id: str) -> CaseState | None:
        """Return how the case `case_id` ended; None without an answer."""
        answer = self._answers.get(case_id)
        return None if answer is None else answer.state

    def answers(self) -> Iterator[CaseAnswer]:
        """Yield all answers."""
        yield from self._answers.values()

    def forget(self, *states: CaseState) -> int:
        """Drop the answers in these states; return how many."""
        gone = [key for key, answer in self._answers.items() if answer.state in states]
        for key in gone:
            del self._answers[key]
        return len(gone)

    def count(self) -> CaseCounts:
        """Return how far the study has come."""
        wanted = [identity for _, identity, _ in self._planned]
        states = [self._answers[i].state for i in wanted if i in self._answers]
        other = len(self._answers.keys() - set(wanted))
        done, failed, refused = (states.count(state) for state in CaseState)
        return CaseCounts(len(wanted), done, failed, refused, other)

    def columns(self) -> tuple[str, ...]:
        """Return the names in `rows`."""
        return ("case", *self._columns, *self._keep, *TAIL)

    def rows(self) -> Iterator[Data]:
        """Yield a row for each planned case, in the order of the study."""
        for number, identity, values in self._planned:
            yield row_of(number, values, self._answers.get(identity), self._keep)

    def seconds(self) -> tuple[float, float] | None:
        """Return mean time for a factor and for a solve [s]; None without answers."""
        done = [answer for answer in self._answers.values() if answer.state is CaseState.DONE]
        made = [answer.factor_s for answer in done if answer.factor_s > 0.01]
        if not made:
            return None
        return sum(made) / len(made), sum(answer.solve_s for answer in done) / len(done)

    def close(self) -> None:
        """Do nothing."""
