"""How sure the figures are: the same closing with other rubber, friction and bands."""

from squeeze.verdict.uncertainty.ranges import (
    FigureRange,
    Uncertainty,
    Variation,
    fineness_of_variations,
    uncertainty,
    varies,
)
from squeeze.verdict.uncertainty.sentences import NOT_ONE, in_common, say_left_out, say_variations
from squeeze.verdict.uncertainty.varied_closings import (
    PULL,
    ROUGH,
    STIFFNESS,
    as_stiff,
    friction_bounds,
    pulled,
    scaled,
    stiffer,
)

__all__ = [
    "NOT_ONE",
    "PULL",
    "ROUGH",
    "STIFFNESS",
    "FigureRange",
    "Uncertainty",
    "Variation",
    "as_stiff",
    "fineness_of_variations",
    "friction_bounds",
    "in_common",
    "pulled",
    "say_left_out",
    "say_variations",
    "scaled",
    "stiffer",
    "uncertainty",
    "varies",
]
