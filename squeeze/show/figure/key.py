"""The key beside the section: what tint, hatch, line and arrow stand for."""

from __future__ import annotations

from matplotlib.axes import Axes
from matplotlib.patches import Circle, Rectangle

from squeeze.show.figure.forces import arrow_style
from squeeze.show.figure.lands import ERROR_BAND
from squeeze.show.figure.section import CRADLE, FILLER, HATCH, INK, RUBBER, SOFT, Drawing
from squeeze.show.figure.vents import DOTTED
from squeeze.show.text.line_breaks import fill
from squeeze.verdict import place, pressure
from squeeze.verdict.words import in_inches

LINE_IN = 0.165


def draw_key(ax: Axes, drawing: Drawing, largest_push: float, high_in: float) -> None:
    """Fill the axes, `high_in` [inch] high, from the top downwards.

    `largest_push` is the longest arrow of the section [N/mm].
    """
    y = high_in - 0.1
    say = in_inches if drawing.inches else str
    if drawing.solved and drawing.closing.lands:
        y = _scale(ax, drawing, y)
        y = _open(ax, drawing, y)
        ax.plot([0, 0.42], [y - 0.08, y - 0.08], color=SOFT, lw=0.9, ls=(0, (4, 2)))
        y = _say(ax, say(f"below: what seals, {pressure(drawing.verdict.needed_kpa)}"), y)
        if drawing.closing.errors is not None:
            ax.add_patch(Rectangle((0, y - 0.12), 0.42, 0.08, **ERROR_BAND))
            ax.plot([0, 0.42], [y - 0.08, y - 0.08], color=INK, lw=1.3)
            y = _say(ax, "below: error of the mesh, either side", y)
    y = _bodies(ax, drawing, y)
    y = _bands(ax, drawing, largest_push, y)
    y = _pushes(ax, drawing, y)
    y = _strain(ax, drawing, y)
    _worst(ax, drawing, y)


def _scale(ax: Axes, drawing: Drawing, y: float) -> float:
    levels = drawing.levels
    largest = max(float(land.pressure_kpa.max()) for land in drawing.closing.lands)
    times, unit = drawing.pressure_unit
    ax.text(0, y, f"contact pressure [{unit}]; darker = harder", fontsize=8.5, va="top")
    wide, top = 2.7 / len(levels.colours), y - 0.42
    for k, colour in enumerate(levels.colours):
        ax.add_patch(Rectangle((k * wide, top), wide, 0.2, fc=colour, ec=INK, lw=0.6))
    for k, edge in enumerate(levels.edges):
        text = f"{edge * times:.3g}" + (" +" if edge == levels.edges[-1] < largest else "")
        ax.text(k * wide, top - 0.05, text, fontsize=8, va="top", ha="center")
    return top - 0.4


def _open(ax: Axes, drawing: Drawing, y: float) -> float:
    if not any(land.largest_gap_mm > 0 for land in drawing.closing.lands):
        ax.add_patch(Rectangle((0, y - 0.2), 0.42, 0.2, fc="white", ec=SOFT, hatch=HATCH, lw=0.8))
        ax.plot([0, 0.42], [y - 0.2, y], color=INK, lw=1.3)  # crossed out: there is none
        return _say(ax, "no place of a cut is open", y)
    ax.add_patch(Rectangle((0, y - 0.2), 0.42, 0.2, fc="white", ec=INK, hatch=HATCH, lw=0.8))
    return _say(ax, f"open: the faces stand apart,\n{_times(drawing)}", y)


def _times(drawing: Drawing) -> str:
    factor = drawing.pose.gap_factor
    return "gap drawn true" if factor == 1 else f"gap drawn {factor:g} times as wide"


