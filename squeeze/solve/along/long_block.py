"""A block over its whole length: bands at their places, pressure over the whole parting plane.

The block is prismatic, and its ends are mirrors: a cosine series along the block repeats it,
mirrored, beyond both ends. Free ends differ from that within about one wall depth; `EndEffects`
says when that matters. Friction between the faces is that of the section under the mean loads: it
carries its share of the mean pressure, not of the ripple.
"""

from __future__ import annotations

import os
import time
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from squeeze.mold import Mold, NotSolved, loads_of, resin_ends_mpa, wrap_mm
from squeeze.mold.forces.loads import Loads
from squeeze.solve.along.compliance import unit_responses
from squeeze.solve.along.land_maps import land_maps
from squeeze.solve.along.loads import BandAt, band_series, bands_of, head_series, smeared_of
from squeeze.solve.along.partial_cuts import cut_extent
from squeeze.solve.along.plane import PlaneProblem, PlaneSolution, solve_plane
from squeeze.solve.along.record import AlongClosing, end_effects, wall_depth_mm
from squeeze.solve.along.section_mesh import FEWEST_WAVES, coarse_enough
from squeeze.solve.along.surface import MORE, surface
from squeeze.solve.block import Block
from squeeze.solve.contact.given_forces import GivenForces
from squeeze.solve.contact.problem import ContactSolution, contact_problem
from squeeze.solve.contact.wetting import ResinPaths, flooded_places, solve_with_resin
from squeeze.solve.load_case import checked_mold
from squeeze.solve.outcome import Outcome

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

STEP_MM = 4.5
MOST_WAVES = 48
MOST_FLOODS = 30

MOST_WORK = 8e9
"""Multiplications after which the contact over the parting plane is given up; about half a minute.

What counts is the matrices of all waves, applied as often as the contact asks for; most molds need
a hundredth of it. The count does not depend on how busy the machine is."""


def waves_for(length_mm: float) -> int:
    """Return how many waves a block of `length_mm` [mm] takes, 16 to 48: places 4.5 mm apart."""
    return int(np.clip(round(length_mm / STEP_MM), FEWEST_WAVES, MOST_WAVES))


