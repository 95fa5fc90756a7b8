"""The graph of lands: where they begin, end and meet, and the parts between such places."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import KDTree

from squeeze.mold.geometry.tolerance import SAME_MM
from squeeze.mold.section.records import Section
from squeeze.solve.land import Land
from squeeze.verdict.place import LandEnd, land_ends

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Node:
    """A place where a land begins or ends, or where lands meet.

    Attributes
    ----------
    kind : str
        ``"cavity"``, ``"outside"``, ``"cut"`` (lands meet) or ``"rubber"`` (it leads nowhere).
    name : str
        Name of the cavity; for any other kind what sets it apart from others of its kind.
    text : str
        In words, to stand after "from" or "at".
    """

    kind: str
    name: str
    text: str

    @property
    def terminal(self) -> bool:
        """Whether resin can come from here, or leave here."""
        return self.kind in ("cavity", "outside")


@dataclass(frozen=True, eq=False)
class LandPart:
    """A part of a land between two nodes; it holds nothing that leads elsewhere.

    Attributes
    ----------
    land : int
        Number of the land in the closing.
    start, end : Node
    places : slice
        Its places on the land.
    s_mm, gap_mm, pressure_kpa : array (n,)
        The land's, at these places.
    """

    land: int
    start: Node
    end: Node
    places: slice
    s_mm: Array
    gap_mm: Array
    pressure_kpa: Array

    @property
    def length_mm(self) -> float:
        """Length [mm]."""
        return float(self.s_mm[-1] - self.s_mm[0])

    def other(self, node: Node) -> Node:
        """Return the node at the far end from `node`."""
        return self.end if node == self.start else self.start


def parts_of(lands: Sequence[Land], section: Section) -> tuple[LandPart, ...]:
    """Return the parts of all lands.

    Lands meet where they share a place. All of the outside is one node, since resin that is out is
    lost wherever it left. A section without a cavity has as many as there are ends: then each land
    is judged as if resin could come from any of them.
    """
    met = _meetings(lands)
    several = not section.cavities
    return tuple(
        part
        for number, land in enumerate(lands)
        for part in _parts(number, land, land_ends(land, section), met[number], several)
    )


def _meetings(lands: Sequence[Land]) -> list[dict[int, str]]:
    """Return, by land, the places that it shares with another and what each meeting is called."""
    points = [np.column_stack([land.x_mm, land.y_mm]) for land in lands]
    found: list[dict[int, str]] = [{} for _ in lands]
    if not lands:
        return found
    owner = np.concatenate([np.full(len(p), k) for k, p in enumerate(points)])
    place = np.concatenate([np.arange(len(p)) for p in points])
    xy = np.vstack(points)
    near = KDTree(xy).query_ball_point(xy, SAME_MM)
    for k, others in enumerate(near):
        if any(owner[j] != owner[k] for j in others):
            first = xy[min(others)]
            found[owner[k]][int(place[k])] = f"{first[0]:.2f}, {first[1]:.2f}"
    return found


def _parts(
    number: int, land: Land, ends: tuple[LandEnd, LandEnd], met: dict[int, str], several: bool
) -> Iterator[LandPart]:
    last = len(land.s_mm) - 1
    marks = sorted({0, last, *met})
    nodes = [_node(number, k, last, ends, met, several) for k in marks]
    for (a, b), (start, end) in zip(pairwise(marks), pairwise(nodes), strict=True):
        run = slice(a, b + 1)
        yield LandPart(
            number, start, end, run, land.s_mm[run], land.gap_mm[run], land.pressure_kpa[run]
        )


def _node(
    number: int,
    k: int,
    last: int,
    ends: tuple[LandEnd, LandEnd],
    met: dict[int, str],
    several: bool,
) -> Node:
    end = ends[0] if k == 0 else ends[1] if k == last else None
    if end is not None and end.kind == "cavity":
        return Node("cavity", end.text.strip("'"), end.text)
    if end is not None and end.kind == "outside":
        return Node("outside", f"{number}.{k}" if several else "", end.text if several else OUT)
    if k in met:
        return Node("cut", met[k], "where cuts meet")
    return Node("rubber", f"{number}.{k}", "the end in the rubber")


OUT = "the outside"
