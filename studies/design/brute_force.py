"""Try blocks all over every family, without any search, and compare the fronts.

    python studies/design/brute_force.py try barrels 1000      # goes on where it was stopped
    python studies/design/brute_force.py compare barrels

The places are those of a Sobol sequence (I. M. Sobol, 1967), the same for each run. Blocks are put
to the same coarse mesh as those of `squeeze design`; the bands are chosen by the same rule. What is
compared is where the search looks, not what it looks with. `try` appends to NAME-tried.csv.
"""

from __future__ import annotations

import csv
import json
import sys
import time
from pathlib import Path
from typing import Any

import numpy as np
from scipy.stats import qmc

from squeeze.design.family import Point, families
from squeeze.design.jobs import how_cut
from squeeze.design.limits import limits_of
from squeeze.design.models import models_of
from squeeze.design.read import has_block, load_models
from squeeze.design.search import STEP_MM, Search, front, search_family
from squeeze.mold import Mold

HERE = Path(__file__).parent
MOLDS = {"barrels": HERE.parent / "barrels" / "barrels.toml", "handles": HERE / "handles.toml"}
COLUMNS = ("try", "kind", "rubber_g", "steps", "bands", "margin", "flash_mm", "shift_mm", "block")
FIGURES = ("rubber_g", "steps", "bands", "margin", "flash_mm", "shift_mm")
NEAR_MM = 0.01
"""Flash and shift are told to a hundredth of a millimetre; less does not tell blocks apart."""


def main() -> None:
    """Run what was asked for."""
    what, name, *rest = sys.argv[1:]
    if what == "try":
        try_blocks(name, int(rest[0]), float(rest[1]) if len(rest) > 1 else 1e9)
    else:
        compare(name)


def searches(mold: Mold) -> list[Search]:
    """Return a search for each family; here only to screen blocks."""
    limits = limits_of(mold)
    every = families(models_of(mold, has_block(mold)), limits, how_cut(mold))
    return [Search(family, mold, limits) for family in every]


def try_blocks(name: str, count: int, seconds: float) -> None:
    """Try so many blocks in all, a family after the other, from where an earlier run stopped."""
    mold, path = load_models(MOLDS[name]), HERE / f"{name}-tried.csv"
    done = _last(path) + 1
    every = searches(mold)
    places = qmc.Sobol(4, scramble=False).random_base2(12)
    start = time.monotonic()
    with path.open("a", newline="", encoding="utf-8") as file:
        table = csv.writer(file, lineterminator="\n")
        if not done:
            table.writerow(COLUMNS)
        for k in range(done, count):
            if time.monotonic() - start > seconds:
                break
            for row in _rows(k, every[k % len(every)], places[1 + k // len(every)]):
                table.writerow(row)
            file.flush()


def _rows(k: int, search: Search, place: np.ndarray) -> list[list[Any]]:
    wall = search.least_wall + place[0] * (search.most_wall - search.least_wall)
    given = {name: float(v) for name, v in zip(("aspect", "corner"), place[1:3], strict=True)}
    offset = 0.5 + 0.3 * (float(place[3]) - 0.5)
    known = {name: v for name, v in given.items() if name in search.family.varied}
    search.found.drafts.clear()
    search.screened(Point(wall, offset=offset, **known), STEP_MM)
    rows = [
        [k, d.kind, *(getattr(d, figure) for figure in FIGURES), json.dumps(d.data["block"])]
        for d in search.found.drafts
    ]
    return rows or [[k, search.family.words, *([""] * (len(COLUMNS) - 2))]]


def _last(path: Path) -> int:
    if not path.exists():
        return -1
    with path.open(encoding="utf-8") as file:
        return max((int(row["try"]) for row in csv.DictReader(file)), default=-1)


class Row:
    """A block that was tried."""

    def __init__(self, figures: dict[str, float], words: str) -> None:
        self.figures, self.words = figures, words

    def costs(self) -> tuple[float, ...]:
        """Return what blocks are compared by, each the less the better."""
        f = self.figures
        return tuple(-f[name] if name == "margin" else f[name] for name in FIGURES)


def compare(name: str) -> None:
    """Print how far the front of the search lies behind that of all blocks that were tried."""
    with (HERE / f"{name}-tried.csv").open(encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    tried = 1 + max(int(row["try"]) for row in rows)
    blocks = [
        Row({f: float(row[f]) for f in FIGURES}, f"{row['kind']} {row['block']}")
        for row in rows
        if row["rubber_g"]
    ]
    brute = front(blocks)
    mold = load_models(MOLDS[name])
    limits = limits_of(mold)
    every = families(models_of(mold, has_block(mold)), limits, how_cut(mold))
    found = [search_family(family, mold, limits) for family in every]
    searched = front(
        [
            Row({f: float(getattr(d, f)) for f in FIGURES}, d.kind)
            for each in found
            for d in each.drafts
        ]
    )
    solves = sum(each.tried for each in found)
    print(f"{name}: {tried} blocks tried all over, {len(brute)} on their front")
    print(f"{name}: {solves} blocks computed by the search, {len(searched)} on its front")
    behind = np.array([min(_behind(own, other) for own in searched) for other in brute])
    for share in (0.0, 0.02, 0.05, 0.1, 0.2):
        print(f"  within {100 * share:.0f} % in every figure: {np.mean(behind <= share):.0%}")
    for figure in FIGURES:
        a, b = _best(searched, figure), _best(brute, figure)
        print(f"  best {figure}: searched {a:.3g}, all over {b:.3g}")
    ahead = np.array([min(_behind(own, other) for own in brute) for other in searched])
    print(f"  of the searched ones, {np.mean(ahead > 0.02):.0%} beat all over by more than 2 %")


def _best(rows: list[Row], figure: str) -> float:
    values = [row.figures[figure] for row in rows]
    return max(values) if figure == "margin" else min(values)


def _behind(own: Row, other: Row) -> float:
    """Return by which share `own` is worse than `other` in the figure where it is worst."""
    worst = 0.0
    for name in FIGURES:
        a, b = own.figures[name], other.figures[name]
        if name == "margin":
            worst = max(worst, b / a - 1)
        elif name.endswith("_mm"):
            worst = max(worst, (max(a, NEAR_MM) / max(b, NEAR_MM)) - 1)
        else:
            worst = max(worst, a / b - 1)
    return worst


if __name__ == "__main__":
    main()
