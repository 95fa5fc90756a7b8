"""A block that was screened, with each number of bands that makes it hold."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from squeeze.design.blocks.limits import BandAtHand, Limits
from squeeze.design.search.drafts import Draft, Found
from squeeze.design.search.given_up import OPEN, WEAK
from squeeze.design.search.screen import SLACK, Screened, kind_pull, needed_margin

MOST_COUNTS = 8
"""Numbers of bands of one kind that are listed for a block, at most."""


def take(found: Found, data: dict[str, Any], got: Screened, limits: Limits) -> list[Draft]:
    """Put a block that was screened down in what was found; return it with its bands.

    Parameters
    ----------
    found : Found
        Gets the block with each number of bands, or the reason why none do.
    data : dict
        The whole mold, with any bands.
    got : Screened
    limits : Limits
    """
    needed = needed_margin(limits)
    top = got.worst_margin(got.most_pull)
    if top < needed:
        is_open = top <= 0.05 * needed or got.smooth(got.most_pull) <= 0
        found.dropped[OPEN if is_open else WEAK] += 1
        if is_open:
            found.open_shapes.append(_shape_of(data))
        else:
            found.need(WEAK, got.margin.pull_for(needed) / SLACK)
        return []
    found.held_shapes.append(_shape_of(data))
    drafts = list(drafts_of(found.kind, data, got, limits))
    found.drafts += drafts
    return drafts


def drafts_of(words: str, data: dict[str, Any], got: Screened, limits: Limits) -> Iterator[Draft]:
    """Yield a block with each kind of band: from the fewest that hold to the most that stay clean.

    All figures are linear in the pull, so none of them asks for another computation.

    Parameters
    ----------
    words : str
        What the kind of block is called.
    data : dict
        The mold without its bands.
    got : Screened
        What a coarse mesh says of it.
    limits : Limits
    """
    length = limits.length_mm
    for kind, most in got.bands:
        for n in _counts(kind, most, got, limits):
            pull = kind_pull(kind, n, got.wrap_mm, length)
            yield Draft(
                data=data | {"band": [kind.on_block(n, length)]},
                kind=words,
                rubber_g=got.rubber_g,
                pull=pull,
                steps=got.steps + n,
                bands=n,
                margin=got.worst_margin(pull),
                flash_mm=got.worst("flash_mm", pull),
                shift_mm=got.worst("shift_mm", pull),
                is_clean=got.is_clean(pull),
            )


def _counts(kind: BandAtHand, most: int, got: Screened, limits: Limits) -> list[int]:
    needed = needed_margin(limits)
    start = min(got.least_bands, most) if kind.most else 1
    pulls = {n: kind_pull(kind, n, got.wrap_mm, limits.length_mm) for n in range(start, most + 1)}
    held = [n for n, pull in pulls.items() if got.worst_margin(pull) >= needed]
    if not held:
        return []
    clean = [n for n in held if got.is_clean(pulls[n])]
    last = max(max(clean, default=held[0]), min(held[0] + 1, most))
    return few_of(held[0], last)


def few_of(first: int, last: int) -> list[int]:
    """Return whole numbers from the first to the last, at most `MOST_COUNTS` of them."""
    count = last - first + 1
    if count <= MOST_COUNTS:
        return list(range(first, last + 1))
    steps = range(MOST_COUNTS)
    return list(dict.fromkeys(first + round(k * (count - 1) / (MOST_COUNTS - 1)) for k in steps))


def _shape_of(data: dict[str, Any]) -> tuple[float, float]:
    """Return bevel or radius [mm], and height over width, of a block."""
    block = data["block"]
    corner = float(block.get("bevel_mm", block.get("round_mm", 0.0)))
    wide = block.get("width_mm", block.get("diameter_mm"))
    return corner, float(block.get("height_mm", wide) / wide)
