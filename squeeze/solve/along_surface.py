"""What short waves do right under the outside, in closed form.

Pressure q cos kz on an elastic half-space, the same everywhere across the waves, makes the stress
across them

    2 nu q exp(-k d) cos kz

at depth d (K. L. Johnson, Contact Mechanics, CUP 1985, plane strain: nu times the sum of the other
two; from memory). That holds on a block for waves much shorter than its walls. It carries the waves
that the series leaves out, which matter at the outer lip under a band and nowhere else; and where k
d is large the mesh's own answer is rounding of the lip's, and is dropped.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from squeeze.solve.block import Block

Array = NDArray[np.float64]

FAR = 12.0
"""k x depth beyond which a wave of the bands is not felt."""

MORE = 16
"""How many times more waves the closed form adds."""


@dataclass(frozen=True, eq=False)
class Surface:
    """Places of the cuts as the bands' pressure sees them.

    Attributes
    ----------
    depth : array (c,)
        Distance from the outside [mm].
    stress : array (c,)
        2 nu times the band's pressure at the nearest lip, per tension [1/mm].
    """

    depth: Array
    stress: Array

    def rest(self, tension: Array, numbers: Array, z_mm: Array) -> Array:
        """Pressure (M, c) of waves that the series leaves out, mean over each step along the block.

        Parameters
        ----------
        tension : array (n,)
            Their amplitudes [N/mm].
        numbers : array (n,)
            Their wave numbers [1/mm].
        z_mm : array (M,)
        """
        half = 0.5 * (z_mm[1] - z_mm[0]) if len(z_mm) > 1 else 0.0
        near = np.flatnonzero((self.stress > 0) & (numbers[:1] * self.depth < FAR))
        out = np.zeros((len(z_mm), len(self.depth)))
        if len(near):
            along = np.cos(np.outer(z_mm, numbers)) * np.sinc(numbers * half / np.pi) * tension
            out[:, near] = along @ np.exp(-np.outer(numbers, self.depth[near])) * self.stress[near]
        return out


def surface(block: Block, band: Array) -> Surface:
    """Return depth and lip pressure of every place; `band` (2 n,) is the force of 1 N/mm."""
    mesh, begins = block.mesh, block.seams.begins
    places, stress = np.zeros((len(block.seams.weight), 2)), np.zeros(len(block.seams.weight))
    pressure = _pressure_at(block, band)
    doubled_nu = 2 * block.section.material.poisson
    for land, first, end in zip(mesh.faces, begins[:-1], begins[1:], strict=True):
        x = places[first:end] = mesh.points[land.left[::2]]
        away = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(x, axis=0).T))])
        for k, near in ((0, away <= 0.5 * away[-1]), (-1, away > 0.5 * away[-1])):
            lip = [pressure.get(int(face[k]), 0.0) for face in (land.left, land.right)]
            stress[first:end][near] = doubled_nu * min(lip) and doubled_nu * 0.5 * sum(lip)
    depth = (
        cKDTree(mesh.points[np.unique(mesh.outside)]).query(places)[0]
        if len(places)
        else np.zeros(0)
    )
    return Surface(depth, stress)


def _pressure_at(block: Block, band: Array) -> dict[int, float]:
    """Band pressure per tension at the outside's corners; a mid-side has 2/3 of its edge's."""
    points, force = block.mesh.points, np.hypot(*band.reshape(-1, 2).T)
    found: dict[int, list[float]] = {}
    for a, m, b in block.mesh.edges[0]:
        q = 1.5 * float(force[m]) / float(np.hypot(*(points[b] - points[a])))
        found.setdefault(int(a), []).append(q)
        found.setdefault(int(b), []).append(q)
    return {node: float(np.mean(values)) for node, values in found.items()}
