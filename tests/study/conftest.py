"""Small molds and studies, and a way to make workers misbehave."""

from __future__ import annotations

import os
import textwrap
from collections.abc import Callable
from pathlib import Path

import pytest

from squeeze.study import Study, load_study

MOLD = """
title = "Small block"
length_mm = 40

[rubber]
youngs_modulus_mpa = 0.6

[block]
shape = "square"
width_mm = 40

[[cavity]]
name = "rod"
shape = "round"
diameter_mm = 8

[[cut]]
name = "across"
path_mm = [[-20, 0], [20, 0]]

[[band]]
tension_n_per_mm = 0.2
"""

BEVELS = """
title = "Bevels and tension"
mold = "small.toml"
fineness = 0.5
keep = ["closed_share", "mean_pressure_kpa", "largest_gap_mm", "seals"]

[vary]
"block.bevel_mm" = { from = 0, to = 9 }
"band.tension_n_per_mm" = [0.1, 0.2]
"""


@pytest.fixture
def write(tmp_path) -> Callable[..., Path]:
    """Write a study file, with the small mold beside it, and return its path."""

    def put(text: str = BEVELS, mold: str = MOLD, folder: Path = tmp_path) -> Path:
        (folder / "small.toml").write_text(mold)
        path = folder / "study.toml"
        path.write_text(text)
        return path

    return put


@pytest.fixture
def study(write) -> Callable[..., Study]:
    """Return the study in a text."""
    return lambda *texts: load_study(write(*texts))


@pytest.fixture
def poison(tmp_path, monkeypatch) -> Callable[[str], None]:
    """Let every Python process started from now on run a text before it closes a case.

    The text sees `block` and `mold`, and `os` and `time`.
    """

    def put(text: str) -> None:
        folder = tmp_path / "poison"
        folder.mkdir(exist_ok=True)
        body = textwrap.indent(textwrap.dedent(text), "    ")
        (folder / "sitecustomize.py").write_text(SITE.replace("BODY", body))
        before = os.environ.get("PYTHONPATH")
        monkeypatch.setenv("PYTHONPATH", os.pathsep.join(filter(None, [str(folder), before])))

    return put


SITE = """
import os, time
from squeeze.study.runner import solve_batch

good = solve_batch.close_or_press

def close_or_press(block, mold, *given):
    misbehave(block, mold)
    return good(block, mold, *given)

def misbehave(block, mold):
BODY

solve_batch.close_or_press = close_or_press
"""
