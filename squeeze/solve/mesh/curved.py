"""Curved triangles: none may be turned round, not even in part."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from squeeze.mold.errors import BadInput, Fault

Points = NDArray[np.float64]
Whole = NDArray[np.int64]

LEAST_JACOBIAN = 0.1
"""Least Jacobian of a curved triangle, over that of its straight corners."""


def unfold(points: Points, triangles: Whole, faces: list[tuple[Whole, Whole]]) -> None:
    """Straighten curved edges by which a triangle would be turned round in part.

    Parameters
    ----------
    points : array (n, 2)
        Nodes [mm]; mid-sides are moved in place.
    triangles : array (m, 6) of int
    faces : list of (array, array)
        Nodes of the left and of the right face of each pair, which stay in one place.

    Raises
    ------
    BadInput
        When a triangle with straight edges is turned round.
    """
    corner, after = triangles[:, [0, 1, 2]], triangles[:, [1, 2, 0]]
    for share in (0.5, 0.5, 0.5, 0.0):
        folded = least_jacobian(points[triangles]) < LEAST_JACOBIAN
        if not folded.any():
            return
        mids = np.zeros(len(points), bool)
        mids[triangles[folded, 3:]] = True
        for left, right in faces:
            mids[left] |= mids[right]
            mids[right] |= mids[left]
        which = mids[triangles[:, 3:]]
        mid, middle = triangles[:, 3:][which], 0.5 * (points[corner] + points[after])[which]
        moved = middle + share * (points[mid] - middle)
        points[mid] = moved
    folded = least_jacobian(points[triangles]) <= 0
    if folded.any():
        x, y = points[triangles[np.argmax(folded), :3]].mean(axis=0)
        text = f"the rubber at ({x:.4g}, {y:.4g}) mm tapers too sharply to mesh"
        raise BadInput([Fault("block", text + "; make cuts and edges meet less sharply there")])


def least_jacobian(p: Points) -> NDArray[np.float64]:
    """Return a lower bound of each curved triangle's Jacobian, over that with straight edges.

    The Jacobian is a quadratic; its least Bernstein coefficient bounds it from below (Johnen,
    Remacle and Geuzaine 2013). `p` holds the nodes, shape (m, 6, 2); the result has shape (m,).
    """
    nodes = p.transpose(1, 0, 2).reshape(6, -1)
    u, v = ((slope @ nodes).reshape(6, -1, 2) for slope in _SLOPES)
    jacobian = u[..., 0] * v[..., 1] - u[..., 1] * v[..., 0]
    at_corners, at_mids = jacobian[:3], jacobian[3:]
    between = 2 * at_mids - 0.5 * (at_corners + at_corners[[1, 2, 0]])
    least = np.minimum(at_corners.min(axis=0), between.min(axis=0))
    d1, d2 = p[:, 1] - p[:, 0], p[:, 2] - p[:, 0]
    straight = d1[:, 0] * d2[:, 1] - d1[:, 1] * d2[:, 0]
    return np.where(straight > 0, least / np.where(straight > 0, straight, 1.0), -np.inf)


def _slopes() -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return the derivatives of the quadratic shape functions at the nodes, (6 nodes, 6 functions).

    One by each of the two coordinates that run from corner 0 to the corners 1 and 2.
    """
    r, s = np.array([(0, 0), (1, 0), (0, 1), (0.5, 0), (0.5, 0.5), (0, 0.5)]).T
    q, none = 1 - r - s, np.zeros(6)
    by_r = [1 - 4 * q, 4 * r - 1, none, 4 * (q - r), 4 * s, -4 * s]
    by_s = [1 - 4 * q, none, 4 * s - 1, -4 * r, 4 * r, 4 * (q - s)]
    return np.stack(by_r, axis=1), np.stack(by_s, axis=1)


_SLOPES = _slopes()
