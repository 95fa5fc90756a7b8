"""Where along a scale something begins to hold."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any


def boundary(holds: Callable[[float], bool], low: float, high: float, tolerance: float) -> float:
    """Return where `holds` turns true between `low`, where it does not hold, and `high`.

    Bisection on a yes-or-no answer; where it turns several times, one of these places. It ends
    where both sides are nearer than `tolerance` [of their unit].

    Examples
    --------
    >>> round(boundary(lambda x: x > 3.3, 0.0, 10.0, 0.01), 1)
    3.3
    """
    from scipy.optimize import bisect  # a tenth of the time to start, wanted where advice is asked

    ends: dict[float, float] = {low: -0.5, high: 0.5}
    found: Any = bisect(lambda x: ends.get(x, 0.5 if holds(x) else -0.5), low, high, xtol=tolerance)
    return float(found)
