"""Try blocks all over every family, without any search, and compare the fronts.

    python studies/design/brute_force.py try barrels 2000      # goes on where it was stopped
    python studies/design/brute_force.py compare barrels       # with the front that is kept

The places are those of a Sobol sequence (I. M. Sobol, 1967), the same for each run. Blocks are put
to the same coarse mesh as those of `squeeze design`; the bands are chosen by the same rule. What is
compared is where the search looks, not what it looks with. `try` appends to NAME-tried.csv, and
writes what none of these blocks beats in everything to NAME-front.csv.
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

from squeeze.design.blocks.family import Family, Point, families, least_wrap_mm, shared_band, walls
from squeeze.design.blocks.limits import Limits, limits_of
from squeeze.design.jobs import how_cut
from squeeze.design.models.group import models_of
from squeeze.design.models.read import has_block, load_models
from squeeze.design.search.drafts import Draft, front
from squeeze.design.search.given_up import Unfit
from squeeze.design.search.next_blocks import logs_of
from squeeze.design.search.on_block import drafts_of
from squeeze.design.search.places import STEP_MM
from squeeze.design.search.screen import Screened, screen
from squeeze.design.search.search import Search
from squeeze.mold import Mold

HERE = Path(__file__).parent
MOLDS = {"barrels": HERE.parent / "barrels" / "barrels.toml", "handles": HERE / "handles.toml"}
COLUMNS = ("try", "kind", "rubber_g", "steps", "bands", "margin", "flash_mm", "shift_mm", "block")
DIGITS = {"rubber_g": 1, "steps": 0, "bands": 0, "margin": 3, "flash_mm": 3, "shift_mm": 4}
FIGURES = tuple(DIGITS)


def main() -> None:
    """Run what was asked for."""
    what, name, *rest = sys.argv[1:]
    if what == "try":
        try_blocks(name, int(rest[0]), float(rest[1]) if len(rest) > 1 else 1e9)
    else:
        compare(name)


def families_of(mold: Mold) -> list[Family]:
    """Return every kind of block about the models of a mold."""
    return list(families(models_of(mold, has_block(mold)), limits_of(mold), how_cut(mold)))


def try_blocks(name: str, count: int, seconds: float) -> None:
    """Try so many blocks in all, a family after the other, from where an earlier run stopped."""
    mold, path = load_models(MOLDS[name]), HERE / f"{name}-tried.csv"
    done = _last(path) + 1
    every, limits = families_of(mold), limits_of(mold)
    places = qmc.Sobol(4, scramble=False).random_base2(12)
    start = time.monotonic()
    with path.open("a", newline="", encoding="utf-8") as file:
        table = csv.writer(file, lineterminator="\n")
        if not done:
            table.writerow(COLUMNS)
        for k in range(done, count):
            if time.monotonic() - start > seconds:
                break
            family = every[k % len(every)]
            drafts = _drafts(family, mold, limits, places[1 + k // len(every)])
            rows = [[k, d.kind, *_figures(d), _block(d)] for d in drafts]
            table.writerows(rows or [[k, family.words, *([""] * (len(COLUMNS) - 2))]])
            file.flush()
    _write_front(path, HERE / f"{name}-front.csv")


def _drafts(family: Family, mold: Mold, limits: Limits, place: np.ndarray) -> list[Draft]:
    """Return the block of a place with each number of bands that makes it hold."""
    least, most = walls(limits, family.points)
    given = {name: float(v) for name, v in zip(("aspect", "corner"), place[1:3], strict=True)}
    known = {name: v for name, v in given.items() if name in family.varied}
    at = Point(
        least + place[0] * (most - least), offset=0.5 + 0.3 * (float(place[3]) - 0.5), **known
    )
    try:
        data = family.data(mold, at, least_wrap_mm(limits), STEP_MM)
        data |= {"band": shared_band(limits.bands)}
        return list(drafts_of(family.words, data, screen(data, limits), limits))
    except (ValueError, Unfit):
        return []


def _figures(draft: Draft) -> list[float]:
    return [round(getattr(draft, figure), DIGITS[figure]) for figure in FIGURES]


def _block(draft: Draft) -> str:
    return json.dumps(draft.data["block"])


def _last(path: Path) -> int:
    if not path.exists():
        return -1
    return max((int(row["try"]) for row in _read(path)), default=-1)


def _read(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


class Row:
    """A block that was tried."""

    def __init__(self, row: dict[str, str]) -> None:
        self.row = row

    def costs(self) -> tuple[float, ...]:
        """Return what blocks are compared by, each the less the better."""
        values = {name: float(self.row[name]) for name in FIGURES}
        return tuple(-v if name == "margin" else v for name, v in values.items())


def _write_front(tried: Path, kept: Path) -> None:
    ahead = front([Row(row) for row in _read(tried) if row["rubber_g"]])
    with kept.open("w", newline="", encoding="utf-8") as file:
        table = csv.DictWriter(file, COLUMNS, lineterminator="\n")
        table.writeheader()
        table.writerows(each.row for each in ahead)


def searched(mold: Mold) -> Search:
    """Search as `squeeze design` does, in this process."""
    limits = limits_of(mold)
    search = Search(mold, limits, families_of(mold))

    def compute(molds: list[dict[str, Any]]) -> list[Screened | Unfit]:
        return [_screened(data, limits) for data in molds]

    search.run(compute)
    return search


def _screened(data: dict[str, Any], limits: Limits) -> Screened | Unfit:
    try:
        return screen(data, limits)
    except Unfit as unfit:
        return unfit


def behind(brute: list[tuple[float, ...]], found: list[tuple[float, ...]]) -> np.ndarray:
    """Return how far what was found lies behind each of the brute force, shape (brute,).

    That is the least share, over all that was found, by which a block is worse in the figure where
    it is worst; negative where a block is better in every figure. Flash and castings count to
    0.01 mm.
    """
    theirs = logs_of(found)
    return np.array([np.expm1((theirs - own).max(axis=1).min()) for own in logs_of(brute)])


def compare(name: str) -> None:
    """Print how far the front of the search lies behind that of all blocks that were tried."""
    brute = [Row(row).costs() for row in _read(HERE / f"{name}-front.csv")]
    search = searched(load_models(MOLDS[name]))
    ahead = [draft.costs() for draft in front(search.drafts)]
    print(f"{name}: {len(brute)} on the front of the blocks that were tried all over")
    print(f"{name}: {search.tried} blocks computed by the search, {len(ahead)} on its front")
    far = behind(brute, ahead)
    for share in (0.0, 0.02, 0.05, 0.1, 0.2):
        print(f"  within {100 * share:.0f} % in every figure: {np.mean(far <= share + 1e-9):.0%}")
    for k, figure in enumerate(FIGURES):
        a, b = (min(costs[k] for costs in every) for every in (ahead, brute))
        print(f"  best {figure}: searched {abs(a):.3g}, all over {abs(b):.3g}")
    ahead_of_all = behind(ahead, brute)
    print(f"  of the searched ones, {np.mean(ahead_of_all > 0.02):.0%} beat all over by over 2 %")


if __name__ == "__main__":
    main()
