"""A template as DXF in millimetres, for a laser, a router or another drawing program."""

from __future__ import annotations

import io
import math

from squeeze.mold.errors import SqueezeError
from squeeze.mold.geometry.curve import Line
from squeeze.show.template.drawing import Template

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
    try:
        from ezdxf import units
        from ezdxf.enums import TextEntityAlignment
        from ezdxf.filemanagement import new
    except ImportError:
        text = "DXF files need the library ezdxf: pip install 'squeeze-mold[dxf]'"
        raise NoDxf(text) from None
    drawing = new("R2010", units=units.MM)
    drawing.header["$MEASUREMENT"] = 1
    for name, colour in LAYERS.items():
        drawing.layers.add(name, color=colour)
    space = drawing.modelspace()
    for piece in template.outline:
        if isinstance(piece, Line):
            space.add_line(piece.start, piece.end, dxfattribs={"layer": "SAW"})
            continue
        a, b = piece.start_rad, piece.start_rad + piece.sweep_rad
        low, high = math.degrees(min(a, b)), math.degrees(max(a, b))
        space.add_arc(piece.centre, piece.radii[0], low, high, dxfattribs={"layer": "SAW"})
    for line in template.dashed:
        points = [(float(x), float(y)) for x, y in line]
        space.add_lwpolyline(points, dxfattribs={"layer": "GROOVE"})
    for text in template.texts:
        made = space.add_text(
            _literal(text.say), height=text.high_mm, dxfattribs={"layer": "WRITING"}
        )
        made.set_placement(text.at, align=TextEntityAlignment.MIDDLE_CENTER)
    stream = io.StringIO()
    drawing.write(stream)
    return stream.getvalue()


def _literal(say: str) -> str:
    """Return a text as DXF writes it: in the format's own code %% and ^ begin special signs.

    Examples
    --------
    >>> _literal("100 %%d"), _literal("2^8")
    ('100 %%%%%%d', '2^ 8')
    """
    return say.replace("%%", "%%%%%%").replace("^", "^ ")
