"""A record without a certified answer must not pass for one."""

from __future__ import annotations

from dataclasses import replace
from typing import Any, TypeVar

import numpy as np

from squeeze.mold.errors import NotSolved
from squeeze.solve.closing import Closing, Pressing
from squeeze.solve.field import CavityChange, Field
from squeeze.solve.land import Land
from squeeze.solve.trust import Trust

C = TypeVar("C", Closing, Pressing)
R = TypeVar("R", Land, CavityChange, Field, Trust)

_OF_LAND = ("pressure_kpa", "gap_mm", "slip_mm", "shear_kpa", "faces_mm")
_OF_CAVITY = ("area_change_pct", "largest_shift_mm", "step_mm", "shift_mm")
_OF_FIELD = ("displacement_mm", "stress_mpa", "pressure_mpa", "strain_pct")


def certified(record: C, check: bool) -> C:
    """Return what was solved.

    Parameters
    ----------
    record : Closing or Pressing
    check : bool
        Raise where there is no certified answer; with False every figure of it is NaN instead.

    Raises
    ------
    NotSolved
        When there is no certified answer and `check` is True.
    """
    if record.outcome.has_answer:
        return record
    if check:
        raise NotSolved(f"{record.outcome.cause} {record.outcome.remedy}")
    return without_figures(record)


def without_figures(record: C) -> C:
    """Return a closing or pressing without an answer: every figure of it NaN."""
    changes: dict[str, Any] = {
        name: tuple(_blank(land, _OF_LAND) for land in getattr(record, name))
        for name in ("lands", "seats", "joints")
    }
    if isinstance(record, Closing):
        changes["cavities"] = tuple(_blank(cavity, _OF_CAVITY) for cavity in record.cavities)
        changes["field"] = _blank(record.field, _OF_FIELD)
        changes["trust"] = _blank(record.trust, ("largest_strain_pct",))
    return replace(record, **changes)


def _blank(record: R, names: tuple[str, ...]) -> R:
    """Return the record with these figures NaN."""
    return replace(record, **{name: getattr(record, name) * np.nan for name in names})
