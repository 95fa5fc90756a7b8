"""What a solve returns: how the cuts closed, as frozen records of read-only arrays.

The parts of it have modules of their own: `land`, `field`, `trust`.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from squeeze.mold.forces.loads import Loads
from squeeze.mold.section.records import Section
from squeeze.solve.accuracy.errors import Errors
from squeeze.solve.array_record import short
from squeeze.solve.field import CavityChange, Field, Wrap
from squeeze.solve.land import Land, LandRange
from squeeze.solve.outcome import Outcome
from squeeze.solve.trust import Seconds, Trust


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
