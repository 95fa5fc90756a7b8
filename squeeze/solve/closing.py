"""What a solve returns: how the cuts closed, as frozen records of read-only arrays.

Pressure is positive in compression [kPa], gaps are normal to the cut [mm], forces are per mm of
block length. Figures of a solve without an answer are NaN.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from squeeze.mold.forces.loads import Loads
from squeeze.mold.section.records import Section
from squeeze.solve.accuracy.errors import Errors
from squeeze.solve.array_record import ArrayRecord, LandRecord, short
from squeeze.solve.outcome import Outcome

Array = NDArray[np.float64]
Whole = NDArray[np.int64]


@dataclass(frozen=True, eq=False, repr=False)
class Land(LandRecord):
    """A stretch of cut with rubber on both sides; all arrays have one entry per place.

    Attributes
    ----------
    cut : str
        Name of the cut it belongs to.
    land : int
        Its number along the cut, from 0.
    s_mm : array (n,)
        Distance along the cut from the land's start; the places run as the cut's path runs.
    x_mm, y_mm : array (n,)
        Where the places are in the unloaded section.
    pressure_kpa : array (n,)
        Contact pressure, 0 where the land is open.
    gap_mm : array (n,)
        How far the faces stand apart, normal to the cut; 0 where the land is closed.
    slip_mm : array (n,)
        Relative sliding along the cut: how far the face on the left of the path (looking along it)
        has moved forward against the face on the right.
    shear_kpa : array (n,)
        Friction on the left face, positive along the path.
    sticks : array (n,) of bool
        Where the faces press and do not slide.
    wet : array (n,) of bool
        Where resin stands between the faces.
    faces_mm : array (n, 2, 2)
        Displacement of the two faces: [place, 0 = left of the path or 1 = right, x or y].
    """

    cut: str
    land: int
    s_mm: Array
    x_mm: Array
    y_mm: Array
    pressure_kpa: Array
    gap_mm: Array
    slip_mm: Array
    shear_kpa: Array
    sticks: NDArray[np.bool_]
    wet: NDArray[np.bool_]
    faces_mm: Array

    @property
    def length_mm(self) -> float:
        """Length along the cut [mm]."""
        return float(self.s_mm[-1])

    @property
    def closed_share(self) -> float:
        """Share of the length that presses, 0..1.

        A stretch between two places counts by the mean of its ends.
        """
        if np.isnan(self.pressure_kpa).any():
            return float("nan")
        presses = self.pressure_kpa > 0
        return 1.0 if presses.all() else self._mean(presses.astype(float))

    @property
    def mean_pressure_kpa(self) -> float:
        """Mean contact pressure over the whole land, open places counted as 0 [kPa]."""
        return self._mean(self.pressure_kpa)

    @property
    def least_pressure_kpa(self) -> float:
        """Least contact pressure [kPa]; 0 when any place is open."""
        return float(self.pressure_kpa.min())

    @property
    def largest_gap_mm(self) -> float:
        """Largest gap [mm]."""
        return float(self.gap_mm.max())

    @property
    def evenness(self) -> float:
        """Least over mean contact pressure, 0..1; 0 for a land without pressure."""
        mean = self.mean_pressure_kpa
        return 0.0 if mean == 0 else self.least_pressure_kpa / mean

    @property
    def force_n_per_mm(self) -> float:
        """Contact force per mm of block length [N/mm]."""
        return self.mean_pressure_kpa * self.length_mm / 1000.0

    def _mean(self, value: Array) -> float:
        return float(np.trapezoid(value, self.s_mm) / self.s_mm[-1])


@dataclass(frozen=True, eq=False, repr=False)
class LandRange(ArrayRecord):
    """What a land does in all states that friction allows, as far as they were found.

    Attributes
    ----------
    cut : str
    land : int
    pressure_kpa : array (2, n)
        Least and largest contact pressure at each place.
    gap_mm : array (2, n)
        Least and largest gap at each place.
    """

    cut: str
    land: int
    pressure_kpa: Array
    gap_mm: Array


@dataclass(frozen=True, eq=False, repr=False)
class CavityChange(ArrayRecord):
    """How a cavity deformed; rigid motion removed.

    Attributes
    ----------
    name : str
    area_mm2 : float
        Unloaded area.
    area_change_pct : float
        Change of area, negative = squashed [%].
    largest_shift_mm : float
        Largest movement of a point of its edge after the best-fitting rigid motion is taken off.
    step_mm : float
        Largest mismatch across a parting line at the cavity, along the cut; 0 without a cut.
    edge_mm, shift_mm : array (n, 2)
        Points of the edge in order, and their displacement with rigid motion removed.
    """

    name: str
    area_mm2: float
    area_change_pct: float
    largest_shift_mm: float
    step_mm: float
    edge_mm: Array
    shift_mm: Array


@dataclass(frozen=True, eq=False, repr=False)
class Wrap(ArrayRecord):
    """The band round the block: the convex hull of what it lies on.

    Attributes
    ----------
    tension_n_per_mm : float
        Tension of all strands together [N/mm].
    wrap_mm : float
        Length once round.
    points_mm : array (n, 2)
        Places of the hull in order, counter-clockwise.
    push_n_per_mm : array (n, 2)
        Force of the band on the block at these places; they sum to zero.
    """

    tension_n_per_mm: float
    wrap_mm: float
    points_mm: Array
    push_n_per_mm: Array


@dataclass(frozen=True, eq=False, repr=False)
class Field(ArrayRecord):
    """The finite-element field, for drawing and export.

    Triangles have six nodes: corners, then mid-sides.

    Attributes
    ----------
    points_mm : array (n, 2)
    triangles : array (m, 6) of int
        Corner nodes 0, 1, 2, then the nodes between 0-1, 1-2, 2-0.
    body : array (m,) of int
        Which body a triangle belongs to; 0 is the block.
    displacement_mm : array (n, 2)
    stress_mpa : array (m, 3, 3)
        At the three corners of each triangle: s_xx, s_yy, s_xy (tension positive).
    pressure_mpa : array (m, 3)
        Mean pressure at the three corners (compression positive).
    strain_pct : array (m,)
        Largest principal strain in magnitude, in each triangle [%].
    """

    points_mm: Array
    triangles: Whole
    body: Whole
    displacement_mm: Array
    stress_mpa: Array
    pressure_mpa: Array
    strain_pct: Array


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


@dataclass(frozen=True, eq=False)
class Deformation:
    """By which theory the figures were found, and what the other one says.

    Attributes
    ----------
    is_large : bool
        Whether the figures are those of large deformation: neo-Hookean rubber, bands on the hull of
        the deformed block, faces that slide on each other. Otherwise they are those of small
        deformation.
    change : float
        Largest change of pressures or gaps that large deformation makes, over the largest of each;
        estimated where the small answer stands. NaN when it was not looked at.
    outcome : Outcome or None
        How the solve at large deformation went; None when it was not needed or not asked for.
    share : float
        Share of the loads that it reached, 0..1.
    tangents : int
        Tangent stiffnesses that were factorised for it.
    small : Closing or None
        The answer of small deformation, where the figures are not its own.
    reached : object or None
        The solver's own record of the deformed block and its contact: where a solve much like this
        one may start.
    finer : Outcome or None
        How large deformation ended on the finer mesh that the errors would come from, where it did
        not settle there; the figures then are those of the coarser mesh, their errors unknown.
    """

    is_large: bool = False
    change: float = float("nan")
    outcome: Outcome | None = None
    share: float = 1.0
    tangents: int = 0
    small: Closing | None = field(default=None, repr=False)
    reached: object | None = field(default=None, repr=False)
    finer: Outcome | None = None

    @property
    def is_given_up(self) -> bool:
        """Whether large deformation was looked at and has no answer."""
        return self.outcome is not None and not self.outcome.has_answer

    @property
    def is_confirmed(self) -> bool:
        """Whether the figures hold at the deformation that the loads cause."""
        return self.is_large or (self.outcome is None and self.change == self.change)


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


@dataclass(frozen=True, eq=False)
class Pressing:
    """What the contact alone says of one load case: lands, seats and joints.

    Without the displacement of the rubber: gaps and slips are means round each place, carried on to
    the ends of a land along a straight line; `faces_mm` has half of them on each face.

    Attributes
    ----------
    section : Section
    loads : Loads
    outcome : Outcome
    lands, seats, joints : tuple of Land
        Their figures are NaN when the outcome has no answer.
    pried : bool
    complementarity : float
    steps : int
    """

    section: Section
    loads: Loads
    outcome: Outcome
    lands: tuple[Land, ...]
    seats: tuple[Land, ...]
    joints: tuple[Land, ...]
    pried: bool
    complementarity: float
    steps: int

    def __repr__(self) -> str:
        return short(f"Pressing: {self.outcome}, {self.steps} contact steps", self.lands)


@dataclass(frozen=True, eq=False)
class Closing:
    """How the cuts of one section close under its loads.

    Attributes
    ----------
    title : str
    section : Section
    loads : Loads
    lands : tuple of Land
        In the order of the cuts, along each cut's path.
    seats : tuple of Land
        The faces between block and cradle pieces; `cut` holds the piece's name. A seat runs along
        the block's outline, counter-clockwise, and ends where a cut comes out under it: one record
        for each stretch.
    joints : tuple of Land
        The faces where a cradle piece touches an earlier one.
    cavities : tuple of CavityChange
    wrap : Wrap or None
        None when no band is given.
    field : Field
    trust : Trust
    seconds : Seconds
    pried : bool
        Whether resin that entered the lands opened places that stay closed while it is in the
        cavity alone.
    ranges : tuple of LandRange
        One a land where friction allows several states (`Outcome.NOT_UNIQUE`); none otherwise.
    deformation : Deformation
        By which theory the figures were found.
    errors : Errors or None
        How far the figures are off because the mesh is not infinitely fine; None where nobody
        looked, as in `Block.close`.
    """

    title: str
    section: Section
    loads: Loads
    lands: tuple[Land, ...]
    seats: tuple[Land, ...]
    cavities: tuple[CavityChange, ...]
    wrap: Wrap | None
    field: Field = field(repr=False)
    trust: Trust
    seconds: Seconds
    pried: bool = False
    joints: tuple[Land, ...] = ()
    ranges: tuple[LandRange, ...] = ()
    deformation: Deformation = Deformation()
    errors: Errors | None = None

    @property
    def outcome(self) -> Outcome:
        """How the solve went; `outcome.has_answer` says whether the figures can be relied on."""
        return self.trust.outcome

    def __repr__(self) -> str:
        return short(f"Closing: {self.outcome}, {self.trust.unknowns} unknowns", self.lands)
