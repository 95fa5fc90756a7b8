"""No mold with an open leak, flash, a shut-in cavity or a lost variation reads as good.

What a mold has is found from the arrays and the geometry alone, not by the code that makes heads.
"""

from __future__ import annotations

from collections import Counter

import numpy as np
import pytest
from shapely.geometry import LineString, Point

import squeeze
from squeeze.mold import BadInput

MOLDS = 100


def mold(number: int):
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
    count = int(rng.integers(1, 4))
    pitch = 0.7 * wide / count
    size = float(rng.uniform(0.2, 0.7)) * min(pitch, 0.6 * high)
    at = [pitch * (k - 0.5 * (count - 1)) for k in range(count)]
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


def troubles(closing, varied) -> list[str]:
    """Return what is wrong, read off the arrays."""
    found = []
    section = closing.section
    lines = [LineString(s.points) for cut in section.cuts for s in cut.stretches]
    edge = section.outline.polygon.exterior
    for cavity in section.cavities:
        if not any(line.distance(cavity.loop.polygon) < 0.1 for line in lines):
            found.append("unreached")
    if lines and not any(edge.distance(Point(p)) < 0.1 for line in lines for p in line.coords):
        found.append("shut in")
    if not closing.outcome.has_answer:
        return [*found, "no answer"]
    resin = 1000 * closing.loads.cavity_mpa
    for land in closing.lands:
        for k in (0, -1):
            point = Point(land.x_mm[k], land.y_mm[k])
            near = any(c.loop.polygon.exterior.distance(point) < 0.1 for c in section.cavities)
            if near and land.gap_mm[k] > 0.05:
                found.append("flash")
        out = any(edge.distance(Point(land.x_mm[k], land.y_mm[k])) < 0.1 for k in (0, -1))
        if out and section.cavities and land.pressure_kpa.max() < resin and lines:
            found.append("leak")
    if varied is not None and any(not each.figures.solved for each in varied.variations):
        found.append("lost variation")
    return found


@pytest.mark.slow
def test_no_trouble_reads_as_good():
    grades, seen = Counter(), Counter()
    for number in range(MOLDS):
        try:
            read = squeeze.mold_of(mold(number))
            block = squeeze.Block(read)
        except BadInput:
            continue
        closing = block.close(check=False)
        varied = squeeze.uncertainty(block, closing) if closing.outcome.has_answer else None
        head = squeeze.judge(closing, mold=read, varied=varied).head
        wrong = troubles(closing, varied)
        grades[head.grade] += 1
        seen.update(set(wrong))
        if wrong:
            assert not head.good, (number, head, wrong)
            assert head.grade not in ("Clean", "Fine line"), (number, head, wrong)
    assert sum(grades.values()) > 0.8 * MOLDS
    assert {"Clean", "Leaks", "Flash", "Comes apart", "Cannot be opened"} <= set(grades), grades
    assert {"unreached", "shut in", "flash", "leak"} <= set(seen), seen
