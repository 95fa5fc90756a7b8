"""How far an answer can be relied on: how well it balances, and what it cost to find."""

from __future__ import annotations

from dataclasses import dataclass

from squeeze.solve.outcome import Outcome


@dataclass(frozen=True)
class Piece:
    """A part of the section that hangs together, and how well its forces balance.

    Attributes
    ----------
    middle_mm : (x, y)
    area_mm2 : float
    force_balance : float
        Out-of-balance force over the sum of all forces on the section.
    moment_balance : float
        Out-of-balance moment over its farthest arm, over the sum of all forces on the section.
    goes : (x, y) or None
        When nothing holds it: the direction in which its middle goes, against the largest piece (a
        unit vector).
    turns : int
        When nothing holds it: +1 turns counter-clockwise, -1 clockwise, 0 does not turn
        to speak of.
    """

    middle_mm: tuple[float, float]
    area_mm2: float
    force_balance: float
    moment_balance: float
    goes: tuple[float, float] | None = None
    turns: int = 0


@dataclass(frozen=True)
class Trust:
    """How far the answer can be relied on.

    Attributes
    ----------
    outcome : Outcome
    force_balance : float
        Largest out-of-balance force or moment of any piece over the sum of the forces on the
        section.
    complementarity : float
        Largest violation of any contact condition (pressure, gap, friction), each over its own
        scale.
    largest_strain_pct : float
        Largest strain in the rubber [%]; linear elasticity is left above 10.
    strain_at_mm : (x, y)
        Where that is.
    pieces : tuple of Piece
        Balance of every piece.
    unknowns : int
        Number of displacement unknowns.
    contact_places : int
    contact_steps : int
        Steps that the contact solve took.
    residual : float
        Largest force left over at any node (stiffness times displacement against loads and
        contact), over the sum of the loads.
    """

    outcome: Outcome
    force_balance: float
    complementarity: float
    largest_strain_pct: float
    strain_at_mm: tuple[float, float]
    pieces: tuple[Piece, ...]
    unknowns: int
    contact_places: int
    contact_steps: int
    residual: float = 0.0


@dataclass(frozen=True)
class Seconds:
    """Wall time of each part of the solve [s].

    Attributes
    ----------
    mesh, assemble, factor, contact, total : float
        In the order in which they come [s].
    """

    mesh: float
    assemble: float
    factor: float
    contact: float
    total: float
