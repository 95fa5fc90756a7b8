"""Every shape that a mold file knows: its word, the figures it takes, its corners or its curve.

The mold file, `squeeze new`, the page, the advice and docs/moldfile.md read this table; a shape is
added here alone.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import Enum

from squeeze.mold.tables.values import listed


class Form(Enum):
    """How a shape's figures make its outline."""

    CORNERS = "corners"
    ELLIPSE = "ellipse"
    POINTS = "points"


@dataclass(frozen=True)
class Dimension:
    """A figure of a shape: the key in the mold file, and between what it may lie [mm]."""

    key: str
    least_mm: float
    most_mm: float


DIAMETER = Dimension("diameter_mm", 0.5, 1000)
WIDTH = Dimension("width_mm", 0.5, 1000)
HEIGHT = Dimension("height_mm", 0.5, 1000)


@dataclass(frozen=True)
class ShapeKind:
    """One shape.

    Attributes
    ----------
    word : str
        What a mold file calls it.
    figures : tuple of Dimension
        What it takes. The first is its whole width; the second, or else the first, its height.
    form : Form
        Whether it has corners, is an ellipse, or is drawn by points.
    corners : tuple of (x, y)
        Counter-clockwise, as multiples of half its width and half its height.
    say : str
        What docs/moldfile.md says on it.
    most_bevel, most_radius : float
        Largest leg of a bevel and largest radius of the corners that `squeeze design` tries, over
        the shorter of width and height.
    """

    word: str
    figures: tuple[Dimension, ...]
    form: Form = Form.CORNERS
    corners: tuple[tuple[float, float], ...] = ()
    say: str = ""
    most_bevel: float = 0.4
    most_radius: float = 0.45

    @property
    def keys(self) -> tuple[str, ...]:
        """The keys of the mold file that it takes."""
        return tuple(figure.key for figure in self.figures) or ("points_mm",)

    @property
    def has_height(self) -> bool:
        """Whether its height is given apart from its width."""
        return len(self.figures) > 1

    @property
    def has_corners(self) -> bool:
        """Whether there are corners to bevel and to round."""
        return self.form is not Form.ELLIPSE


_SQUARE = ((-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0))
_THIRD = 1 / math.sqrt(3)  # half a side of a hexagon against half its width across the flats
_HEXAGON = (
    (-_THIRD, -1.0), (_THIRD, -1.0), (2 * _THIRD, 0.0),
    (_THIRD, 1.0), (-_THIRD, 1.0), (-2 * _THIRD, 0.0),
)  # fmt: skip

SHAPES = {
    kind.word: kind
    for kind in (
        ShapeKind("round", (DIAMETER,), Form.ELLIPSE, say="a circle"),
        ShapeKind("square", (WIDTH,), corners=_SQUARE),
        ShapeKind("rectangle", (WIDTH, HEIGHT), corners=_SQUARE),
        ShapeKind(
            "hexagon",
            (WIDTH,),
            corners=_HEXAGON,
            say="six equal sides; it stands on one, and `width_mm` is across two of them",
            most_bevel=0.2,
            most_radius=0.4,
        ),
        ShapeKind("oval", (WIDTH, HEIGHT), Form.ELLIPSE, say="an ellipse"),
        ShapeKind(
            "drawn",
            (),
            Form.POINTS,
            say="straight lines from point to point, closed by itself; `shape` may be left out",
        ),
    )
}
"""The shapes by their words."""

FIGURES = (*dict.fromkeys(key for kind in SHAPES.values() for key in kind.keys),)
"""All keys of figures, each once."""


def figures_remark() -> str:
    """Return what the commented mold file says beside the width of a square block."""
    words: dict[str, list[str]] = {}
    for kind in SHAPES.values():
        beyond = kind.keys[1:] if kind.keys[0] == "width_mm" else kind.keys[:1]
        if kind.figures and beyond:
            as_well = " as well" if kind.keys[0] == "width_mm" else ""
            words.setdefault(" and ".join(beyond) + as_well, []).append(kind.word)
    return "; ".join(f"{listed(kinds, 'and')}: {figures}" for figures, kinds in words.items())


def outlines() -> dict[str, dict[str, object]]:
    """Return each shape's form and corners as plain data, for a sketch of it."""
    return {
        kind.word: {"form": kind.form.value, "corners": [list(corner) for corner in kind.corners]}
        for kind in SHAPES.values()
    }
