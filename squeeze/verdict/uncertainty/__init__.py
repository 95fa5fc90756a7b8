"""How sure the figures are: the same closing with other rubber, friction and bands."""

from squeeze.verdict.uncertainty.ranges import (
    FigureRange,
    Uncertainty,
    Variation,
    fineness_of_variations,
    uncertainty,
    varies,
)
from squeeze.verdict.uncertainty.sentences import in_common, say_variations
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
    "say_variations",
    "scaled",
    "stiffer",
    "uncertainty",
    "varies",
]
