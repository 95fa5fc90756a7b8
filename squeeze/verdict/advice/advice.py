"""What to do about a mold: a short ranked list, computed by trying each change.

Nothing in the list is a rule of thumb. Every piece of advice is a mold that was meshed, closed and
certified; its figures are those that `close` gives when the change is written into the mold file.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial

from squeeze.mold import section_of
from squeeze.mold.errors import BadInput, Fault
from squeeze.mold.file.mold_file import dict_of
from squeeze.mold.progress import Progress, silent
from squeeze.mold.tables.mold import Mold
from squeeze.mold.tables.values import listed
from squeeze.solve.accuracy.usual_mesh import usual_fineness
from squeeze.solve.block import Block
from squeeze.verdict.advice.bands import advise_bands
from squeeze.verdict.advice.bevel import advise_bevel
from squeeze.verdict.advice.change import Change, change_of, ranked
from squeeze.verdict.advice.changed_mold import with_tables
from squeeze.verdict.advice.cradle import advise_cradle
from squeeze.verdict.advice.cut import advise_cut
from squeeze.verdict.advice.outline import advise_outline, said_of_outline, wider_rounds
from squeeze.verdict.advice.rubber_cost import RubberCost, costs
from squeeze.verdict.advice.trial import Trial, Trials
from squeeze.verdict.figures import Figures
from squeeze.verdict.seal.barrier import seal_of
from squeeze.verdict.short_cuts import short_cuts

LEAST_WALL_MM = 10.0
"""Least rubber left between a cavity and the outside, unless the block has less already [mm]; a
judgement."""

UNPRESSED = (
    "Nothing presses the block together, so there is nothing to compare: put bands on first."
)

SHUT = (
    "No other change was tried: bands, cradles and outlines do not open a block that no cut opens."
)

AT_A_PRICE = "Nothing that was tried mends it without making something else worse."

COARSER = "Changes were tried on a coarser mesh; what helps was closed again on the usual one."

NOT_ALL = "Not tried, because this block takes long to compute: {what}."

NOT_AGAIN = (
    "Better at small deformation; large deformation was not computed, for it takes too long:"
    " {what}."
)

SMALL_ALONE = (
    "All of this is at small deformation: large deformation takes too long for this block."
)

STATIONS = "Only the section that the file begins with was tried, not its stations."

MOST = 6
"""Longest list."""


@dataclass(frozen=True)
class Advice:
    """What can be done about a mold.

    Attributes
    ----------
    before : Figures
        The mold as it is.
    changes : tuple of Change
        Best first.
    say : tuple of str
        What will not help.
    costs : tuple of RubberCost
        Of the block as it is, of the beveled one that seals, and of a round one: the one that is
        among the changes, where there is one.
    least_wall_mm : float
        What was kept of the wall.
    tried : int
        How many molds were closed.
    refused : int
        How many could not be drawn or meshed as wanted.
    left_out : int
        How many were not tried because the work allowed was used up.
    """

    before: Figures
    changes: tuple[Change, ...]
    say: tuple[str, ...]
    costs: tuple[RubberCost, ...]
    least_wall_mm: float
    tried: int
    refused: int
    left_out: int = 0

    def __repr__(self) -> str:
        lines = [f"  {number}. {change.say}" for number, change in enumerate(self.changes, start=1)]
        return "\n".join([f"Advice: {len(lines)} changes, {self.tried} molds tried", *lines])

    @property
    def at_a_price(self) -> bool:
        """Whether there are changes, and each of them makes something worse."""
        return bool(self.changes) and all(change.harms for change in self.changes)


def advise(
    mold: Mold,
    least_wall_mm: float | None = None,
    progress: Progress = silent,
) -> Advice:
    """Return what to do about a mold.

    Parameters
    ----------
    mold : Mold
    least_wall_mm : float, optional
        Least rubber that bevels and outlines may leave round a cavity; 10 mm, or the present
        least wall when that is less.
    progress : Progress
        Called with what is tried next, in words.

    Returns
    -------
    Advice

    Raises
    ------
    BadInput
        When the mold itself cannot be computed.
    """
    trials = Trials(progress, usual=usual_fineness(section_of(mold)))
    block = trials.block(mold, "the mold as it is")
    if block is None:
        raise BadInput([Fault("block", "the section cannot be meshed")])
    now = trials.close(block, mold)
    wall = _least_wall(now, least_wall_mm)
    if not pressed(mold):
        return Advice(
            now.figures, (), (UNPRESSED,), costs(mold), wall, trials.tried, trials.refused
        )
    seal = seal_of(now.closing)
    if seal.unreached or seal.locked:
        counts = trials.tried, trials.refused
        said = (SHUT,)
        carried = _carried_on(now, trials)
        return Advice(now.figures, carried, said, costs(mold), wall, *counts)
    leaky = {
        land.cut
        for land, leaks in zip(now.closing.lands, seal.leaky, strict=True)
        if leaks or not now.figures.solved
    }
    tried_on = trials.coarse_enough(block)
    now = now if tried_on is block else trials.close(tried_on, mold)
    found, said = _tried(tried_on, now, sorted(leaky), trials, wall)
    before, changes, doubts = _confirmed(block, now, ranked(found)[:MOST], trials)
    beveled = next((change.mold for change in changes if change.kind == "bevel"), None)
    rounder = next((c.mold for c in changes if c.mold.block.shape == "round"), None)
    rounder = None if mold.block.shape == "round" else rounder
    return Advice(
        before=before.figures,
        changes=changes,
        say=(*said, *doubts, *([STATIONS] if mold.station else [])),
        costs=costs(mold, beveled, rounder),
        least_wall_mm=wall,
        tried=trials.tried,
        refused=trials.refused,
        left_out=trials.left_out,
    )


def _tried(
    block: Block, now: Trial, leaky: list[str], trials: Trials, wall: float
) -> tuple[list[Change], list[str]]:
    """Return what each kind of change does, and sentences; only kinds tried to the end say no."""
    kinds = {
        "bands": lambda: advise_bands(block, now, trials),
        "cradles": lambda: advise_cradle(now, trials),
        "places of the cuts": lambda: advise_cut(now, leaky, trials),
        "bevels": lambda: advise_bevel(now, trials, wall),
        "outlines": lambda: advise_outline(now, trials, wall),
    }
    found, said, short = [], [], []
    for kind, advised in kinds.items():
        before = trials.left_out
        changes, words = advised()
        found += changes
        if trials.left_out > before:
            short.append(kind)
        else:
            said += words
    if trials.fineness is not None and trials.tried > 1:
        said.append(COARSER)
    if short:
        said.append(NOT_ALL.format(what=f"more {listed(short, 'and')}"))
    return found, said


def _carried_on(now: Trial, trials: Trials) -> tuple[Change, ...]:
    """Return the mold with cuts that stop in rubber carried on to the outside, if that helps."""
    ends = short_cuts(section_of(now.mold))
    if not ends:
        return ()
    paths = {end.number: list(now.mold.cut[end.number].path_mm) for end in ends}
    for end in ends:
        paths[end.number][0 if end.at_start else -1] = end.out_mm
    cuts = dict_of(now.mold)["cut"]
    cuts = [cut | {"path_mm": paths.get(k, cut["path_mm"])} for k, cut in enumerate(cuts)]
    names = " and ".join(dict.fromkeys(f"'{end.cut}'" for end in ends))
    trial = trials.try_out(partial(with_tables, now.mold, cut=cuts), "cuts carried on")
    if trial is None:
        return ()
    change = change_of("cut", f"Carry {names} on to the outside", now, trial)
    return (change,) if change.better else ()


def _confirmed(
    block: Block, now: Trial, found: list[Change], trials: Trials
) -> tuple[Trial, tuple[Change, ...], list[str]]:
    """Close the advised changes again, at large deformation where it matters; drop what fails.

    Also say what the work allowed leaves out.
    """
    before = trials.close(block, now.mold, "auto", and_again=bool(found))  # a change takes as much
    small_alone = trials.large.ran_out
    kept, left = [], []
    for change in found:
        if trials.large.ran_out and not small_alone:
            left.append(change)
            continue
        if change.kind == "outline" and change.mold.block.shape == "round":
            after = _clean_round(change.mold, trials)
            say = change.say if after is None else said_of_outline(after.mold)
        else:
            after, say = trials.again(change.mold, change.say), change.say
        if after is not None:
            again = change_of(change.kind, say, before, after)
            is_small = trials.large.ran_out and not after.closing.deformation.is_confirmed
            (left if is_small and not small_alone else kept).append(again)
    kept = ranked(kept)
    doubts = [SMALL_ALONE] if small_alone and kept else []
    doubts += [NOT_AGAIN.format(what="; ".join(each.say for each in left))] if left else []
    return before, tuple(kept), doubts


def _clean_round(mold: Mold, trials: Trials) -> Trial | None:
    """Return the round block closed again, or one a little wider that is clean throughout.

    Where none is, the one with the most variations that have nothing to mend.
    """
    best = None
    for each in (mold, *wider_rounds(mold)):
        trial = trials.again(each, said_of_outline(each), vary=True)
        if trial is not None and (best is None or trial.clean_in > best.clean_in):
            best = trial
        if best is not None and (best.is_clean_throughout or trials.large.ran_out):
            break
    return best


def pressed(mold: Mold) -> bool:
    """Return whether anything presses the block together."""
    return bool(mold.push) or any(band.strands for band in mold.band)


def _least_wall(now: Trial, asked: float | None) -> float:
    if asked is not None:
        return asked
    return LEAST_WALL_MM if now.wall_mm is None else min(LEAST_WALL_MM, now.wall_mm)
