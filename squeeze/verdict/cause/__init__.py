"""Why a mold leaks, flashes or comes apart."""

from squeeze.verdict.cause.causes import causes_of, pot_cause
from squeeze.verdict.cause.pull import name_of_band, shorter_band
from squeeze.verdict.cause.record import Cause
from squeeze.verdict.cause.resin import resin_lifts

__all__ = [
    "Cause",
    "causes_of",
    "name_of_band",
    "pot_cause",
    "resin_lifts",
    "shorter_band",
]
