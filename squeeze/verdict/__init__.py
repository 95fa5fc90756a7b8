"""What a closing means for the caster: whether it seals, where it is worst, what to change."""

from squeeze.verdict.advice import MORE_BANDS
from squeeze.verdict.place import End, ends_of
from squeeze.verdict.plain import LandVerdict, Verdict, Worst, judge
from squeeze.verdict.words import length, place, pressure

__all__ = [
    "MORE_BANDS",
    "End",
    "LandVerdict",
    "Verdict",
    "Worst",
    "ends_of",
    "judge",
    "length",
    "place",
    "pressure",
]
