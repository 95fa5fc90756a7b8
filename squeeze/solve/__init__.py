"""The computation: mesh, elasticity, band, contact; `close` returns how the cuts close."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from squeeze.solve.accuracy.refined import Refined, close, refined
from squeeze.solve.block import Block
from squeeze.solve.closing import Closing, Pressing
from squeeze.solve.field import CavityChange, Field, Wrap
from squeeze.solve.land import Land
from squeeze.solve.outcome import Outcome
from squeeze.solve.trust import Seconds, Trust

if TYPE_CHECKING:
    from squeeze.solve.along.pitch import PitchRule
    from squeeze.solve.along.record import AlongClosing, LandMap

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
    "Refined",
    "Seconds",
    "Trust",
    "Wrap",
    "close",
    "refined",
]

_ALONG = {"AlongClosing": "record", "LandMap": "record", "PitchRule": "pitch"}


def __getattr__(name: str) -> Any:
    """Fetch what concerns the length when it is first asked for: a section does without."""
    from importlib import import_module

    if name not in _ALONG:
        raise AttributeError(f"module 'squeeze.solve' has no attribute {name!r}")
    return getattr(import_module(f"squeeze.solve.along.{_ALONG[name]}"), name)
