"""The seat that closes evenly: how far a cradle piece's seat should stand off, and where.

The unloaded gap g of a seat enters the contact problem as a known vector, so as long as no place
opens, closes, sticks or slides, pressures respond to it linearly, and one dense system in the
compliance of the seams holds the response:

    C dp + G da = -dg ,   G' dp = 0    at the places that press.

With the response known, the profile that makes least over mean pressure as large as possible is a
linear programme for each guess of that share (W. Dinkelbach, Manage. Sci. 13 (1967) 492). Each step
is checked by a new contact solve, and taken back half way when it does not hold; no new factor is
needed.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linprog

from squeeze.mold.forces.loads import Loads
from squeeze.solve.block import Block
from squeeze.solve.contact.active_set import FreeTractions
from squeeze.solve.contact.problem import ContactProblem, ContactSolution
from squeeze.solve.contact.rows import with_friction_and_gap
from squeeze.solve.contact.solution import solve_contact

Array = NDArray[np.float64]
Profile = Mapping[str, Sequence[float] | Array]
"""By name of the cradle piece: gap [mm], spread evenly along its seat."""

STEPS = 30
SAMPLES = 65
LARGEST_MM = 5.0
ENOUGH = 1e-4  # gain in evenness under which the search ends


@dataclass(frozen=True, eq=False)
class EvenSeat:
    """What the search found.

    Attributes
    ----------
    gap_mm : dict of tuple
        By piece: how far its seat stands off, evenly along it; ready for `block.close(gap=...)`.
    size_mm : array (k,)
        How much of each given profile is in it.
    evenness_before, evenness : float
        Least over mean pressure on the chosen lands, with seats as they were and with these.
    least_kpa, mean_kpa : float
        Pressure on the chosen lands with these seats.
    solves : int
        Contact solves that it took; none needs a new factor.
    """

    gap_mm: dict[str, tuple[float, ...]]
    size_mm: Array
    evenness_before: float
    evenness: float
    least_kpa: float
    mean_kpa: float
    solves: int


def even_seat(
    block: Block, profiles: Sequence[Profile], loads: Loads, cuts: Sequence[str] = ()
) -> EvenSeat:
    """Return the mixture of seat profiles that makes the pressure on lands as even as possible.

    Parameters
    ----------
    block : Block
        With cradle pieces.
    profiles : sequence of Profile
        Shapes of a seat to mix, such as one crown; each may be taken with either sign.
    loads : Loads
    cuts : sequence of str
        Names of the cuts whose lands count; all when there are none.

    Returns
    -------
    EvenSeat
        Where pressure already is as even as the profiles allow, their sizes are 0.
    """
    trial = SeatTrial(block, profiles, loads, cuts)
    size = np.zeros(len(profiles))
    now = trial.solve(size)
    before = best = trial.evenness(now)
    reach = LARGEST_MM / 4
    for _ in range(STEPS):
        ahead = np.clip(size + trial.step(now, size, reach), -LARGEST_MM, LARGEST_MM)
        then = trial.solve(ahead)
        if trial.evenness(then) > best + ENOUGH:
            size, now, best = ahead, then, trial.evenness(then)
            reach = min(2 * reach, LARGEST_MM)
        elif reach < 0.02:
            break
        else:
            reach /= 2
    p = 1000.0 * now.p[trial.places]
    return EvenSeat(
        trial.gaps(size), size, before, best, float(p.min()), trial.mean(p), trial.solves
    )


class SeatTrial:
    """One block under one load, and the seats' profiles that are tried on it."""

    def __init__(
        self, block: Block, profiles: Sequence[Profile], loads: Loads, cuts: Sequence[str]
    ):
        self.block, self.profiles, self.solves = block, profiles, 0
        rows = block.contact_rows
        self.problem = block.problem(loads)
        self.columns = np.column_stack([self._weighted(profile) for profile in profiles])
        self.places = np.concatenate(
            [
                np.arange(a, b)
                for land, a, b in zip(
                    block.mesh.lands, rows.begins[:-1], rows.begins[1:], strict=False
                )
                if not cuts or block.section.cuts[land.cut].name in cuts
            ]
        )
        self.weight = rows.weight[self.places] / rows.weight[self.places].sum()

    def _weighted(self, profile: Profile) -> Array:
        """Weighted gap (c,) of a profile, all other seams closed."""
        section = self.block.section
        made = replace(
            section,
            cuts=tuple(replace(cut, gap_mm=(0.0,)) for cut in section.cuts),
            cradles=tuple(
                replace(piece, gap_mm=tuple(profile.get(piece.name, [0.0])))
                for piece in section.cradles
            ),
        )
        return with_friction_and_gap(self.block.contact_rows, self.block.mesh, made.seams).gap0

    def solve(self, size: Array) -> ContactSolution:
        """Solve with `size` (k,) of each profile."""
        self.solves += 1
        more = np.concatenate([self.columns @ size, np.zeros(len(self.problem.mu))])
        return solve_contact(replace(self.problem, q=self.problem.q + more))

    def mean(self, p: Array) -> float:
        """Return the mean of pressures `p` (m,) over the chosen lands."""
        return float(self.weight @ p)

    def evenness(self, contact: ContactSolution) -> float:
        """Least over mean pressure on the chosen lands; less than 0 for a state to avoid."""
        if not contact.outcome.has_answer:
            return -1.0
        p = contact.p[self.places]
        mean = self.mean(p)
        # an open land counts by how much of it is open, so that the search has somewhere to go
        return float(p.min() / mean) if p.min() > 0 else -float(self.weight @ (p <= 0))

    def step(self, contact: ContactSolution, size: Array, reach: float) -> Array:
        """Return the change (k,) of sizes, each at most `reach` [of a profile], that promises most.

        `size` (k,) is how much of each profile there is, `contact` what it gave.
        """
        p, dp = contact.p[self.places], response(self.problem, contact, self.columns)[self.places]
        k = len(size)
        share, delta = self.evenness(contact) if p.min() > 0 else 0.0, np.zeros(k)
        for _ in range(8):
            # maximise m - share * mean,  m <= p + dp delta
            A = np.column_stack([-dp, np.ones(len(p))])
            cost = np.concatenate([share * (self.weight @ dp), [-1.0]])
            box = [(-reach, reach)] * k + [(None, None)]
            found = linprog(cost, A_ub=A, b_ub=p, bounds=box)
            if not found.success:
                return delta
            delta = np.asarray(found.x[:k])
            ahead = p + dp @ delta
            better = float(ahead.min() / self.mean(ahead))
            if better < share + 1e-9:
                break
            share = better
        return delta

    def gaps(self, size: Array) -> dict[str, tuple[float, ...]]:
        """Return the seats' gaps by piece with `size` (k,) of each profile, none negative [mm]."""
        found = {}
        for piece in self.block.section.cradles:
            if not any(piece.name in profile for profile in self.profiles):
                continue
            gap = _sampled(piece.gap_mm) + sum(
                k * _sampled(profile[piece.name])
                for k, profile in zip(size, self.profiles, strict=True)
                if piece.name in profile
            )
            found[piece.name] = tuple(map(float, gap - min(0.0, gap.min())))
        return found


