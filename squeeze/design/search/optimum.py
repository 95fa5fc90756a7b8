"""The block of a family that costs least, of those that are forecast to hold.

What a block costs is its rubber, or its rubber and work together. The optimiser is COBYQA (T. M.
Ragonneau, Z. Zhang, 2023), a derivative-free trust-region method for constraints that only a
computation shows. It draws nothing at random.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from scipy.optimize import Bounds, NonlinearConstraint, minimize

from squeeze.design.search.forecast import Forecast
from squeeze.design.search.places import Place, Places

CALLS = 30
"""Blocks that are forecast on the way to the one that costs least."""

SPARE = 0.02
"""Margin that a forecast has to leave, as a share of what is needed."""


def cost_g(forecast: Forecast, place: Place, needed: float, step_g: float) -> float:
    """Return what a block costs: its rubber, and its work as rubber [g].

    Parameters
    ----------
    forecast : Forecast
        Says how many bands it takes.
    place : Place
    needed : float
        Margin that is asked for.
    step_g : float
        What a step of work counts for, each band included [g].
    """
    if step_g == 0:
        return place.rubber_g
    bands = forecast.bands_needed(place, needed * (1 + SPARE))
    return place.rubber_g + step_g * (place.steps + bands)


def optimum(
    places: Places, forecast: Forecast, start: Place, needed: float, step_g: float = 0.0
) -> Place | None:
    """Return the block of a family that costs least and is forecast to hold.

    Parameters
    ----------
    places : Places
    forecast : Forecast
    start : Place
        One that holds.
    needed : float
        Margin that is asked for.
    step_g : float
        What a step of work counts for, its bands included [g]; 0 for the lightest block.

    Returns
    -------
    Place or None
        None where none that costs less than the start is forecast to hold.
    """
    known: dict[tuple[float, ...], tuple[Place, float, float] | None] = {}

    def at(x: Any) -> tuple[Place, float, float] | None:
        shares = tuple(float(v) for v in (*np.clip(x, 0.0, 1.0), start.shares[3]))
        if shares not in known:
            place = places.place(shares)
            if place is None:
                known[shares] = None
            else:
                (margin,) = forecast.margins([place])
                known[shares] = place, margin, cost_g(forecast, place, needed, step_g)
        return known[shares]

    own = cost_g(forecast, start, needed, step_g)

    def cost(x: Any) -> float:
        got = at(x)
        return 2.0 if got is None else min(got[2] / own, 2.0)

    def spare(x: Any) -> float:
        got = at(x)
        return -1.0 if got is None else float(np.clip(got[1] / needed - 1 - SPARE, -1.0, 1.0))

    minimize(
        cost,
        np.clip(start.shares[:3], 0.02, 0.98),
        method="COBYQA",
        bounds=Bounds(0.0, 1.0),
        constraints=[NonlinearConstraint(spare, 0.0, np.inf)],
        options={"maxfev": CALLS, "initial_tr_radius": 0.15, "final_tr_radius": 0.01},
    )
    held = [got for got in known.values() if got is not None and got[1] >= needed]
    best = min(held, key=lambda got: got[2], default=None)
    return best[0] if best is not None and best[2] < own * (1 - 1e-9) else None
