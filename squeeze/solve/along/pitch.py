"""How far apart bands may lie: ripple along the length under even pitches, cuts closed all along.

Pressure between bands sags. On a closed cut it is linear in the loads, so the waves of a block give
the ripple of every pitch that fits its length, twice over: 2 L / n. That is the rule of thumb for
this block, whatever band it is.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from squeeze.solve.along.loads import BandAt, band_series
from squeeze.solve.along.long_block import LongBlock
from squeeze.solve.array_record import ArrayRecord

Array = NDArray[np.float64]

KEEPS = 0.9
"""Share of its mean that the pressure has to keep midway between bands, for the rule of thumb."""

_FINE = 121


@dataclass(frozen=True, eq=False, repr=False)
class PitchRule(ArrayRecord):
    """Ripple, least over mean along the block, by pitch; the worst land counts.

    Attributes
    ----------
    pitch_mm : array (n,)
        Ascending.
    cavity, middle, outside : array (n,)
        At the cavities' edges, in the middle of the lands, at the outside. NaN where no land
        presses there.
    width_mm : float
        Of the bands.
    """

    pitch_mm: Array
    cavity: Array
    middle: Array
    outside: Array
    width_mm: float

    def widest_mm(self, where: str, keeps: float = KEEPS) -> float:
        """Return the largest pitch that keeps a share of the mean at `where`.

        That is cavity, middle or outside.

        0 when none that was tried does, the largest that was tried when all do, NaN without
        pressure there.
        """
        ripple = getattr(self, where)
        if not len(ripple) or np.isnan(ripple).all():
            return float("nan")
        falls = np.flatnonzero(~(ripple >= keeps))
        if not len(falls):
            return float(self.pitch_mm[-1])
        k = int(falls[0])
        if k == 0:
            return 0.0
        share = (ripple[k - 1] - keeps) / (ripple[k - 1] - ripple[k])
        return float(self.pitch_mm[k - 1] + share * (self.pitch_mm[k] - self.pitch_mm[k - 1]))


def pitch_rule(block: LongBlock, width_mm: float) -> PitchRule:
    """Return the rule for bands of a width, down to pitches of four steps along the block.

    `width_mm` is how wide each of them lies on the block [mm].
    """
    most = max(1, block.count // 2)
    pitches = 2 * block.length_mm / np.arange(most, 0, -1)
    pitches = pitches[pitches > width_mm]
    places = [_at_places(block, ripple(block, pitch, width_mm)) for pitch in pitches]
    cavity, middle, outside = np.array(places).reshape(-1, 3).T
    return PitchRule(pitches, cavity, middle, outside, width_mm)


def ripple(block: LongBlock, pitch_mm: float, width_mm: float) -> Array:
    """Return least over mean pressure along the block at each place (c,), faces bonded.

    NaN where the mean pulls.

    Parameters
    ----------
    block : LongBlock
    pitch_mm : float
        Twice the block's length over a whole number.
    width_mm : float
        Of each band.
    """
    L, M, c = block.length_mm, block.count, len(block.block.contact_rows.weight)
    at = np.arange(0.0, L + 1e-9 * L, pitch_mm)
    bands = [BandAt(z, 0.5 if z in (0.0, L) else 1.0, width_mm) for z in np.minimum(at, L)]
    tension = band_series(bands, L, len(block.numbers))
    z = np.linspace(0.0, min(pitch_mm, L), _FINE)
    waves = (block.bonded_waves(2 * tension) - block.bonded_waves(tension))[:, :c]  # no pushes
    p = np.cos(np.outer(z, block.numbers[:M])) @ waves
    p += block.surface.rest(tension[M:], block.numbers[M:], z)
    mean = waves[0]
    return np.divide(p.min(axis=0), mean, out=np.full(c, np.nan), where=mean > 0)


def _at_places(block: LongBlock, ripples: Array) -> tuple[float, float, float]:
    """Worst ripple at cavities, in the middles of lands, outside."""
    mesh, begins = block.block.mesh, block.block.contact_rows.begins
    inside = {int(n) for edges in mesh.edges[1:] for n in edges.ravel()}
    outside = {int(n) for n in mesh.edges[0].ravel()}
    found: tuple[list[float], ...] = ([], [], [])
    for land, first, end in zip(mesh.lands, begins[:-1], begins[1:], strict=False):
        own = ripples[first:end]
        found[1].append(float(own[len(own) // 2]))
        for node, value in ((land.left[0], own[0]), (land.left[-1], own[-1])):
            if int(node) in inside:
                found[0].append(float(value))
            elif int(node) in outside:
                found[2].append(float(value))
    worst = tuple(min((v for v in f if not np.isnan(v)), default=np.nan) for f in found)
    return worst[0], worst[1], worst[2]
