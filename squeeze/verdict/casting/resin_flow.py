"""How resin runs in an open cut: flow in a slot, and how far it gets before it sets.

Plane Poiseuille flow: between faces b apart a drop of pressure dp over the length L drives
q = b^3 dp / (12 mu L) per mm of block length. A front that the cavity feeds advances with the mean
speed q / b, so that dL/dt = b^2 dp / (12 mu L), and L^2 = b^2 dp t / (6 mu).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

MPA_PER_KPA = 1e-3
MPA_S_PER_MPA_S = 1e-9  # from mPa s to MPa s


def fluid_time_s(time_s: float, tau_s: float | None = None) -> float:
    """Return the time in which resin of its first viscosity runs as far as in `time_s` [s].

    With mu = mu0 exp(t/tau) it is the integral of mu0/mu, tau (1 - exp(-t/tau)); without `tau_s`
    the viscosity does not change.
    """
    return time_s if tau_s is None else tau_s * (1.0 - float(np.exp(-time_s / tau_s)))


def capacity(drop_kpa: float, viscosity_mpa_s: float, time_s: float) -> float:
    """Return dp t / mu, a number: what `spent` may come to when the resin stops.

    Parameters
    ----------
    drop_kpa : float
        Loss of pressure from the cavity to the front of the resin.
    viscosity_mpa_s : float
        When it is poured.
    time_s : float
        How long it flows as when it was poured: `fluid_time_s`.
    """
    return drop_kpa * MPA_PER_KPA * time_s / (viscosity_mpa_s * MPA_S_PER_MPA_S)


def spent(s_mm: Array, gap_mm: Array, drag: float = 0.0) -> tuple[Array, float]:
    """Return what of dp t / mu is spent when the front is at each place, and the drag in the end.

    In a slot whose gap b changes along it the flow q is the same all along, so
    dp = 12 mu q R with R = integral ds / b^3, and q = b dL/dt at the front:
    dp t / mu = integral 12 R b ds. For an even gap that is 6 L^2 / b^2.

    Parameters
    ----------
    s_mm, gap_mm : array (n,)
        Places along the stretch, and the gap there.
    drag : float
        R of what lies before the first place [1/mm2].

    Returns
    -------
    used : array (n,)
    drag : float
        R at the last place [1/mm2].
    """
    ds = np.diff(s_mm)
    b = np.maximum(0.5 * (gap_mm[1:] + gap_mm[:-1]), 1e-9)
    R = drag + np.concatenate([[0.0], np.cumsum(ds / b**3)])
    used = np.concatenate([[0.0], np.cumsum(12.0 * 0.5 * (R[1:] + R[:-1]) * b * ds)])
    return used, float(R[-1])
