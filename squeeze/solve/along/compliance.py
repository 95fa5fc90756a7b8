"""Compliance of the cuts and responses to unit loads, wave by wave; bands do not change them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array, csr_array, vstack

from squeeze.solve.along.plane import Waves, orthonormal
from squeeze.solve.along.wave import bordered, compliances, in_three_components
from squeeze.solve.block import Block
from squeeze.solve.contact.given_forces import GivenForces
from squeeze.solve.contact.solution import resisted
from squeeze.solve.elastic.wave_element import wave_elements

Array = NDArray[np.float64]
Whole = NDArray[np.int64]

_HAT_SHAPE = np.array([[1 / 6, 1 / 3, 0.0], [0.0, 1 / 3, 1 / 6]])
"""Integral over an edge of unit length of linear hat times quadratic shape."""


@dataclass(frozen=True, eq=False)
class UnitResponses:
    """Compliances and responses to unit loads.

    Attributes
    ----------
    waves : Waves
        Rows: gaps of all places, then sliding along the cut and along the block at `held` places.
    free_gaps : array (M, r, 2)
        Weighted gap and sliding that a unit of each wave of band tension [N/mm] and resin pressure
        [MPa] makes.
    held : array (h,) of int
        Places on cuts that take a part of the length.
    motions : array (r, k)
        Gap and sliding of the rigid motions that some row resists.
    spread : array (k, r)
        Tractions of the bonded section per unbalanced force on a motion, transposed.
    basis : array (3 p, k)
        These motions, in terms of the section's rigid motions.
    """

    waves: Waves
    free_gaps: Array
    held: Whole
    motions: Array
    spread: Array
    basis: Array


def unit_responses(
    block: Block,
    unit_loads: tuple[GivenForces, GivenForces],
    numbers: Array,
    held: Whole,
    workers: int,
) -> UnitResponses:
    """Factorise a block for each wave and solve it for unit loads.

    Parameters
    ----------
    block : Block
    unit_loads : pair of GivenForces
        A band of tension 1 N/mm, and resin of 1 MPa.
    numbers : array (M,)
        Wave numbers, the first 0 [1/mm].
    held : array (h,) of int
        Places on cuts that take a part of the length.
    workers : int
        Factorisations at the same time.
    """
    unit = np.column_stack([load.f for load in unit_loads])
    c, h = len(block.contact_rows.weight), len(held)
    r, M = c + 2 * h, len(numbers)
    C, free_gaps = np.zeros((M, r, r)), np.zeros((M, r, 2))
    here = np.concatenate([np.arange(c), c + held])
    C[0, : c + h, : c + h] = block.factor.C[np.ix_(here, here)]
    free_gaps[0, : c + h] = np.column_stack([load.free_gaps for load in unit_loads])[here]
    if M > 1 and c:
        elements = wave_elements(block.mesh, block.section.materials)
        layout = bordered(block.mesh, elements, seam_rows(block, held, unit))
        for k, full in enumerate(compliances(layout, numbers[1:], workers), start=1):
            C[k], free_gaps[k] = full[:r, :r], full[:r, r:]
    S = np.zeros_like(C)
    for k in range(1, M):  # one by one: copies of all of them would fill memory
        inverse = np.linalg.inv(C[k])
        S[k] = 0.5 * (inverse + inverse.T)
    basis = _basis(block, held)
    motions = np.zeros((r, basis.shape[1]))
    motions[: c + h] = block.factor.rigid[here] @ basis
    S[0, : c + h, : c + h], spread = _bonded(C[0, : c + h, : c + h], motions[: c + h])
    wide = np.zeros((basis.shape[1], r))
    wide[:, : c + h] = spread
    waves = Waves(C, S, h, *orthonormal(M))
    return UnitResponses(waves, free_gaps, held, motions, wide, basis)


def seam_rows(block: Block, held: Whole, unit: Array) -> csr_array:
    """Return rows on three displacements a node: gaps, sliding of `held` places, loads.

    Parameters
    ----------
    block : Block
    held : array (h,) of int
        Places that rub.
    unit : array (2 n, l)
        Nodal forces of each kind of load, at one unit of it.

    Returns
    -------
    csr_array (c + 2 h + l, 3 n)
    """
    seams = block.contact_rows
    parts = [in_three_components(seams.normal)]
    if len(held):
        parts += [in_three_components(csr_array(seams.along[held])), csr_array(_axial(block)[held])]
    return csr_array(vstack([*parts, in_three_components(csr_array(unit.T))]))


def _axial(block: Block) -> csr_array:
    """Weighted sliding along the block at each place, on three displacements a node."""
    found = []
    for land, first in zip(block.mesh.faces, block.contact_rows.begins, strict=False):
        x = block.mesh.points[land.left[::2]]
        length = np.hypot(*np.diff(x, axis=0).T)
        k = np.arange(len(length))
        for hat, shape in zip(*np.nonzero(_HAT_SHAPE), strict=True):
            value = _HAT_SHAPE[hat, shape] * length
            for face, sign in ((land.left, 1.0), (land.right, -1.0)):
                node = face[2 * k + shape]
                found.append((sign * value, first + k + hat, 3 * node + 2))
    value, row, column = (np.concatenate(part) for part in zip(*found, strict=True))
    size = (len(block.contact_rows.weight), 3 * len(block.mesh.points))
    return csr_array(coo_array((value, (row, column)), shape=size))


def _basis(block: Block, held: Whole) -> Array:
    c = len(block.contact_rows.weight)
    sticks = np.zeros(c)
    sticks[held] = 1.0
    return resisted(block.factor.rigid, sticks)[0]


def _bonded(C: Array, G: Array) -> tuple[Array, Array]:
    """Invert [C G; G' 0]: stiffness on what motions leave, tractions per unbalanced force."""
    r, k = G.shape
    unit = np.abs(C).max(initial=1e-300) / max(np.abs(G).max(initial=0.0), 1e-300)
    saddle = np.zeros((r + k, r + k))
    saddle[:r, :r], saddle[:r, r:], saddle[r:, :r] = C, unit * G, unit * G.T
    inverse = np.linalg.inv(saddle)
    S = inverse[:r, :r]
    return 0.5 * (S + S.T), unit * inverse[r:, :r]
