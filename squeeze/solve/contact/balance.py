"""The pieces of a section: how well the forces on each balance, and where a loose one goes."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from squeeze.solve.contact.problem import ContactSolution
from squeeze.solve.elastic.rigid import rigid_fit, turned_about
from squeeze.solve.elastic.schur import Factor
from squeeze.solve.mesh.parting import Mesh
from squeeze.solve.outcome import Outcome
from squeeze.solve.trust import Piece

Array = NDArray[np.float64]

GOES = 1e-3  # a piece that moves more than this share of the largest movement is said to go


def pieces(
    mesh: Mesh, factor: Factor, f: Array, traction: Array, contact: ContactSolution, load: float
) -> tuple[Piece, ...]:
    """Return the record of every piece.

    Parameters
    ----------
    mesh, factor
    f : array (2 n,)
        Given nodal forces.
    traction : array (2 c,)
        Pressure, then shear, at every place.
    contact : ContactSolution
    load : float
        Sum of the sizes of all forces [N/mm].
    """
    left = (factor.motions.T @ f + factor.rigid.T @ traction).reshape(-1, 3) / max(load, 1e-300)
    area, middles = _areas_and_middles(mesh)
    found = []
    for number, middle in enumerate(middles):
        balance = float(np.hypot(*left[number, :2])), float(abs(left[number, 2]))
        found.append(Piece((float(middle[0]), float(middle[1])), float(area[number]), *balance))
    if contact.outcome is Outcome.PIECE_NOT_HELD:
        found = _going(mesh, factor, found, contact.motion)
    return tuple(found)


def _areas_and_middles(mesh: Mesh) -> tuple[Array, Array]:
    """Return the area (k,) and the centre of area (k, 2) of each piece, edges taken straight."""
    p = mesh.points[mesh.triangles[:, :3]]
    d1, d2 = p[:, 1] - p[:, 0], p[:, 2] - p[:, 0]
    area = 0.5 * np.abs(d1[:, 0] * d2[:, 1] - d1[:, 1] * d2[:, 0])
    piece = mesh.piece[mesh.triangles[:, 0]]
    whole = np.bincount(piece, area)
    moments = [np.bincount(piece, area * p[..., axis].mean(axis=1)) for axis in (0, 1)]
    return np.asarray(whole, np.float64), np.column_stack(moments) / whole[:, None]


def _going(mesh: Mesh, factor: Factor, found: list[Piece], motion: Array) -> list[Piece]:
    """Attach to each piece how it moves relative to the largest one."""
    u = (factor.motions @ motion).reshape(-1, 2)
    largest = int(np.argmax([piece.area_mm2 for piece in found]))
    u = u - rigid_fit(mesh.points, np.flatnonzero(mesh.piece == largest), u)
    moves = [_move(mesh, u, number) for number in range(len(found))]
    most = max(max(np.hypot(*shift), abs(turn)) for shift, turn in moves)
    out = []
    for piece, (shift, turn) in zip(found, moves, strict=True):
        size = max(float(np.hypot(*shift)), abs(turn))
        if size > GOES * most:
            direction = shift / np.hypot(*shift) if np.hypot(*shift) > 0.05 * size else np.zeros(2)
            turns = int(np.sign(turn)) if abs(turn) > 0.05 * size else 0
            piece = replace(piece, goes=(float(direction[0]), float(direction[1])), turns=turns)
        out.append(piece)
    return out


def _move(mesh: Mesh, u: Array, number: int) -> tuple[Array, float]:
    """Shift of a piece's middle, and how far turning moves its farthest node [mm]."""
    on = mesh.piece == number
    turn = turned_about(mesh.points[on], mesh.points[on].mean(axis=0))
    angle = np.sum(turn * u[on]) / np.sum(turn**2)
    return u[on].mean(axis=0), float(angle * np.hypot(*turn.T).max())
