"""Which cradle: round-backed boards on two or four sides, or a full one in two pieces."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import partial
from typing import Any

import numpy as np

from squeeze.mold import section_of
from squeeze.mold.file.mold_file import dict_of
from squeeze.mold.tables.mold import Mold
from squeeze.verdict.advice.change import Change, change_of
from squeeze.verdict.advice.changed_mold import with_tables
from squeeze.verdict.advice.trial import Trial, Trials, reaches_aim, wanted

MATERIAL = "plywood"
THICKNESS_MM = 18.0
RISES_MM = (5.0, 10.0, 16.0)
"""How much the middle of a board's back stands above its ends."""

PAIRS = (("top", "bottom"), ("left", "right"))
ALL = ("top", "right", "bottom", "left")


def advise_cradle(now: Trial, trials: Trials) -> tuple[list[Change], list[str]]:
    """Return the cradle with the fewest pieces that seals, and a sentence when there is none.

    Parameters
    ----------
    now : Trial
        The mold as it is, closed.
    trials : Trials
    """
    mold = now.mold
    patches = any(push.at_mm is not None for push in mold.push)
    if now.figures.good or not mold.band or not mold.cut or mold.cradle or patches:
        return [], []
    best = None
    for say, tables in cradles(mold):
        trial = trials.try_out(partial(_with, mold, tables), say[0].lower() + say[1:])
        if trial is not None and reaches_aim(now, trial):
            return [change_of("cradle", say, now, trial)], []
        if trial is not None and (best is None or _less(trial, best[1])):
            best = (say, trial)
    said = [f"No cradle that was tried {wanted(now)}."]
    return ([] if best is None else [change_of("cradle", best[0], now, best[1])]), said


def _less(trial: Trial, other: Trial) -> bool:
    a, b = trial.figures, other.figures
    return (a.leaks, a.largest_gap_mm) < (b.leaks, b.largest_gap_mm)


def _with(mold: Mold, tables: Sequence[dict[str, Any]]) -> Mold:
    return with_tables(mold, cradle=[*dict_of(mold).get("cradle", ()), *tables])


def cradles(mold: Mold) -> Iterator[tuple[str, list[dict[str, Any]]]]:
    """Yield cradles worth trying, from the fewest pieces on: what they are, and their tables."""
    across = PAIRS if _lies_flat(mold) else PAIRS[::-1]
    for pair in across:
        for rise in RISES_MM[1:]:
            yield _boards(pair, rise)
    for rise in RISES_MM:
        yield _boards(ALL, rise)
    full = {
        "name": "full cradle",
        "covers": "all",
        "pieces": 2,
        "back": "round",
        "thickness_mm": THICKNESS_MM,
        "material": MATERIAL,
        "joint_deg": 90.0 if _lies_flat(mold) else 0.0,
    }
    say = f"A full cradle of {MATERIAL} in 2 pieces, round outside, {THICKNESS_MM:g} mm at least"
    yield say, [full]


def _boards(sides: Sequence[str], rise: float) -> tuple[str, list[dict[str, Any]]]:
    board = {
        "back": "round",
        "rise_mm": rise,
        "thickness_mm": max(THICKNESS_MM, rise + 6.0),
        "material": MATERIAL,
    }
    where = f"{', '.join(sides[:-1])} and {sides[-1]}"
    say = (
        f"Round-backed boards of {MATERIAL} on {where}, {board['thickness_mm']:g} mm thick, "
        f"backs {rise:g} mm higher in the middle"
    )
    return say, [board | {"name": f"{side} board", "covers": side} for side in sides]


def _lies_flat(mold: Mold) -> bool:
    """Return whether the cuts run across rather than up."""
    steps = [
        np.abs(np.diff(np.array(stretch.points), axis=0)).sum(axis=0)
        for cut in section_of(mold).cuts
        for stretch in cut.stretches
    ]
    x, y = np.sum(steps, axis=0)
    return bool(x >= y)
