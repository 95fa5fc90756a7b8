"""What a change makes worse: lands, flash, castings and bands, one by one, before and after."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

from squeeze.mold.forces.bands import WORKING_STRETCH, stretch_of
from squeeze.mold.forces.loads import wrap_mm
from squeeze.solve.closing import Closing
from squeeze.verdict.advice.trial import Trial
from squeeze.verdict.casting.flash import HAIRLINE_MM, flash_of
from squeeze.verdict.cause import Cause, causes_of, name_of_band, pot_cause
from squeeze.verdict.grade import STEP_SEEN_MM
from squeeze.verdict.place import land_name
from squeeze.verdict.seal.barrier import seal_of

ROUNDING_MM = 0.01
"""Castings that move by less look the same: lengths are given to two decimals [mm]."""

ROUNDING_STRETCH = 0.01

SAME_CAUSE = {"flat": "shape", "corners": "shape"}
"""Causes of one kind: the outline leaves the cut open."""


@dataclass(frozen=True)
class Harm:
    """One thing that a change makes worse.

    Attributes
    ----------
    words : str
        What, e.g. ``'egg' is off by``; a whole sentence part where there is no length to give.
    before_mm, after_mm : float or None
        The length that grows [mm]; None where it is none.
    """

    words: str
    before_mm: float | None = None
    after_mm: float | None = None


def harms_of(before: Trial, after: Trial) -> tuple[Harm, ...]:
    """Return what a change makes worse.

    A land that sealed leaks, flash is thicker, a casting is further off or steps more, the bands
    leave the stretch that they work at, the block no longer goes into its pot, or there is a cause
    of trouble that was not there. Growth below the rounding and the errors of both answers does not
    count. A mold that had no answer has nothing to lose but its bands and its pot.

    Parameters
    ----------
    before, after : Trial
        The mold as it is, and with the change.

    Returns
    -------
    tuple of Harm
    """
    found = [*_bands(before, after), *_pot(before, after)]
    if before.figures.solved and after.figures.solved:
        found += [*_lands(before, after), *_flash(before, after), *_castings(before, after)]
        found += _causes(before, after)
    return tuple(found)


def _lands(before: Trial, after: Trial) -> Iterator[Harm]:
    for name in (_leaky(after.closing) - _leaky(before.closing)).elements():
        yield Harm(f"the land {name} leaks")
    sealed = _sealed_gaps(before.closing)
    error = _gap_error(before) + _gap_error(after)
    for name, then in _sealed_gaps(after.closing).items():
        now = sealed.get(name, then)
        if then > now + HAIRLINE_MM + error:
            yield Harm(f"the land {name} stands open by", now, then)


def _leaky(closing: Closing) -> Counter[str]:
    seal = seal_of(closing)
    return Counter(
        land_name(land, closing.section)
        for land, leaks in zip(closing.lands, seal.leaky, strict=True)
        if leaks
    )


def _sealed_gaps(closing: Closing) -> dict[str, float]:
    """Return how wide each land that seals stands open [mm]."""
    seal, found = seal_of(closing), {}
    for land, leaks in zip(closing.lands, seal.leaky, strict=True):
        if not leaks:
            name = land_name(land, closing.section)
            found[name] = max(found.get(name, 0.0), land.largest_gap_mm)
    return found


def _flash(before: Trial, after: Trial) -> Iterator[Harm]:
    thick = [
        {each.cavity: each.thickness_mm for each in flash_of(trial.closing, trial.mold).castings}
        for trial in (before, after)
    ]
    error = _gap_error(before) + _gap_error(after)
    for name, then in thick[1].items():
        now = thick[0].get(name, 0.0)
        if then > now + HAIRLINE_MM + error:
            yield Harm(f"flash on '{name}' is thicker,", now, then)


def _gap_error(trial: Trial) -> float:
    errors = trial.closing.errors
    return 0.0 if errors is None else errors.gap_mm


def _castings(before: Trial, after: Trial) -> Iterator[Harm]:
    known = {each.name: each for each in before.closing.cavities}
    for then in after.closing.cavities:
        now = known.get(then.name)
        if now is None:
            continue
        for field, words, least in (
            ("largest_shift_mm", "is off by", 0.0),
            ("step_mm", "has a step of", STEP_SEEN_MM),
        ):
            a, b = getattr(now, field), getattr(then, field)
            error = sum(_casting_error(trial, then.name, field) for trial in (before, after))
            if b >= least and b > a + ROUNDING_MM + error:
                yield Harm(f"'{then.name}' {words}", a, b)


def _casting_error(trial: Trial, name: str, field: str) -> float:
    errors = trial.closing.errors
    cavities = () if errors is None else errors.cavities
    return next((getattr(each, field) for each in cavities if each.name == name), 0.0)


def _bands(before: Trial, after: Trial) -> Iterator[Harm]:
    """Yield bands that leave the stretch that they work at, or leave it farther."""
    wraps = [wrap_mm(trial.closing.section) for trial in (before, after)]
    for number, band in enumerate(after.mold.band, start=1):
        own = before.mold.band[number - 1 : number]
        then = stretch_of(band, wraps[1])
        now = stretch_of(own[0], wraps[0]) if own else None
        if then is not None and _out(then) > (_out(now) if now else 0.0) + ROUNDING_STRETCH:
            which = f"{name_of_band(number, band)} is stretched"
            if then <= 1:
                yield Harm(f"{name_of_band(number, band)} hangs loose")
            elif then < WORKING_STRETCH[0]:
                yield Harm(f"{which} only {then:.2f} times and pulls little: take shorter ones")
            else:
                yield Harm(f"{which} {then:.2f} times and may snap: take longer ones")


def _out(stretch: float) -> float:
    low, high = WORKING_STRETCH
    return max(low - stretch, stretch - high, 0.0)


def _pot(before: Trial, after: Trial) -> Iterator[Harm]:
    if not pot_cause(before.closing, before.mold):
        for cause in pot_cause(after.closing, after.mold):
            yield Harm(_part(cause.why))


def _causes(before: Trial, after: Trial) -> Iterator[Harm]:
    had = {SAME_CAUSE.get(cause.kind, cause.kind) for cause in _of(before)}
    for cause in _of(after):
        if SAME_CAUSE.get(cause.kind, cause.kind) not in had:
            yield Harm(_part(cause.why))


def _of(trial: Trial) -> tuple[Cause, ...]:
    """Return what is behind the leaks of a trial; loose bands are named by their stretch."""
    seal = seal_of(trial.closing)
    lands = [land for land, leaks in zip(trial.closing.lands, seal.leaky, strict=True) if leaks]
    if not lands:
        return ()
    found = causes_of(trial.closing, seal, lands, trial.mold)
    return tuple(cause for cause in found if cause.kind != "loose band")


def _part(sentence: str) -> str:
    """Return a sentence as a part of another."""
    return (sentence[0].lower() + sentence[1:]).rstrip(".")
