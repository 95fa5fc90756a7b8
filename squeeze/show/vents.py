"""How vents are drawn, the same on sheet and figure: lines, and the numbers beside them."""

from __future__ import annotations

from collections.abc import Sequence

from squeeze.mold.vents import Vent

XY = tuple[float, float]


def vent_lines(vents: Sequence[Vent]) -> list[tuple[XY, ...]]:
    """Return each vent as a line; one that runs along the block is a cross."""
    found: list[tuple[XY, ...]] = []
    for vent in vents:
        (x, y), end = vent.at_mm[:2], vent.end_mm[:2]
        if (x, y) != end:
            found.append(((x, y), end))
            continue
        half = max(1.5, vent.diameter_mm / 2)
        found += [
            ((x - half, y - half), (x + half, y + half)),
            ((x - half, y + half), (x + half, y - half)),
        ]
    return list(dict.fromkeys(found))


def vent_numbers(vents: Sequence[Vent]) -> dict[XY, list[int]]:
    """Return the numbers of the vents, from 1, that come out at each place of the section."""
    found: dict[XY, list[int]] = {}
    for number, vent in enumerate(vents, start=1):
        found.setdefault(vent.end_mm[:2], []).append(number)
    return found


def vents_named(numbers: Sequence[int]) -> str:
    """Return what stands beside the vents `numbers`, in order, as v1, v3 or v1-4."""
    a, b = numbers[0], numbers[-1]
    if len(numbers) > 2 and b - a == len(numbers) - 1:
        return f"v{a}-{b}"
    return ", ".join(f"v{number}" for number in numbers)
