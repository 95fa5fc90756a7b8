"""What short waves do just under the outside, in closed form.

Pressure q cos kz on an elastic half-space, the same everywhere across the waves, makes the stress
across them 2 nu q exp(-k d) cos kz at depth d (K. L. Johnson, Contact Mechanics, CUP 1985, plane
strain: nu times the sum of the other two; from memory). Under an outside of curvature c the hoop
pressure of an incompressible round bar (A. E. H. Love's solution, 1927) adds the next term,

    s = 2 nu q (1 + 3 c / (2 k)) exp(-k d) cos kz

That holds for waves much shorter than the walls. It takes the place of waves that the mesh is too
coarse for, and carries those that the series leaves out; both matter at the outer lip under a band
and nowhere else. Where k d is large, what the mesh says of bands is rounding, and is dropped.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import KDTree

from squeeze.solve.block import Block

Array = NDArray[np.float64]

FAR = 12.0
"""k x depth beyond which a wave of the bands is not felt."""

MORE = 16
"""Up to how many times the waves of the series the closed form goes."""

AT_LIP, BELOW = 0.3, 2.5
"""k x edge of the mesh from which on the closed form is nearer than it, at the lip and below."""

SHORT = 4.0
"""k x length of the land beyond which a wave is short enough for the closed form."""


@dataclass(frozen=True, eq=False)
class Surface:
    """Places of the cuts as the bands' pressure sees them.

    Attributes
    ----------
    depth : array (c,)
        Distance from the outside [mm].
    stress : array (c,)
        2 nu times the band's pressure at the nearest lip, per tension [1/mm].
    curvature : array (c,)
        Of the outside at the nearest lip, as the band feels it [1/mm].
    from_k : array (c,)
        Wave number from which on the closed form is taken [1/mm].
    """

    depth: Array
    stress: Array
    curvature: Array
    from_k: Array

    def closed_form(self, numbers: Array) -> Array:
        """Return the pressure (n, c) per amplitude of tension at wave `numbers` (n,) [1/mm]."""
        k = numbers[:, None]
        return self.stress * (1 + 1.5 * self.curvature / k) * np.exp(-k * self.depth)

    def mended(self, bonded: Array, tension: Array, numbers: Array) -> Array:
        """Return amplitudes (n, c) of the mesh with closed form or nothing where it is no good.

        Parameters
        ----------
        bonded : array (n, c)
            Pressure amplitudes with all faces bonded.
        tension : array (n,)
            Amplitudes of the bands' tension [N/mm].
        numbers : array (n,)
            Wave numbers, all above 0 [1/mm].
        """
        k = numbers[:, None]
        coarse = (k > self.from_k) & (self.stress > 0)
        better = np.where(coarse, tension[:, None] * self.closed_form(numbers), bonded)
        return np.where(k * self.depth > FAR, 0.0, better)

    def rest(self, tension: Array, numbers: Array, z_mm: Array) -> Array:
        """Return the pressure (M, c) of waves that the series leaves out, by Lanczos's smoothing.

        Parameters
        ----------
        tension : array (n,)
            Their amplitudes [N/mm].
        numbers : array (n,)
            Their wave numbers [1/mm].
        z_mm : array (M,)
            Even steps; the mean over each is taken.
        """
        out = np.zeros((len(z_mm), len(self.depth)))
        near = np.flatnonzero((self.stress > 0) & (numbers[:1] * self.depth < FAR))
        if len(near):
            half = 0.5 * (z_mm[1] - z_mm[0]) if len(z_mm) > 1 else 0.0
            even = np.sinc(numbers * half / np.pi) * np.sinc(numbers / numbers[-1])
            along = np.cos(np.outer(z_mm, numbers)) * (even * tension)
            out[:, near] = along @ self.closed_form(numbers)[:, near]
        return out


def surface(block: Block, band: Array) -> Surface:
    """Return what lies under the outside; `band` (2 n,) is the nodal force of 1 N/mm."""
    mesh, begins = block.mesh, block.contact_rows.begins
    c = len(block.contact_rows.weight)
    places, curvature, from_k = np.zeros((c, 2)), np.zeros(c), np.zeros(c)
    pressure = _pressure_at(block, band)
    for land, first, end in zip(mesh.faces, begins[:-1], begins[1:], strict=True):
        x = places[first:end] = mesh.points[land.left[::2]]
        step = np.hypot(*np.diff(x, axis=0).T)
        nearer_start = np.cumsum(np.concatenate([[0.0], step])) <= 0.5 * step.sum()
        for k, near in ((0, nearer_start), (-1, ~nearer_start)):
            lip = [pressure.get(int(face[k]), 0.0) for face in (land.left, land.right)]
            curvature[first:end][near] = 0.5 * sum(lip) if min(lip) > 0 else 0.0
            from_k[first:end][near] = max(BELOW / step[k], SHORT / step.sum())
            from_k[first:end][k] = max(AT_LIP / step[k], SHORT / step.sum())
    outside = mesh.points[np.unique(mesh.outside)]
    depth = KDTree(outside).query(places)[0] if c else np.zeros(0)
    return Surface(depth, 2 * block.section.material.poisson * curvature, curvature, from_k)


def _pressure_at(block: Block, band: Array) -> dict[int, float]:
    """Band pressure per tension at the outside's corners; a mid-side has 2/3 of its edge's."""
    points, force = block.mesh.points, np.hypot(*band.reshape(-1, 2).T)
    found: dict[int, list[float]] = {}
    for a, m, b in block.mesh.edges[0]:
        q = 1.5 * float(force[m]) / float(np.hypot(*(points[b] - points[a])))
        found.setdefault(int(a), []).append(q)
        found.setdefault(int(b), []).append(q)
    least = 1e-6 / float(np.ptp(points))  # a flat is pressed by rounding alone
    return {node: float(np.mean(q)) if min(q) > least else 0.0 for node, q in found.items()}
