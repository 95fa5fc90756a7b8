"""How far the measures of a case are off: the columns ``error.NAME`` of a study with `accuracy`."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from squeeze.mold import Mold
from squeeze.solve.accuracy.errors import OF_DISPLACEMENT, OF_PRESSURE, Errors, LandError
from squeeze.solve.closing import Closing
from squeeze.study.measures import SMALL, at_a_place, measure_parts, measures
from squeeze.verdict.figures import BY_NAME

ERROR = "error."
"""Before a measure: how far it is off."""


def error_columns(keep: Sequence[str]) -> dict[str, str]:
    """Return the column of the error of each measure in `keep` that has one, by the measure.

    Examples
    --------
    >>> error_columns(["largest_gap_mm", "seals", "gap_mm at 0, 40"])
    {'largest_gap_mm': 'error.largest_gap_mm', 'gap_mm at 0, 40': 'error.gap_mm at 0, 40'}
    """
    return {measure: ERROR + measure for measure in keep if _power(measure)}


def with_errors(keep: Sequence[str]) -> tuple[str, ...]:
    """Return the columns of the measures `keep`, each followed by that of its error, if any."""
    columns = error_columns(keep)
    return tuple(
        name for measure in keep for name in (measure, columns.get(measure)) if name is not None
    )


def _power(measure: str) -> float | None:
    """Return with which power of the edge length a measure's error falls; None where it has none.

    A shift of the mesh moves numbers that are measured, not counts and answers.
    """
    bare = measure.removeprefix(SMALL)
    if at_a_place(bare):
        return OF_PRESSURE if bare.startswith("pressure") else OF_DISPLACEMENT
    figure = BY_NAME.get(measure_parts(bare)[-1])
    return figure.error_power if figure is not None and figure.has_error else None


def measure_errors(
    keep: Sequence[str], closing: Closing, mold: Mold | None = None
) -> dict[str, float | None]:
    """Return how far each measure that has an error is off, by its column.

    It comes from the same measure on the coarser mesh. The widest gap's is the largest
    error of any place of its lands, so that two widest gaps that happen to agree do not hide the
    others.

    Parameters
    ----------
    keep : sequence of str
        Measures, as in `measures`.
    closing : Closing
        As `squeeze.solve.refined` found it.
    mold : Mold, optional
        For the mass and the reach of the flash.

    Returns
    -------
    dict
        In the unit of each measure; None where the measure is none, or its error is not known.
    """
    columns = error_columns(keep)
    errors = closing.errors
    if errors is None:
        return dict.fromkeys(columns.values())
    fine = measures(list(columns), closing, None, mold)
    coarse = measures(list(columns), errors.coarser, None, mold)
    return {
        column: _error(measure, fine[measure], coarse[measure], errors)
        for measure, column in columns.items()
    }


def _error(measure: str, fine: Any, coarse: Any, errors: Errors) -> float | None:
    if not all(isinstance(each, float) and math.isfinite(each) for each in (fine, coarse)):
        return None
    owner, name, number, last = measure_parts(measure)
    if last == "largest_gap_mm":
        faces = errors.seats if owner == "seat" else errors.lands
        return max((land.gap_mm for land in faces if _is_of(land, name, number)), default=None)
    if measure == "largest_strain_pct":
        return errors.strain_pct
    power = _power(measure)
    assert power is not None
    return errors.of(fine, coarse, power)


def _is_of(land: LandError, name: str, number: str) -> bool:
    return (not name or land.cut == name) and (not number or land.land == int(number))
