"""How hard the bands have to pull before a land with an unloaded gap closes."""

from __future__ import annotations

from collections.abc import Callable

from squeeze.solve.block import Block
from squeeze.solve.closing import Outcome

LEAST_N_PER_MM, MOST_N_PER_MM = 0.01, 20.0
_STEPS, _HALVINGS = 24, 30


def tension_to_close(
    block: Block,
    cut: str | None = None,
    most_n_per_mm: float = MOST_N_PER_MM,
    progress: Callable[[float], None] | None = None,
) -> float | None:
    """Return the least tension at which lands are closed all along.

    Tensions are tried upwards in even ratios, and the last step halved: that closing is monotone in
    the tension is usual but not proven. Where nothing has a gap and nothing else acts, the tension
    does not decide what closes.

    Parameters
    ----------
    block : Block
    cut : str, optional
        Name of the cut whose lands are meant; all by default.
    most_n_per_mm : float
        Where to stop [N per mm of block length].
    progress : callable, optional
        Told the share of the steps done, 0..1.

    Returns
    -------
    float or None
        [N per mm of block length]; None when they are not closed at any tension tried.

    Raises
    ------
    KeyError
        When there is no land to close, or none of that name.
    """
    named = {block.section.seams[land.cut].name for land in block.mesh.lands}
    if not named or (cut is not None and cut not in named):
        known = ", ".join(map(repr, sorted(named))) or "none"
        raise KeyError(f"there is no land to close of the cut {cut!r}; there are {known}")

    def closes(tension: float) -> bool:
        closing = block.close(bands=tension)
        lands = [land for land in closing.lands if cut in (None, land.cut)]
        return closing.trust.outcome is Outcome.CONVERGED and all(
            land.largest_gap_mm == 0.0 for land in lands
        )

    ratio = (most_n_per_mm / LEAST_N_PER_MM) ** (1.0 / _STEPS)
    high = LEAST_N_PER_MM
    for step in range(_STEPS + 1):
        if closes(high):
            break
        if step == _STEPS:
            return None
        high *= ratio
        if progress:
            progress(step / _STEPS)
    low = high / ratio
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        low, high = (low, middle) if closes(middle) else (middle, high)
        if high - low < 1e-4 * high:
            break
    return high
