"""What passes between plan, workers and store: cases, batches of cases, answers."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from enum import StrEnum
from typing import TYPE_CHECKING, Any

from squeeze.mold.tables.values import quote

if TYPE_CHECKING:
    from squeeze.study.own_measures import OwnMeasures

Data = dict[str, Any]


class CaseState(StrEnum):
    """How a case ended."""

    DONE = "done"
    FAILED = "failed"
    REFUSED = "refused"


@dataclass(frozen=True)
class Case:
    """One mold of a study.

    Attributes
    ----------
    id : str
        Hash of all that its answer depends on, the program's numerics among it.
    number : int
        From 0, in the order of the study file.
    values : dict
        Its columns: what was varied.
    mold : dict
        The tables of its mold.
    section : str
        Hash of what its mesh and factor depend on; cases that have it in common share these.
    fault : str or None
        Why no mold can be made of it.
    """

    id: str
    number: int
    values: Data
    mold: Data
    section: str
    fault: str | None = None

    @property
    def name(self) -> str:
        """What distinguishes it from the others, in words."""
        return case_name(self.values)


def case_name(values: Data) -> str:
    """Return the name of a case from its `values`: ``block.bevel_mm = 10, band.count = 3``."""
    return ", ".join(f"{key} = {quote(value)}" for key, value in values.items())


@dataclass(frozen=True)
class Batch:
    """Cases of one section that go to a worker together.

    Attributes
    ----------
    cases : tuple of (str, dict)
        Identity and mold of each.
    section : str
    keep : tuple of str
        Measures.
    fineness : float
    deformation : str
        As for `Block.close`.
    accuracy_pct : float, optional
        Each case is closed with its errors, as `squeeze.solve.refined` does, to this accuracy [%];
        on one even mesh without errors unless given.
    own : OwnMeasures, optional
        Functions whose values are kept as well.
    compute : callable, optional
        Takes the place of closing a case: it is given the tables and returns what is kept. It has
        to stand in a module, where worker processes find it.
    """

    cases: tuple[tuple[str, Data], ...]
    section: str
    keep: tuple[str, ...]
    fineness: float = 1.0
    deformation: str = "small"
    accuracy_pct: float | None = None
    own: OwnMeasures | None = None
    compute: Callable[[Data], Data] | None = None


@dataclass(frozen=True)
class CaseAnswer:
    """What became of a case.

    Attributes
    ----------
    id : str
    state : CaseState
    outcome : str or None
        How the solve went, when there was one.
    measures : dict
    error : str or None
        Why there is no answer.
    factor_s, solve_s : float
        Wall time for mesh and factor (0 when they were there), and for all else [s].
    """

    id: str
    state: CaseState
    outcome: str | None = None
    measures: Data = field(default_factory=dict)
    error: str | None = None
    factor_s: float = 0.0
    solve_s: float = 0.0
