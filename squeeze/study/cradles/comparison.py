"""Cradles side by side: how each closes the same cuts, and the simplest that closes them all."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np

from squeeze.mold import BadInput, Fault, loads_of, mold_of, section_of
from squeeze.mold.forces.loads import Loads, Push
from squeeze.mold.geometry.curve_parts import seat_of
from squeeze.mold.progress import Progress, silent
from squeeze.mold.section.records import Section
from squeeze.mold.tables.mold import Mold
from squeeze.solve import Block, Closing
from squeeze.study.cradles.candidates import (
    BARE,
    CLAMP_SHARE,
    BoardSpec,
    CradleCandidate,
    candidates,
)
from squeeze.study.plan.sections import LOADS
from squeeze.verdict import Verdict, judge
from squeeze.verdict.casting.distortion import largest_step
from squeeze.verdict.figures import NO_FIGURES, Figures, figures_of
from squeeze.verdict.grade import GOOD, SHUT_IN, STEP_FELT_MM

LAST_BLOCKS = 3
"""Two pairs of boards come once with clamps and then with bands."""

MOST_KEPT = 40_000
"""Unknowns of all blocks that are kept; what is let go is meshed again when it is asked for."""


@dataclass(frozen=True, eq=False)
class CradleRow:
    """How one cradle does under one tension.

    Attributes
    ----------
    name : str
    tension_n_per_mm : float
        Of all bands together; clamps push twice as hard.
    closing, verdict : Closing, Verdict or None
        None when the cradle cannot be made for this block; then `fault` says why.
    fault : str or None
        Why there is no answer to rely on.
    data : dict
        The mold with this cradle, as `mold_of` takes it.
    yardstick : bool
        No cradle but another block.
    clamp_n : float or None
        With how much a clamp presses each board over the block's length [N]; None without clamps.
    """

    name: str
    tension_n_per_mm: float
    closing: Closing | None
    verdict: Verdict | None
    fault: str | None
    data: dict[str, Any]
    yardstick: bool = False
    clamp_n: float | None = None

    def __repr__(self) -> str:
        said = self.fault or ("" if self.verdict is None else self.verdict.say)
        return f"{self.name}, {self.tension_n_per_mm:.3g} N/mm: {said}"

    @property
    def solved(self) -> bool:
        """Whether there is an answer to rely on."""
        return self.fault is None

    @property
    def is_shut_in(self) -> bool:
        """Whether no cut opens the block, whatever stands round it."""
        return self.verdict is not None and self.verdict.head.grade == SHUT_IN

    @cached_property
    def figures(self) -> Figures:
        """The figures of its closing; those without an answer where there is none."""
        closing = self.closing if self.solved else None
        return NO_FIGURES if closing is None else figures_of(closing)

    @property
    def is_sure(self) -> bool:
        """Whether the answer stood where it was computed at large deformation."""
        found = None if self.closing is None else self.closing.deformation
        return found is None or found.outcome is None or found.is_large

    @property
    def rank(self) -> tuple[bool, bool, bool, bool, bool]:
        """How good a cradle is: first that the mold surely seals, then that it leaves no flash.

        Then that no casting has a step that a thumb feels, which has to be sanded off; last that
        the cuts close.
        """
        figures = self.figures
        seals = figures.seals and self.is_sure
        fine = seals and figures.grade in GOOD
        return seals, fine, fine and self.step_mm < STEP_FELT_MM, figures.seals, figures.closes

    @property
    def step_mm(self) -> float:
        """The largest step across a parting line [mm]."""
        return largest_step(() if self.closing is None else self.closing.cavities)


@dataclass(frozen=True, eq=False)
class CradleComparison:
    """The comparison.

    Attributes
    ----------
    rows : tuple of CradleRow
        Tension by tension, simplest cradle first.
    """

    rows: tuple[CradleRow, ...]

    def __repr__(self) -> str:
        lines = [f"  {row!r}" for row in self.rows]
        return "\n".join([f"CradleComparison: {len(lines)} rows", *lines])

    @property
    def tensions_n_per_mm(self) -> tuple[float, ...]:
        """The tensions that were tried [N/mm]."""
        return tuple(dict.fromkeys(row.tension_n_per_mm for row in self.rows))

    def at(self, tension_n_per_mm: float) -> tuple[CradleRow, ...]:
        """Return the rows of the tension `tension_n_per_mm` [N/mm]."""
        return tuple(row for row in self.rows if row.tension_n_per_mm == tension_n_per_mm)

    def simplest(self, tension_n_per_mm: float | None = None) -> CradleRow | None:
        """Return the simplest cradle of the best rank at `tension_n_per_mm`, else at the first.

        None when none seals or closes, or no cut opens the block.
        """
        first = self.tensions_n_per_mm[0]
        rows = self.at(first if tension_n_per_mm is None else tension_n_per_mm)
        tried = [row for row in rows if not (row.yardstick or row.is_shut_in)]
        best = max(tried, key=lambda row: row.rank, default=None)  # the first of equal ones
        return best if best is not None and any(best.rank) else None


def compare_cradles(
    mold: Mold,
    board: BoardSpec | None = None,
    tensions_n_per_mm: Sequence[float] = (),
    fineness: float = 1.0,
    progress: Progress = silent,
) -> CradleComparison:
    """Return how cradles of each kind close the cuts of a mold.

    Parameters
    ----------
    mold : Mold
        Its own cradle, if it has one, is compared as well.
    board : BoardSpec, optional
        What the pieces are made of.
    tensions_n_per_mm : sequence of float
        Of all bands together [N per mm of block length]; when there are none, that of the mold's
        own bands round its bare block.
    fineness : float
        Of the mesh.
    progress : Progress
        Called with the cradle that comes next.

    Returns
    -------
    CradleComparison
        Of a block that no cut opens, bands alone: nothing else is tried.

    Raises
    ------
    BadInput
        When the mold has no cut, nothing says how hard the bands pull, or all hang loose.
    """
    bare = section_of(mold.model_copy(update={"cradle": ()}))
    own = loads_of(mold, bare).tension_n_per_mm
    pulls = tuple(tensions_n_per_mm) or (own,)
    _comparable(mold, bare, pulls)
    known, blocks = list(candidates(mold, board)), Blocks(fineness)
    found: list[CradleRow] = []
    compared = CradleComparison(())
    for done, candidate in enumerate(known):
        progress(candidate.name, done / len(known))
        found += _rows(candidate, pulls, blocks)
        rows = tuple(row for pull in pulls for row in found if row.tension_n_per_mm == pull)
        compared = CradleComparison(rows)
        best = [row for pull in pulls if (row := compared.simplest(pull)) is not None]
        blocks.keep(*(row.data for row in (found[0], *best)))
        if all(row.is_shut_in for row in found):
            return compared  # no cradle opens a block
    progress("the simplest once more", 1.0)
    return _confirmed(compared, known, blocks)


class Blocks:
    """The blocks that are asked for again: clamps stand on the boards that bands press as well.

    Parameters
    ----------
    fineness : float
        Of their meshes.
    """

    def __init__(self, fineness: float) -> None:
        self.fineness = fineness
        self._made: dict[str, Block] = {}

    def of(self, mold: Mold, data: dict[str, Any]) -> Block:
        """Return the block of a mold with the tables `data`; a section meshed before is reused."""
        key = self._key(data)
        if key not in self._made:
            self._made[key] = Block(mold, self.fineness)
        return self._made[key]

    def keep(self, *datas: dict[str, Any]) -> None:
        """Let go of all blocks but those of these molds and the last few: factors take memory.

        Where these have more than `MOST_KEPT` unknowns, those made first are let go as well.
        """
        kept = {self._key(data) for data in datas}.union(list(self._made)[-LAST_BLOCKS:])
        size = 0
        for key, block in reversed(list(self._made.items())):
            with_it = size + block.mesh.points.size
            if key in kept and with_it <= MOST_KEPT:
                size = with_it
            else:
                del self._made[key]

    @staticmethod
    def _key(data: dict[str, Any]) -> str:
        return json.dumps({key: value for key, value in data.items() if key not in LOADS})


def _confirmed(
    compared: CradleComparison, known: list[CradleCandidate], blocks: Blocks
) -> CradleComparison:
    """Close bands alone and the cradles that are named again, now at large deformation if needed.

    Bands alone are what `squeeze close` answers for. A cradle that does not hold there is no longer
    the best, and the next one is tried.
    """
    by_name = {candidate.name: candidate for candidate in known}
    for pull in compared.tensions_n_per_mm:
        (bare,) = _rows(by_name[BARE], (pull,), blocks, "auto")
        compared = CradleComparison(
            tuple(
                bare if (row.name, row.tension_n_per_mm) == (BARE, pull) else row
                for row in compared.rows
            )
        )
        done = {BARE}
        while (best := compared.simplest(pull)) is not None and best.name not in done:
            done.add(best.name)
            (again,) = _rows(by_name[best.name], (pull,), blocks, "auto")
            compared = CradleComparison(
                tuple(again if row is best else row for row in compared.rows)
            )
    return compared


def _comparable(mold: Mold, section: Section, pulls: Sequence[float]) -> None:
    if not section.cuts:
        text = "there is none, so there is nothing that a cradle could close; give a [[cut]]"
        raise BadInput([Fault("cut", text)])
    if not any(pulls):
        text = (
            "all of them hang loose round the bare block and pull nothing; give shorter ones,"
            " or --tension"
            if mold.band
            else "nothing says how hard the bands pull; give a [[band]], or --tension"
        )
        raise BadInput([Fault("band", text)])


def _rows(
    candidate: CradleCandidate,
    pulls: Sequence[float],
    blocks: Blocks,
    deformation: str = "small",
) -> Iterator[CradleRow]:
    try:
        mold = mold_of(candidate.data | {"title": candidate.name})
        block = blocks.of(mold, candidate.data)
        loads = loads_of(mold, block.section)
    except BadInput as error:
        yield from (_row_not_made(candidate, pull, error) for pull in pulls)
        return
    for pull in pulls:
        acts = replace(loads, tension_n_per_mm=pull)
        given = candidate
        try:
            if candidate.clamped:
                acts = _clamped(acts, block.section, pull)
                given = replace(candidate, data=_with_clamps(candidate.data, acts.pushes))
            closing = block.close(acts, deformation=deformation, check=False)
            closing = replace(closing, title=mold.title)
        except BadInput as error:  # clamps that do not stand against each other
            yield _row_not_made(candidate, pull, error)
            continue
        own = candidate.name == BARE and pull == loads.tension_n_per_mm
        yield _row(given, pull, closing, mold if own else None)


def _row_not_made(candidate: CradleCandidate, pull: float, error: BadInput) -> CradleRow:
    fault = f"cannot be made: {error.faults[0].text}"
    return CradleRow(candidate.name, pull, None, None, fault, candidate.data, candidate.yardstick)


def _row(candidate: CradleCandidate, pull: float, closing: Closing, mold: Mold | None) -> CradleRow:
    """Return a row; its head names the mold's own bands where a mold is given."""
    verdict = judge(closing, mold=mold)
    fault = None if closing.outcome.has_answer else verdict.say
    clamp = 2 * pull * float(candidate.data["length_mm"]) if candidate.clamped else None
    return CradleRow(
        candidate.name, pull, closing, verdict, fault, candidate.data, candidate.yardstick, clamp
    )


