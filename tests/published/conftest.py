"""Two blocks on each other: the arrangement that line contacts and wavy parting lines share."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import pytest
from numpy.typing import NDArray

from squeeze.mold.forces.loads import Loads, Push
from squeeze.mold.geometry.loop import polygon_loop
from squeeze.mold.section.records import Cut, CutStretch, Material, Section
from squeeze.solve import close
from squeeze.solve.block import close as linear_close

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Pressed:
    """Two equal blocks, one on the other, with an unloaded gap between them.

    The parting line y = 0 is one cut. It is laid in short stretches between `marks` where the mesh
    has to be fine, since a stretch sets its own mesh.
    """

    half_width_mm: float
    height_mm: float
    marks_mm: Sequence[float]
    gap_mm: Callable[[Array], Array]
    material: Material
    every_mm: float = 0.05

    def places(
        self, force_n_per_mm: float, over_mm: float, fineness: float
    ) -> tuple[Array, Array, Array]:
        """Places [mm], pressure [kPa] and gap [mm] when both backs are pressed evenly `over_mm`."""
        pushes = tuple(
            Push((0.0, y), over_mm, force_n_per_mm / over_mm)
            for y in (self.height_mm, -self.height_mm)
        )
        closing = close(self.section(), Loads(pushes=pushes), fineness=fineness)
        assert closing.trust.outcome == "converged"
        assert closing.trust.force_balance < 1e-9
        rows = [np.array([land.x_mm, land.pressure_kpa, land.gap_mm]) for land in closing.lands]
        x, pressure, gap = np.hstack(rows)
        return x, pressure, gap

    def section(self) -> Section:
        w, h = self.half_width_mm, self.height_mm
        ends = sorted({-w, w, *self.marks_mm, *(-m for m in self.marks_mm)})
        stretches = tuple(CutStretch(((a, 0.0), (b, 0.0)), a + w) for a, b in pairwise(ends))
        gap = self.gap_mm(np.linspace(-w, w, round(2 * w / self.every_mm) + 1))
        cut = Cut("parting line", stretches, 2 * w, gap_mm=tuple(gap))
        outline = polygon_loop([(-w, -h), (w, -h), (w, h), (-w, h)])
        return Section(outline, self.material, (), (cut,))


@pytest.fixture(scope="session")
def pressed() -> type[Pressed]:
    return Pressed


@pytest.fixture(autouse=True, scope="module")
def small_deformation():
    """Let `squeeze.close` keep to small deformation.

    The published values here are those of linear elasticity.
    """
    with pytest.MonkeyPatch.context() as patch:
        patch.setitem(linear_close.__kwdefaults__, "deformation", "small")
        yield
