"""The figures of a closing, and how far the mesh puts them off."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from squeeze.mold.tables.mold import Mold
from squeeze.solve.closing import Closing, Pressing
from squeeze.verdict.casting.flash import FINE_MM, Flash, flash_of
from squeeze.verdict.figures.table import BY_NAME, TABLE, Figure
from squeeze.verdict.grade import NO_ANSWER
from squeeze.verdict.seal.barrier import Seal, seal_of


class FigureSource:
    """What figures are taken of; seal and flash are worked out when first asked for.

    Parameters
    ----------
    closing : Closing or Pressing
        Faces alone will do for figures of lands and of the seal.
    mold : Mold, optional
        For the mass and the reach of the flash.
    seal, flash : Seal and Flash, optional
        Where a verdict has worked them out already.
    """

    def __init__(
        self,
        closing: Closing | Pressing,
        mold: Mold | None = None,
        seal: Seal | None = None,
        flash: Flash | None = None,
    ) -> None:
        self.closing = closing
        self.mold = mold
        known = {"seal": seal, "flash": flash}
        self.__dict__.update({name: each for name, each in known.items() if each is not None})

    @cached_property
    def seal(self) -> Seal:
        """Leaks and barriers."""
        return seal_of(self.closing)

    @cached_property
    def flash(self) -> Flash:
        """Flash of all castings."""
        assert isinstance(self.closing, Closing)
        return flash_of(self.closing, self.mold)

    def value(self, figure: Figure) -> Any:
        """Return a figure of all lands, all cavities, or the whole."""
        closing: Any = self.closing
        given = {
            "lands": lambda: closing.lands,
            "castings": lambda: closing.cavities,
            "seal": lambda: self.seal,
            "flash": lambda: self.flash,
            "whole": lambda: closing,
            "grade": lambda: self,
        }[figure.of]
        return bare(figure.take(given()))


def bare(value: Any) -> Any:
    """Return a plain number for a `value` of numpy's; any other as it is."""
    return value.item() if isinstance(value, np.generic) else value


@dataclass(frozen=True)
class Figures:
    """All figures of a closing; ``figures.margin`` is ``figures.values["margin"]``.

    Attributes
    ----------
    solved : bool
        There is an answer to rely on. Without one nothing seals or closes, and no number is shown:
        all are NaN.
    values : mapping
        By the names of `TABLE`.
    """

    solved: bool
    values: Mapping[str, Any]

    def __getattr__(self, name: str) -> Any:
        values = self.__dict__.get("values", {})
        if name not in values:
            raise AttributeError(f"there is no figure {name!r}")
        return values[name]

    @property
    def good(self) -> bool:
        """Whether there is nothing to mend: it seals, and flash is no nuisance."""
        return self.seals and self.flash_thickness_mm < FINE_MM

    def as_data(self) -> dict[str, Any]:
        """Return the figures as plain data."""
        return {"solved": self.solved} | dict(self.values)


def reaches(before: Figures, after: Figures) -> bool:
    """Return whether a change gets what is wanted.

    That it seals; and where it does so already, that flash is no nuisance any more.
    """
    return after.good if before.seals else after.seals


NO_FIGURES = Figures(
    False,
    {each.name: False if each.name in ("seals", "closes") else math.nan for each in TABLE}
    | {"grade": NO_ANSWER},
)
"""Of something without an answer."""


def figures_of(
    closing: Closing,
    mold: Mold | None = None,
    seal: Seal | None = None,
    flash: Flash | None = None,
) -> Figures:
    """Return all figures of a closing; without an answer nothing seals or closes.

    Parameters
    ----------
    closing, mold, seal, flash
        As for a `FigureSource`.

    Returns
    -------
    Figures
    """
    source = FigureSource(closing, mold, seal, flash)
    if not closing.outcome.has_answer:
        return Figures(False, {**NO_FIGURES.values, "grade": source.value(BY_NAME["grade"])})
    return Figures(True, {each.name: source.value(each) for each in TABLE})


def errors_of_figures(closing: Closing, mold: Mold | None = None) -> dict[str, float]:
    """Return how far each figure that `has_error` is off, by name; none where nobody looked.

    It comes from the same figure on the coarser mesh. The widest gap's is the largest
    error of any place, so that two widest gaps that happen to agree do not hide the others.
    """
    errors = closing.errors
    if errors is None:
        return {}
    fine, coarse = (figures_of(each, mold) for each in (closing, errors.coarser))
    found = {}
    for figure in TABLE:
        pair = fine.values[figure.name], coarse.values[figure.name]
        if figure.has_error and all(isinstance(x, float) and math.isfinite(x) for x in pair):
            found[figure.name] = errors.of(*pair, figure.error_power)
    found["largest_strain_pct"] = errors.strain_pct
    found["largest_gap_mm"] = errors.gap_mm
    return found
