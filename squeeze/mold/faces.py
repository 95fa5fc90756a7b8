"""How slippery the faces of a cut are, in words, with the friction that each word stands for.

Common practice and judgement: silicone on silicone grips when it is clean and dry, talc takes about
half of that away, release agent nearly all.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class FaceFriction:
    """A state of the two faces of a cut.

    Attributes
    ----------
    friction : float
        Coulomb's coefficient that is reckoned with.
    low, high : float
        Between which it lies; the variations take both ends.
    """

    friction: float
    low: float
    high: float


FACES = {
    "released": FaceFriction(0.1, 0.0, 0.2),
    "dusted": FaceFriction(0.3, 0.2, 0.4),
    "clean": FaceFriction(0.7, 0.5, 1.0),
}
"""By the word in a mold file: release agent on them, talc on them, or neither."""
