"""The lightest block of a family that is forecast to hold.

The optimiser is COBYQA (T. M. Ragonneau, Z. Zhang, 2023), a derivative-free trust-region method for
constraints that only a computation tells. It draws nothing at random.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from scipy.optimize import Bounds, NonlinearConstraint, minimize

from squeeze.design.forecast import Forecast
from squeeze.design.places import Place, Places

CALLS = 30
"""Blocks that are forecast on the way to the lightest one."""

SPARE = 0.02
"""Margin that a forecast has to leave, as a share of what is needed."""


def lightest(places: Places, forecast: Forecast, start: Place, needed: float) -> Place | None:
    """Return the lightest block of a family that is forecast to hold with all bands at hand.

    Parameters
    ----------
    places : Places
    forecast : Forecast
    start : Place
        One that holds.
    needed : float
        Margin that is asked for.

    Returns
    -------
    Place or None
        None where no lighter one than the start is forecast to hold.
    """
    known: dict[tuple[float, ...], tuple[Place, float] | None] = {}

    def at(x: Any) -> tuple[Place, float] | None:
        shares = tuple(float(v) for v in (*np.clip(x, 0.0, 1.0), start.shares[3]))
        if shares not in known:
            place = places.place(shares)
            known[shares] = None if place is None else (place, forecast.margins([place])[0])
        return known[shares]

    def weight(x: Any) -> float:
        got = at(x)
        return 2.0 if got is None else got[0].rubber_g / start.rubber_g

    def spare(x: Any) -> float:
        got = at(x)
        return -1.0 if got is None else float(np.clip(got[1] / needed - 1 - SPARE, -1.0, 1.0))

    minimize(
        weight,
        np.clip(start.shares[:3], 0.02, 0.98),
        method="COBYQA",
        bounds=Bounds(0.0, 1.0),
        constraints=[NonlinearConstraint(spare, 0.0, np.inf)],
        options={"maxfev": CALLS, "initial_tr_radius": 0.15, "final_tr_radius": 0.01},
    )
    held = [got[0] for got in known.values() if got is not None and got[1] >= needed]
    best = min(held, key=lambda place: place.rubber_g, default=None)
    return best if best is not None and best.rubber_g < start.rubber_g - 1e-6 else None
