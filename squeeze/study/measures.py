"""Measures of a closing: the numbers that a study keeps of each case.

``closed_share`` is over all lands; ``cut.NAME.closed_share`` over those of one cut, ``land.NAME.2.
closed_share`` of one land (numbered from 0 as in the JSON); ``cavity.NAME.step_mm`` of one cavity;
``gap_mm at 0, 40`` at the place of a land nearest to x = 0, y = 40. ``small.`` before any of them
asks what small-strain theory says where a study is at large deformation.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from typing import Any

import numpy as np

from squeeze.mold import Mold
from squeeze.mold.tables.values import listed, quote, spelling
from squeeze.solve.closing import Closing, Pressing
from squeeze.solve.land import Land
from squeeze.solve.outcome import Outcome
from squeeze.study.plan.formula import StudyValueError
from squeeze.verdict import Verdict
from squeeze.verdict.figures import BY_NAME, FigureSource, Lands, bare, of_kind

OF_LANDS = of_kind("lands")
"""Figures of one or several lands."""

OF_CAVITIES = of_kind("castings")
"""Figures of one or several cavities; of several the largest counts."""

OF_SEATS = {
    name: OF_LANDS[name] for name in ("closed_share", "least_closed_share", "largest_gap_mm")
}
"""Figures of the seats of cradle pieces, ``seat.NAME.closed_share``."""

SAY = "say"
"""The verdict's sentence, which is kept like a figure."""

AT = ("gap_mm", "pressure_kpa", "slip_mm")
"""What can be read off at a place."""

FAR_MM = 2.0
"""A place farther than this from every land has no value [mm]."""

SMALL = "small."
"""Before a measure: of the answer at small deformation."""

_PLACE = re.compile(r"(\w+) at (-?[\d.]+) *, *(-?[\d.]+)")


def check_measure(measure: str, names: dict[str, list[str]]) -> None:
    """Check that a measure is known.

    Parameters
    ----------
    measure : str
    names : dict
        Names of the mold's cuts and cavities under "cut", "cavity" and "cradle"; a kind that is
        left out is not checked.

    Raises
    ------
    StudyValueError
        When it is not.
    """
    if measure == SMALL + SAY:
        raise StudyValueError(f"{quote(measure)} is not a measure: one verdict stands for a case")
    measure = measure.removeprefix(SMALL)
    if place := _PLACE.fullmatch(measure):
        _one_of(place[1], AT)
        return
    owner, name, number, last = measure_parts(measure)
    _one_of(last, _family(owner))
    kind = {"land": "cut", "seat": "cradle"}.get(owner, owner)
    if kind in names and name not in names[kind]:
        raise StudyValueError(f"the mold has no {kind} {quote(name)}{spelling(name, names[kind])}")
    if owner == "land" and not number.isdigit():
        raise StudyValueError(f"{quote(number)} is no number of a land; write land.NAME.0.{last}")


def _family(owner: str) -> dict[str, Any]:
    whole = dict.fromkeys((*BY_NAME, SAY))
    return {"": whole, "cut": OF_LANDS, "land": OF_LANDS, "cavity": OF_CAVITIES, "seat": OF_SEATS}[
        owner
    ]


def _one_of(word: str, known: Any) -> None:
    if word not in known:
        raise StudyValueError(
            f"{quote(word)} is not a measure; allowed are {listed(known)}{spelling(word, known)}"
        )


def at_a_place(measure: str) -> bool:
    """Return whether a measure is read off at a place, as ``gap_mm at 0, 40``."""
    return _PLACE.fullmatch(measure) is not None


def measure_parts(measure: str) -> tuple[str, str, str, str]:
    """Return the parts of a measure such as ``land.across.2.gap_mm``.

    They are the kind of thing ("" for the whole, cut, land, cavity, seat), its name, its number,
    and the measure of it.
    """
    owner, _, rest = measure.partition(".")
    if not rest or owner not in ("cut", "land", "cavity", "seat"):
        return "", "", "", measure
    name, _, last = rest.rpartition(".")
    if owner == "land":
        name, _, number = name.rpartition(".")
        return owner, name, number, last
    return owner, name, "", last


