"""Compare the errors that answers tell with the errors that they make, on random molds.

    python tests/benchmarks/effectivity.py --seconds 300
    python tests/benchmarks/effectivity.py --molds 20 --seed 2 --deformation small

A mold follows from the seed and its number, as in `tests/fuzz`. It is closed as `squeeze.close`
closes it, and once more on a mesh some three times as fine, which stands for the limit. The
effectivity of a figure is the error told over the error made. Molds that are refused, have no
answer, or would take long on the fine mesh are left out and counted.

Errors below a floor of the figure's own are left out as well: there the told error and the error
made are both rounding.
"""

from __future__ import annotations

import argparse
import math
import os
import sys
import time
from collections import Counter, defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # before numpy is loaded
sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "fuzz"))

import molds
import numpy as np

import squeeze
from squeeze.solve import refined
from squeeze.solve.accuracy.errors import Errors
from squeeze.solve.closing import Closing
from squeeze.verdict.figures import BY_NAME, errors_of_figures, figures_of

FINER = 3.5  # times as fine is the mesh that stands for the limit
MOST_FINENESS = 8.0
MOST_WORK = 600_000  # unknowns times factors of the fine mesh
FLOORS = {
    "kPa": 2e-4,
    "mm": 5e-4,
    "share": 2e-3,
    "%": 0.02,
    "N/mm": 2e-4,
    "g": 1e-3,
    "times": 2e-3,
    "": 2e-3,
}
"""Errors below which a figure counts as exact, by its unit; of pressures as a share of the highest,
of forces and of the margin as a share of the figure itself."""

QUANTILES = (0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 0.95)


@dataclass(frozen=True, eq=False)
class Sample:
    """A mold closed twice: as users do, with its errors, and on a much finer mesh."""

    number: int
    mold: squeeze.Mold
    closing: Closing
    limit: Closing


@dataclass(frozen=True)
class Pair:
    """The error that was told of a figure, and the error that it has.

    Attributes
    ----------
    told, made : float
    floor : float
        Below it neither counts.
    """

    told: float
    made: float
    floor: float

    @property
    def counts(self) -> bool:
        """Whether there is an error to speak of."""
        return max(self.told, self.made) > self.floor


def sample(seed: int, number: int, deformation: str) -> Sample | str:
    """Return a mold with its two answers, or why it is left out."""
    try:
        mold = squeeze.mold_of(molds.mold(seed, number))
        closing = refined(mold, deformation=deformation).closing
    except squeeze.SqueezeError:
        return "refused"
    errors = closing.errors
    if errors is None or not closing.lands:
        return "no answer" if closing.lands else "no lands"
    finer = FINER * errors.fineness
    work = closing.trust.unknowns * FINER**2 * (1 + closing.deformation.tangents)
    if finer > MOST_FINENESS or work > MOST_WORK:
        return "takes long"
    theory = "large" if closing.deformation.is_large else "small"
    try:
        limit = refined(mold, fineness=finer, deformation=theory).closing
    except squeeze.BadInput:
        return "no mesh as fine"
    if not limit.outcome.has_answer or limit.deformation.is_large != closing.deformation.is_large:
        return "no answer on the fine mesh"
    return Sample(number, mold, closing, limit)


def pairs(found: Sample) -> Iterator[tuple[str, Pair]]:
    """Yield each figure's errors of one mold: whole, by land, by place, by casting."""
    errors, closing = found.closing.errors, found.closing
    assert errors is not None
    peak = max(float(land.pressure_kpa.max()) for land in closing.lands)
    yield from _of_lands(errors, closing, found.limit, peak)
    for told, fine, limit in zip(
        errors.cavities, closing.cavities, found.limit.cavities, strict=True
    ):
        for name, floor in (
            ("area_change_pct", "%"),
            ("largest_shift_mm", "mm"),
            ("step_mm", "mm"),
        ):
            made = abs(getattr(fine, name) - getattr(limit, name))
            yield f"casting: {name}", Pair(getattr(told, name), made, FLOORS[floor])
    fine, limit = (figures_of(each, found.mold).values for each in (closing, found.limit))
    for name, told in errors_of_figures(closing, found.mold).items():
        if all(math.isfinite(each[name]) for each in (fine, limit)):
            unit = BY_NAME[name].unit
            scale = {"kPa": peak, "N/mm": abs(fine[name]), "times": abs(fine[name])}.get(unit, 1.0)
            made = abs(fine[name] - limit[name])
            yield f"figure: {name}", Pair(told, made, FLOORS[unit] * scale)


