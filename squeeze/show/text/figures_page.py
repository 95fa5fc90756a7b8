"""The page of figures in the documentation, made from the table of figures."""

from __future__ import annotations

import math

from squeeze.verdict.figures import TABLE, Figure

GROUPS = {
    "grade": "Grade",
    "lands": "Lands",
    "castings": "Castings",
    "seal": "Seal",
    "flash": "Flash",
    "whole": "The whole",
}

INTRO = """# Figures

Every figure has one name, one unit and one rule. `squeeze close --json` and `squeeze cradle --json`
hold them under these names, `keep` in a [study](studies.md) takes them, and
`squeeze.verdict.figures.figures_of(closing)` gives them in Python. A share is a number from 0 to 1;
tables show it in per cent. What has no answer has no figures, and neither seals nor closes.

This page is made from `squeeze/verdict/figures/table.py`. After a change there run
`python -m squeeze.show.text.figures_page > docs/figures.md`."""


def figures_page() -> str:
    """Return the page as Markdown: a table for each kind of figure."""
    parts = [INTRO]
    for kind, title in GROUPS.items():
        rows = [_row(each) for each in TABLE if each.of == kind]
        head = "| figure | unit | in words | how it is computed |\n| --- | --- | --- | --- |"
        parts.append("\n".join([f"## {title}\n", head, *rows]))
    return "\n\n".join(parts) + "\n"


def _row(figure: Figure) -> str:
    means = figure.means
    if figure.grades:
        limits = [
            f"{grade} under {below:g} {figure.unit}" if math.isfinite(below) else f"else {grade}"
            for below, grade in figure.grades
        ]
        means += f"; {', '.join(limits)}"
    return f"| `{figure.name}` | {figure.unit or '-'} | {figure.words} | {means} |"


if __name__ == "__main__":
    print(figures_page(), end="")