class LongBlock:
    """A block factorised for each wave along its length; each layout of bands is cheap after that.

    Parameters
    ----------
    mold : Mold
    waves : int, optional
        Number of waves, the even one included, and of places along the block; by default
        `waves_for` its length.
    fineness : float
        Of the section's mesh.
    workers : int, optional
        Factorisations at the same time; by default one for each processor, at most 4.
    most_factorised : float
        Unknowns of the section times waves beyond which its mesh is made coarser, and where that
        does not suffice, the waves fewer.

    Attributes
    ----------
    is_coarse : bool
        Whether its mesh is coarser than asked for.

    Raises
    ------
    BadInput
        When the argument is not a mold, a figure is out of its range, or the section cannot be
        meshed.
    """

    def __init__(
        self,
        mold: Mold,
        waves: int | None = None,
        fineness: float = 1.0,
        workers: int | None = None,
        most_factorised: float = np.inf,
    ):
        began = time.perf_counter()
        self.mold = checked_mold(mold)
        self.length_mm = float(mold.length_mm)
        self.count: int = waves_for(self.length_mm) if waves is None else waves
        asked = Block(mold, fineness)
        self.block, self.count = coarse_enough(asked, mold, most_factorised, self.count)
        self.is_coarse = self.block is not asked
        del asked  # its factor would fill memory
        self.section = self.block.section
        self.wrap_mm = wrap_mm(self.section)
        self.z_mm = (np.arange(self.count) + 0.5) * self.length_mm / self.count
        self.loads = loads_of(mold, self.section)
        band = self.block.solved_loads.given_forces(
            Loads(tension_n_per_mm=1.0, grips=self.loads.grips)
        )
        self.band, self.resin = band, self.block.solved_loads.given_forces(Loads(cavity_mpa=1.0))
        rest = replace(self.loads, tension_n_per_mm=0.0, cavity_mpa=0.0)
        self.rest = self.block.solved_loads.given_forces(rest)
        self.cut_extent = cut_extent(self.block, mold, self.z_mm, self.length_mm)
        workers = min(4, os.cpu_count() or 1) if workers is None else workers
        all_waves = MORE * self.count
        top = np.pi * (all_waves - 1) / self.length_mm
        self.numbers: Array = np.linspace(0.0, top, all_waves, dtype=np.float64)
        self.responses = unit_responses(
            self.block,
            (self.band, self.resin),
            self.numbers[: self.count],
            self.cut_extent.held,
            workers,
        )
        self.surface = surface(self.block, band.f)
        self.seconds = time.perf_counter() - began

    def __repr__(self) -> str:
        return f"LongBlock: {self.mold.title!r}, {self.length_mm:g} mm long, {self.count} waves"

    def close(
        self,
        bands: Sequence[BandAt] | None = None,
        *,
        smeared_n_per_mm: float | None = None,
        resin_kpa: float | tuple[float, float] | None = None,
        most_work: float = MOST_WORK,
        check: bool = True,
    ) -> AlongClosing:
        """Close the block under one layout of bands; what the call leaves out is as in its mold.

        Parameters
        ----------
        bands : sequence of BandAt, optional
        smeared_n_per_mm : float, optional
            Tension without a place, spread over the length.
        resin_kpa : float or (float, float), optional
            Pressure of the resin on the cavities, at the block's start and at its end [kPa].
        most_work : float
            Multiplications after which the contact is given up, with the outcome of the step limit
            [1].
        check : bool
            Raise where there is no certified answer. With False the closing is returned all the
            same: its `outcome` says why there is none, and its figures are NaN.

        Returns
        -------
        AlongClosing

        Raises
        ------
        NotSolved
            When there is no certified answer, unless `check` is False.
        """
        began = time.perf_counter()
        bands = bands_of(self.mold, self.wrap_mm) if bands is None else tuple(bands)
        smeared = smeared_of(self.mold) if smeared_n_per_mm is None else smeared_n_per_mm
        if resin_kpa is None:
            ends = resin_ends_mpa(self.mold)
        else:
            start, end = np.broadcast_to(np.asarray(resin_kpa, float), 2).tolist()
            ends = (start / 1000, end / 1000)
        tension = band_series(bands, self.length_mm, len(self.numbers))
        tension[0] += smeared
        resin = head_series(*ends, self.count)
        even = self._mean_section(tension[0], resin[0])
        solution = None
        if even is None or even.outcome.has_answer:
            solution = self._flooded(self._bonded(tension, resin, even), ends, most_work)
        outcome = solution.outcome if solution else even.outcome if even else Outcome.STEP_LIMIT
        if check and not outcome.has_answer:
            raise NotSolved(f"{outcome.cause} {outcome.remedy}")
        return AlongClosing(
            title=self.mold.title,
            section=self.section,
            length_mm=self.length_mm,
            bands=bands,
            smeared_n_per_mm=smeared,
            resin_kpa=1000 * np.interp(self.z_mm, [0, self.length_mm], ends),
            lands=land_maps(
                self.block, self.cut_extent, self.z_mm, solution if outcome.has_answer else None
            ),
            ends=end_effects(bands, self.length_mm, wall_depth_mm(self.section)),
            outcome=outcome,
            force_balance=self._balance(tension[0], resin[0], even, solution),
            complementarity=solution.complementarity if solution else 1.0,
            steps=solution.steps if solution else 0,
            products=solution.products if solution else 0,
            seconds=time.perf_counter() - began,
        )

    def _mean_forces(self, tension: float, resin: float) -> GivenForces:
        """Return the forces of the mean loads."""
        return self.rest + tension * self.band + resin * self.resin

    def _mean_section(self, tension: float, resin: float) -> ContactSolution | None:
        """Return the section under the mean loads; None where whole rubber holds it together."""
        block = self.block
        c = len(block.contact_rows.weight)
        if len(self.cut_extent.held) or not c:
            return None
        problem = contact_problem(
            block.factor, block.contact_rows, self._mean_forces(tension, resin)
        )
        return solve_with_resin(
            problem, block.resin_paths, resin if self.loads.enters_cuts else 0.0
        )[0]

    def _balancing(self, tension: float, resin: float, even: ContactSolution | None) -> Array:
        """Return the force of the pressures along each motion (k,) that balances all mean loads."""
        b = self._mean_forces(tension, resin).b
        if even is not None:
            b = b - self.block.factor.rigid[len(even.t) :].T @ even.t
        return self.responses.basis.T @ b

    def bonded_waves(
        self, tension: Array, resin: Array | None = None, even: ContactSolution | None = None
    ) -> Array:
        """Solve the block with every face bonded, wave by wave.

        Parameters
        ----------
        tension : array (M,) or more
            Amplitudes of the bands' tension [N/mm].
        resin : array (M,), optional
            Amplitudes of the resin's pressure [MPa].
        even : ContactSolution, optional
            The section under the mean loads, for its friction.

        Returns
        -------
        array (M, r)
            Amplitudes of the tractions on the faces [MPa].
        """
        responses, M, c = self.responses, self.count, len(self.block.contact_rows.weight)
        resin = np.zeros(M) if resin is None else resin
        q = (responses.free_gaps @ np.stack([tension[:M], resin], axis=1)[..., None])[..., 0]
        here = np.concatenate([np.arange(c), c + self.cut_extent.held])
        static = self.rest.free_gaps
        if even is not None:
            static = static + self.block.factor.C[:, c:] @ even.t
        q[0, : len(here)] += static[here]
        t = -np.matmul(responses.waves.S, q[..., None])[..., 0]
        t[0] += responses.spread.T @ self._balancing(float(tension[0]), float(resin[0]), even)
        t[1:, :c] = self.surface.mended(t[1:, :c], tension[1:M], self.numbers[1:M])
        return t

    def _bonded(self, tension: Array, resin: Array, even: ContactSolution | None) -> Array:
        """Tractions (M, r) with every face bonded, at places; unloaded gaps are pressed shut."""
        waves, M, c = self.responses.waves, self.count, len(self.block.contact_rows.weight)
        root = np.sqrt(M / np.where(np.arange(M) == 0, 1.0, 2.0))[:, None]
        places = waves.to_places(root * self.bonded_waves(tension, resin, even))
        places[:, :c] += self.surface.rest(tension[M:], self.numbers[M:], self.z_mm)
        gap0 = np.zeros_like(places)
        gap0[:, :c] = self.block.contact_rows.gap0 * self.cut_extent.faces[:, :c]
        return places - waves.apply(waves.S, gap0) if gap0.any() else places

    def _flooded(
        self, bonded: Array, resin: tuple[float, float], most_work: float = MOST_WORK
    ) -> PlaneSolution:
        """Solve with resin in the open places that are connected to a cavity."""
        pressure = np.interp(self.z_mm, [0, self.length_mm], resin)[:, None]
        most = most_work // max(self.responses.waves.S.size, 1)
        c = len(self.block.contact_rows.weight)
        wet = np.zeros(self.cut_extent.faces.shape, bool)
        solution = solve_plane(self._plane(bonded, wet * pressure), most_products=most)
        for _ in range(MOST_FLOODS if self.loads.enters_cuts and pressure.any() else 0):
            more = wet.copy()
            more[:, :c] |= _flooded_along(self.block.resin_paths, solution.open[:, :c])
            if solution.outcome is not Outcome.CONVERGED or (more == wet).all():
                break
            wet, before = more, solution
            plane = self._plane(bonded, wet * pressure)
            solution = solve_plane(plane, before, most - before.products)
            solution = replace(
                solution,
                steps=before.steps + solution.steps,
                products=before.products + solution.products,
            )
        return solution

    def _plane(self, bonded: Array, resin: Array) -> PlaneProblem:
        """Return the contact problem with tractions `bonded` and `resin` between open faces."""
        extent = self.cut_extent
        return PlaneProblem(self.responses.waves, bonded, extent.faces, extent.slides, resin)

    def _balance(
        self,
        tension: float,
        resin: float,
        even: ContactSolution | None,
        solution: PlaneSolution | None,
    ) -> float:
        load = self._mean_forces(tension, resin).size
        if solution is None or not load:
            return 0.0 if not load else 1.0
        left = self.responses.motions.T @ solution.traction.mean(axis=0) - self._balancing(
            tension, resin, even
        )
        return float(np.abs(left).max(initial=0.0) / load)


def _flooded_along(paths: ResinPaths, stands_open: Mask) -> Mask:
    """Return the places (M, c) that a liquid reaches from the cavities, across and along."""
    M, c = stands_open.shape
    slices = c * np.arange(M)[:, None, None]
    across = (slices + paths.links).reshape(-1, 2)
    number = np.arange(M * c).reshape(M, c)
    along = np.column_stack([number[:-1].ravel(), number[1:].ravel()])
    mouths = (c * np.arange(M)[:, None] + paths.mouths).ravel()
    return flooded_places(
        ResinPaths(np.vstack([across, along]), mouths), stands_open.ravel()
    ).reshape(M, c)
