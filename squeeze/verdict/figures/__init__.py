"""All figures of a closing: the table of them, their values, and how a sentence gives them."""

from squeeze.verdict.figures.sentences import in_words, range_in_words, times
from squeeze.verdict.figures.table import (
    BY_NAME,
    MEASURES,
    TABLE,
    Figure,
    Lands,
    closes,
    of_kind,
    shown_in,
)
from squeeze.verdict.figures.values import (
    NO_FIGURES,
    Figures,
    FigureSource,
    bare,
    errors_of_figures,
    figures_of,
    reaches,
)

__all__ = [
    "BY_NAME",
    "MEASURES",
    "NO_FIGURES",
    "TABLE",
    "Figure",
    "FigureSource",
    "Figures",
    "Lands",
    "bare",
    "closes",
    "errors_of_figures",
    "figures_of",
    "in_words",
    "of_kind",
    "range_in_words",
    "reaches",
    "shown_in",
    "times",
]
