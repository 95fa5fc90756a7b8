"""The head of an answer: the grade and why, what to do first, and how sure that is."""

from squeeze.verdict.head.head import NOTHING_TO_MEND, head_of, said_in_inches
from squeeze.verdict.head.record import Head

__all__ = [
    "NOTHING_TO_MEND",
    "Head",
    "head_of",
    "said_in_inches",
]
