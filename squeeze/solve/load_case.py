"""One load case on a section: what the mold says, and what a call says instead."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from squeeze.mold.errors import BadInput, Fault
from squeeze.mold.section.records import CradlePiece, Cut, Loads, Section
from squeeze.solve.bands.wrap import EVEN, Drag, Path, wrap

Array = NDArray[np.float64]
Whole = NDArray[np.int64]

MOST_GAPS = 10_000  # along one path

S = TypeVar("S", Cut, CradlePiece)
Friction = float | Mapping[str, float]
Gap = float | Sequence[float] | Mapping[str, float | Sequence[float]]


def case_loads(loads: Loads, bands: float | None, resin: float | None) -> Loads:
    """Return `loads` with tension of the bands [N/mm] and pressure of the resin [kPa] put in.

    Raises
    ------
    BadInput
        When one is not a number from 0 up.
    """
    _numbers("bands", bands, "N per mm")
    _numbers("resin", resin, "kPa")
    if bands is not None:
        loads = replace(loads, tension_n_per_mm=float(bands))
    return loads if resin is None else replace(loads, cavity_mpa=float(resin) / 1000.0)


def case_section(section: Section, friction: Friction | None, gap: Gap | None) -> Section:
    """Return `section` with friction and unloaded gap [mm] of its cuts put in.

    One value for all cuts, or by name. Names of cradle pieces stand for their seats.

    Raises
    ------
    KeyError
        When a name is not that of a cut or of a cradle piece.
    BadInput
        When a coefficient or a gap is not a number from 0 up.
    """
    for key, given, unit, most in (("friction", friction, "", 1), ("gap", gap, "mm", MOST_GAPS)):
        for value in given.values() if isinstance(given, Mapping) else (given,):
            _numbers(key, value, unit, most)
    named = (*section.cuts, *section.cradles)
    for name in (n for given in (friction, gap) if isinstance(given, Mapping) for n in given):
        if name not in {entry.name for entry in named}:
            known = ", ".join(repr(entry.name) for entry in named)
            raise KeyError(f"there is no cut or cradle piece {name!r}; there are {known}")
    friction_of_seats, gap_of_seats = _only_named(friction), _only_named(gap)
    return replace(
        section,
        cuts=tuple(_case_cut(cut, friction, gap) for cut in section.cuts),
        cradles=tuple(
            _case_cut(piece, friction_of_seats, gap_of_seats) for piece in section.cradles
        ),
    )


def _numbers(key: str, given: Any, unit: str, most: int = 1) -> None:
    """Refuse what is not one number from 0 up, or `most` of them at the most."""
    if given is None:
        return
    try:
        values = np.asarray(given, float)
        fits = values.ndim <= (most > 1) and 1 <= values.size <= most
        allowed = bool(fits and np.isfinite(values).all() and (values >= 0).all())
    except (TypeError, ValueError):
        allowed = False
    if not allowed:
        several = "" if most == 1 else ", or several"
        text = f"{given!r} came; allowed is a finite number from 0 up{several} {unit}".rstrip()
        raise BadInput([Fault(key, text)])


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


def band_path(points: Array, outline: Whole, loads: Loads) -> Path:
    """Return the bands' way round, its load that of all bands together for a tension of 1 N/mm."""
    path = wrap(points, outline)
    if not loads.grips:
        return path
    parts = [share * wrap(points, outline, drag).load for share, drag in drags(points, path, loads)]
    return replace(path, load=np.sum(parts, axis=0))


def drags(points: Array, path: Path, loads: Loads) -> tuple[tuple[float, Drag], ...]:
    """Return the parts of the tension by their friction; the shares sum to 1."""
    smooth = 1.0 - sum(grip.share for grip in loads.grips)
    rough = [
        (grip.share, Drag(grip.friction, _direction(points, path, grip.pulled_at_mm)))
        for grip in loads.grips
    ]
    return ((smooth, EVEN), *rough)


def _direction(points: Array, path: Path, at: tuple[float, float] | None) -> float:
    """Direction of the band at the stretch of its way nearest to `at` [rad]."""
    if at is None:
        return float(np.pi)  # over the top, counter-clockwise
    a, b = points[path.edges[:, 0]], points[path.edges[:, 2]]
    d = b - a
    along = np.clip(
        np.einsum("ij,ij->i", np.array(at) - a, d) / np.maximum((d**2).sum(axis=1), 1e-300), 0, 1
    )
    k = int(np.argmin(np.hypot(*(a + along[:, None] * d - np.array(at)).T)))
    first, middle, last = path.edges[k]
    if first == last:
        return EVEN.direction_rad
    r, t = along[k], d[k]
    if middle >= 0:
        t = (4 * r - 3) * a[k] + (4 - 8 * r) * points[middle] + (4 * r - 1) * b[k]
    return float(np.arctan2(t[1], t[0]))
