"""What may have caused the flash, as a table and as plain data."""

from __future__ import annotations

import math
from typing import Any

from rich.table import Table

from squeeze.show.text.lands import empty_table
from squeeze.verdict.why import Why


def why_table(found: Why) -> Table:
    """Return the explanations, the most plausible first, each with what is usual and its test."""
    made = empty_table(tight=True)
    made.add_column("", no_wrap=True)
    made.add_column("what would explain it", overflow="fold", ratio=5)
    made.add_column("usual", no_wrap=True)
    made.add_column("how to find out", overflow="fold", ratio=4)
    for each in found.found:
        made.add_row(each.word, each.say, each.say_usual(found.inches), each.test)
    return made


def why_data(found: Why) -> dict[str, Any]:
    """Return the same as plain data for JSON; what is endless is None."""
    return {
        "say": found.say,
        "grade_of_mold": found.own,
        "do": found.do,
        "at": found.at,
        "flash_mm": found.flash_mm,
        "computed_mm": _finite(found.computed_mm),
        "explanations": [
            {
                "kind": each.kind,
                "plausible": each.word,
                "off": each.off,
                "usual": each.usual,
                "unit": each.unit,
                "times_usual": _finite(each.times_usual),
                "flash_mm": _finite(each.flash_mm),
                "say": each.say,
                "test": each.test,
            }
            for each in found.found
        ],
    }


def _finite(value: float) -> float | None:
    return value if math.isfinite(value) else None
