"""The records of a deformed block: on the path to equilibrium, and in it."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from squeeze.solve.contact.problem import ContactSolution
from squeeze.solve.large.faces.current_rows import CurrentRows
from squeeze.solve.large.loads.band import Hull
from squeeze.solve.large.loads.current_forces import CurrentForces
from squeeze.solve.large.rubber.body import State
from squeeze.solve.outcome import Outcome

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Deformed:
    """The block at large deformation.

    Attributes
    ----------
    outcome : Outcome
    share : float
        Share of the loads at which the block is in equilibrium.
    state : State
    contact : ContactSolution
        Pressures, shear, weighted gaps, slips since the unloaded block.
    wet : array (c,) of bool
    faces : CurrentRows
    band : Hull
    pull_n_per_mm : float
    residual : float
        Largest residual force at a node, over the sum of the loads.
    balance : float
        Largest force at the pins of the whole, over the sum of the loads.
    gap_error : float
        How far faces overlap, or pressed ones stand apart, over the widest gap.
    on_pieces : array (2 n,)
        Forces of loads and contact at each node.
    load : float
        Sum of the sizes of all given forces.
    steps : int
        Tangents that were factorised.
    negative : int
        Number of motions that no face holds and along which the block is unstable.
    iterate : Iterate
        Where the solve of a similar case may start; what follows from it by the case is left out.
    """

    outcome: Outcome
    share: float
    state: State
    contact: ContactSolution
    wet: Mask
    faces: CurrentRows
    band: Hull
    pull_n_per_mm: float
    residual: float
    balance: float
    gap_error: float
    on_pieces: Array
    load: float
    steps: int
    negative: int
    iterate: Iterate


@dataclass(frozen=True, eq=False)
class Iterate:
    """The deformed body and what presses on it, on the path to equilibrium or in it.

    Attributes
    ----------
    state : State
    contact : ContactSolution or None
        None before the first step.
    wet : array (c,) of bool
    faces : CurrentRows or None
    outer : CurrentForces or None
    residual, balance, gap_error, on_pieces, negative :
        As in `Deformed`.
    good : bool
        Whether it is in equilibrium.
    passed : tuple of (share, State)
        The equilibria that the loads passed as they grew, up to this one.
    """

    state: State
    contact: ContactSolution | None = None
    wet: Mask = field(default_factory=lambda: np.zeros(0, bool))
    faces: CurrentRows | None = None
    outer: CurrentForces | None = None
    residual: float = np.inf
    balance: float = np.inf
    gap_error: float = np.inf
    on_pieces: Array = field(default_factory=lambda: np.zeros(0))
    negative: int = 0
    good: bool = False
    passed: tuple[tuple[float, State], ...] = ()
