"""What a command loads: starting takes longer than closing a plain block."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

from squeeze import ONE_THREAD

PLAIN = """
title = "Plain"
length_mm = 100
rubber = { shore_a = 20 }
block = { shape = "round", diameter_mm = 60 }
cavity = [{ name = "hole", shape = "round", diameter_mm = 20 }]
cut = [{ name = "across", path_mm = [[-30, 0], [30, 0]] }]
band = [{ tension_n_per_mm = 0.002 }]
"""

NOT_WANTED = (
    "asyncio", "cloudpickle", "dask", "ezdxf", "matplotlib", "meshio", "networkx", "pandas",
    "pypdf", "reportlab", "rich.progress", "scipy.interpolate", "scipy.ndimage",
    "scipy.optimize", "scipy.stats", "squeeze.solve.along",
    "squeeze.verdict.advice.advice", "starlette", "svgelements", "trimesh", "uvicorn",
)  # fmt: skip

CODE = """
import os, sys
from squeeze import ONE_THREAD as NAMES
from squeeze.cli import main
assert "numpy" not in sys.modules
try:
    main()
except SystemExit as left:
    assert not left.code, left.code
print("threads:", *map(os.environ.get, NAMES), end=" ")
print("loaded:", *(name for name in sys.modules))
"""


def test_closing_a_plain_mold_loads_nothing_that_it_does_not_want(tmp_path: Path) -> None:
    """Before it loads linear algebra it asks for one thread, unless a person has asked for more."""
    file = tmp_path / "plain.toml"
    file.write_text(PLAIN)
    asked = [sys.executable, "-c", CODE, "close", str(file)]
    own = {name: text for name, text in os.environ.items() if name not in ONE_THREAD}
    own["OMP_NUM_THREADS"] = "2"
    made = subprocess.run(asked, capture_output=True, text=True, check=True, timeout=120, env=own)
    said, _, loaded = made.stdout.rpartition("loaded:")
    assert "hole" in said
    assert "threads: 2 1 1" in said
    assert "numpy" in loaded.split(), "the names of what was loaded are there"
    assert [name for name in NOT_WANTED if name in loaded.split()] == []
