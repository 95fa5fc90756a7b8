"""What a closing means for the caster: whether it seals, where it is worst, what to change."""

from squeeze.verdict.place import End, ends_of
from squeeze.verdict.remarks import MORE_BANDS
from squeeze.verdict.section_verdict import LandVerdict, Verdict, Worst, judge
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
