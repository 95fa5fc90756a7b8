"""A table of measured figures with their goals: printed as it grows, and kept as JSON."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass, field
from pathlib import Path


@dataclass(frozen=True)
class Row:
    """One figure; the smaller, the better.

    Attributes
    ----------
    name : str
    value : float
    unit : str
    goal : float or None
        What it should not exceed.
    """

    name: str
    value: float
    unit: str
    goal: float | None = None

    def __str__(self) -> str:
        """Return the row as a line."""
        goal = "" if self.goal is None else f"{self.goal:10.3g}"
        missed = " missed" if self.goal is not None and self.value > self.goal else ""
        return f"{self.name:<58} {self.value:10.3g} {goal:>10} {self.unit}{missed}"


@dataclass
class Table:
    """Rows in the order in which they were measured."""

    rows: list[Row] = field(default_factory=list)

    def add(self, name: str, value: float, unit: str, goal: float | None = None) -> None:
        """Keep a figure and print it."""
        if not self.rows:
            print(f"{'':<58} {'value':>10} {'goal':>10}")
        self.rows.append(Row(name, float(value), unit, goal))
        print(self.rows[-1], flush=True)

    def write(self, path: Path) -> None:
        """Write all rows as JSON."""
        rows = [asdict(row) for row in self.rows]
        path.write_text(json.dumps({"rows": rows}, indent=1) + "\n", encoding="utf-8")


def read(path: Path) -> dict[str, Row]:
    """Return the rows of a file by their names."""
    rows = json.loads(path.read_text(encoding="utf-8"))["rows"]
    return {row["name"]: Row(**row) for row in rows}
