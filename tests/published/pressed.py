"""Two blocks on each other: the arrangement that line contacts and wavy parting lines share."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

import squeeze
from squeeze.mold import section_of
from squeeze.mold.section.records import Material, Section

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Pressed:
    """Two equal blocks, one on the other, with an unloaded gap between them: a mold with one cut.

    The parting line y = 0 is drawn as several cuts, end to end between `marks`, where the mesh has
    to be fine, since a stretch sets its own mesh.
    """

    half_width_mm: float
    height_mm: float
    marks_mm: Sequence[float]
    gap_mm: Callable[[Array], Array]
    material: Material
    every_mm: float = 0.05

    def mold(self, pushes: Sequence[dict[str, Any]] = (), friction: float = 0.0) -> squeeze.Mold:
        w, h = self.half_width_mm, self.height_mm
        ends = sorted({-w, w, *self.marks_mm, *(-m for m in self.marks_mm)})
        cuts = []
        for k, (a, b) in enumerate(pairwise(ends)):
            count = min(max(2, round((b - a) / self.every_mm)), 4000)
            gap = np.minimum(
                self.gap_mm(np.linspace(a, b, count + 1)), 20.0
            )  # as wide as a file may say
            cuts.append(
                {
                    "name": f"parting line {k}",
                    "path_mm": [[float(a), 0], [float(b), 0]],
                    "gap_mm": [float(each) for each in gap],
                    "friction": friction,
                }
            )
        return squeeze.mold_of(
            {
                "length_mm": 100,
                "rubber": {
                    "youngs_modulus_mpa": self.material.youngs_modulus_mpa,
                    "poisson": self.material.poisson,
                },
                "block": {
                    "shape": "rectangle",
                    "width_mm": 2 * w,
                    "height_mm": 2 * h,
                    "round_mm": 0,
                },
                "cut": cuts,
                "push": list(pushes),
            }
        )

    def pushed(self, force_n_per_mm: float, over_mm: float) -> squeeze.Mold:
        """Return the mold with both backs pressed evenly `over_mm`."""
        sides = (self.height_mm, -self.height_mm)
        return self.mold(
            [
                {"at_mm": [0, y], "width_mm": over_mm, "force_n_per_mm": force_n_per_mm}
                for y in sides
            ]
        )

    def places(
        self, force_n_per_mm: float, over_mm: float, fineness: float
    ) -> tuple[Array, Array, Array]:
        """Places [mm], pressure [kPa] and gap [mm] when both backs are pressed evenly `over_mm`."""
        mold = self.pushed(force_n_per_mm, over_mm)
        return along(squeeze.close(mold, fineness=fineness, deformation="small"))

    def section(self) -> Section:
        return section_of(self.mold())


def along(closing: squeeze.Closing) -> tuple[Array, Array, Array]:
    """Places [mm], pressure [kPa] and gap [mm] of all lands, end to end."""
    assert closing.trust.outcome == "converged"
    assert closing.trust.force_balance < 1e-9
    rows = [np.array([land.x_mm, land.pressure_kpa, land.gap_mm]) for land in closing.lands]
    x, pressure, gap = np.hstack(rows)
    return x, pressure, gap
