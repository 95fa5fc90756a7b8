"""One load case on a section: what the mold says, and what a call says instead."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from squeeze.mold.errors import BadInput, Fault
from squeeze.mold.forces.loads import Loads
from squeeze.mold.section.build import section_of
from squeeze.mold.section.records import CradlePiece, Cut, Section
from squeeze.mold.tables.mold import Mold
from squeeze.mold.tables.values import (
    LEAST_FINENESS,
    MOST_FINENESS,
    MOST_FRICTION,
    listed,
    quote,
    spelling,
)

Array = NDArray[np.float64]
Whole = NDArray[np.int64]

MOST_GAPS = 10_000  # along one path

S = TypeVar("S", Cut, CradlePiece)
Friction = float | Mapping[str, float]
Gap = float | Sequence[float] | Mapping[str, float | Sequence[float]]


def case_loads(
    loads: Loads | None, own: Loads, band_tension_n_per_mm: float | None, resin_kpa: float | None
) -> Loads:
    """Return the loads of one case: `own`, unless the call gives others or single figures.

    Raises
    ------
    BadInput
        When the argument is not `Loads`, or a figure is not one finite number from 0 up.

    Parameters
    ----------
    loads, own : Loads
        Those of the call, if any, and those of the mold.
    band_tension_n_per_mm, resin_kpa : float, optional
        In place of a single figure of them.
    """
    if not isinstance(loads, Loads | None):
        text = f"{quote(loads)} given; allowed are squeeze.Loads, such as squeeze.Loads(0.6)"
        raise BadInput([Fault("loads", text)])
    loads = own if loads is None else loads
    check_numbers("band_tension_n_per_mm", band_tension_n_per_mm, "N per mm of block length")
    check_numbers("resin_kpa", resin_kpa, "kPa")
    if band_tension_n_per_mm is not None:
        loads = replace(loads, tension_n_per_mm=float(band_tension_n_per_mm), elastic=())
    return loads if resin_kpa is None else replace(loads, cavity_mpa=float(resin_kpa) / 1000.0)


def case_section(section: Section, friction: Friction | None, gap_mm: Gap | None) -> Section:
    """Return `section` with friction and unloaded gap [mm] of its cuts put in.

    One value for all cuts, or by name. Names of cradle pieces stand for their seats.

    Raises
    ------
    BadInput
        When a name is not that of a cut or of a cradle piece, a coefficient is not a number from 0
        to 3, or a gap is not a number from 0 up.
    """
    for value in _values(friction):
        check_numbers("friction", value, most=MOST_FRICTION)
    for value in _values(gap_mm):
        check_numbers("gap_mm", value, "mm", several=True)
    known = [entry.name for entry in (*section.cuts, *section.cradles)]
    for key, given in (("friction", friction), ("gap_mm", gap_mm)):
        for name in given if isinstance(given, Mapping) else ():
            if name not in known:
                there_are = listed(map(quote, known), "and") if known else "none"
                text = f"there is no cut or cradle piece {quote(name)}; there are {there_are}"
                raise BadInput([Fault(key, text + spelling(name, known))])
    friction_of_seats, gap_of_seats = _only_named(friction), _only_named(gap_mm)
    return replace(
        section,
        cuts=tuple(_case_cut(cut, friction, gap_mm) for cut in section.cuts),
        cradles=tuple(
            _case_cut(piece, friction_of_seats, gap_of_seats) for piece in section.cradles
        ),
    )


def checked_section(mold: Mold | Section) -> Section:
    """Return the section of a mold.

    Raises
    ------
    BadInput
        When the argument is neither a mold nor a section, or the geometry cannot be computed.
    """
    if isinstance(mold, Section):
        return mold
    return section_of(checked_mold(mold))


def checked_mold(mold: Mold) -> Mold:
    """Return a mold.

    Raises
    ------
    BadInput
        When the argument is not a mold.
    """
    if isinstance(mold, Mold):
        return mold
    how = f"squeeze.load({str(mold)!r})" if isinstance(mold, str | Path) else "squeeze.load(path)"
    text = f"{quote(mold)} given; allowed is a mold, such as {how} returns"
    raise BadInput([Fault("mold", text)])


def check_fineness(fineness: float) -> float:
    """Return the `fineness` that is asked of a mesh.

    Raises
    ------
    BadInput
        When it is not one number from 0.25 to 8.
    """
    if fineness is None:
        raise BadInput(
            [Fault("fineness", "nothing given; allowed is a finite number from 0.25 to 8")]
        )
    check_numbers("fineness", fineness, least=LEAST_FINENESS, most=MOST_FINENESS)
    return float(fineness)


def _values(given: Any) -> list[Any]:
    return list(given.values()) if isinstance(given, Mapping) else [given]


def check_numbers(
    key: str,
    given: Any,
    unit: str = "",
    least: float = 0.0,
    most: float = np.inf,
    several: bool = False,
) -> None:
    """Refuse what is not one number from `least` to `most`, or where allowed several.

    Parameters
    ----------
    key : str
        What the number is called.
    given : object
        None is allowed.
    unit : str
        As the refusal prints it.
    least, most : float
        Bounds [unit].
    several : bool
        Whether a list is allowed.

    Raises
    ------
    BadInput
        When it is something else.
    """
    if given is None:
        return
    values = _as_array(given)
    fits = values.ndim <= several and 1 <= values.size <= (MOST_GAPS if several else 1)
    if fits and ((values >= least) & (values <= most) & np.isfinite(values)).all():
        return
    upto = "up" if most == np.inf else f"to {most:g}"
    allowed = f"a finite number from {least:g} {upto}" + (f" [{unit}]" if unit else "")
    if several:
        allowed += ", or several of them in a list"
    raise BadInput([Fault(key, f"{quote(given)} given; allowed is {allowed}")])


def _as_array(given: Any) -> Array:
    """Return numbers as an array; NaN for text, truth values and whatever else is no number."""
    try:
        values = np.asarray(given)
    except (TypeError, ValueError):
        return np.array(np.nan)
    return values.astype(float) if values.dtype.kind in "iuf" else np.array(np.nan)


def _only_named(given: Any) -> Any:
    """Leave seats as they are unless they are named: one value for all means the cuts."""
    return given if isinstance(given, Mapping) else None


def _case_cut(cut: S, friction: Friction | None, gap: Gap | None) -> S:
    mu = friction.get(cut.name) if isinstance(friction, Mapping) else friction
    g = gap.get(cut.name) if isinstance(gap, Mapping) else gap
    if mu is not None:
        cut = replace(cut, friction=float(mu))
    if g is not None:
        cut = replace(cut, gap_mm=tuple(float(v) for v in np.atleast_1d(np.asarray(g, float))))
    return cut
