"""The neo-Hookean law, split into shape and volume.

    w(F) = G/2 (J^(-2/3) (F:F + 1) - 3) ,    v(F) = J - 1 ,    J = det F

(R. S. Rivlin, Phil. Trans. R. Soc. A 240 (1948) 459; split by P. J. Flory, Trans. Faraday Soc. 57
(1961) 829). Without displacement its tangent is that of linear elasticity.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from squeeze.solve.large.rubber.law import LEAST_J, Dilation, area_ratio, cofactor, true_dilation

Array = NDArray[np.float64]


class NeoHookean:
    """The law of rubber up to strains of some ten percent."""

    def energy(self, G: Array, F: Array) -> Array:
        """Return the energy of shape (m, q) [MPa].

        Parameters
        ----------
        G : array (m,)
            Shear modulus [MPa].
        F : array (m, q, 2, 2)
            Deformation gradient.
        """
        return 0.5 * G[:, None] * (area_ratio(F) ** (-2 / 3) * _squared(F) - 3.0)

    def stress(self, G: Array, F: Array) -> Array:
        """Return its derivative (m, q, 2, 2) [MPa], from `G` (m,) [MPa] and `F` (m, q, 2, 2)."""
        safe = np.maximum(area_ratio(F), LEAST_J)
        a = G[:, None] * safe ** (-2 / 3)
        return a[..., None, None] * (F - (_squared(F) / (3 * safe))[..., None, None] * cofactor(F))

    def stiffness(self, G: Array, F: Array) -> Array:
        """Return its second derivative (m, q, 2, 2, 2, 2) [MPa].

        From `G` (m,) [MPa] and `F` (m, q, 2, 2). Entry [c, a, d, b] is the derivative of stress
        [c, a] by F [d, b].
        """
        safe = np.maximum(area_ratio(F), LEAST_J)
        I1 = _squared(F)
        H = cofactor(F) / safe[..., None, None]
        FH = np.einsum("mqca,mqdb->mqcadb", F, H)
        HH = np.einsum("mqca,mqdb->mqcadb", H, H)
        D = -(2 / 3) * (FH + FH.transpose(0, 1, 4, 5, 2, 3))
        D += (2 / 9) * I1[..., None, None, None, None] * HH
        D += (I1 / 3)[..., None, None, None, None] * HH.transpose(0, 1, 4, 3, 2, 5)
        for c in (0, 1):
            for a in (0, 1):
                D[:, :, c, a, c, a] += 1.0
        D *= (G[:, None] * safe ** (-2 / 3))[..., None, None, None, None]
        return D

    def dilation(self, F: Array) -> Dilation:
        """Return the change of volume at gradients `F` (m, q, 2, 2)."""
        return true_dilation(F)


def _squared(F: Array) -> Array:
    """Return F:F + 1, the stretch along the block included."""
    return (F**2).sum(axis=(-2, -1)) + 1.0


NEO_HOOKEAN = NeoHookean()