def _sampled(gap: Sequence[float] | Array) -> Array:
    given = np.resize(np.asarray(gap, float), max(2, len(gap)))
    return np.interp(np.linspace(0, 1, SAMPLES), np.linspace(0, 1, len(given)), given)


@dataclass(frozen=True)
class SawError:
    """What a seat that is sawn a little wrong does.

    Attributes
    ----------
    say : str
        What is wrong with it.
    evenness : float
        Least over mean pressure on the chosen lands; 0 where one opens.
    least_kpa : float
    """

    say: str
    evenness: float
    least_kpa: float


def saw_errors(
    block: Block, gaps: Profile, loads: Loads, error_mm: float = 0.5, cuts: Sequence[str] = ()
) -> tuple[SawError, ...]:
    """Return what becomes of the pressure when seats are sawn wrong, the worst first.

    Parameters
    ----------
    block : Block
    gaps : Profile
        The seats as meant, by piece.
    loads : Loads
    error_mm : float
        By how much the saw strays.
    cuts : sequence of str
        Cuts whose lands count; all when there are none.
    """
    x = np.linspace(-1.0, 1.0, SAMPLES)
    shapes = {
        "low at both ends": x**2,
        "low in the middle": 1 - x**2,
        "wavy": 0.5 * (1 + np.sin(1.5 * np.pi * x)),
    }
    profiles = [{name: error_mm * shape} for name in gaps for shape in shapes.values()]
    says = [f"'{name}' {error_mm:g} mm {say}" for name in gaps for say in shapes]
    there = {piece.name: _sampled(piece.gap_mm) for piece in block.section.cradles}
    more = [{name: _sampled(gap) - there[name]} for name, gap in gaps.items()]
    trial = SeatTrial(block, [*more, *profiles], loads, cuts)
    meant = np.zeros(len(gaps) + len(profiles))
    meant[: len(gaps)] = 1.0
    found = []
    for k, say in enumerate(says, start=len(gaps)):
        size = meant.copy()
        size[k] = 1.0
        contact = trial.solve(size)
        least = 1000.0 * float(contact.p[trial.places].min())
        found.append(SawError(say, max(0.0, trial.evenness(contact)), least))
    return tuple(sorted(found, key=lambda error: error.evenness))


def saw_tolerance(
    block: Block, gaps: Profile, loads: Loads, least_evenness: float, most_mm: float = 0.5
) -> float:
    """Return by how much the saw may stray before evenness falls under `least_evenness` [mm].

    At most `most_mm` is looked at. By bisection over the worst of `saw_errors`, to 0.01 mm.
    """

    def holds(error_mm: float) -> bool:
        return saw_errors(block, gaps, loads, error_mm)[0].evenness >= least_evenness

    if holds(most_mm):
        return most_mm
    low, high = 0.0, most_mm
    while high - low > 0.01:
        middle = (low + high) / 2
        low, high = (middle, high) if holds(middle) else (low, middle)
    return low


def response(problem: ContactProblem, contact: ContactSolution, columns: Array) -> Array:
    """Return how pressures respond to more gap, as long as every place keeps its state.

    Parameters
    ----------
    problem : ContactProblem
    contact : ContactSolution
        Its answer.
    columns : array (c, k)
        Weighted gaps [mm2] that are added.

    Returns
    -------
    array (c, k)
        Change of pressure [MPa] per unit of each column.
    """
    free = FreeTractions.of(problem.mu, contact.state)
    press, C, R = free.closed, free.reduced(problem.C[free.rows]), problem.R[free.rows]
    H = free.reduced(problem.R.T).T
    scale = np.abs(problem.R).max() / np.abs(problem.C).max()
    k = problem.R.shape[1]
    M = np.block([[C * scale, R], [H.T, np.zeros((k, k))]])
    right = np.zeros((len(M), columns.shape[1]))
    right[: len(press)] = -columns[press]
    x = np.linalg.lstsq(M, right, rcond=1e-13)[0]
    dp = np.zeros((len(contact.p), columns.shape[1]))
    dp[press] = scale * x[: len(press)]
    return dp
