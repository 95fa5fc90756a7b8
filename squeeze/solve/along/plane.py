"""One-sided contact over the whole parting plane: places on the lands, places along the block.

Every quantity is a cosine series along the block, sampled midway between M + 1 even steps (a
discrete cosine transform of type II); sliding along the block is a sine series, sampled at the
steps between (a discrete sine transform of type I). A wave touches no other, so compliance C and
stiffness S of the seams are one small matrix a wave, and applying them costs two transforms and M
small products. From the bonded block, whose tractions t0 are known, faces are released where they
would pull:

    t = t0 + S x ,    x >= 0 ,   t >= r ,   (t - r) x = 0   on the faces of a cut

with x the weighted gap and r the resin's pressure between open faces. Where no face opens, there is
nothing to solve. Primal-dual active set as in the section; inside it conjugate gradients on the
open places, preconditioned with C.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from squeeze.solve.outcome import Outcome

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

MOST_STEPS = 60
MOST_PRODUCTS = 4000
_ROUGH, _SOLVED = 1e-6, 1e-13
"""Traction left on free faces, over the largest: while places change, and of the answer."""


@dataclass(frozen=True, eq=False)
class Waves:
    """Compliance and stiffness of the seams, wave by wave.

    Attributes
    ----------
    C : array (M, r, r)
        Compliance; rows are weighted gaps and, for cuts over part of the length, sliding along the
        cut and along the block.
    S : array (M, r, r)
        Its inverse; at wave 0 that on the motions which the rigid pieces leave.
    sines : int
        How many of the last rows are sine series.
    cosine, sine : array (M, M)
        Orthonormal waves at the places, by columns: cosines midway between even steps, sines at
        their beginnings (neither the first place nor wave 0 has any).
    """

    C: Array
    S: Array
    sines: int
    cosine: Array
    sine: Array

    def to_waves(self, places: Array) -> Array:
        """Return values at places (M, r) as amplitudes of orthonormal waves."""
        c = places.shape[1] - self.sines
        if not self.sines:
            return self.cosine.T @ places
        return np.hstack([self.cosine.T @ places[:, :c], self.sine.T @ places[:, c:]])

    def to_places(self, waves: Array) -> Array:
        """Return values at places (M, r) from `waves` (M, r), amplitudes of orthonormal waves."""
        c = waves.shape[1] - self.sines
        if not self.sines:
            return self.cosine @ waves
        return np.hstack([self.cosine @ waves[:, :c], self.sine @ waves[:, c:]])

    def apply(self, matrices: Array, places: Array) -> Array:
        """Multiply values at `places` (M, r) with one of `matrices` (M, r, r) a wave, to (M, r)."""
        return self.to_places(np.matmul(matrices, self.to_waves(places)[..., None])[..., 0])


def orthonormal(count: int) -> tuple[Array, Array]:
    """Return the matrices (count, count) of the cosine and the sine series, as in `Waves`.

    They are the discrete cosine transform of type II and the sine transform of type I; for the few
    dozen places of a block the product is faster than the fast transform.
    """
    n, j = np.arange(count), np.arange(count)[:, None]
    scale = np.sqrt(np.where(n == 0, 1.0, 2.0) / count)
    return scale * np.cos(np.pi / count * (j + 0.5) * n), scale * np.sin(np.pi / count * j * n)


@dataclass(frozen=True, eq=False)
class PlaneProblem:
    """The contact problem of one layout of loads.

    Attributes
    ----------
    waves : Waves
    bonded : array (M, r)
        Tractions with every face bonded [MPa], at places.
    faces : mask (M, r)
        Where two faces may part (rows of gaps, inside a cut).
    slides : mask (M, r)
        Where two faces may slide on each other (rows of sliding, inside a cut).
    resin : array (M, r)
        Pressure between open faces [MPa].
    """

    waves: Waves
    bonded: Array
    faces: Mask
    slides: Mask
    resin: Array


@dataclass(frozen=True, eq=False)
class PlaneSolution:
    """Tractions and gaps over the parting plane.

    Attributes
    ----------
    outcome : Outcome
    traction, jump : array (M, r)
        Traction [MPa] and weighted gap or sliding [mm2] at each place.
    resin : array (M, r)
        The resin's part of the traction [MPa].
    open : mask (M, r)
    steps, products : int
        Steps of the active set, and products with S that they took.
    complementarity : float
        Largest of -pressure, -gap, pressure x gap, and traction left on free faces, each over its
        own scale.
    """

    outcome: Outcome
    traction: Array
    jump: Array
    resin: Array
    open: Mask
    steps: int
    products: int
    complementarity: float


def solve_plane(
    plane: PlaneProblem, start: PlaneSolution | None = None, most_products: float = np.inf
) -> PlaneSolution:
    """Solve the one-sided, frictionless contact over the parting plane.

    Parameters
    ----------
    plane : PlaneProblem
    start : PlaneSolution, optional
        The solution of a similar problem.
    most_products : float
        Products with S after which it is given up; the outcome is then that of the step limit.
    """
    open_ = plane.faces & (plane.bonded < plane.resin) if start is None else start.open
    jump = np.zeros_like(plane.bonded) if start is None else start.jump
    traction, products, outcome = plane.bonded, 0, Outcome.STEP_LIMIT
    seen: set[tuple[float, bytes]] = set()
    step, enough = 0, _ROUGH
    while step < MOST_STEPS:
        step += 1
        most = min(MOST_PRODUCTS, most_products - products)
        jump, used, converged = _release(plane, open_ | plane.slides, jump, enough, most)
        products += used
        traction = plane.bonded + plane.waves.apply(plane.waves.S, jump) if used else plane.bonded
        if not np.isfinite(traction).all():
            outcome = Outcome.NOT_FINITE
            break
        if not converged:
            is_cut_short = used >= most and most < MOST_PRODUCTS
            outcome = Outcome.STEP_LIMIT if is_cut_short else Outcome.PIECE_NOT_HELD
            break
        wrong = _wrong(plane, open_, traction, jump, 100 * enough)
        if not (wrong > 0).any():
            if enough == _SOLVED:
                outcome = Outcome.CONVERGED
                break
            step, enough = step - 1, _SOLVED
            continue
        now = enough, open_.tobytes()
        cycles = now in seen
        seen.add(now)
        open_ = open_ ^ ((wrong >= wrong.max()) if cycles else (wrong > 0))
    return _certified(plane, open_, traction, jump, outcome, step, products)


def _wrong(plane: PlaneProblem, open_: Mask, traction: Array, jump: Array, least: float) -> Array:
    """How far each place violates its condition: a closed one pulls, an open one overlaps."""
    pull, overlap = plane.resin - traction, -jump
    pulls = np.where(plane.faces & ~open_, pull / _scale(traction), 0.0)
    overlaps = np.where(open_, overlap / _scale(jump), 0.0)
    over = np.maximum(pulls, overlaps)
    return np.where(over > least, over, 0.0)


def _scale(values: Array) -> float:
    return max(float(np.abs(values).max(initial=0.0)), 1e-150)


def _release(
    plane: PlaneProblem, free: Mask, start: Array, share: float, most: float
) -> tuple[Array, int, bool]:
    """Return the jumps that leave free faces the resin's traction alone, products, and success.

    `share` is the largest traction that may remain, over the largest one; after `most` products it
    is given up.
    """
    if not free.any():
        return np.zeros_like(start), 0, True
    waves = plane.waves
    x = np.where(free, start, 0.0)
    wanted = np.where(free & plane.faces, plane.resin, 0.0) - plane.bonded
    left = np.where(free, wanted - waves.apply(waves.S, x), 0.0)
    enough = share * _scale(plane.bonded)
    z = np.where(free, waves.apply(waves.C, left), 0.0)
    d, rho, products = z, float(np.vdot(left, z)), 1
    while np.abs(left).max() > enough and products < most:
        Sd = np.where(free, waves.apply(waves.S, d), 0.0)
        products += 1
        energy = float(np.vdot(d, Sd))
        if not energy > 0:
            return x, products, False
        x = x + (rho / energy) * d
        left = left - (rho / energy) * Sd
        z = np.where(free, waves.apply(waves.C, left), 0.0)
        rho, before = float(np.vdot(left, z)), rho
        d = z + (rho / before) * d
    return x, products, products < most


def _certified(
    plane: PlaneProblem,
    open_: Mask,
    traction: Array,
    jump: Array,
    outcome: Outcome,
    steps: int,
    products: int,
) -> PlaneSolution:
    pressure, gap = _scale(traction), _scale(jump)
    over = np.where(plane.faces, traction - plane.resin, 0.0)
    apart = np.where(plane.faces, jump, 0.0)
    left = np.where(
        open_ | plane.slides, np.where(plane.faces, traction - plane.resin, traction), 0.0
    )
    wrong = max(
        -over.min(initial=0.0) / pressure,
        -apart.min(initial=0.0) / gap,
        float(np.abs(over * apart).max(initial=0.0)) / (pressure * gap),
        float(np.abs(left).max(initial=0.0)) / pressure,
    )
    if outcome is Outcome.CONVERGED and not wrong < 1e-9:
        outcome = Outcome.STEP_LIMIT
    exact = np.where(open_, plane.resin, traction)
    jump = np.where(open_ | plane.slides, jump, 0.0)
    return PlaneSolution(outcome, exact, jump, plane.resin, open_, steps, products, float(wrong))
