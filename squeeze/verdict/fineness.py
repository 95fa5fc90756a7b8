"""How much of an answer is the mesh's: the same load case on a finer mesh."""

from __future__ import annotations

from dataclasses import dataclass

from squeeze.mold import Mold, NotSolved
from squeeze.mold.forces.loads import Loads
from squeeze.mold.section.records import Section
from squeeze.solve.block import close
from squeeze.solve.closing import Closing

FINER = 2.0


@dataclass(frozen=True)
class MeshError:
    """What a mesh with edges half as long changes.

    Attributes
    ----------
    pressure_pct : float
        Largest change of a land's mean pressure, over the largest mean pressure of any land [%].
    gap_mm : float
        Largest change of a land's largest gap [mm].
    unknowns : int
        Displacement unknowns of the finer mesh.
    """

    pressure_pct: float
    gap_mm: float
    unknowns: int


def mesh_error(mold: Mold | Section, closing: Closing) -> MeshError:
    """Solve a closing again on a finer mesh and return the differences.

    Parameters
    ----------
    mold : Mold or Section
        What was closed.
    closing : Closing
        On the default mesh.

    Raises
    ------
    NotSolved
        When either mesh has no answer to compare.
    """
    loads: Loads | None = closing.loads if isinstance(mold, Section) else None
    theory = "large" if closing.deformation.is_large else "small"
    fine = close(mold, loads, fineness=FINER, deformation=theory, check=False)
    for which, each in (("usual", closing), ("finer", fine)):
        if not each.outcome.has_answer:
            raise NotSolved(f"there is nothing to compare: the {which} mesh: {each.outcome.cause}")
    pairs = list(zip(closing.lands, fine.lands, strict=True))
    scale = max((land.mean_pressure_kpa for land in fine.lands), default=0.0)
    apart = max((abs(a.mean_pressure_kpa - b.mean_pressure_kpa) for a, b in pairs), default=0.0)
    gaps = max((abs(a.largest_gap_mm - b.largest_gap_mm) for a, b in pairs), default=0.0)
    return MeshError(100.0 * apart / scale if scale else 0.0, gaps, fine.trust.unknowns)
