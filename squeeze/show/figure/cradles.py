"""The picture of a comparison of cradles: how the cuts close with each."""

from __future__ import annotations

from matplotlib.figure import Figure

from squeeze.show.figure.plain_names import plain_names
from squeeze.show.figure.thumbnails import small
from squeeze.study.cradles.comparison import CradleComparison

IN_A_ROW = 4


@plain_names()
def cradle_figure(
    found: CradleComparison, tension: float | None = None, inches: bool = False
) -> Figure:
    """Return the sections of one tension side by side, on one scale of pressure.

    Parameters
    ----------
    found : CradleComparison
    tension : float, optional
        Pull of the bands [N/mm]; the first one unless given.
    inches : bool
        Give lengths in inches, pressures in psi.
    """
    rows = found.at(found.tensions_n_per_mm[0] if tension is None else tension)
    pairs = [
        (row.closing, row.verdict)
        for row in rows
        if row.solved and row.closing is not None and row.verdict is not None
    ]
    return small(pairs, columns=IN_A_ROW, inches=inches)
