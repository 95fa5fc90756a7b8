"""Why blocks are given up, in words, and what would do."""

from __future__ import annotations

import math

from squeeze.mold.forces.bands import WORKING_STRETCH

FITS_NOT = "too large for the pot"
TOO_LONG = "longer than the pot is deep"
OVERSIZE = "over the largest block allowed"
LOOSE = f"the bands at hand hang loose, stretched less than {WORKING_STRETCH[0]:g} times"
OVERSTRETCHED = f"the bands at hand are stretched over {WORKING_STRETCH[1]:g} times"
NOT_MADE = "the cut or the outline cannot be made"
OPEN = "a land stays open, however hard the bands pull"
WEAK = "the bands at hand pull too little to seal"
UNSOLVED = "no answer"
APART = "the bands at hand do not hold its pieces together"
SHUT_IN = "no cut opens every model"


class Unfit(Exception):
    """A block that is given up, mostly before it is computed.

    Parameters
    ----------
    reason : str
    needs : float
        What would do, of what the reason is about; NaN where that is not a number.
    is_computed : bool
        Whether it was computed all the same.
    """

    def __init__(self, reason: str, needs: float = math.nan, is_computed: bool = False):
        self.reason, self.needs, self.is_computed = reason, needs, is_computed
        super().__init__(reason)
