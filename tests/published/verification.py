"""The table of verification: what comes from outside, and what the program makes of it.

Each module beside this one lists its `CHECKS`. They are run as tests, and they are the rows of
docs/verification.md:

    python tests/published/verification.py              # compute all rows and write the page
    python tests/published/verification.py lame disc    # those of these modules; others stay

A check goes through the door of a user, a mold and `squeeze.close`, wherever a mold can say it.
"""

from __future__ import annotations

import argparse
import importlib
import re
import sys
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import pytest

import squeeze

HERE = Path(__file__).parent
PAGE = HERE.parents[1] / "docs" / "verification.md"

CURRENT = 0.25
"""How far a figure may stray from the page, over its tolerance: what a better method changes."""


@dataclass(frozen=True)
class Check:
    """One row: a published value, and how the program finds it.

    Attributes
    ----------
    problem : str
    source : str
        Author, year, where in it; "from memory" or "common practice" where that is so.
    quantity : str
        What is compared, with its unit.
    published : float
        The published value, or what the closed form gives.
    computed : callable
        Returns the program's figure, and the closing that it was read from or None.
    within : float
        Allowed difference over `scale`.
    scale : float or None
        What a difference is measured by; the published value unless given.
    slow : bool
        Whether it takes more than a few seconds.
    """

    problem: str
    source: str
    quantity: str
    published: float
    computed: Callable[[], tuple[float, object | None]]
    within: float
    scale: float | None = None
    slow: bool = False

    @property
    def size(self) -> float:
        """What a difference is measured by."""
        return abs(self.published) if self.scale is None else self.scale

    @property
    def told(self) -> tuple[str, str, str, str]:
        """The cells that need no computation."""
        return self.problem, self.source, self.quantity, f"{self.published:.5g}"


def estimated_error(closing: object | None, quantity: str) -> str | None:
    """Return the error that the program itself tells of a quantity; None where it tells none.

    Of pressures over the largest pressure of the closing, of gaps as they are.
    """
    errors = getattr(closing, "errors", None)
    if errors is None:
        return None
    if "pressure" in quantity:
        return f"{errors.pressure_pct:.2g} % of the largest"
    return f"{1000 * errors.gap_mm:.2g} um" if "gap" in quantity else None


@cache
def closed(
    make: Callable[[], squeeze.Mold], fineness: float, deformation: str = "small"
) -> squeeze.Closing:
    """Close a mold as a user would; what is asked for again is not computed again."""
    return squeeze.close(make(), fineness=fineness, deformation=deformation)


def modules() -> list[str]:
    """Return the names of the modules that list checks, in the order of the page."""
    found = (path.stem for path in sorted(HERE.glob("test_*.py")))
    return [name for name in found if "\nCHECKS" in (HERE / f"{name}.py").read_text("utf-8")]


def checks_of(module: str) -> tuple[Check, ...]:
    """Return the checks of one module by its name."""
    return importlib.import_module(module).CHECKS


def rows_test(checks: Iterable[Check]) -> Callable[[Check], None]:
    """Return a test of each check: the figure is right, and the page holds it."""
    listed = [
        pytest.param(check, id=check.quantity, marks=[pytest.mark.slow] if check.slow else [])
        for check in checks
    ]

    @pytest.mark.parametrize("check", listed)
    def test(check: Check) -> None:
        value, _ = check.computed()
        assert value == pytest.approx(check.published, rel=0, abs=check.within * check.size)
        written = rows_of(PAGE.read_text("utf-8"))[check.told[0], check.told[2]]
        assert written[:4] == check.told, AGAIN
        rounding = 1e-4 * max(abs(value), check.size)
        assert value == pytest.approx(
            float(written[4]), rel=0, abs=CURRENT * check.within * check.size + rounding
        ), AGAIN

    return test


AGAIN = "the page is out of date: run tests/published/verification.py"

HEAD = """# Verification

Every row is a value from outside: a closed form, a series, a table, a rule of statics.
*Computed* is what the program makes of the same problem. `tests/published/` computes each row
and wrote this page. A test fails when a row leaves its tolerance, or when the page is out of date.

*From memory*: the source was not at hand when the check was written; the formula was derived
again, or its limits were checked. *Common practice*: a fact of the trade without a source.
*Solved here*: the source gives the equations, and the test solves them by a method of its own.
Each row is computed from a mold by `squeeze.close`, as a user would, unless it says otherwise.

*Estimated error* is the program's own estimate, where it makes one.

"""
COLUMNS = (
    "problem", "source", "quantity", "published", "computed", "difference", "estimated error",
)  # fmt: skip
RULE = ("---",) * len(COLUMNS)


def row(check: Check) -> tuple[str, ...]:
    """Compute a check and return its row."""
    value, closing = check.computed()
    off = 100 * (value - check.published) / check.size
    told = estimated_error(closing, check.quantity) or "-"
    return (*check.told, f"{value:.5g}", f"{off:+.2f} %", told)


def rows_of(page: str) -> dict[tuple[str, str], tuple[str, ...]]:
    """Return the rows of a page by problem and quantity."""
    lines = re.findall(r"^\| (.*) \|$", page, re.MULTILINE)
    rows = [tuple(cell.strip() for cell in line.split(" | ")) for line in lines]
    return {(cells[0], cells[2]): cells for cells in rows if cells not in (COLUMNS, RULE)}


def page_of(rows: Iterable[tuple[str, ...]]) -> str:
    """Return the page with these rows."""
    lines = ["| " + " | ".join(COLUMNS) + " |", "| " + " | ".join(RULE) + " |"]
    lines += ["| " + " | ".join(cells) + " |" for cells in rows]
    return HEAD + "\n".join(lines) + "\n"


def write(chosen: Iterable[str]) -> None:
    """Compute the rows of the chosen modules anew and write the page; other rows stay."""
    kept = rows_of(PAGE.read_text("utf-8")) if PAGE.exists() else {}
    rows = []
    for module in modules():
        for check in checks_of(module):
            old = kept.get((check.problem, check.quantity))
            if module in chosen or old is None or old[:4] != check.told:
                rows.append(row(check))
                print(*rows[-1], sep=" | ", flush=True)
            else:
                rows.append(old)
    PAGE.write_text(page_of(rows), "utf-8")


def main() -> None:
    """Write the page."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("module", nargs="*", help="names without test_; all unless given")
    given = [f"test_{name}" for name in parser.parse_args().module]
    if unknown := set(given) - set(modules()):
        parser.error(f"no module lists checks under: {', '.join(sorted(unknown))}")
    write(given or modules())


if __name__ == "__main__":
    sys.path.insert(0, str(HERE))
    main()
