"""The picture of a block over its length: pressure on each land, what is open, where bands are."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.colors import BoundaryNorm, ListedColormap
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle
from numpy.typing import NDArray

from squeeze.show.figure.plain_names import plain_names
from squeeze.show.figure.section import HATCH, INK, RUBBER, SOFT
from squeeze.show.figure.tint import Levels, levels
from squeeze.show.text.line_breaks import wrapped_lines
from squeeze.solve import AlongClosing, LandMap
from squeeze.verdict.bands.barriers_along import SealAlong, resin_along_kpa
from squeeze.verdict.bands.plan import BandPlan
from squeeze.verdict.bands.sentences import PlanWords
from squeeze.verdict.place import land_name
from squeeze.verdict.seal.barrier import MARGIN
from squeeze.verdict.words import MM_PER_INCH, PSI_PER_KPA, in_inches

Array = NDArray[np.float64]

WIDE_IN, LEFT_IN, RIGHT_IN = 11.0, 1.0, 0.35
LEAST_IN, MOST_IN, BETWEEN_IN = 0.55, 1.6, 0.4
BANDS_IN, KEY_IN, FOOT_IN = 0.42, 0.85, 0.35
CAUTION = "Estimates for planning; the makers' data sheets and local codes govern."


@plain_names()
def bands_figure(plan: BandPlan, said: PlanWords, inches: bool = False) -> Figure:
    """Return the picture of a plan: of the layout that it shows, at its weakest station.

    Parameters
    ----------
    plan : BandPlan
        With something cut.
    said : BandsSaid
        What `squeeze.verdict.bands.sentences.say_plan` says about it.
    inches : bool
        Give lengths in inches, pressures in psi.
    """
    layout = plan.shown
    assert layout is not None  # a mold with a cut has a layout: tried, or its own
    closing, hold = layout.closings[layout.worst], layout.holds[layout.worst]
    heading = _heading(plan, said, layout.worst)
    heights = _heights(closing)
    top = 0.2 + sum(high for _, high, _ in heading)
    high = top + BANDS_IN + sum(heights) + BETWEEN_IN * len(heights) + KEY_IN + FOOT_IN
    drawn = Figure(figsize=(WIDE_IN, high))
    FigureCanvasAgg(drawn)
    _write(drawn, heading)
    scale = _levels(closing, inches)
    unit = (1 / MM_PER_INCH, "in") if inches else (1.0, "mm")
    y = high - top
    _draw_bands(_axes(drawn, y - BANDS_IN, BANDS_IN), closing, inches)
    y -= BANDS_IN
    for number, tall in enumerate(heights):
        y -= BETWEEN_IN if number else 0.3
        ax = _axes(drawn, y - tall, tall)
        _draw_land(ax, closing, number, scale, unit)
        if hold.land == number:
            spot = (hold.z_mm, hold.s_mm)
            ax.plot(
                *spot, marker="*", ms=12, mfc="white", mec=INK, mew=1.1, clip_on=False, zorder=9
            )
        last = number == len(heights) - 1
        ax.tick_params(labelbottom=last)
        if last:
            ax.set_xlabel(f"along the block [{unit[1]}]", fontsize=8.5, loc="left")
        y -= tall
    _draw_key(drawn, scale, closing, hold, inches)
    drawn.text(0.3 / WIDE_IN, 0.1 / high, CAUTION, fontsize=7.5, color=SOFT)
    return drawn


def _heading(plan: BandPlan, said: PlanWords, station: int) -> list[tuple[str, float, dict]]:
    title = plan.mold.title
    if len(plan.stretches) > 1:
        title += f" - station at {plan.stretches[station].at_mm:.0f} mm"
    lines: list[tuple[str, float, dict]] = [(title, 0.26, {"fontsize": 9.5, "color": SOFT})]
    for part in wrapped_lines(said.say, 106):
        lines.append((part, 0.25, {"fontsize": 12.5, "fontweight": "bold"}))
    for text in said.lines[:4]:
        lines += [(part, 0.2, {"fontsize": 9.5}) for part in wrapped_lines(text, 140)]
    return lines


def _write(drawn: Figure, heading: list[tuple[str, float, dict]]) -> None:
    w, h = drawn.get_size_inches()
    y = h - 0.15
    for text, high, looks in heading:
        drawn.text(0.3 / w, y / h, text, va="top", **looks)
        y -= high


def _heights(closing: AlongClosing) -> list[float]:
    """Height of each land's map [inch]: to the scale of its length, within bounds."""
    wide = WIDE_IN - LEFT_IN - RIGHT_IN
    return [
        float(np.clip(wide * land.length_mm / closing.length_mm, LEAST_IN, MOST_IN))
        for land in closing.lands
    ]


def _axes(drawn: Figure, bottom: float, high: float) -> Axes:
    w, h = drawn.get_size_inches()
    ax = drawn.add_axes((LEFT_IN / w, bottom / h, (w - LEFT_IN - RIGHT_IN) / w, high / h))
    ax.tick_params(labelsize=8, length=3)
    return ax


def _levels(closing: AlongClosing, inches: bool = False) -> Levels:
    pressure = np.concatenate([[1e-3], *(land.pressure_kpa.ravel() for land in closing.lands)])
    top = float(np.nanquantile(pressure, 0.98))  # NaN where there is no answer
    return levels(top, PSI_PER_KPA if inches else 1.0)