def _of_lands(
    errors: Errors, closing: Closing, limit: Closing, peak: float
) -> Iterator[tuple[str, Pair]]:
    worst = widest = 0.0
    for told, fine, far in zip(errors.lands, closing.lands, limit.lands, strict=True):
        along = fine.s_mm * (far.length_mm / fine.length_mm)
        off = np.abs(fine.pressure_kpa - np.interp(along, far.s_mm, far.pressure_kpa))
        gap = np.abs(fine.gap_mm - np.interp(along, far.s_mm, far.gap_mm))
        inner = told.inner
        made = float(off[inner].max())
        worst, widest = max(worst, made), max(widest, float(gap.max()))
        kpa = FLOORS["kPa"] * peak
        yield "land: pressure", Pair(told.pressure_kpa, made, kpa)
        mean = abs(fine.mean_pressure_kpa - far.mean_pressure_kpa)
        yield "land: mean pressure", Pair(told.mean_pressure_kpa, mean, kpa)
        yield "land: gap", Pair(told.gap_mm, float(gap.max()), FLOORS["mm"])
        share = abs(fine.closed_share - far.closed_share)
        yield "land: closed share", Pair(told.closed_share, share, FLOORS["share"])
        for k in np.flatnonzero(inner):
            yield "place: pressure", Pair(float(told.pressures_kpa[k]), float(off[k]), kpa)
        for k in range(len(gap)):
            yield "place: gap", Pair(float(told.gaps_mm[k]), float(gap[k]), FLOORS["mm"])
    yield "worst pressure", Pair(errors.pressure_pct / 100 * peak, worst, FLOORS["kPa"] * peak)
    yield "widest gap error", Pair(errors.gap_mm, widest, FLOORS["mm"])


def table(samples: list[Sample]) -> str:
    """Return the quantiles of the effectivity for each figure, a line each."""
    kept: dict[str, list[Pair]] = defaultdict(list)
    for each in samples:
        for name, pair in pairs(each):
            if pair.counts:
                kept[name].append(pair)
    head = "".join(f"{100 * q:7.0f} %" for q in QUANTILES)
    lines = [f"{'told over made':<30}{'n':>6}{head}{'covered':>9}{'0.7 to 3':>10}"]
    for name, found in kept.items():
        ratio = np.array([p.told / max(p.made, 0.05 * p.floor, 1e-12) for p in found])
        cells = "".join(f"{min(q, 999.0):9.2f}" for q in np.quantile(ratio, QUANTILES))
        covered = np.mean([p.told >= p.made or p.made < p.floor for p in found])
        within = np.mean([0.7 <= r <= 3.0 for r in ratio])
        lines.append(
            f"{name:<30}{len(found):>6}{cells}{100 * covered:>7.0f} %{100 * within:>8.0f} %"
        )
    return "\n".join(lines)


def drawn(wish: argparse.Namespace) -> tuple[list[Sample], Counter[str]]:
    """Return the samples of as many molds as number and time allow, and what was left out."""
    start, found, out = time.process_time(), [], Counter()
    number = wish.first
    while len(found) < wish.molds and time.process_time() - start < wish.seconds:
        each = sample(wish.seed, number, wish.deformation)
        if isinstance(each, str):
            out[each] += 1
        else:
            found.append(replace(each, closing=each.closing))
        number += 1
    return found, out


def main() -> int:
    """Read the command line and print the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--seconds", type=float, default=math.inf, help="of processor time")
    parser.add_argument("--molds", type=int, default=50)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--first", type=int, default=0, help="number of the first mold")
    parser.add_argument("--deformation", default="auto", choices=("auto", "small", "large"))
    wish = parser.parse_args()
    found, out = drawn(wish)
    large = sum(each.closing.deformation.is_large for each in found)
    print(f"{len(found)} molds of seed {wish.seed}, {large} of them at large deformation")
    print("left out: " + ", ".join(f"{many} {name}" for name, many in out.items()))
    print(table(found))
    return 0


if __name__ == "__main__":
    sys.exit(main())