def _bodies(ax: Axes, drawing: Drawing, y: float) -> float:
    ax.add_patch(Rectangle((0, y - 0.17), 0.42, 0.17, fc=RUBBER, ec=INK, lw=0.8))
    factor = drawing.pose.factor
    y = _say(ax, _rubber(factor), y)
    if factor:
        ax.plot([0, 0.42], [y - 0.08, y - 0.08], color=SOFT, lw=0.7, ls=(0, (5, 3)))
        y = _say(ax, "as poured", y)
    section = drawing.closing.section
    for there, colour, text in (
        (section.fillers, FILLER, "filler: older rubber cast in"),
        (section.cradles, CRADLE, "cradle; its seats are tinted\nor hatched as the cuts are"),
    ):
        if there:
            ax.add_patch(Rectangle((0, y - 0.17), 0.42, 0.17, fc=colour, ec=INK, lw=0.8))
            y = _say(ax, text, y)
    if drawing.vents:
        ax.plot([0, 0.42], [y - 0.08, y - 0.08], color=INK, lw=1.6, ls=DOTTED)
        y = _say(ax, "v1: vent" if len(drawing.vents) == 1 else "v1, v2, ...: vents", y)
    return y


def _rubber(factor: float) -> str:
    if factor == 0:
        return "rubber, as poured"
    return "rubber, as it moves" if factor == 1 else f"rubber, moved {factor:g} times as far"


def _bands(ax: Axes, drawing: Drawing, largest_push: float, y: float) -> float:
    wrap = drawing.closing.wrap
    if wrap is None:
        return y
    ax.plot([0, 0.42], [y - 0.08, y - 0.08], color=SOFT, lw=2.4)
    say = in_inches if drawing.inches else str
    y = _say(ax, say(f"bands, {wrap.tension_n_per_mm:.2f} N per mm of length"), y)
    ax.annotate("", (0.42, y - 0.08), (0, y - 0.08), arrowprops=arrow_style(0.6))
    text = f"push of the bands; the longest arrow\nis {largest_push:.2g} N per mm"
    return _say(ax, say(text), y)


def _pushes(ax: Axes, drawing: Drawing, y: float) -> float:
    loads = drawing.closing.loads
    (scale, unit), (times, name) = drawing.unit, drawing.pressure_unit
    pushes = [(p.pressure_mpa * 1000, p.width_mm * scale) for p in loads.pushes]
    for kpa, width in dict.fromkeys(pushes):
        text = f"push, {kpa * times:.3g} {name} over {width:.3g} {unit}"
        ax.plot([0, 0.42], [y - 0.08, y - 0.08], color=INK, lw=4, solid_capstyle="butt")
        y = _say(ax, text, y)
    if loads.all_round_mpa:
        ax.annotate("", (0.42, y - 0.08), (0, y - 0.08), arrowprops=arrow_style(0.6))
        y = _say(ax, f"{loads.all_round_mpa * 1000 * times:.3g} {name} all round", y)
    if loads.cavity_mpa:
        ax.add_patch(Circle((0.21, y - 0.08), 0.085, fc="white", ec=INK, lw=0.8))
        for dx in (-0.14, 0.14):  # the resin presses outwards
            ax.annotate("", (0.21 + dx, y - 0.08), (0.21, y - 0.08), arrowprops=arrow_style(0.4))
        y = _say(ax, f"resin, {loads.cavity_mpa * 1000 * times:.3g} {name} in the cavities", y)
    return y


def _strain(ax: Axes, drawing: Drawing, y: float) -> float:
    trust = drawing.closing.trust
    if not drawing.closing.outcome.has_answer or not trust.largest_strain_pct > 0:
        return y
    ax.plot(0.21, y - 0.09, marker="D", ms=7, mfc="white", mec=INK, mew=1.1)
    return _say(ax, f"largest strain of the rubber, {trust.largest_strain_pct:.1f} %", y)


def _worst(ax: Axes, drawing: Drawing, y: float) -> None:
    worst = drawing.verdict.worst
    if worst is not None:
        ax.plot(0.21, y - 0.09, marker="*", ms=12, mfc="white", mec=INK, mew=1.1)
        at = [place(v, drawing.inches) for v in (worst.x_mm, worst.y_mm)]
        text = f"worst place, x = {at[0]}, y = {at[1]}: {worst.words}"
        _say(ax, fill(text, 38), y)


def _say(ax: Axes, text: str, y: float) -> float:
    ax.text(0.55, y - 0.02, text, fontsize=8.5, va="top", linespacing=1.25)
    return y - LINE_IN * (text.count("\n") + 1) - 0.12