def need_faces_only(keep: Sequence[str]) -> bool:
    """Whether the measures `keep` are of faces alone, so that nobody asks how the rubber moves."""
    known = of_kind("lands", "seal")
    bare_names = [measure.removeprefix(SMALL) for measure in keep]
    return all(at_a_place(m) or measure_parts(m)[-1] in known for m in bare_names)


def measures(
    keep: Sequence[str],
    closing: Closing | Pressing,
    verdict_of: Callable[[], Verdict] | None = None,
    mold: Mold | None = None,
) -> dict[str, Any]:
    """Return the measures of a closing; None where there is none, or no answer to the solve.

    Where large deformation did not settle, only measures of small deformation are left.

    Parameters
    ----------
    keep : sequence of str
    closing : Closing or Pressing
        Contact alone will do where all measures are `need_faces_only`.
    verdict_of : callable
        Gives the verdict of a closing; called only when its sentence is kept.
    mold : Mold, optional
        For the mass and the reach of the flash.
    """
    if not closing.outcome.has_answer:
        return dict.fromkeys(keep)
    source, small = FigureSource(closing, mold), FigureSource(_small(closing), mold)
    found: dict[str, Any] = {}
    for measure in keep:
        if measure.startswith(SMALL):
            found[measure] = bare(_of(measure.removeprefix(SMALL), small, None))
        else:
            known = outcome_of(closing).has_answer
            found[measure] = bare(_of(measure, source, verdict_of)) if known else None
    return found


def outcome_of(closing: Closing | Pressing) -> Outcome:
    """Return how the solve went: at large deformation, where that was needed and did not settle.

    The closing then holds the answer at small deformation, which does not stand for the case.
    """
    if isinstance(closing, Closing):
        deformation = closing.deformation
        if deformation.outcome is not None and not deformation.is_large:
            return deformation.outcome
    return closing.outcome


def _small(closing: Closing | Pressing) -> Closing | Pressing:
    """Return the answer at small deformation of the same case."""
    if isinstance(closing, Closing) and closing.deformation.small is not None:
        return closing.deformation.small
    return closing


def _of(measure: str, source: FigureSource, verdict_of: Callable[[], Verdict] | None) -> Any:
    owner, name, _, last = measure_parts(measure)
    if last == SAY and verdict_of is not None:
        return verdict_of().say
    if not owner and last in BY_NAME and BY_NAME[last].of not in ("lands", "castings"):
        return source.value(BY_NAME[last])
    if last in OF_CAVITIES:
        closing: Any = source.closing
        cavities = [c for c in closing.cavities if not owner or c.name == name]
        return OF_CAVITIES[last].take(cavities) if cavities else None
    return _of_faces(measure, source.closing)


def _of_faces(measure: str, closing: Closing | Pressing) -> Any:
    if place := _PLACE.fullmatch(measure):
        return _at(place[1], float(place[2]), float(place[3]), closing.lands)
    owner, name, number, last = measure_parts(measure)
    faces = closing.seats if owner == "seat" else closing.lands
    lands = [f for f in faces if not owner or f.cut == name]
    lands = [land for land in lands if not number or land.land == int(number)]
    return OF_LANDS[last].take(lands) if lands else None


def _at(quantity: str, x: float, y: float, lands: Lands) -> float | None:
    """Return a quantity at the place of a land nearest to (x, y), linear between its nodes."""
    near = [_nearest(land, np.array([x, y])) for land in lands]
    far, k, s = min(((d, k, s) for k, (d, s) in enumerate(near)), default=(np.inf, 0, 0.0))
    if far > FAR_MM:
        return None
    return float(np.interp(s, lands[k].s_mm, getattr(lands[k], quantity)))


def _nearest(land: Land, point: np.ndarray) -> tuple[float, float]:
    """Return how far a point is from a land, and where along it the nearest place is [mm]."""
    nodes = np.column_stack([land.x_mm, land.y_mm])
    a, d = nodes[:-1], np.diff(nodes, axis=0)
    t = np.clip(np.sum((point - a) * d, axis=1) / np.sum(d * d, axis=1), 0.0, 1.0)
    away = np.hypot(*(a + t[:, None] * d - point).T)
    k = int(np.argmin(away))
    return float(away[k]), float(land.s_mm[k] + t[k] * (land.s_mm[k + 1] - land.s_mm[k]))
