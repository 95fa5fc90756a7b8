"""The factorised tangent of the deformed block, bordered with the contact rows.

As in the linear section (`elastic.schur`) the contact rows are eliminated last, so that their
compliance falls out of the trailing block of the factors. The tangent need not be definite: its
negative pivots show whether the block is stable.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import cast

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array, csc_array, csr_array, vstack
from scipy.sparse.linalg import SuperLU, splu

from squeeze.solve.contact.coulomb import OPEN, STICK
from squeeze.solve.contact.problem import ContactSolution
from squeeze.solve.large.faces.current_rows import CurrentRows
from squeeze.solve.large.loads.current_forces import CurrentForces
from squeeze.solve.large.reference import ReferenceModel
from squeeze.solve.large.rubber.body import Tangent

Array = NDArray[np.float64]
Whole = NDArray[np.int64]

HARD = 1e3
"""Pins of the block as a whole, over the stiffness of the rubber."""


@dataclass(frozen=True, eq=False)
class TangentSystem:
    """A factorised tangent bordered with the contact rows, and their compliance.

    Where the bands' pull changes with their length, the stiffness has a part of rank one, rate x
    slope (x) slope. The slope of the length then is one more row of the border, and its spring is
    put on here.
    """

    lu: SuperLU
    place: Whole
    full: Array
    delta: float
    below_zero: int
    rate: float

    @property
    def rows(self) -> int:
        """Contact rows."""
        return len(self.full) - bool(self.rate)

    @property
    def C(self) -> Array:
        """Compliance (2 c, 2 c) of the contact rows."""
        if not self.rate:
            return self.full
        spring = 1.0 / self.rate + self.full[-1, -1]
        return self.full[:-1, :-1] - np.outer(self.full[:-1, -1], self.full[-1, :-1]) / spring

    def _bare(self, f: Array) -> Array:
        b = np.zeros(self.lu.shape[0])
        b[self.place] = f
        x = self.lu.solve(b)[len(f) :]
        return self.full @ x + self.delta * x

    def free_gaps(self, f: Array) -> Array:
        """Return contact rows times displacement (2 c,) under the nodal force `f` (2 n,)."""
        bare = self._bare(f)
        if not self.rate:
            return bare
        spring = bare[-1] / (1.0 / self.rate + self.full[-1, -1])
        return bare[:-1] - self.full[:-1, -1] * spring

    def displaced(self, f: Array, traction: Array) -> Array:
        """Return the displacement (2 n,) under force `f` (2 n,) and `traction` (2 c,) on faces."""
        bare = self._bare(f)
        if self.rate:
            pulled = bare[-1] + self.full[-1, :-1] @ traction
            traction = np.append(traction, -pulled / (1.0 / self.rate + self.full[-1, -1]))
        b = np.zeros(self.lu.shape[0])
        b[self.place] = f
        b[len(f) :] = bare + self.full @ traction + self.delta * traction
        return self.lu.solve(b)[self.place]

    def negative(self, contact: ContactSolution) -> int:
        """Unstable motions that no pressed place holds (Sylvester's law of inertia)."""
        c = len(contact.state)
        kept = np.concatenate(
            [np.flatnonzero(contact.state != OPEN), c + np.flatnonzero(contact.state == STICK)]
        )
        C = self.C[np.ix_(kept, kept)]
        held = int((np.linalg.eigvalsh(0.5 * (C + C.T)) < 0).sum()) if len(kept) else 0
        return max(self.below_zero - held, 0)


def tangent_system(
    model: ReferenceModel,
    outer: CurrentForces,
    body: Tangent,
    faces: CurrentRows,
    contact: ContactSolution | None,
    floor: Array,
    softness: float,
) -> TangentSystem | None:
    """Factorise the tangent with the contact rows last; None where it is singular.

    Parameters
    ----------
    model : ReferenceModel
    outer : CurrentForces
        The loads, with their stiffness.
    body : Tangent
    faces : CurrentRows
    contact : ContactSolution or None
        Pressures whose forces turn with the faces; without it that stiffness is left out.
    floor : array (c,)
        Pressure of the resin at wet places [MPa].
    softness : float
        Springs that hold loose pieces, over the stiffness of the rubber.
    """
    n = 2 * len(model.mesh.points)
    place = model.place(faces.coupled if contact is not None else faces.coupled[:0])
    rows = [model.stiffness.rows, outer.rows]
    columns = [model.stiffness.columns, outer.columns]
    values = [model.stiffness.of(body.K), outer.values]
    if contact is not None:
        turning = faces.turning(np.where(faces.counts, np.maximum(contact.p, 0.0) + floor, 0.0))
        rows.append(np.asarray(turning.coords[0], np.int64))
        columns.append(np.asarray(turning.coords[1], np.int64))
        values.append(np.asarray(turning.data, np.float64))
    for at, stiff in ((model.fixed, HARD), (model.soft, softness)):
        rows.append(at)
        columns.append(at)
        values.append(np.full(len(at), stiff * model.scale))
    last_row = [csr_array(outer.band.slope[None, :])] if outer.rate else []
    border = coo_array(vstack([faces.normal, faces.along, *last_row]))
    opening = coo_array(vstack([faces.opening, faces.along, *last_row]))
    c = cast(tuple[int, int], border.shape)[0]
    i, j = (np.concatenate(part) for part in (rows, columns))
    inside = np.concatenate(values)
    own = i == j
    delta = _typical(np.asarray(np.bincount(i[own], inside[own], n), np.float64), border)
    last = n + np.arange(c)
    at = (
        np.concatenate([place[i], n + opening.coords[0], place[border.coords[1]], last]),
        np.concatenate([place[j], place[opening.coords[1]], n + border.coords[0], last]),
    )
    data = np.concatenate([inside, opening.data, border.data, np.full(c, -delta)])
    if not np.isfinite(data).all():
        return None
    matrix = csc_array(coo_array((data, at), shape=(n + c, n + c)))
    try:
        lu = splu(
            matrix, permc_spec="NATURAL", diag_pivot_thresh=0.0, options={"SymmetricMode": True}
        )
        C = -_schur_complement(lu, c) - delta * np.eye(c)
    except (RuntimeError, ArithmeticError):
        return None
    below = int((lu.U.diagonal()[:n] < 0).sum())
    return TangentSystem(lu, place, C, delta, below, outer.rate)


def _schur_complement(lu: SuperLU, size: int) -> Array:
    """Product of the trailing blocks of the factors: the Schur complement of what comes before."""
    n = lu.shape[0]
    if (lu.perm_r != lu.perm_c).any() or (lu.perm_c[: n - size] >= n - size).any():
        raise ArithmeticError("the factorisation left its diagonal or its order")
    place = lu.perm_c[n - size :] - (n - size)
    L, U = (part[:, n - size :][n - size :].toarray() for part in (lu.L, lu.U))
    return (L @ U)[np.ix_(place, place)]


def _typical(diagonal: Array, border: coo_array) -> float:
    size = np.bincount(border.coords[0], np.abs(border.data))
    if not len(size):
        return 1e-30
    own = np.bincount(border.coords[0], np.abs(border.data) * np.abs(diagonal[border.coords[1]]))
    square = np.bincount(border.coords[0], border.data**2)
    good = own > 0
    return float(np.max(square[good] * size[good] / own[good], initial=1e-30))
