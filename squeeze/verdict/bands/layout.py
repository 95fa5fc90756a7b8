"""Bands at places, and what they hold: as reckoned, and when they are slack."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from squeeze.solve.along.record import AlongClosing
from squeeze.solve.outcome import Outcome
from squeeze.verdict.bands.barriers_along import SealAlong
from squeeze.verdict.bands.kinds import BandKind
from squeeze.verdict.seal.barrier import MARGIN

SLACK = 0.8
"""Pull of slack bands over what was reckoned: an old band, or one from another batch."""


@dataclass(frozen=True, eq=False)
class BandLayout:
    """Bands at places, and what they do.

    Attributes
    ----------
    kind : BandKind or None
        None for the mold's own bands, whatever they are.
    at_mm : tuple of float
    closings : tuple of AlongClosing
        One a station.
    holds : tuple of SealAlong
        One a station, each over the stretch that its station speaks for.
    slack : tuple of SealAlong
        The same with slack bands.
    """

    kind: BandKind | None
    at_mm: tuple[float, ...]
    closings: tuple[AlongClosing, ...]
    holds: tuple[SealAlong, ...]
    slack: tuple[SealAlong, ...]

    @property
    def margin(self) -> float:
        """The least of all stations."""
        return min(hold.margin for hold in self.holds)

    @property
    def slack_margin(self) -> float:
        """The least of all stations with slack bands."""
        return min(hold.margin for hold in self.slack)

    @property
    def worst(self) -> int:
        """Number of the station with the least margin."""
        return min(range(len(self.holds)), key=lambda k: self.holds[k].margin)

    @property
    def outcome(self) -> Outcome:
        """That of the first station without an answer, if any."""
        bad = [c.outcome for c in self.closings if not c.outcome.has_answer]
        return bad[0] if bad else Outcome.CONVERGED

    @property
    def holds_well(self) -> bool:
        """Whether every land has the margin that is asked for, with slack bands too."""
        return is_enough(self.margin) and is_enough(self.slack_margin)


def is_enough(margin: float) -> bool:
    """Return whether a `margin`, pressure over the resin's, is the one asked for, or more."""
    return margin >= MARGIN * (1 - 1e-9)


def as_slack(holds: Sequence[SealAlong], solved: Sequence[SealAlong] = ()) -> tuple[SealAlong, ...]:
    """Return what slack bands hold: what was solved for them, or at most the same share of `holds`.

    Parameters
    ----------
    holds : sequence of Hold
        With the pull as reckoned.
    solved : sequence of Hold
        With slack bands; empty where nothing was solved.
    """
    return tuple(solved) or tuple(
        replace(
            hold,
            margin=SLACK * hold.margin,
            by_land=tuple(SLACK * margin for margin in hold.by_land),
            pressure_kpa=SLACK * hold.pressure_kpa,
        )
        for hold in holds
    )
