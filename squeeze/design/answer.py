"""What a design answers: blocks, what each costs and does, and what was tried and dropped."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from squeeze.mold.tables.mold import Mold


@dataclass(frozen=True)
class DesignFigures:
    """What a block costs and does, computed on the default mesh, as it deforms.

    Attributes
    ----------
    rubber_g : float
        Fresh rubber in the block.
    price : float or None
        Of rubber with waste, bands, boards and work, as far as the file gives prices.
    steps : int
        Steps of work; see `squeeze.design.blocks.work`.
    bands : int
    margin : float
        Weakest barrier over the resin's pressure, the least of the twelve variations and of the
        places along the block.
    flash_mm, shift_mm, step_mm : float
        The most in twelve variations: gap at a cavity, how far a casting's edge is off, step across
        a parting line.
    grade : str
        As the file stands, a word of `squeeze.verdict.grade`.
    clean_in, good_in, seals_in : int
        In how many of the twelve variations it is clean; clean or with a fine line; sealed.
    margin_along : float
        The least of the places along the block, between the bands.
    wall_mm : float
        Least rubber between a cavity and the outside.
    widest_mm : float
        Narrowest tube that the block goes into with cradle and bands.
    strain_pct : float
        Largest strain of the rubber [%].
    is_large : bool
        Whether it was computed at large deformation; else that would change nothing.
    """

    rubber_g: float
    price: float | None
    steps: int
    bands: int
    margin: float
    flash_mm: float
    shift_mm: float
    step_mm: float
    grade: str
    clean_in: int
    good_in: int
    seals_in: int
    margin_along: float
    wall_mm: float
    widest_mm: float
    strain_pct: float
    is_large: bool

    def costs(self) -> tuple[float, ...]:
        """Return what blocks are compared by, each the less the better."""
        price = self.rubber_g if self.price is None else self.price
        return (
            self.rubber_g,
            price,
            float(self.steps),
            -self.margin,
            self.flash_mm,
            self.shift_mm,
            float(self.bands),
            float(12 - self.clean_in),
        )


@dataclass(frozen=True)
class Design:
    """One block of the answer.

    Attributes
    ----------
    number : int
        From 1; the first is the one that we would pour.
    name : str
        Outline and size, e.g. ``round, 92 mm``.
    kind : str
        What distinguishes its kind, e.g. ``square with bevels, models turned by 45 degrees``.
    say : str
        One sentence: what speaks for it, and what against.
    mold : Mold
        The whole mold; `squeeze.dump` writes it.
    figures : DesignFigures
    """

    number: int
    name: str
    kind: str
    say: str
    mold: Mold = field(repr=False)
    figures: DesignFigures


@dataclass(frozen=True)
class Dropped:
    """Blocks that were given up.

    Attributes
    ----------
    reason : str
        Why, e.g. ``the middle stays open``.
    count : int
        How many.
    kinds : tuple of (str, int)
        How many of each kind, the most first.
    """

    reason: str
    count: int
    kinds: tuple[tuple[str, int], ...]


@dataclass(frozen=True)
class Refusal:
    """Why there is no block, and the least change that would do.

    Attributes
    ----------
    limit : str
        What binds: ``pot``, ``largest block``, ``bands``, ``shape``, ``cut``, ``grade``.
    say : str
        What binds, in a sentence.
    change : str
        The least change that would do, in a sentence; empty where none was found.
    """

    limit: str
    say: str
    change: str


@dataclass(frozen=True)
class DesignAnswer:
    """The answer.

    Attributes
    ----------
    title : str
    designs : tuple of Design
        None better than another in everything; the one that we would pour stands first. Empty when
        nothing will do.
    given : DesignFigures or None
        The block of the file, by the same measure; None where it has none or no answer.
    tried, certified : int
        Blocks that were computed on a coarse mesh; of those, how many were computed in full.
    dropped : tuple of Dropped
    remarks : tuple of str
        What else was found, in plain sentences.
    refusal : Refusal or None
        None where there are designs.
    is_complete : bool
        False when the search was stopped before its end.
    """

    title: str
    designs: tuple[Design, ...]
    given: DesignFigures | None
    tried: int
    certified: int
    dropped: tuple[Dropped, ...]
    remarks: tuple[str, ...] = ()
    refusal: Refusal | None = None
    is_complete: bool = True

    def __repr__(self) -> str:
        if self.refusal is not None:
            return f"DesignAnswer: {self.refusal.say} {self.refusal.change}".rstrip()
        lines = [f"  {each.number}. {each.name}: {each.say}" for each in self.designs]
        return "\n".join([f"DesignAnswer: {len(lines)} blocks, {self.tried} tried", *lines])

    def as_data(self) -> dict[str, Any]:
        """Return the answer as plain data for JSON."""
        from dataclasses import asdict

        from squeeze.mold import dict_of

        return {
            "title": self.title,
            "designs": [
                {
                    "number": each.number,
                    "name": each.name,
                    "kind": each.kind,
                    "say": each.say,
                    "figures": asdict(each.figures),
                    "mold": dict_of(each.mold),
                }
                for each in self.designs
            ],
            "given": None if self.given is None else asdict(self.given),
            "tried": self.tried,
            "certified": self.certified,
            "dropped": [asdict(each) for each in self.dropped],
            "remarks": list(self.remarks),
            "refusal": None if self.refusal is None else asdict(self.refusal),
            "is_complete": self.is_complete,
        }
