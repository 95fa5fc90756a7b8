"""Whether pressure and friction can hold the pieces, and where the loads drive them if not.

The forces that contact can exert form a cone: sums of p (n + mu t) and p (n - mu t) over the
places, p >= 0. Nothing balances the part of the loads outside this cone (J. J. Moreau,
C. R. Acad. Sci. Paris 255 (1962) 238).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from squeeze.solve.contact.coulomb import cone

Array = NDArray[np.float64]

LEFT_OVER = 1e-6  # a piece is not held where more than this share of the loads is unbalanced


def unheld_motion(R: Array, mu: Array, b: Array, load: float) -> Array | None:
    """Return the motion (k,) of pieces that contact cannot hold against the loads, or None.

    Parameters
    ----------
    R : array (2 c, k)
        Gap, then slip, that each rigid motion makes at each place.
    mu : array (c,)
        Coefficient of friction.
    b : array (k,)
        Generalised force of the contact tractions along each rigid motion that balances the
        loads.
    load : float
        Sum of the sizes of all forces [N/mm].
    """
    if not len(b):
        return None
    edges, normal = cone(mu, R), R[: len(mu)]
    size = np.linalg.norm(edges, axis=0)
    unit, wanted = edges / np.where(size > 0, size, 1.0), b / max(load, 1e-300)
    share = np.linalg.lstsq(unit, wanted, rcond=None)[0]
    if (share >= 0).all() and np.linalg.norm(unit @ share - wanted) < LEFT_OVER:
        return None  # the least forces that balance the loads press everywhere
    try:
        share = least_squares_from_zero(unit, wanted)
    except RuntimeError:  # too many steps: leave the answer to the contact solve
        return None
    motion = edges @ (share / np.where(size > 0, size, 1.0)) - wanted
    if np.linalg.norm(motion) < LEFT_OVER:
        return None
    return _along_pressed_faces(motion, normal[np.unique(np.flatnonzero(share) % len(mu))])


def least_squares_from_zero(A: Array, b: Array) -> Array:
    """Return the x (n,) of least |A x - b| that has no negative entry.

    Parameters
    ----------
    A : array (m, n)
    b : array (m,)

    Raises
    ------
    RuntimeError
        When it takes too many steps.
    """
    from scipy.optimize import nnls  # seldom wanted, and a tenth of the time to start

    return np.asarray(nnls(A, b)[0], np.float64)


def _along_pressed_faces(motion: Array, normal: Array) -> Array:
    """Remove the part of a motion that would separate pressed faces."""
    slides = motion - np.linalg.lstsq(normal, normal @ motion, rcond=1e-9)[0]
    return slides if np.linalg.norm(slides) > 1e-3 * np.linalg.norm(motion) else motion
