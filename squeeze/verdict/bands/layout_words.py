"""One layout of bands in words: what it holds, where it leaks, and where the bands lie."""

from __future__ import annotations

import numpy as np

from squeeze.solve.outcome import Outcome
from squeeze.verdict.bands.barriers_along import SealAlong
from squeeze.verdict.bands.layout import SLACK, BandLayout, is_enough
from squeeze.verdict.figures import times
from squeeze.verdict.words import MM_PER_INCH, place, pressure


def say_slack(layout: BandLayout) -> str:
    """Say what bands that pull less than reckoned still hold."""
    return f"{times(layout.slack_margin)} times with {100 * (1 - SLACK):.0f} % less pull"


def say_other(layout: BandLayout, inches: bool) -> str:
    """Say what another number of bands does."""
    count = len(layout.at_mm)
    if count == 0:
        return "Without it nothing holds."
    press = "it presses" if count == 1 else "they press"
    hard = f"{times(layout.margin)} times as hard as the resin at the worst place"
    if layout.holds_well:
        return f"With {say_count(count)} it holds: {press} {hard}."
    hold = layout.holds[layout.worst]
    if is_enough(layout.margin):
        slack = say_slack(layout)
        return f"With {say_count(count)} it holds until they slacken: {press} {hard}, {slack}."
    if times(layout.margin) == times(0):
        return f"With {say_count(count)} it leaks {say_between(hold)}: nothing presses there."
    return (
        f"With {say_count(count)} it leaks {say_between(hold)}, {say_along(hold, inches)}:"
        f" {press} only {hard}."
    )


def say_given(given: BandLayout, inches: bool = False) -> list[str]:
    """Return what the bands do that a mold names, and where it leaks; lengths in inches if asked.

    Parameters
    ----------
    given : BandLayout
        From `squeeze.verdict.bands.given.given_layout`, or of a plan.
    inches : bool
    """
    if given.outcome is Outcome.PIECE_NOT_HELD:
        return ["The mold file's own bands do not hold the block: a piece of it comes loose."]
    count = len(given.at_mm)
    own = f"The mold file's own {say_count(count).lower()}" if count else "The mold file's own pull"
    hold = given.holds[given.worst]
    if hold.margin == 0:
        return [
            f"{own} leave{'s' if count < 2 else ''} a path without a barrier {say_between(hold)}."
        ]
    press = "presses" if count < 2 else "press"
    hard = f"{times(given.margin)} times as hard as the resin at the worst place"
    if given.holds_well:
        return [f"{own} {press} {hard}."]
    if is_enough(given.margin):
        return [
            f"{own} {press} {hard}, but only {say_slack(given)}: leave a margin for slack bands."
        ]
    return [f"{own} {press} only {hard}: it leaks {say_between(hold)}, {say_along(hold, inches)}."]


def say_worst(layout: BandLayout, inches: bool) -> str:
    """Say where the weakest barrier is, and how hard it presses."""
    hold = layout.holds[layout.worst]
    if not np.isfinite(hold.margin):
        return "No cut leads from a cavity to the outside."
    return (
        f"The weakest barrier presses {times(hold.margin)} times as hard as the resin"
        f" ({pressure(hold.pressure_kpa)}), {say_between(hold)}, {say_along(hold, inches)};"
        f" {say_slack(layout)}. Twice is needed."
    )


def say_between(hold: SealAlong) -> str:
    """Say between what a barrier stands, or does not."""
    if not hold.start:
        return "somewhere"
    return f"between {hold.start} and {hold.end}"


def say_along(hold: SealAlong, inches: bool) -> str:
    """Say where along the block the weakest place lies."""
    return f"{place(hold.z_mm, inches)} along the block"


def say_places(layout: BandLayout, inches: bool) -> str:
    """List the places of the bands along the block."""
    places = [f"{z / MM_PER_INCH:.2f}" if inches else f"{round(z, 1):g}" for z in layout.at_mm]
    unit = "in" if inches else "mm"
    listed = places[0] if len(places) == 1 else f"{', '.join(places[:-1])} and {places[-1]}"
    return f"{listed} {unit} from the start of the block"


def say_count(count: int) -> str:
    """Return the number `count` of bands with its word."""
    return "1 band" if count == 1 else f"{count} bands"
