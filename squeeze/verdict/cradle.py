"""What the cradle pieces do: bear, lift, slide, or keep the bands' pull from the block."""

from __future__ import annotations

import numpy as np

from squeeze.solve.closing import Closing
from squeeze.solve.land import Land

STARVES = 0.1
"""A closed joint that carries more than this share of the bands' pull gets a remark."""

SLIDES_MM = 0.5
"""A piece that slides on the rubber by more than this gets a remark [mm]."""


def cradle_notes(closing: Closing) -> list[str]:
    """Return plain sentences on the cradle pieces of a closing; none where there is no answer."""
    if not closing.outcome.has_answer:
        return []
    said = [_starved(joint, closing) for joint in closing.joints]
    said += [_piece(name, closing) for name in dict.fromkeys(s.cut for s in closing.seats)]
    return [text for text in said if text]


def _starved(joint: Land, closing: Closing) -> str | None:
    pull = closing.loads.tension_n_per_mm
    share = joint.force_n_per_mm / pull if pull else 0.0
    if share < STARVES:
        return None
    others = " and ".join(f"'{name}'" for name in _touching(joint, closing))
    return (
        f"The joint between {others} is closed and keeps {100 * min(share, 1.0):.0f} % of the"
        " bands' pull from the block; leave a gap between the pieces."
    )


def _touching(joint: Land, closing: Closing) -> list[str]:
    """Return the names of the two pieces on both sides of a joint."""
    at = np.array([joint.x_mm.mean(), joint.y_mm.mean()])
    pieces = sorted(closing.section.cradles, key=lambda piece: piece.loop.nearest(at)[2])
    names = [piece.name for piece in closing.section.cradles]
    return sorted((piece.name for piece in pieces[:2]), key=names.index)


def _piece(name: str, closing: Closing) -> str | None:
    seats = [seat for seat in closing.seats if seat.cut == name]
    length = sum(seat.length_mm for seat in seats)
    bears = sum(seat.closed_share * seat.length_mm for seat in seats) / length
    if bears == 0:
        return f"The piece '{name}' does not touch the block."
    slip = max(float(np.abs(seat.slip_mm[seat.pressure_kpa > 0]).max(initial=0)) for seat in seats)
    parts = []
    if bears < 0.98:
        parts.append(f"bears on {100 * bears:.0f} % of its seat and {_lift(seats)}")
    if slip > SLIDES_MM:
        parts.append(f"slides by up to {slip:.1f} mm")
    return f"The piece '{name}' {' and '.join(parts)}." if parts else None


def _lift(seats: list[Land]) -> str:
    """Say where a piece lifts: at both ends, at one (it rocks), or in its middle."""
    first, last = seats[0].gap_mm[0] > 0, seats[-1].gap_mm[-1] > 0
    gap = max(seat.largest_gap_mm for seat in seats)
    if first and last:
        return f"lifts at both ends, by up to {gap:.2f} mm"
    if first or last:
        return f"rocks: it lifts at one end, by up to {gap:.2f} mm"
    return f"lifts between its ends, by up to {gap:.2f} mm"
