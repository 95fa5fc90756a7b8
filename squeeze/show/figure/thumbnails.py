"""Compact pictures: the section with its sentence, alone or side by side on one scale."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import ceil

from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from squeeze.show.figure.closing import drawing_of, pressure_levels
from squeeze.show.figure.forces import draw_forces
from squeeze.show.figure.outlines import gap_factor
from squeeze.show.figure.plain_names import plain_names
from squeeze.show.figure.section import HATCH, INK, draw_section, frame
from squeeze.show.figure.tint import Levels
from squeeze.show.start import CAUTION
from squeeze.show.text.line_breaks import fill
from squeeze.solve.closing import Closing
from squeeze.verdict import Verdict
from squeeze.verdict.words import MM_PER_INCH, PSI_PER_KPA, in_inches

WIDE_IN, SECTION_IN, TITLE_IN, SAY_IN, KEY_IN = 3.6, 3.5, 0.35, 1.0, 0.6
MARGIN = 0.15

BAR_IN = 0.8
"""Longest bar of the scale."""

GROUND = "#f3efe2"
"""Ground of a picture that is set apart."""


@plain_names()
def small(
    pairs: Sequence[tuple[Closing, Verdict]],
    scale: Levels | None = None,
    gaps: float | None = None,
    columns: int | None = None,
    inches: bool = False,
    one_size: bool = False,
    marked: bool = False,
    title_in: float = TITLE_IN,
) -> Figure:
    """Return the sections side by side, each with its title and sentence, on one pressure scale.

    Parameters
    ----------
    pairs : sequence of (Closing, Verdict)
        From left to right, and row by row where there are several.
    scale : Levels, optional
        Levels of pressure that several pictures share, from `pressure_levels`.
    gaps : float, optional
        Multiple of the gaps that several pictures share, from `gap_factor`.
    columns : int, optional
        Pictures in a row; all in one unless given.
    inches : bool
        Give lengths in inches, pressures in psi.
    one_size : bool
        Draw all sections to one scale of length, with a bar for it.
    marked : bool
        Set the first apart from the others, with a frame and a ground of its own.
    title_in : float
        Height that the titles take [in].

    Returns
    -------
    Figure
        One sentence where there is nothing to draw.
    """
    if not pairs:
        return _empty()
    closings = [closing for closing, _ in pairs]
    scale, gaps = scale or pressure_levels(closings, inches), gaps or gap_factor(closings)
    columns = min(columns or len(pairs), len(pairs))
    high = title_in + SECTION_IN + SAY_IN
    w, h = WIDE_IN * columns, high * ceil(len(pairs) / columns) + KEY_IN
    drawn = Figure(figsize=(w, h))
    FigureCanvasAgg(drawn)
    axes = []
    if marked:
        drawn.add_artist(_mark(w, h, high, columns))
    for k, (closing, verdict) in enumerate(pairs):
        row, column = divmod(k, columns)
        top = h - row * high
        box = (column / columns, (top - title_in - SECTION_IN) / h, 1 / columns, SECTION_IN / h)
        axes.append(drawn.add_axes(box))
        _draw(axes[-1], closing, verdict, scale, gaps)
        middle = (column + 0.5) / columns
        title = (top - 0.12) / h
        drawn.text(middle, title, closing.title, ha="center", va="top", weight="bold")
        below = (top - title_in - SECTION_IN - 0.25) / h
        brief = verdict.head.brief
        say = fill(in_inches(brief) if inches else brief, 48)
        drawn.text(middle, below, say, ha="center", va="top", fontsize=9, linespacing=1.3)
    key = drawn.add_axes((0, 0, 1, KEY_IN / h), xlim=(0, w), ylim=(0, KEY_IN))
    key.set_axis_off()
    _draw_key(key, scale, w, inches)
    if one_size:
        _draw_bar(key, _share_scale(axes), inches)
    beside = {"rotation": 90, "ha": "right", "va": "center", "fontsize": 6}
    drawn.text(0.999, 0.5, CAUTION, **beside)  # below stands the scale
    return drawn


def _mark(w: float, h: float, high: float, columns: int) -> Rectangle:
    """Return the ground and frame of the first picture, in shares of the figure."""
    edge = 0.05
    box = edge / w, (h - high + edge) / h, 1 / columns - 2 * edge / w, (high - 2 * edge) / h
    return Rectangle(box[:2], *box[2:], fc=GROUND, ec=INK, lw=2.5, zorder=-1)


def _share_scale(axes: Sequence[Axes]) -> float:
    """Give all axes windows of one size about their middles; return the inches of a millimetre."""
    spans = [abs(high - low) for ax in axes for low, high in (ax.get_xlim(), ax.get_ylim())]
    half = max(spans) / 2
    for ax in axes:
        x, y = sum(ax.get_xlim()) / 2, sum(ax.get_ylim()) / 2
        ax.set_xlim(x - half, x + half)
        ax.set_ylim(y - half, y + half)
    return min(WIDE_IN, SECTION_IN) / (2 * half)


def _draw_bar(ax: Axes, inches_of_mm: float, inches: bool) -> None:
    """Draw a bar of a round length at the left of the key."""
    unit, name = (MM_PER_INCH, "in") if inches else (1.0, "mm")
    choices = [step * 10.0**k for k in range(-1, 4) for step in (1, 2, 5)]
    long = max((c for c in choices if c * unit * inches_of_mm <= BAR_IN), default=choices[0])
    x, y = 0.2, 0.2
    ax.add_patch(Rectangle((x, y), long * unit * inches_of_mm, 0.05, fc=INK, ec=INK, lw=0.6))
    ax.text(x, y + 0.21, f"{long:g} {name}", fontsize=8, va="bottom")


def _empty() -> Figure:
    drawn = Figure(figsize=(4, 1))
    FigureCanvasAgg(drawn)
    drawn.text(0.5, 0.5, "no case has an answer", ha="center", va="center")
    return drawn


def _draw(ax: Axes, closing: Closing, verdict: Verdict, scale: Levels, gaps: float) -> None:
    drawing = drawing_of(closing, verdict, False, 1.0, scale)
    drawing = replace(drawing, pose=replace(drawing.pose, gap_factor=gaps))
    ax.set_axis_off()
    draw_section(ax, drawing, names=False)
    draw_forces(ax, drawing)
    frame(ax, drawing, MARGIN)
    if gaps != 1 and any(land.largest_gap_mm > 0 for land in closing.lands):
        text = f"gap drawn {gaps:g} times as wide"
        ax.text(0.5, -0.01, text, transform=ax.transAxes, ha="center", va="top", fontsize=8)


def _draw_key(ax: Axes, scale: Levels, w: float, inches: bool) -> None:
    times, unit = (PSI_PER_KPA, "psi") if inches else (1.0, "kPa")
    wide, y = 0.26, 0.2
    end = 0.5 * (w + wide * len(scale.colours) - 0.95)
    x = end - wide * len(scale.colours)
    ax.text(x, y + 0.21, f"contact pressure [{unit}]", fontsize=8, va="bottom")
    for k, colour in enumerate(scale.colours):
        ax.add_patch(Rectangle((x + k * wide, y), wide, 0.16, fc=colour, ec=INK, lw=0.6))
    for k, edge in enumerate(scale.edges):
        ax.text(
            x + k * wide,
            y - 0.05,
            _short(edge * times) if inches else f"{edge:.3g}",
            fontsize=8,
            va="top",
            ha="center",
        )
    ax.add_patch(Rectangle((end + 0.3, y), 0.3, 0.16, fc="white", ec=INK, hatch=HATCH, lw=0.8))
    ax.text(end + 0.68, y + 0.07, "open", fontsize=8, va="center")


def _short(value: float) -> str:
    """Return a figure of the key with two digits, or as many as stand before the point."""
    return f"{value:.2g}" if abs(value) < 10 else f"{value:.3g}"
