"""The figure of a closing: the section to scale, and pressure and gap along each land."""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import replace
from os import PathLike
from pathlib import Path
from typing import BinaryIO

import numpy as np
from matplotlib import rc_context
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from squeeze.mold.vents import Vent
from squeeze.show.figure.cavities import ROW_IN as CAVITY_IN
from squeeze.show.figure.cavities import cavity_rows, draw_cavities
from squeeze.show.figure.forces import draw_forces
from squeeze.show.figure.key import draw_key
from squeeze.show.figure.lands import ROW_IN, draw_along, panel_rows
from squeeze.show.figure.outlines import pose_of
from squeeze.show.figure.plain_names import plain_names
from squeeze.show.figure.section import SOFT, Drawing, draw_section, frame
from squeeze.show.figure.tint import Levels, levels
from squeeze.show.figure.vents import draw_vents
from squeeze.show.paper import on_paper
from squeeze.show.text.line_breaks import wrapped_lines
from squeeze.solve.closing import Closing
from squeeze.verdict import Verdict, judge
from squeeze.verdict.words import PSI_PER_KPA

WIDE_IN, KEY_IN, EDGE_IN = 11.0, 3.35, 0.3
MARGIN = 0.16
LEAST_SECTION_IN, MOST_SECTION_IN = 3.9, 5.4
CAUTION = "Estimates for planning; the makers' data sheets and local codes govern."


@plain_names()
def figure(
    closing: Closing,
    verdict: Verdict | None = None,
    deformed: bool = False,
    inches: bool = False,
    vents: Sequence[Vent] = (),
) -> Figure:
    """Draw a closing: the section to scale, and pressure and gap along each land.

    Parameters
    ----------
    closing : Closing
    verdict : Verdict, optional
        What `squeeze.judge` says about it.
    deformed : bool
        Draw the section deformed, by a stated multiple of its displacement.
    inches : bool
        Give lengths in inches. A verdict that is passed in must be in inches too.
    vents : sequence of Vent
        Of the mold, from all along the block, as `squeeze.mold.vents.vents_of` returns them; a
        closing does not know them. They are numbered as on the bench sheet.

    Returns
    -------
    matplotlib.figure.Figure
        ``figure.savefig("closing.png")`` writes it; a notebook shows it.
    """
    verdict = judge(closing, inches) if verdict is None else verdict
    heading = _heading(closing, verdict)
    section = _section_in(closing)
    top = sum(line[1] for line in heading) + 0.25
    drawing = drawing_of(closing, verdict, deformed, section[0], inches=inches)
    drawing = replace(drawing, vents=tuple(vents))
    rows = panel_rows(drawing)
    below = 0.35 + cavity_rows(drawing) * CAVITY_IN
    high = top + section[1] + rows * ROW_IN + below
    drawn = Figure(figsize=(WIDE_IN, high))
    FigureCanvasAgg(drawn)
    _write_heading(drawn, heading)
    _draw_upper(drawn, drawing, section, high - top - section[1])
    draw_along(drawn, drawing, below + rows * ROW_IN)
    draw_cavities(drawn, drawing, below)
    drawn.text(EDGE_IN / WIDE_IN, 0.1 / high, CAUTION, fontsize=7.5, color=SOFT)
    return drawn


def save(drawn: Figure, path: str | PathLike[str] | BinaryIO, form: str | None = None) -> None:
    """Write a figure to a file or stream; the form (png, pdf, svg) comes from the name or is given.

    The same figure gives the same bytes each time. As PDF it prints whole on A4 and on Letter.

    Parameters
    ----------
    drawn : Figure
    path : path or stream
    form : str, optional
    """
    form = form or str(path).rsplit(".", 1)[-1].lower()
    blank = {"pdf": {"CreationDate": None}, "svg": {"Date": None}}.get(form)
    with plain_names(), rc_context({"svg.hashsalt": "squeeze", "hatch.linewidth": 0.6}):
        if form != "pdf":
            drawn.savefig(path, format=form, dpi=150, metadata=blank)
            return
        page = io.BytesIO()
        drawn.savefig(page, format=form, metadata=blank)
        laid = on_paper(page.getvalue())
        if isinstance(path, str | PathLike):
            Path(path).write_bytes(laid)
        else:
            path.write(laid)


