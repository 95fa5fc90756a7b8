"""Compute the decisive cases of the studies at large deformation, beside small strain.

    python studies/large.py            # prints the table of studies/large.md: some minutes
    python studies/large.py --write    # puts it into the page, between its marks

The sweeps take small deformation, which is quick; this says which of their claims stand when the
block is computed as it deforms.
"""

from __future__ import annotations

import argparse
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from squeeze.mold import mold_of
from squeeze.show.study.labels import label_of, said
from squeeze.solve import Block, Closing
from squeeze.study import Study, cases, load_study
from squeeze.study.measures import measures
from squeeze.study.runner.solve_batch import close_case
from squeeze.verdict import judge

HERE = Path(__file__).parent
PAGE = HERE / "large.md"
FINENESS = 0.7

MIDDLE, OUTER = (f"land.across the barrels.{k}.largest_gap_mm" for k in (2, 0))
WEB = "land.flat.1.largest_gap_mm"
SHARE, GAP, LEAST = "closed_share", "largest_gap_mm", "least_pressure_kpa"
HIGH, LOWER = {"own.height_mm": 40}, {"own.height_mm": 20}
PULL = {"band.tension_n_per_mm": 0.6}
FITS = {"resin.head_mm": 100, "cut.up.gap_mm": 0.0}
GAPES = {"resin.head_mm": 100, "cut.up.gap_mm": 1.0}
SQUARE = {"block": "square"}

CHECKS: list[tuple[str, dict[str, Any], str]] = [
    ("outlines", {"outline": "square", **HIGH}, MIDDLE),
    ("outlines", {"outline": "bevel 10", **HIGH}, MIDDLE),
    ("outlines", {"outline": "rounded 20", **HIGH}, MIDDLE),
    ("outlines", {"outline": "bevel 20", **HIGH}, SHARE),
    ("outlines", {"outline": "bevel 40", **HIGH}, OUTER),
    ("outlines", {"outline": "round", **HIGH}, SHARE),
    ("outlines", {"outline": "square", **LOWER}, SHARE),
    ("flatness", {"own.width_to_height": 1.5, "block.bevel_mm": 3}, WEB),
    ("flatness", {"own.width_to_height": 2.0, "block.bevel_mm": 3}, WEB),
    ("flatness", {"own.width_to_height": 3.0, "block.bevel_mm": 3}, WEB),
    ("flatness", {"own.width_to_height": 3.0, "block.bevel_mm": 20}, WEB),
    ("flatness", {"own.width_to_height": 4.0, "block.bevel_mm": 3}, WEB),
    ("cut-angle", {"own.cut_deg": 0.0, "block": "square, pushed on 88 mm"}, GAP),
    ("cut-angle", {"own.cut_deg": 90.0, "block": "square, pushed on 88 mm"}, GAP),
    ("cut-angle", {"own.cut_deg": 67.5, "block": "square, bands"}, LEAST),
    ("cut-angle", {"own.cut_deg": 90.0, "block": "square, bands"}, LEAST),
    ("bands", {"band.count": 2, **FITS}, LEAST),
    ("bands", {"band.count": 4, **GAPES}, SHARE),
    ("bands", {"band.count": 10, **FITS}, "cavity.rod.area_change_pct"),
    ("cradles", {"cradle": "none", **PULL}, MIDDLE),
    ("cradles", {"cradle": "flat boards, plywood, all round", **PULL}, LEAST),
    ("cradles", {"cradle": "flat boards, foam of 5 MPa, all round", **PULL}, MIDDLE),
    ("cradles", {"cradle": "backs 10 mm round, foam of 5 MPa, all round", **PULL}, LEAST),
    ("corners", {"block.round_mm": 2}, "largest_strain_pct"),
    ("corners", {"block.round_mm": 20}, "largest_strain_pct"),
    ("corners", {"block.round_mm": 45}, LEAST),
    ("hardness", {"rubber.shore_a": 20, "hollow": "0.4 mm"}, SHARE),
    ("hardness", {"rubber.shore_a": 30, "hollow": "0.4 mm"}, SHARE),
    ("hardness", {"rubber.shore_a": 60, "hollow": "0.4 mm"}, GAP),
    ("friction", {**SQUARE, "own.slant_deg": 20, "cut.slant.friction": 0.3}, "largest_slip_mm"),
    ("friction", {**SQUARE, "own.slant_deg": 20, "cut.slant.friction": 0.4}, "largest_slip_mm"),
    ("friction", {**SQUARE, "own.slant_deg": 30, "cut.slant.friction": 0.6}, "largest_slip_mm"),
]
"""Study, what its case has, and the measure that its page's claim stands on."""


def table() -> Iterator[str]:
    """Yield the lines of the table."""
    yield "| study | case | figure | small strain | large deformation |"
    yield "| --- | --- | --- | --- | --- |"
    for name, wanted, measure in CHECKS:
        study = load_study(HERE / name)
        small, large = (_value(each, measure) for each in both(study, wanted))
        case = ", ".join(said(key, value, study.file.names) for key, value in wanted.items())
        figure = label_of(measure, study.file.names)
        yield f"| [{name}]({name}/README.md) | {case} | {figure} | {small} | {large} |"


def both(study: Study, wanted: dict[str, Any]) -> tuple[Closing, Closing]:
    """Return the closings of a case at small and at large deformation."""
    (case,) = (
        case
        for case in cases(study)
        if all(case.values[key] == value for key, value in wanted.items())
    )
    mold = mold_of(case.mold)
    block = Block(mold, FINENESS)
    small, large = (close_case(block, mold, theory) for theory in ("small", "large"))
    return small, large


def _value(closing: Closing, measure: str) -> str:
    """Return a measure with two figures, or why there is none."""
    if not closing.outcome.has_answer:
        return str(closing.outcome)
    value = measures([measure], closing, lambda: judge(closing), None)[measure]
    return "0" if abs(value) < 5e-4 else f"{value:.2g}"


def main() -> None:
    """Print the table, or write it into the page."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--write", action="store_true", help="put it into studies/large.md")
    given = parser.parse_args()
    lines = []
    for line in table():
        print(line, flush=True)
        lines.append(line)
    if given.write:
        text = PAGE.read_text(encoding="utf-8")
        marked = re.compile(r"(<!-- table -->\n).*?(<!-- end of table -->)", re.DOTALL)
        made = marked.sub(lambda found: found[1] + "\n".join(lines) + "\n" + found[2], text)
        PAGE.write_text(made, encoding="utf-8")


if __name__ == "__main__":
    main()
