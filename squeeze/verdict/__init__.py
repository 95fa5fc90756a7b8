"""What a closing means for the caster: whether it seals, where it is worst, what to change."""

from squeeze.verdict.place import LandEnd, land_ends
from squeeze.verdict.remarks import MORE_BANDS
from squeeze.verdict.section_verdict import LandVerdict, Verdict, WorstPlace, judge
from squeeze.verdict.words import length, place, pressure

__all__ = [
    "MORE_BANDS",
    "LandEnd",
    "LandVerdict",
    "Verdict",
    "WorstPlace",
    "judge",
    "land_ends",
    "length",
    "place",
    "pressure",
]
