"""From the models to the block: which outline, which cut, which bands; searched and certified."""

from squeeze.design.answer import Design, DesignAnswer, DesignFigures, Dropped, Refusal
from squeeze.design.design_blocks import design_blocks
from squeeze.design.models.read import load_models, models_mold

__all__ = [
    "Design",
    "DesignAnswer",
    "DesignFigures",
    "Dropped",
    "Refusal",
    "design_blocks",
    "load_models",
    "models_mold",
]
