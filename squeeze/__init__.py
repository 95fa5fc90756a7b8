"""How hard and how evenly the cut faces of a rubber mold press on each other.

Examples
--------
>>> import squeeze
>>> mold = squeeze.load("studies/barrels/barrels-round.toml")
>>> squeeze.close(mold).lands[0].closed_share
1.0
"""

from __future__ import annotations

TYPE_CHECKING = False  # as checkers read it; `typing` is slow, and Ctrl-C comes at any moment
if TYPE_CHECKING:
    from typing import Any

    from squeeze.design import design_blocks
    from squeeze.mold import (
        BadInput,
        Loads,
        Mold,
        NotSolved,
        Push,
        SqueezeError,
        dump,
        load,
        mold_of,
        parse,
    )
    from squeeze.show.figure.closing import figure
    from squeeze.solve import (
        Block,
        Closing,
        Land,
        Outcome,
        Pressing,
        close,
    )
    from squeeze.solve.along import AlongClosing, BandAt, LongBlock, even_places
    from squeeze.study import read_study, run_study
    from squeeze.study.cradles.comparison import compare_cradles
    from squeeze.verdict import judge
    from squeeze.verdict.advice.advice import advise
    from squeeze.verdict.bands.plan import plan_bands
    from squeeze.verdict.uncertainty import uncertainty

__version__ = "0.2.0"

__all__ = [
    "AlongClosing",
    "BadInput",
    "BandAt",
    "Block",
    "Closing",
    "Land",
    "Loads",
    "LongBlock",
    "Mold",
    "NotSolved",
    "Outcome",
    "Pressing",
    "Push",
    "SqueezeError",
    "__version__",
    "advise",
    "close",
    "compare_cradles",
    "design_blocks",
    "dump",
    "even_places",
    "figure",
    "judge",
    "load",
    "mold_of",
    "parse",
    "plan_bands",
    "read_study",
    "run_study",
    "uncertainty",
]

ONE_THREAD = dict.fromkeys(("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"), "1")
"""Settings by which linear algebra keeps to one thread. At the sizes of a section more threads wait
for each other: two take half as much processor time again, and no less of the clock."""

_ROOMS = {
    "mold.errors": ("BadInput", "NotSolved", "SqueezeError"),
    "mold.tables.mold": ("Mold",),
    "mold.forces.loads": ("Loads", "Push"),
    "mold.file.mold_file": ("dump", "load", "mold_of", "parse"),
    "solve": ("Block", "Closing", "Land", "Outcome", "Pressing", "close"),
    "solve.along": ("AlongClosing", "BandAt", "LongBlock", "even_places"),
    "verdict": ("judge",),
    "verdict.advice.advice": ("advise",),
    "verdict.bands.plan": ("plan_bands",),
    "verdict.uncertainty": ("uncertainty",),
    "study": ("read_study", "run_study"),
    "study.cradles.comparison": ("compare_cradles",),
    "design": ("design_blocks",),
    "show.figure.closing": ("figure",),
}
_ROOM_OF = {name: room for room, names in _ROOMS.items() for name in names}


def __getattr__(name: str) -> Any:
    """Fetch a public name when it is first asked for: `squeeze --help` must not load numpy."""
    from importlib import import_module

    if name not in _ROOM_OF:
        raise AttributeError(f"module 'squeeze' has no attribute {name!r}")
    return getattr(import_module(f"squeeze.{_ROOM_OF[name]}"), name)


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
