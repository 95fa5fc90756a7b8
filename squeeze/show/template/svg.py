"""A template as SVG in true millimetres."""

from __future__ import annotations

import math
from xml.sax.saxutils import escape

from squeeze.mold.geometry.curve import CurvePiece, Line
from squeeze.show.template.drawing import Template, Text

BAR_MM = 100.0
FOOT_MM = 16.0


def as_svg(template: Template) -> str:
    """Return a template as an SVG drawing whose unit is the millimetre.

    Under the piece stands a bar of 100 mm to check the print with.
    """
    wide, high = max(template.width_mm, BAR_MM + 12.0), template.height_mm + FOOT_MM
    top = template.height_mm
    parts = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide:.4f}mm" height="{high:.4f}mm"'
        f' viewBox="0 0 {wide:.4f} {high:.4f}">',
        f"<title>{escape(template.name)}</title>",
        '<g fill="none" stroke="#000" stroke-width="0.25">',
        f'<path id="outline" d="{_path(template.outline, top)}"/>',
        *(
            f'<polyline stroke-dasharray="3 2" points="{_points(line, top)}"/>'
            for line in template.dashed
        ),
        f'<line id="check-bar" x1="6" y1="{top + 8:.4f}" x2="{6 + BAR_MM:g}" y2="{top + 8:.4f}"'
        ' stroke-width="0.5"/>',
        *(f'<line x1="{x}" y1="{top + 6}" x2="{x}" y2="{top + 10}"/>' for x in (6, 106)),
        "</g>",
        '<g font-family="sans-serif" text-anchor="middle" fill="#000">',
        *(_text(text, top) for text in (*template.texts, _bar_text())),
        "</g>",
        "</svg>",
    ]
    return "\n".join(parts) + "\n"


def _bar_text() -> Text:
    return Text("print at 100 %: this bar is 100 mm long", (6 + BAR_MM / 2, -13.0), 3.0)


def _text(text: Text, top: float) -> str:
    x, y = text.at
    return (
        f'<text x="{x:.4f}" y="{top - y:.4f}" font-size="{text.high_mm:g}"'
        f' dominant-baseline="middle">{escape(text.say)}</text>'
    )


def _path(pieces: tuple[CurvePiece, ...], top: float) -> str:
    x, y = pieces[0].at(0.0)[0]
    steps = [f"M {x:.6f} {top - y:.6f}"]
    for piece in pieces:
        parts = (
            [1.0] if isinstance(piece, Line) or abs(piece.sweep_rad) < math.pi / 2 else [0.5, 1.0]
        )
        for end in parts:
            x, y = piece.at(end)[0]
            if isinstance(piece, Line):
                steps.append(f"L {x:.6f} {top - y:.6f}")
            else:
                turn = 0 if piece.sweep_rad > 0 else 1  # y points down in the file
                r = piece.radii[0]
                large = int(abs(piece.sweep_rad) / len(parts) > math.pi)
                steps.append(f"A {r:.6f} {r:.6f} 0 {large} {turn} {x:.6f} {top - y:.6f}")
    return " ".join(steps) + " Z"


def _points(line, top: float) -> str:
    return " ".join(f"{x:.4f},{top - y:.4f}" for x, y in line)
