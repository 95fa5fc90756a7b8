"""A hundred random molds: the grade that the head gives, beside what the arrays themselves show.

What a mold suffers from is read off the arrays and the geometry here, not by the code that makes
heads. Run as a program it computes the molds and writes docs/hundred.md (some minutes):

    python tests/verdict/hundred.py
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import count
from pathlib import Path
from typing import Any

import numpy as np
from shapely.geometry import LineString, Point

import squeeze
from squeeze.mold import BadInput
from squeeze.verdict.figures import figures_of
from squeeze.verdict.grade import GRADES
from squeeze.verdict.uncertainty import varies

PAGE = Path(__file__).parents[2] / "docs" / "hundred.md"

MOLDS = 100

FINENESS = 0.5
"""Of the meshes behind the page. A coarse mesh is enough: head and arrays are of one answer."""

FLASH_MM = 0.05
"""Gap at a cavity from which on the casting has to be cleaned."""

NEAR_MM = 0.1
"""Places nearer to each other than this touch."""


@dataclass(frozen=True)
class Row:
    """One mold: what the head says, and what was found.

    Attributes
    ----------
    number : int
    block : str
        Shape of the block.
    cavities : int
    tension_n_per_mm : float
    deformation : str
        ``"small"`` or ``"large"``.
    grade : str
    cause : str
        Kind of the first cause; empty where none was found.
    gap_mm, flash_mm, margin : float
        Widest gap; widest gap at a cavity; weakest barrier over the resin's pressure. NaN without
        an answer.
    troubles : tuple of str
        What is wrong with the mold.
    good : bool
        The head says that there is nothing to mend.
    """

    number: int
    block: str
    cavities: int
    tension_n_per_mm: float
    deformation: str
    grade: str
    cause: str
    gap_mm: float
    flash_mm: float
    margin: float
    troubles: tuple[str, ...]
    good: bool


def mold(number: int) -> dict[str, Any]:
    """Return a plain mold with one cut; some cuts miss a cavity, some end short of the outside."""
    rng = np.random.default_rng([7, number])
    wide = float(rng.uniform(50, 140))
    high = wide * float(rng.choice([0.45, 0.7, 1.0]))
    block = [
        {"shape": "round", "diameter_mm": wide},
        {"shape": "rectangle", "width_mm": wide, "height_mm": high, "bevel_mm": 0.2 * high},
        {"shape": "rectangle", "width_mm": wide, "height_mm": high, "bevel_mm": 2.0},
    ][int(rng.integers(3))]
    high = wide if block["shape"] == "round" else high
    rods = int(rng.integers(1, 4))
    pitch = 0.7 * wide / rods
    size = float(rng.uniform(0.2, 0.7)) * min(pitch, 0.6 * high)
    at = [pitch * (k - 0.5 * (rods - 1)) for k in range(rods)]
    rises = float(rng.choice([0.0, 0.0, 0.15])) * high
    short = float(rng.choice([0.0, 0.0, 0.0, 4.0]))
    miss = float(rng.choice([0.0, 0.0, 0.0, 0.0, 1.5])) * size
    end = 0.5 * wide - short if short else 2.0 * wide
    cavities = [
        {"name": f"rod {k}", "shape": "round", "diameter_mm": size, "centre_mm": [x, rises]}
        for k, x in enumerate(at)
    ]
    lean = float(rng.choice([0.0, 0.0, 0.2]))
    ends = [[-end, rises + miss - lean * end], [end, rises + miss + lean * end]]
    return {
        "length_mm": 100,
        "rubber": {"shore_a": float(rng.integers(10, 40))},
        "block": block,
        "cavity": cavities,
        "cut": [{"path_mm": ends, "friction": float(rng.choice([0.0, 0.1, 0.5]))}],
        "band": [{"tension_n_per_mm": float(np.exp(rng.uniform(np.log(0.02), np.log(0.8))))}],
        "resin": {"head_mm": float(rng.uniform(20, 200))},
    }


def opening_troubles(section: Any) -> Iterator[str]:
    """Yield what keeps the block from being opened, from distances alone."""
    lines = [LineString(s.points) for cut in section.cuts for s in cut.stretches]
    edge = section.outline.polygon.exterior
    for cavity in section.cavities:
        if not any(line.distance(cavity.loop.polygon) < NEAR_MM for line in lines):
            yield "unreached cavity"
    ends = [Point(place) for line in lines for place in line.coords]
    if lines and not any(edge.distance(end) < NEAR_MM for end in ends):
        yield "cut ends in rubber"


def flash_mm(closing: squeeze.Closing) -> float:
    """Return the widest gap at a cavity [mm], from the arrays of the lands."""
    edges = [cavity.loop.polygon.exterior for cavity in closing.section.cavities]
    gaps = [
        float(land.gap_mm[k])
        for land in closing.lands
        for k in (0, -1)
        if any(edge.distance(Point(land.x_mm[k], land.y_mm[k])) < NEAR_MM for edge in edges)
    ]
    return max(gaps, default=0.0)


def leaks(closing: squeeze.Closing) -> bool:
    """Return whether a land that ends outside nowhere presses harder than the resin."""
    edge = closing.section.outline.polygon.exterior
    resin_kpa = 1000 * closing.loads.cavity_mpa
    return bool(closing.section.cavities) and any(
        land.pressure_kpa.max() < resin_kpa
        and any(edge.distance(Point(land.x_mm[k], land.y_mm[k])) < NEAR_MM for k in (0, -1))
        for land in closing.lands
    )


def troubles(closing: squeeze.Closing, unsolved: int) -> tuple[str, ...]:
    """Return what is wrong with a mold, read off the arrays.

    Parameters
    ----------
    closing : Closing
    unsolved : int
        Variations without an answer.
    """
    found = list(opening_troubles(closing.section))
    if not closing.outcome.has_answer:
        return (*dict.fromkeys(found), "no answer")
    if flash_mm(closing) > FLASH_MM:
        found.append("flash")
    if leaks(closing):
        found.append("leak")
    if unsolved:
        found.append("unsolved variation")
    return tuple(dict.fromkeys(found))


def row_of(number: int, fineness: float = FINENESS) -> Row | None:
    """Return what the head says of a mold, and what was found; None where it cannot be built."""
    try:
        read = squeeze.mold_of(mold(number))
        block = squeeze.Block(read, fineness)
    except BadInput:
        return None
    closing = block.close(deformation="auto", check=False)
    varied = squeeze.uncertainty(block, closing) if varies(closing) else None
    head = squeeze.judge(closing, mold=read, varied=varied).head
    solved = closing.outcome.has_answer
    figures = figures_of(closing, read).values if solved else {}
    nothing = float("nan")
    return Row(
        number=number,
        block=read.block.shape,
        cavities=len(read.cavity),
        tension_n_per_mm=closing.loads.tension_n_per_mm,
        deformation="large" if closing.deformation.is_large else "small",
        grade=head.grade,
        cause=head.causes[0].kind if head.causes else "",
        gap_mm=figures.get("largest_gap_mm", nothing),
        flash_mm=flash_mm(closing) if solved else nothing,
        margin=figures.get("margin", nothing),
        troubles=troubles(closing, 0 if varied is None else varied.unsolved),
        good=head.good,
    )


HEADER = (
    "mold",
    "block",
    "cavities",
    "tension",
    "deformation",
    "grade",
    "cause",
    "widest gap",
    "gap at a cavity",
    "margin",
    "trouble",
    "good",
)


def cells(row: Row) -> tuple[str, ...]:
    """Return the cells of a row of the page."""
    return (
        str(row.number),
        row.block,
        str(row.cavities),
        f"{row.tension_n_per_mm:.3f}",
        row.deformation,
        row.grade,
        row.cause or "-",
        f"{row.gap_mm:.3f}",
        f"{row.flash_mm:.3f}",
        f"{row.margin:.2f}",
        ", ".join(row.troubles) or "-",
        "yes" if row.good else "no",
    )


INTRODUCTION = f"""# A hundred molds

