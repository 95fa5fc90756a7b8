"""What lets caught air out: the tilt, or the other place for the sprue, that leaves the least."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from squeeze.mold import Mold
from squeeze.verdict.air.flood import caught, open_parts
from squeeze.verdict.air.void import XYZ, Flags, MakeVoid, Outlets, Void, outlets_of, up_of

MOST_TRIED = 10_000
"""Places that are looked at for each tilt."""

TILTS_DEG = (-45.0, -30.0, -15.0, 0.0, 15.0, 30.0, 45.0)
FINER_DEG = (-10.0, -5.0, 0.0, 5.0, 10.0)
"""Tilts that are tried first, and those round the best of them."""

WORTH_TELLING = 0.9
"""A remedy is named when it leaves less than this share of the air."""


@dataclass(frozen=True)
class Tilt:
    """A tilt of the block while it is filled, and the air that it leaves.

    Attributes
    ----------
    about_length_deg : float
        How far the right side of the section is raised; negative = its left side.
    end_up_deg : float
        How far the far end is raised, negative = the start; of a block that stands on its start,
        the upper side of the section, negative = its lower side.
    volume_mm3 : float
    standing : bool
        Whether the block stands on its start.
    """

    about_length_deg: float
    end_up_deg: float
    volume_mm3: float
    standing: bool = False

    @property
    def raised(self) -> tuple[tuple[str, float], ...]:
        """Each side that is raised, and by how much [degrees].

        Examples
        --------
        >>> Tilt(-20.0, 5.0, 0.0).raised
        (('left side', 20.0), ('far end', 5.0))
        >>> Tilt(15.0, -5.0, 0.0, standing=True).raised
        (('right side', 15.0), ("section's lower side", 5.0))
        """
        ends = ("section's upper side", "section's lower side")
        ends = ends if self.standing else ("far end", "start")
        both = (
            (("right side", "left side"), self.about_length_deg),
            (ends, self.end_up_deg),
        )
        return tuple((up if deg > 0 else down, abs(deg)) for (up, down), deg in both if deg)


@dataclass(frozen=True)
class OtherSprue:
    """Another place for the sprue, and the air that it leaves [mm3].

    Attributes
    ----------
    at_mm : (x, y, along)
    volume_mm3 : float
        In all cavities together.
    """

    at_mm: XYZ
    volume_mm3: float


def best_tilt(mold: Mold, make_void: MakeVoid, standing: bool) -> Tilt | None:
    """Return the tilt up to 45 degrees that leaves the least air; None when none is worth telling.

    All tilts by 15 degrees are tried, then those by 5 degrees round the best. Of tilts that leave
    the same to a hundredth the least is taken.

    Parameters
    ----------
    mold : Mold
        For the sprue's place.
    make_void : callable
    standing : bool
        Whether the block stands on its start.
    """
    void = make_void(MOST_TRIED)
    outlets = outlets_of(mold, void, up_of(0.0, 0.0, standing)).flags

    def tried(tilts: Iterable[tuple[float, float]]) -> list[Tilt]:
        found = []
        for about, end in tilts:
            height = void.height(up_of(about, end, standing))
            held = caught(void.filled, height, outlets, void.grid_mm)
            found.append(Tilt(about, end, float(held.sum()) * void.cell_mm3, standing))
        return found

    (level,) = tried([(0.0, 0.0)])
    if level.volume_mm3 == 0:
        return None

    def cost(tilt: Tilt) -> tuple[float, float]:
        share = round(tilt.volume_mm3 / level.volume_mm3, 2)
        return share, abs(tilt.about_length_deg) + abs(tilt.end_up_deg)

    best = min(tried((a, b) for a in TILTS_DEG for b in TILTS_DEG), key=cost)
    a, b = best.about_length_deg, best.end_up_deg
    most = max(TILTS_DEG)
    finer = ((a + i, b + j) for i in FINER_DEG for j in FINER_DEG)
    best = min(tried(t for t in finer if max(map(abs, t)) <= most), key=cost)
    return best if best.volume_mm3 < WORTH_TELLING * level.volume_mm3 else None


def best_sprue(void: Void, up: XYZ, outlets: Outlets, high: Sequence[XYZ]) -> OtherSprue | None:
    """Return where a sprue in place of a cavity's own leaves the least air; None without a gain.

    A sprue lets out what lies below the ceiling of every path to it, so the best one stands at a
    high point that keeps air now.

    Parameters
    ----------
    void : Void
    up : (x, y, along)
    outlets : Outlets
        Those there are now; vents stay where they are.
    high : sequence of (x, y, along)
        High points that keep air, the largest pocket first.
    """
    height = void.height(up)
    labels, _ = open_parts(void.filled)

    def left(places: Flags) -> float:
        return float(caught(void.filled, height, places, void.grid_mm).sum()) * void.cell_mm3

    now, tried = left(outlets.flags), []
    for at in high[:6]:
        place = void.nearest(at)
        elsewhere = outlets.sprues & (labels != labels[place][0])
        tried.append(OtherSprue(at, left(elsewhere | place | outlets.vents)))
    best = min(tried, key=lambda each: each.volume_mm3)
    return best if best.volume_mm3 < WORTH_TELLING * now else None
