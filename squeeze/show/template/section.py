"""The cross-section at true size, as SVG or DXF: to pin on a block, or for a drawing program.

What is written here comes in again with ``drawing =`` as the same section. Each body and each cut
has an id (SVG) or a layer (DXF) of its own.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from xml.sax.saxutils import escape

from squeeze.mold.geometry.curve import Arc, CurvePiece, Line
from squeeze.mold.section.records import Section
from squeeze.mold.vents import Vent
from squeeze.show.start import CAUTION
from squeeze.show.template.dxf import add_piece, literal, new_drawing, written
from squeeze.show.write import file_stems

BAR_MM, MARGIN_MM, FOOT_MM = 100.0, 5.0, 20.0
LETTERS_MM = 2.5


@dataclass(frozen=True, eq=False)
class NamedCurve:
    """A body's edge, or a cut from end to end.

    Attributes
    ----------
    name : str
        Its id or layer.
    pieces : tuple of Line or Arc
    closed : bool
    """

    name: str
    pieces: tuple[CurvePiece, ...]
    closed: bool


def section_curves(section: Section, vents: Sequence[Vent] = ()) -> list[NamedCurve]:
    """Return all edges and cuts of a section with names that are unlike each other.

    A cut is one path; it runs straight through the cavities between its stretches. A vent is the
    line from its cavity to the outside; one that runs along the block has none.

    Parameters
    ----------
    section : Section
    vents : sequence of Vent
    """
    bodies = [("block", section.outline)]
    bodies += [(f"cavity-{each.name}", each.loop) for each in section.cavities]
    bodies += [(f"filler-{each.name}", each.loop) for each in section.fillers]
    bodies += [(f"cradle-{each.name}", each.loop) for each in section.cradles]
    cuts = [cut for cut in section.cuts if cut.stretches]
    risen = [vent for vent in vents if vent.at_mm[:2] != vent.end_mm[:2]]
    names = [name for name, _ in bodies] + [f"cut-{cut.name}" for cut in cuts]
    stems = file_stems([*names, *(f"vent-{vent.name}" for vent in risen)])
    found = [
        NamedCurve(stem, loop.pieces, True) for stem, (_, loop) in zip(stems, bodies, strict=False)
    ]
    for stem, cut in zip(stems[len(bodies) :], cuts, strict=False):
        points = [point for stretch in cut.stretches for point in stretch.points]
        lines = [Line(a, b) for a, b in pairwise(points) if a != b]
        found.append(NamedCurve(stem, tuple(lines), False))
    for stem, vent in zip(stems[len(names) :], risen, strict=True):
        found.append(NamedCurve(stem, (Line(vent.at_mm[:2], vent.end_mm[:2]),), False))
    return found


def section_svg(section: Section, title: str, vents: Sequence[Vent] = ()) -> str:
    """Return a section as an SVG drawing whose unit is the millimetre.

    Under it stands a bar of 100 mm to check the print with.

    Parameters
    ----------
    section : Section
    title : str
    vents : sequence of Vent
    """
    x0, y0, x1, y1 = _bounds(section)
    left, top = x0 - MARGIN_MM, y1 + MARGIN_MM
    wide = max(x1 - x0, BAR_MM) + 2 * MARGIN_MM
    high = y1 - y0 + 2 * MARGIN_MM + FOOT_MM
    bar = top - y0 + MARGIN_MM + 4
    words = [f"{title}: print at 100 %; the bar is 100 mm long", *CAUTION.split(". ")]
    return "\n".join(
        [
            '<?xml version="1.0" encoding="UTF-8"?>',
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide:.6f}mm" height="{high:.6f}mm"'
            f' viewBox="0 0 {wide:.6f} {high:.6f}">',
            f"<title>{escape(title)}</title>",
            '<g fill="none" stroke="#000" stroke-width="0.25">',
            *(f'<path id="{each.name}" d="{_path(each, left, top)}"/>' for each in
              section_curves(section, vents)),
            f'<path id="check-bar" d="M {MARGIN_MM:g} {bar:.4f} h {BAR_MM:g}"/>',
            "</g>",
            f'<g font-family="sans-serif" font-size="{LETTERS_MM}" fill="#000">',
            *(f'<text x="{MARGIN_MM:g}" y="{bar + 4 + 3.2 * k:.4f}">{escape(say)}</text>'
              for k, say in enumerate(words)),
            "</g>",
            "</svg>\n",
        ]
    )  # fmt: skip


def _path(curve: NamedCurve, left: float, top: float) -> str:
    x, y = curve.pieces[0].place(0.0)
    steps = [f"M {x - left:.6f} {top - y:.6f}"]
    for piece in curve.pieces:
        if isinstance(piece, Line):
            steps.append(f"L {piece.end[0] - left:.6f} {top - piece.end[1]:.6f}")
            continue
        rx, ry = piece.radii
        for end in _ends(piece):
            x, y = piece.place(end)
            turn = int(piece.sweep_rad < 0)  # y points down in the file
            steps.append(f"A {rx:.6f} {ry:.6f} 0 0 {turn} {x - left:.6f} {top - y:.6f}")
    return " ".join(steps) + (" Z" if curve.closed else "")


def _ends(arc: Arc) -> list[float]:
    """Return the parameters at which an arc is broken so that no part turns more than 120 deg."""
    n = max(1, math.ceil(abs(arc.sweep_rad) / (2 * math.pi / 3) - 1e-9))
    return [(k + 1) / n for k in range(n)]


def section_dxf(section: Section, title: str, vents: Sequence[Vent] = ()) -> str:
    """Return a section as a DXF drawing (R2010) in millimetres, a layer for each body and cut.

    Parameters
    ----------
    section : Section
    title : str
    vents : sequence of Vent

    Raises
    ------
    NoDxf
        When ezdxf is not installed.
    """
    drawing = new_drawing()
    space = drawing.modelspace()
    for curve in section_curves(section, vents):
        drawing.layers.add(curve.name)
        for piece in curve.pieces:
            add_piece(space, piece, curve.name)
    x0, y0, _, _ = _bounds(section)
    drawing.layers.add("writing")
    for k, say in enumerate([title, *CAUTION.split(". ")]):
        text = space.add_text(literal(say), height=LETTERS_MM, dxfattribs={"layer": "writing"})
        text.set_placement((x0, y0 - MARGIN_MM - 4.0 * (k + 1)))
    return written(drawing)


def _bounds(section: Section) -> tuple[float, float, float, float]:
    bounds = [loop.polygon.bounds for loop in section.loops]
    return (
        min(b[0] for b in bounds),
        min(b[1] for b in bounds),
        max(b[2] for b in bounds),
        max(b[3] for b in bounds),
    )
