"""How hard and how evenly the cut faces of a rubber mold press on each other."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from squeeze.mold import BadInput, SqueezeError, load, loads, mold_of
    from squeeze.solve import Block, Closing, close
    from squeeze.study import read_study
    from squeeze.verdict import judge
    from squeeze.verdict.advice.advice import advise
    from squeeze.verdict.uncertainty import uncertainty

__version__ = "0.1.0"

__all__ = [
    "BadInput",
    "Block",
    "Closing",
    "SqueezeError",
    "__version__",
    "advise",
    "close",
    "judge",
    "load",
    "loads",
    "mold_of",
    "read_study",
    "uncertainty",
]

_ROOMS = {
    "BadInput": "mold.errors",
    "SqueezeError": "mold.errors",
    "load": "mold",
    "loads": "mold",
    "mold_of": "mold",
    "close": "solve",
    "Block": "solve",
    "Closing": "solve.closing",
    "judge": "verdict",
    "advise": "verdict.advice.advice",
    "uncertainty": "verdict.uncertainty",
    "read_study": "study",
}


def __getattr__(name: str) -> Any:
    """Fetch a public name when it is first asked for: `squeeze --help` must not load numpy."""
    if name not in _ROOMS:
        raise AttributeError(f"module 'squeeze' has no attribute {name!r}")
    return getattr(import_module(f"squeeze.{_ROOMS[name]}"), name)


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
