"""Where a mold parts round a model: the silhouette, and what is undercut against it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import LineString, Polygon

Points = NDArray[np.float64]
XY = tuple[float, float]

SLACK_MM = 0.1
"""The parting line may leave the silhouette while the outline is no wider there than this [mm]."""

INSIDE_MM = 0.5
"""The parting line bends this far inside an outline [mm]."""

ROUNDS = 400
"""Times that each place of the parting line is moved between its neighbours along the block."""


@dataclass(frozen=True)
class Undercut:
    """A place of a section that rubber has to bend round when its halves part up and down.

    Attributes
    ----------
    depth_mm : float
        How far rubber reaches in under the outline, across the way it is taken off.
    at : (x, y)
        Its deepest place.
    """

    depth_mm: float
    at: XY


@dataclass(frozen=True)
class Extreme:
    """The leftmost or the rightmost stretch of an outline, where a parting line may begin or end.

    Attributes
    ----------
    x_mm : float
        Of the silhouette itself.
    low_mm, high_mm : float
        From here to there the outline is within 0.1 mm of it.
    """

    x_mm: float
    low_mm: float
    high_mm: float

    @property
    def middle_mm(self) -> float:
        """The middle of the stretch."""
        return (self.low_mm + self.high_mm) / 2


def extremes_of(ring: Points, slack_mm: float = SLACK_MM) -> tuple[Extreme, Extreme]:
    """Return the leftmost and the rightmost stretch of an outline.

    Parameters
    ----------
    ring : array (n, 2)
        Without its first point again at the end.
    slack_mm : float
        How much narrower the outline may be within the stretch [mm].
    """
    outline = shapely.get_exterior_ring(Polygon(ring))
    x0, y0, x1, y1 = outline.bounds
    found = []
    for end, inner in ((x0, min(x0 + slack_mm, x1)), (x1, max(x1 - slack_mm, x0))):
        strip = shapely.box(min(end, inner), y0 - 1, max(end, inner), y1 + 1)
        parts = shapely.get_parts(shapely.line_merge(shapely.intersection(outline, strip)))
        touching = [
            p.bounds for p in parts if min(abs(p.bounds[0] - end), abs(p.bounds[2] - end)) < 1e-9
        ]
        low, high = max(((b[1], b[3]) for b in touching), key=lambda span: span[1] - span[0])
        found.append(Extreme(float(end), float(low), float(high)))
    return found[0], found[1]


def steady(stretches: Sequence[Extreme]) -> list[float]:
    """Return a height for each section along a block, as even as the silhouettes allow [mm].

    A taut string through one gate after another: each height lies half way between its neighbours
    where its stretch of the silhouette holds that.

    Parameters
    ----------
    stretches : sequence of Extreme
        Of the same side of one model, section by section.
    """
    low = np.array([side.low_mm for side in stretches])
    high = np.array([side.high_mm for side in stretches])
    level = np.full(len(low), np.median([side.middle_mm for side in stretches]))
    y: Points = np.clip(level, low, high)
    for _ in range(ROUNDS if len(y) > 2 else 0):
        before = y.copy()
        y[1:-1] = np.clip((y[:-2] + y[2:]) / 2, low[1:-1], high[1:-1])
        y[0], y[-1] = np.clip(y[1], low[0], high[0]), np.clip(y[-2], low[-1], high[-1])
        if np.abs(y - before).max() < 1e-6:
            break
    return [float(v) for v in y]


def place_at(ring: Points, y: float, leftmost: bool) -> XY:
    """Return a place just inside the leftmost or the rightmost one of `ring` (n, 2) at `y` [mm]."""
    x0, x1 = float(ring[:, 0].min()) - 1, float(ring[:, 0].max()) + 1
    met = LineString([(x0, y), (x1, y)]).intersection(Polygon(ring))
    parts = [part.bounds for part in shapely.get_parts(met) if part.length > 0]
    if not parts:
        return float(met.bounds[0 if leftmost else 2]), y
    a, _, b, _ = min(parts) if leftmost else max(parts)
    inside = min(INSIDE_MM, (b - a) / 3)
    return (float(a + inside) if leftmost else float(b - inside)), y


def undercuts(ring: Points, least_mm: float = 0.1) -> list[Undercut]:
    """Return what of an outline `ring` (n, 2) is undercut, the deepest first, above and below.

    From the leftmost place to the rightmost, above and below, x may only grow: where it falls
    back, rubber lies under the model.

    An undercut up to `least_mm` [mm] deep does not count.
    """
    left, right = int(np.argmin(ring[:, 0])), int(np.argmax(ring[:, 0]))
    found = []
    for chain in (
        _chain(ring, left, right),
        _chain(ring[::-1], len(ring) - 1 - left, len(ring) - 1 - right),
    ):
        back = np.maximum.accumulate(chain[:, 0]) - chain[:, 0]
        k = int(np.argmax(back))
        if back[k] > least_mm:
            found.append(Undercut(float(back[k]), (float(chain[k, 0]), float(chain[k, 1]))))
    return sorted(found, key=lambda each: -each.depth_mm)


def _chain(ring: Points, begin: int, end: int) -> Points:
    n = len(ring)
    count = (end - begin) % n
    return ring[(begin + np.arange(count + 1)) % n]
