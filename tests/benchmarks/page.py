"""What an answer of the page costs, from the request to the text that is sent.

    python tests/benchmarks/page.py [--json after.json] [--profile coarse|loads|fine|rest]

Processor time of one answer in this process, the least of some: no server, no browser, no wire.
"""

from __future__ import annotations

import argparse
import cProfile
import json
import os
import pstats
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from table import Table

from squeeze.mold import dict_of, load
from squeeze.page.answers.answer import answer

BARRELS = Path(__file__).resolve().parents[2] / "studies" / "barrels" / "barrels.toml"


def asked(**more: Any) -> bytes:
    """Return what is sent for one request; the whole of it."""
    status, said = answer({"do": "close"} | more)
    assert status == 200, said
    return json.dumps(said, ensure_ascii=False, allow_nan=False, separators=(",", ":")).encode()


def molds() -> dict[str, Callable[[float], dict[str, Any]]]:
    """Return what makes a mold that is new each time: by its shape, its bands, its friction."""
    mold = dict_of(load(BARRELS))
    return {
        "shape": lambda x: mold | {"block": mold["block"] | {"bevel_mm": 10 + x}},
        "pull of the bands": lambda x: mold | {"band": [{"tension_n_per_mm": 0.1 + 0.001 * x}]},
        "friction": lambda x: mold | {"cut": [mold["cut"][0] | {"friction": 0.2 + 0.001 * x}]},
        "resin": lambda x: mold | {"resin": {"head_mm": 100 + x}},
    }


def spent(mold: Callable[[float], dict[str, Any]], times: int = 5, **more: Any) -> float:
    """Return the least processor time of an answer to a mold that was not asked before [s]."""
    asked(mold=mold(0.0), **more)
    found = []
    for k in range(1, times + 1):
        start = time.process_time()
        asked(mold=mold(float(k)), **more)
        found.append(time.process_time() - start)
    return min(found)


def measure(table: Table) -> None:
    """Measure answers while a hand moves something, and when it rests."""
    made = molds()
    for what, mold in made.items():
        table.add(f"coarse answer, another {what}", spent(mold, quick=True), "s", 0.08)
    table.add("bytes of a coarse answer", len(asked(mold=made["shape"](0.0), quick=True)), "")
    for what, mold in made.items():
        table.add(f"first fine answer, another {what}", spent(mold, 3, first=True), "s", 0.25)
    table.add("answer at rest, another shape", spent(made["shape"], 2), "s")


def profile(what: str) -> None:
    """Print where the time of one answer goes."""
    made = molds()
    mold, more = {
        "coarse": (made["shape"], {"quick": True}),
        "loads": (made["pull of the bands"], {"quick": True}),
        "rest": (made["shape"], {}),
    }[what]
    asked(mold=mold(0.0), **more)
    watch = cProfile.Profile()
    watch.enable()
    asked(mold=mold(1.0), **more)
    watch.disable()
    pstats.Stats(watch).sort_stats("cumulative").print_stats(70)


def main() -> None:
    """Measure, or profile."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--json", type=Path)
    parser.add_argument("--profile", choices=("coarse", "loads", "rest"))
    given = parser.parse_args()
    if given.profile:
        profile(given.profile)
        return
    table = Table()
    measure(table)
    if given.json:
        table.write(given.json)


if __name__ == "__main__":
    main()
