"""The one table of figures: name, unit, words, how each is computed, and where it is shown.

The tables on the terminal and the page, the JSON, the columns of a study, the variations, and
`docs/figures.md` are made from `TABLE`. A new figure is one row of it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Any, Literal

import numpy as np

from squeeze.solve.accuracy.errors import OF_DISPLACEMENT, OF_PRESSURE
from squeeze.solve.field import CavityChange
from squeeze.solve.land import Land
from squeeze.verdict.casting.distortion import largest_step
from squeeze.verdict.casting.flash import GRADES, HAIRLINE_MM
from squeeze.verdict.grade import grade_of

Lands = Sequence[Land]


Cavities = Sequence[CavityChange]


Of = Literal["lands", "castings", "seal", "flash", "whole", "grade"]


@dataclass(frozen=True)
class Figure:
    """One figure of a closing.

    Attributes
    ----------
    name : str
        Its key in JSON and its column in a study; the unit is its ending.
    of : str
        What `take` is given: the lands, the cavities, the seal, the flash, the whole closing, or
        for the grade all of these as a `Source`.
    take : callable
        Computes it.
    words, plural : str
        What it is called in a sentence; of one and of several.
    means : str
        How it is computed, in a few words.
    unit : str
        ``mm``, ``kPa``, ``N/mm``, ``%``, ``g``; ``share`` is a number from 0 to 1 that tables show
        in per cent; ``times`` is a multiple of the resin's pressure; empty for counts and answers.
    better : str
        What is better, ``"high"`` or ``"low"``; empty when neither is.
    digits : int
        Decimals in a table (one more in inches).
    heads : mapping
        The tables that show it, and what heads its column there: ``lands``, ``seats``, ``cradles``.
    grades : tuple of (float, str)
        Limits below which a grade holds.
    over_several : bool
        It says something new only over several lands; the JSON leaves it out of a single one.
    """

    name: str
    of: Of
    take: Callable[[Any], Any] = field(repr=False)
    words: str
    means: str
    plural: str = ""
    unit: str = ""
    better: Literal["high", "low", ""] = ""
    digits: int = 0
    heads: Mapping[str, str] = field(default_factory=dict)
    grades: tuple[tuple[float, str], ...] = ()
    over_several: bool = False

    @property
    def has_error(self) -> bool:
        """Whether the mesh puts it off: a measured number, neither a count nor an answer."""
        return bool(self.unit) or self.digits > 0

    @property
    def error_power(self) -> float:
        """With which power of the edge length its error falls."""
        return OF_DISPLACEMENT if self.unit in ("mm", "%") else OF_PRESSURE

    @property
    def worst(self) -> float:
        """The value of something that has no answer: it has failed."""
        return {"high": 0.0, "low": math.inf, "": math.nan}[self.better]


def _mean_over(lands: Lands, name: str) -> float:
    length = sum(land.length_mm for land in lands)
    total = sum(getattr(land, name) * land.length_mm for land in lands)
    return total / length if length else 0.0


def _least(lands: Lands, name: str) -> float:
    return min((getattr(land, name) for land in lands), default=0.0)


def _gap_mm(lands: Lands) -> float:
    return max((land.largest_gap_mm for land in lands), default=0.0)


def closes(lands: Lands) -> bool:
    """Return whether lands close all along: no place stands open by as much as a hairline.

    A film of less than `HAIRLINE_MM` is not seen on a casting, so it does not count as open.
    """
    return _gap_mm(lands) < HAIRLINE_MM


def _largest_area_change(cavities: Cavities) -> float:
    return max((c.area_change_pct for c in cavities), key=abs, default=0.0)


TABLE: tuple[Figure, ...] = (
    Figure(
        "grade", "grade", lambda source: grade_of(source.closing, source.seal, source.flash),
        "grade", "the worst of seal, flash and fit, in a word",
    ),
    Figure(
        "length_mm", "lands", lambda lands: sum(land.length_mm for land in lands),
        "length of the lands", "of all lands together",
        unit="mm", digits=1, heads={"lands": "length", "seats": "length"},
    ),
    Figure(
        "closed_share", "lands", lambda lands: _mean_over(lands, "closed_share"),
        "closed share of the cuts", "share of the length that presses, over all lands",
        unit="share", better="high",
        heads={"lands": "closed", "seats": "bears", "cradles": "closed"},
    ),
    Figure(
        "least_closed_share", "lands", lambda lands: _least(lands, "closed_share"),
        "closed share of the worst land", "least closed share of any land",
        unit="share", better="high", over_several=True,
    ),
    Figure(
        "closes", "lands", closes,
        "closes all along", f"no land stands open anywhere by {HAIRLINE_MM:g} mm or more",
        better="high", over_several=True,
    ),
    Figure(
        "mean_pressure_kpa", "lands", lambda lands: _mean_over(lands, "mean_pressure_kpa"),
        "mean pressure", "force over length, over all lands; open places count as 0",
        plural="mean pressures", unit="kPa", better="high", digits=1,
        heads={"lands": "mean", "seats": "mean"},
    ),
    Figure(
        "least_pressure_kpa", "lands", lambda lands: _least(lands, "least_pressure_kpa"),
        "least pressure", "of any place of any land; 0 where one stands open",
        plural="least pressures", unit="kPa", better="high", digits=1,
        heads={"lands": "least", "cradles": "least"},
    ),
    Figure(
        "largest_pressure_kpa", "lands",
        lambda lands: max((float(land.pressure_kpa.max()) for land in lands), default=0.0),
        "highest pressure", "of any place of any land",
        plural="highest pressures", unit="kPa", digits=1,
        heads={"lands": "most", "seats": "most"},
    ),
    Figure(
        "evenness", "lands", lambda lands: _least(lands, "evenness"),
        "evenness", "least over mean pressure of a land; that of the least even land",
        better="high", digits=2, heads={"cradles": "even-\nness"},
    ),
    Figure(
        "largest_gap_mm", "lands", _gap_mm,
        "widest gap", "of any place of any land",
        plural="widest gaps", unit="mm", better="low", digits=2,
        heads={"lands": "gap", "seats": "gap", "cradles": "gap"},
    ),
    Figure(
        "largest_slip_mm", "lands",
        lambda lands: max((float(np.abs(land.slip_mm).max()) for land in lands), default=0.0),
        "largest slip", "how far two faces slide on each other, at any place of any land",
        plural="largest slips", unit="mm", better="low", digits=2,
    ),
    Figure(
        "force_n_per_mm", "lands", lambda lands: sum(land.force_n_per_mm for land in lands),
        "force on the lands", "of all lands together, per mm of block length",
        unit="N/mm", digits=3, heads={"lands": "force", "seats": "force"},
    ),
    Figure(
        "area_change_pct", "castings", _largest_area_change,
        "change of the casting's area", "of the casting that changes most; negative = squashed",
        unit="%", digits=1,
    ),
    Figure(
        "largest_shift_mm", "castings",
        lambda cavities: max((c.largest_shift_mm for c in cavities), default=0.0),
        "castings off by", "largest movement of any cavity's edge, rigid motion removed",
        unit="mm", better="low", digits=2, heads={"cradles": "cavity"},
    ),
    Figure(
        "step_mm", "castings", largest_step,
        "largest step", "across a parting line at a cavity",
        plural="largest steps", unit="mm", better="low", digits=2,
    ),
    Figure(
        "seals", "seal", lambda seal: seal.seals,
        "seals", "every cavity is reached by a cut, and nothing leaks", better="high",
    ),
    Figure(
        "leaks", "seal", lambda seal: len(seal.leaks),
        "leak", "paths from a cavity to the outside or to another cavity without a barrier",
        plural="leaks", better="low",
    ),
    Figure(
        "sealing_lands", "seal", lambda seal: seal.leaky.count(False),
        "land that seals", "lands along which nothing leaks",
        plural="lands that seal", better="high",
    ),
    Figure(
        "margin", "seal", lambda seal: seal.weakest.margin if seal.weakest else 0.0,
        "weakest barrier", "what it presses, over the resin's pressure",
        plural="weakest barriers", unit="times", better="high", digits=1,
    ),
    Figure(
        "needed_kpa", "seal", lambda seal: seal.needed_kpa,
        "pressure that a barrier needs", "twice the resin's", unit="kPa", digits=1,
    ),
    Figure(
        "flash_thickness_mm", "flash", lambda flash: flash.thickness_mm,
        "flash", "gap at a cavity, the widest",
        unit="mm", better="low", digits=2, grades=GRADES,
    ),
    Figure(
        "flash_grade", "flash", lambda flash: flash.grade,
        "grade of the flash", "of the thickest",
    ),
    Figure(
        "flash_reach_mm", "flash", lambda flash: flash.reach_mm,
        "reach of the flash", "how far resin runs into the cuts, the farthest",
        unit="mm", better="low", digits=1,
    ),
    Figure(
        "flash_mass_g", "flash", lambda flash: flash.mass_g,
        "mass of the flash", "on all castings, over the block's length",
        unit="g", better="low", digits=2,
    ),
    Figure(
        "largest_strain_pct", "whole", lambda closing: closing.trust.largest_strain_pct,
        "largest strain", "of the rubber, anywhere",
        plural="largest strains", unit="%", better="low", heads={"cradles": "strain"},
    ),
    Figure(
        "lands", "whole", lambda closing: len(closing.lands),
        "land", "stretches of cut with rubber on both sides", plural="lands",
    ),
    Figure(
        "tension_n_per_mm", "whole", lambda closing: closing.loads.tension_n_per_mm,
        "pull of the bands", "of all bands together", unit="N/mm", digits=3,
    ),
    Figure(
        "wrap_mm", "whole", lambda closing: closing.wrap.wrap_mm if closing.wrap else None,
        "girth of the block", "length of a band once round", unit="mm", digits=1,
    ),
    Figure(
        "unknowns", "whole", lambda closing: closing.trust.unknowns,
        "unknown", "of the calculation", plural="unknowns",
    ),
)  # fmt: skip


BY_NAME: Mapping[str, Figure] = MappingProxyType({each.name: each for each in TABLE})


def of_kind(*kinds: Of) -> dict[str, Figure]:
    """Return the figures of some kinds, by name."""
    return {each.name: each for each in TABLE if each.of in kinds}


def shown_in(table: str) -> tuple[Figure, ...]:
    """Return the figures that a table shows, in the order of its columns."""
    return tuple(each for each in TABLE if table in each.heads)


MEASURES = tuple(
    each.name for each in TABLE if each.better and each.name not in ("seals", "closes")
)
"""Figures that are numbers, and better or worse."""
