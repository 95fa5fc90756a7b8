"""The computation: mesh, elasticity, band, contact; `close` returns how the cuts close."""

from squeeze.solve.along.pitch import PitchRule
from squeeze.solve.along.record import AlongClosing, LandMap
from squeeze.solve.block import Block, close
from squeeze.solve.closing import (
    CavityChange,
    Closing,
    Field,
    Land,
    Pressing,
    Seconds,
    Trust,
    Wrap,
)
from squeeze.solve.outcome import Outcome

__all__ = [
    "AlongClosing",
    "Block",
    "CavityChange",
    "Closing",
    "Field",
    "Land",
    "LandMap",
    "Outcome",
    "PitchRule",
    "Pressing",
    "Seconds",
    "Trust",
    "Wrap",
    "close",
]
