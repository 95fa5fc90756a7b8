"""Tables on the gallery's pages: each comes from the study's CSV, as the remark above it says.

    <!-- results: outline, closed_share; own.height_mm = 40 -->

means the columns before the semicolon, of the rows that fit what stands behind it. Run as a
program, this file writes the tables anew; the tests compare them.
"""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

from squeeze.show.study.table import shown
from squeeze.study.table import read_csv

STUDIES = Path(__file__).resolve().parents[2] / "studies"
MARK = re.compile(r"(<!-- results: ([^;>]*?)(?:; (.*?))? -->\n)((?:\|.*\n)*)")


def pages() -> list[Path]:
    """Return the pages of the studies that keep results."""
    return sorted(path.with_name("README.md") for path in STUDIES.glob("*/results.csv"))


def renewed(page: Path) -> str:
    """Return a page's text with its tables made from the CSV beside it; heads are left alone."""
    rows = list(read_csv(page.with_name("results.csv")))

    def table(found: re.Match[str]) -> str:
        head = "".join(found[4].splitlines(keepends=True)[:2])
        return found[1] + head + _lines(rows, found[2], found[3] or "")

    return MARK.sub(table, page.read_text(encoding="utf-8"))


def _lines(rows: list[dict[str, Any]], columns: str, where: str) -> str:
    names = [name.strip() for name in columns.split("|" if "|" in columns else ",")]
    held = dict(part.split(" = ") for part in where.split(" and ")) if where else {}
    kept = [row for row in rows if all(shown(row[k]) in v.split("/") for k, v in held.items())]
    assert kept, where
    return "".join(f"| {' | '.join(_cell(row[name]) for name in names)} |\n" for row in kept)


def _cell(value: Any) -> str:
    if isinstance(value, float):
        return f"{value:.0f}" if abs(value) >= 100 else f"{value:.2g}"
    return shown(value)


if __name__ == "__main__":
    for page in pages():
        page.write_text(renewed(page), encoding="utf-8")