def drawing_of(
    closing: Closing,
    verdict: Verdict,
    deformed: bool,
    mm_per_inch: float,
    scale: Levels | None = None,
    inches: bool = False,
) -> Drawing:
    """Gather what the parts of a drawing need.

    Parameters
    ----------
    closing : Closing
    verdict : Verdict
    deformed : bool
        Whether the section is drawn deformed.
    mm_per_inch : float
        Length of the block on an inch of the page [mm].
    scale : Levels, optional
        Several drawings may share their levels.
    inches : bool
        Give lengths in inches, pressures in psi.
    """
    solved = closing.outcome.has_answer
    pose = pose_of(closing, deformed and solved)
    scale = scale or pressure_levels([closing], inches)
    return Drawing(closing, verdict, pose, scale, mm_per_inch, inches)


def pressure_levels(closings: list[Closing], inches: bool = False) -> Levels:
    """Return levels for several closings; the top one takes the highest 2 % of the places.

    With `inches` they are round in psi.
    """
    places = [land.pressure_kpa for each in closings for land in (*each.lands, *each.seats)]
    finite = [p[np.isfinite(p)] for p in places]
    pressure = np.concatenate([*finite, [1e-3]])
    return levels(float(np.quantile(pressure, 0.98)), PSI_PER_KPA if inches else 1.0)


def _section_in(closing: Closing) -> tuple[float, float, float]:
    """Return the scale [mm per inch], height and width [inch] of the section's axes."""
    span = np.ptp(closing.field.points_mm, axis=0)
    span = span + 2 * MARGIN * span.max()
    wide = WIDE_IN - KEY_IN - 3 * EDGE_IN
    high = float(np.clip(wide * span[1] / span[0], LEAST_SECTION_IN, MOST_SECTION_IN))
    return float(max(span[0] / wide, span[1] / high)), high, wide


def _heading(closing: Closing, verdict: Verdict) -> list[tuple[str, float, dict]]:
    """Return the lines on top with their heights [inch] and looks."""
    lines = [(closing.title, 0.26, {"fontsize": 9.5, "color": SOFT})]
    first, *rest = verdict.head.lines
    for part in wrapped_lines(first, 106):
        lines.append((part, 0.25, {"fontsize": 12.5, "fontweight": "bold"}))
    for advice in (*rest, *verdict.advice):
        lines += [(part, 0.2, {"fontsize": 10}) for part in wrapped_lines(advice, 135)]
    lines.append((verdict.yardstick, 0.2, {"fontsize": 8.5, "color": SOFT}))
    return lines


def _write_heading(drawn: Figure, heading: list[tuple[str, float, dict]]) -> None:
    w, h = drawn.get_size_inches()
    y = h - 0.15
    for text, high, looks in heading:
        drawn.text(EDGE_IN / w, y / h, text, va="top", **looks)
        y -= high


def _draw_upper(
    drawn: Figure, drawing: Drawing, section: tuple[float, float, float], bottom: float
) -> None:
    _, high, wide = section
    w, h = drawn.get_size_inches()
    ax = drawn.add_axes((EDGE_IN / w, bottom / h, wide / w, high / h))
    ax.set_axis_off()
    draw_section(ax, drawing)
    largest = draw_forces(ax, drawing)
    draw_vents(ax, drawing)
    frame(ax, drawing, MARGIN)
    key = drawn.add_axes(((wide + 2 * EDGE_IN) / w, bottom / h, KEY_IN / w, high / h))
    key.set_xlim(0, KEY_IN)
    key.set_ylim(0, high)
    key.set_axis_off()
    draw_key(key, drawing, largest, high)
