"""Labels at the right ends of lines, moved apart where they would lie on each other."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.lines import Line2D

LETTERS_PT = 8.5
LINE_IN, GAP_IN = 0.15, 0.2
"""From one label to the next at least, and from the frame to the labels."""


def label_ends(ax: Axes, size_in: tuple[float, float]) -> None:
    """Write the label of each line beside the frame, about as high as the line ends.

    Parameters
    ----------
    ax : Axes
        Its limits are set already.
    size_in : (float, float)
        Width and height of the frame [inch].
    """
    wide, high = size_in
    lines = [line for line in ax.get_lines() if np.isfinite(line.get_xydata()).all(axis=1).any()]
    ends = [_end(line) for line in lines]
    low, top = ax.get_ylim()
    wanted = [(y - low) / (top - low) for _, y in ends]
    for line, end, at in zip(lines, ends, spread(wanted, LINE_IN / high), strict=True):
        colour = line.get_color()
        leader = {"arrowstyle": "-", "color": colour, "lw": 0.7, "shrinkA": 1, "relpos": (0, 0.5)}
        ax.annotate(
            str(line.get_label()),
            end,
            (1 + GAP_IN / wide, at),
            textcoords="axes fraction",
            annotation_clip=False,
            arrowprops=leader,
            va="center",
            fontsize=LETTERS_PT,
            color=colour,
        )


def _end(line: Line2D) -> tuple[float, float]:
    """Return the last point of a line that has an answer."""
    points = np.asarray(line.get_xydata(), float)
    x, y = points[np.isfinite(points).all(axis=1)][-1]
    return float(x), float(y)


def spread(wanted: Sequence[float], apart: float) -> list[float]:
    """Return places from 0 to 1 near the wanted ones, each at least `apart` from the next.

    Neighbours that are too near form a group, which stands round the mean of what its members
    wanted; of two that want the same place the first one stands higher. Where there is no room for
    all, the group hangs out below.

    Examples
    --------
    >>> [round(at, 2) for at in spread([0.5, 0.5, 0.0], 0.1)]
    [0.55, 0.45, 0.0]
    >>> [round(at, 2) for at in spread([1.0, 1.0], 0.1)]
    [1.0, 0.9]
    """
    groups: list[list[int]] = []
    for k in sorted(range(len(wanted)), key=lambda k: (wanted[k], -k)):
        groups.append([k])
        while len(groups) > 1 and _overlap(groups[-2], groups[-1], wanted, apart):
            groups[-2:] = [groups[-2] + groups[-1]]
    found = [0.0] * len(wanted)
    for group in groups:
        low = _low(group, wanted, apart)
        for place, k in enumerate(group):
            found[k] = low + place * apart
    return found


def _overlap(below: list[int], above: list[int], wanted: Sequence[float], apart: float) -> bool:
    room = _low(above, wanted, apart) - _low(below, wanted, apart)
    return room < len(below) * apart * (1 - 1e-9)


def _low(group: list[int], wanted: Sequence[float], apart: float) -> float:
    """Return the place of the lowest of a group."""
    high = apart * (len(group) - 1)
    mean = sum(wanted[k] for k in group) / len(group)
    return min(max(mean - 0.5 * high, 0.0), 1.0 - high)