def _with_clamps(data: dict[str, Any], pushes: Sequence[Push]) -> dict[str, Any]:
    """Return a mold with clamps in place of its bands, so that no groove is sawn for any."""
    tables = [
        {
            "at_mm": list(push.at_mm),
            "width_mm": push.width_mm,
            "force_n_per_mm": push.width_mm * push.pressure_mpa,
        }
        for push in pushes
    ]
    return {key: value for key, value in data.items() if key != "band"} | {"push": tables}


def _clamped(loads: Loads, section: Section, pull: float) -> Loads:
    """Return the loads with a clamp on the middle of each board in place of the bands."""
    pushes = []
    for piece in section.cradles:
        seat = seat_of(section.outline, piece.loop)
        ends = np.array([seat[0].at(0.0)[0], seat[-1].at(1.0)[0]])
        chord = ends[0] - ends[1]
        towards = np.array([-chord[1], chord[0]]) / np.hypot(*chord)
        places = piece.loop.points()
        far = float((places @ towards).max())
        middle = ends.mean(axis=0)
        at = middle + (far - float(middle @ towards)) * towards
        width = CLAMP_SHARE * float(np.hypot(*chord))
        pushes.append(Push((float(at[0]), float(at[1])), width, 2 * pull / width))
    return replace(loads, tension_n_per_mm=0.0, pushes=(*loads.pushes, *pushes))
