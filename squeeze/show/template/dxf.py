"""A template as DXF in millimetres, for a laser, a router or another drawing program."""

from __future__ import annotations

import io
import math
from typing import TYPE_CHECKING

from squeeze.mold.errors import SqueezeError
from squeeze.mold.geometry.curve import CurvePiece, Line
from squeeze.show.template.drawing import Template

if TYPE_CHECKING:
    from ezdxf.document import Drawing
    from ezdxf.layouts.base import BaseLayout

LAYERS = {"SAW": 7, "GROOVE": 3, "WRITING": 8}


class NoDxf(SqueezeError, ImportError):
    """The library for DXF files is not there; the text says how to get it."""


def as_dxf(template: Template) -> str:
    """Return a template as a DXF drawing (R2010) with the unit set to millimetres.

    Layers: SAW = along this line, GROOVE = not through, WRITING.

    Raises
    ------
    NoDxf
        When ezdxf is not installed.
    """
    drawing = new_drawing()
    from ezdxf.enums import TextEntityAlignment

    for name, colour in LAYERS.items():
        drawing.layers.add(name, color=colour)
    space = drawing.modelspace()
    for piece in template.outline:
        add_piece(space, piece, "SAW")
    for line in template.dashed:
        points = [(float(x), float(y)) for x, y in line]
        space.add_lwpolyline(points, dxfattribs={"layer": "GROOVE"})
    for text in template.texts:
        made = space.add_text(
            literal(text.say), height=text.high_mm, dxfattribs={"layer": "WRITING"}
        )
        made.set_placement(text.at, align=TextEntityAlignment.MIDDLE_CENTER)
    return written(drawing)


def new_drawing() -> Drawing:
    """Return an empty DXF drawing (R2010) in millimetres.

    Raises
    ------
    NoDxf
        When ezdxf is not installed.
    """
    try:
        from ezdxf import units
        from ezdxf.filemanagement import new
    except ImportError:
        text = "DXF files need the library ezdxf: pip install 'squeeze-mold[dxf]'"
        raise NoDxf(text) from None
    drawing = new("R2010", units=units.MM)
    drawing.header["$MEASUREMENT"] = 1
    return drawing


def add_piece(space: BaseLayout, piece: CurvePiece, layer: str) -> None:
    """Draw a line or an arc, circular or elliptic, on a layer."""
    where = {"layer": layer}
    if isinstance(piece, Line):
        space.add_line(piece.start, piece.end, dxfattribs=where)
        return
    (rx, ry), start = piece.radii, piece.start_rad
    low, high = sorted((start, start + piece.sweep_rad))
    if piece.is_circular:
        degrees = math.degrees(low), math.degrees(high)
        space.add_arc(piece.centre, rx, *degrees, dxfattribs=where)
    elif rx >= ry:
        space.add_ellipse(piece.centre, (rx, 0), ry / rx, low, high, dxfattribs=where)
    else:
        turned = low - math.pi / 2, high - math.pi / 2
        space.add_ellipse(piece.centre, (0, ry), rx / ry, *turned, dxfattribs=where)


def written(drawing: Drawing) -> str:
    """Return the text of a DXF file."""
    stream = io.StringIO()
    drawing.write(stream)
    return stream.getvalue()


def literal(say: str) -> str:
    """Return a text as DXF writes it: in the format's own code %% and ^ begin special signs.

    `say` is the text as a person reads it.

    Examples
    --------
    >>> literal("100 %%d"), literal("2^8")
    ('100 %%%%%%d', '2^ 8')
    """
    return say.replace("%%", "%%%%%%").replace("^", "^ ")
