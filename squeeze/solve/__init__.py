"""The computation: mesh, elasticity, band, contact; `close` returns how the cuts close."""

from squeeze.solve.block import Block, close
from squeeze.solve.closing import (
    CavityChange,
    Closing,
    Field,
    Land,
    Outcome,
    Pressing,
    Seconds,
    Trust,
    Wrap,
)

__all__ = [
    "Block",
    "CavityChange",
    "Closing",
    "Field",
    "Land",
    "Outcome",
    "Pressing",
    "Seconds",
    "Trust",
    "Wrap",
    "close",
]