def _draw_bands(ax: Axes, closing: AlongClosing, inches: bool) -> None:
    """Draw the bands as they lie, above the maps and to their scale."""
    ax.set_axis_off()
    ax.set_xlim(0, closing.length_mm)
    ax.set_ylim(0, 1)
    for band in closing.bands:
        corner = (band.at_mm - band.width_mm / 2, 0.12)
        ax.add_patch(Rectangle(corner, band.width_mm, 0.4, fc=SOFT, ec=INK, lw=0.6, clip_on=False))
    if closing.bands:
        each = closing.bands[0]
        text = f"bands: {each.tension_n:.1f} N a strand, {each.width_mm:.1f} mm wide as they lie"
    else:
        text = f"pull spread over the length, {closing.smeared_n_per_mm:.2f} N/mm"
    text = in_inches(text) if inches else text
    ax.text(0, 0.95, text, fontsize=8, color=INK, va="center")


def _draw_land(
    ax: Axes, closing: AlongClosing, number: int, scale: Levels, unit: tuple[float, str]
) -> None:
    land = closing.lands[number]
    z = np.linspace(0.0, closing.length_mm, len(land.z_mm) + 1)
    s = _borders(land.s_mm)
    colours = ListedColormap([*scale.colours])
    shown = np.ma.array(land.pressure_kpa, mask=land.is_open | ~land.is_cut)
    ax.pcolormesh(z, s, shown, cmap=colours, norm=BoundaryNorm(scale.edges, colours.N), zorder=1)
    _patch(ax, z, s, land)
    _needed(ax, closing, land)
    ax.set_xlim(0, closing.length_mm)
    ax.set_ylim(0, land.length_mm)
    several = len(closing.section.cuts) > 1
    name = f"{land.cut}: " if several else ""
    ax.set_title(
        f"{number + 1}  {name}{land_name(land, closing.section)}", fontsize=8.5, loc="left", pad=3
    )
    ax.set_ylabel(f"[{unit[1]}]", fontsize=8)
    _scaled(ax, unit[0])


def _patch(ax: Axes, z: Array, s: Array, land: LandMap) -> None:
    """Hatch what is open, leave whole rubber plain."""
    wide, high = np.diff(z).tolist(), np.diff(s).tolist()
    for k, j in np.argwhere(land.is_open & land.is_cut).tolist():
        box = (float(z[j]), float(s[k])), wide[j], high[k]
        ax.add_patch(Rectangle(*box, fc="white", ec="#bbbbbb", hatch=HATCH, lw=0, zorder=2))
    for j in np.flatnonzero(~land.is_cut).tolist():
        box = (float(z[j]), float(s[0])), wide[j], float(s[-1] - s[0])
        ax.add_patch(Rectangle(*box, fc=RUBBER, ec=RUBBER, lw=0, zorder=2))


def _needed(ax: Axes, closing: AlongClosing, land: LandMap) -> None:
    """Draw where the pressure is what a barrier has to have."""
    over = land.pressure_kpa / (MARGIN * resin_along_kpa(closing)) - 1.0
    over = np.where(land.is_cut, over, np.nan)
    if np.nanmin(over, initial=0.0) < 0 < np.nanmax(over, initial=0.0) and over.shape[1] > 1:
        ax.contour(
            land.z_mm,
            land.s_mm,
            over,
            levels=[0.0],
            colors=[INK],
            linewidths=1.2,
            zorder=4,
            linestyles="dashed",
        )


def _scaled(ax: Axes, scale: float) -> None:
    """Write ticks in the unit of the lengths."""
    for axis in (ax.xaxis, ax.yaxis):
        axis.set_major_formatter(lambda value, _: f"{value * scale:.3g}")


def _borders(s: Array) -> Array:
    return np.concatenate([s[:1], 0.5 * (s[1:] + s[:-1]), s[-1:]])


def _draw_key(
    drawn: Figure, scale: Levels, closing: AlongClosing, hold: SealAlong, inches: bool
) -> None:
    w, h = drawn.get_size_inches()
    ax = drawn.add_axes((LEFT_IN / w, FOOT_IN / h, (w - LEFT_IN - RIGHT_IN) / w, 0.55 / h))
    ax.set_axis_off()
    ax.set_xlim(0, w - LEFT_IN - RIGHT_IN)
    ax.set_ylim(0, 0.55)
    wide = 3.2 / len(scale.colours)
    times, unit = (PSI_PER_KPA, "psi") if inches else (1.0, "kPa")
    largest = max(float(land.pressure_kpa.max(initial=0.0)) for land in closing.lands)
    for k, colour in enumerate(scale.colours):
        ax.add_patch(Rectangle((k * wide, 0.2), wide, 0.16, fc=colour, ec=INK, lw=0.6))
    for k, edge in enumerate(scale.edges):
        more = " +" if edge == scale.edges[-1] < largest else ""
        ax.text(k * wide, 0.17, f"{edge * times:.3g}{more}", fontsize=8, va="top", ha="center")
    ax.text(0, 0.4, f"contact pressure [{unit}]; darker = harder", fontsize=8)
    ax.add_patch(Rectangle((4.0, 0.2), 0.4, 0.16, fc="white", ec=INK, hatch=HATCH, lw=0.6))
    ax.text(4.5, 0.28, "open", fontsize=8, va="center")
    ax.plot([5.1, 5.5], [0.28, 0.28], color=INK, lw=1.2, ls="--")
    ax.text(5.6, 0.28, f"{MARGIN:.0f} times the resin", fontsize=8, va="center")
    if hold.land >= 0:
        ax.plot(7.0, 0.28, marker="*", ms=12, mfc="white", mec=INK, mew=1.1)
        ax.text(7.2, 0.28, "weakest barrier", fontsize=8, va="center")
    if not all(land.is_cut.all() for land in closing.lands):
        ax.add_patch(Rectangle((8.4, 0.2), 0.4, 0.16, fc=RUBBER, ec=INK, lw=0.6))
        ax.text(8.9, 0.28, "not cut", fontsize=8, va="center")
