"""Models beside each other in one block."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from squeeze.mold.model.mesh import Model


@dataclass(frozen=True, eq=False)
class Placed:
    """A model in a block: where the corner of its box lies, x and y in the section, and along."""

    model: Model
    at_mm: tuple[float, float, float]


def side_by_side(
    models: Sequence[Model], wall_mm: float
) -> tuple[list[Placed], float, float, float]:
    """Return models beside each other in a block, and the models' length and its width and height.

    Parameters
    ----------
    models : sequence of Model
    wall_mm : float
        Rubber round the models, and between them.
    """
    long = max(model.size_mm[2] for model in models)
    wide = sum(model.size_mm[0] for model in models) + wall_mm * (len(models) + 1)
    high = max(model.size_mm[1] for model in models) + 2 * wall_mm
    placed, left = [], wall_mm - wide / 2
    for model in models:
        start = wall_mm + (long - model.size_mm[2]) / 2
        placed.append(Placed(model, (left, -model.size_mm[1] / 2, start)))
        left += model.size_mm[0] + wall_mm
    return placed, long, wide, high