Does the first line ever call a mold good that is not? Here are a hundred random molds, each with
one straight cut through one to three rods. Beside the grade that the [head](verdict.md#the-head)
gives stands what other code reads off pressures, gaps and geometry. Some cuts miss a rod on
purpose, some end short of the outside, and some bands are far too weak. Numbers of which no block
can be made are left out.

**The rule**: no mold is graded Clean or Fine line that has a leak, a gap over {FLASH_MM} mm at a
cavity, a cavity that no cut reaches, or a variation without an answer. A test holds every row to
it.

The answers are computed as `squeeze close` does, at large deformation where that matters, but on a
mesh of half the usual fineness. `python tests/verdict/hundred.py` computes the page anew.
"""


UNITS = """Tension in N per mm of block length, gaps in mm. The margin is the weakest barrier over
the resin's pressure; it has to be 2. *Good* means that the head finds nothing to mend in any
variation."""


def table(header: Sequence[str], rows: Sequence[Sequence[str]]) -> list[str]:
    """Return the lines of a table."""
    return [f"| {' | '.join(line)} |" for line in (header, ["---"] * len(header), *rows)]


def page(rows: Sequence[Row]) -> str:
    """Return the page: counts of grades and causes, then a line a mold."""
    grades = []
    for grade in GRADES:
        own = [row for row in rows if row.grade == grade]
        if own:
            grades.append((grade, str(len(own)), str(sum(bool(row.troubles) for row in own))))
    causes = Counter(row.cause for row in rows if row.cause).most_common()
    return "\n".join(
        [
            INTRODUCTION,
            *table(("grade", "molds", "with trouble"), grades),
            "",
            "What the head names as the first cause:",
            "",
            *table(("cause", "molds"), [(cause, str(molds)) for cause, molds in causes]),
            "",
            UNITS,
            "",
            *table(HEADER, [cells(row) for row in rows]),
            "",
            "Results are estimates for planning; see the [cautions](cautions.md).",
            "",
        ]
    )


def kept() -> list[dict[str, str]]:
    """Return the rows of the page as it is kept."""
    lines = PAGE.read_text(encoding="utf-8").splitlines()
    rows = [line.strip("| ").split(" | ") for line in lines if line.startswith("| ")]
    return [dict(zip(HEADER, row, strict=True)) for row in rows if row[0].isdigit()]


if __name__ == "__main__":
    made: list[Row] = []
    for number in count():
        if len(made) == MOLDS:
            break
        if (row := row_of(number)) is not None:
            made.append(row)
            print(*cells(row), sep="  ", flush=True)
    PAGE.write_text(page(made), encoding="utf-8")
