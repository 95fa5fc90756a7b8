"""Whether pressure and friction can hold the pieces at all, and which way they go when not.

What contact can put up against the loads is a cone: sums of p (n + mu t) and p (n - mu t) over the
places, p >= 0. The part of the loads that sticks out of it is balanced by nothing (J. J. Moreau,
C. R. Acad. Sci. Paris 255 (1962) 238).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import nnls

from squeeze.solve.contact.coulomb import cone

Array = NDArray[np.float64]

LEFT_OVER = 1e-6  # share of the loads from which on a piece is not held


def leaving(G: Array, mu: Array, e: Array, load: float) -> Array | None:
    """Return the motion (k,) into which the loads drive pieces that nothing can hold, or None.

    Parameters
    ----------
    G : array (2 c, k)
        Gap, then slip, that each rigid motion makes at each place.
    mu : array (c,)
        Coefficient of friction.
    e : array (k,)
        What contact has to put up against the loads, per rigid motion.
    load : float
        Sum of the sizes of all forces.
    """
    if not len(e):
        return None
    edges, normal = cone(mu, G), G[: len(mu)]
    size = np.linalg.norm(edges, axis=0)
    try:
        share, _ = nnls(edges / np.where(size > 0, size, 1.0), e / max(load, 1e-300))
    except RuntimeError:  # too many steps: the contact solve has to find out
        return None
    motion = edges @ (share / np.where(size > 0, size, 1.0)) - e / max(load, 1e-300)
    if np.linalg.norm(motion) < LEFT_OVER:
        return None
    return _in_touch(motion, normal[np.unique(np.flatnonzero(share) % len(mu))])


def _in_touch(motion: Array, normal: Array) -> Array:
    """Remove the part of a motion that would separate pressed faces."""
    slides = motion - np.linalg.lstsq(normal, normal @ motion, rcond=1e-9)[0]
    return slides if np.linalg.norm(slides) > 1e-3 * np.linalg.norm(motion) else motion
