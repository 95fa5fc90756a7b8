"""Two doors, one house: the page says of a file what the command line says of it."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from squeeze import cli
from squeeze.mold import Mold, dict_of, dump, load, mold_of
from squeeze.page.answers.answer import answer
from squeeze.solve import Refined, refined

BARREL = {"name": "left", "shape": "round", "diameter_mm": 10, "centre_mm": [-10, 0]}

HARD = [{"tension_n_per_mm": 0.6}]
"""Bands at which the block deforms so much that small deformation does not stand."""

SQUARE = {"shape": "square", "width_mm": 60, "bevel_mm": 5, "round_mm": 6}

MOLDS: dict[str, dict[str, Any]] = {
    "at large deformation": {"block": SQUARE, "band": HARD},
    "with gaps, faces, resin and a cradle": {
        "block": SQUARE,
        "cut": [
            {"name": "a", "path_mm": [[-30, 0], [-10, 0]], "gap_mm": 0.05, "faces": "released"},
            {"name": "b", "path_mm": [[-10, 0], [30, 0]], "gap_mm": [0.0, 0.1], "friction": 0.2},
        ],
        "cavity": [BARREL],
        "resin": {"head_mm": 120, "viscosity_mpa_s": 120, "pot_life_min": 3},
        "cradle": [
            {"name": side, "covers": side, "thickness_mm": 12, "material": "plywood"}
            for side in ("top", "bottom")
        ],
        "rubber": {"shore_a": 20, "shrinkage_percent": 0.3},
    },
}


def printed(file: Path, *more: str) -> str:
    """Return what the command line prints, each line whole, its blanks made one."""
    runner = CliRunner(env={"COLUMNS": "900", "NO_COLOR": "1"})
    done = runner.invoke(cli.app, ["close", str(file), "--more", *more])
    assert done.exit_code == 0, done.output
    return bare(done.stdout)


@pytest.fixture
def _solved_once(monkeypatch) -> None:
    """Let both doors share the answer to one question; each asks it in its own words."""
    known: dict[str, Refined] = {}

    def shared(mold: Mold, *, progress: Any, **asked: Any) -> Refined:
        question = {"accuracy_pct": None, "deformation": "auto"} | asked
        key = json.dumps([dict_of(mold), question])
        if key not in known:
            known[key] = refined(mold, progress=progress, **asked)
        return known[key]

    monkeypatch.setattr("squeeze.solve.refined", shared)
    monkeypatch.setattr("squeeze.page.answers.closed.refined", shared)


def bare(text: str) -> str:
    return re.sub(r"\s+", " ", text)


def without_seconds(text: str) -> str:
    return re.sub(r", [\d.]+ s\.", "", text)


def told(asked: dict[str, Any]) -> tuple[dict[str, Any], dict[str, Any], list[str]]:
    """Return the page's answer, that with its variations, and all sentences and rows of both."""
    (_, said), (_, sure) = answer(asked | {"do": "close"}), answer(asked | {"do": "sure"})
    verdict = sure["verdict"]
    head = [verdict["say"], verdict["do"], verdict["sure"], *verdict["advice"]]
    rows = [" ".join(row) for table in (said["table"], *said["tables"]) for row in table["rows"]]
    words = [*head, *rows, *sure["lines"], *said["remarks"]]
    return said, sure, [bare(without_seconds(each)).strip().rstrip(".") for each in words if each]


@pytest.mark.usefixtures("_solved_once")
@pytest.mark.parametrize("inches", [False, pytest.param(True, marks=pytest.mark.slow)])
@pytest.mark.parametrize(
    "name",
    [pytest.param(name, marks=pytest.mark.slow if "band" in MOLDS[name] else []) for name in MOLDS],
)
def test_both_doors_tell_the_same(tmp_path: Path, mold, name: str, inches: bool) -> None:
    file = tmp_path / "mine.toml"
    file.write_text(dump(mold_of(mold(**MOLDS[name]))))
    asked = {"mold": mold_of(mold(**MOLDS[name])).model_dump(exclude_unset=True), "inches": inches}
    assert mold_of(asked["mold"]) == load(file)
    said, sure, words = told(asked)
    text = without_seconds(printed(file, *(["--inches"] if inches else [])))
    assert [line for line in words if line not in text] == []
    assert said["verdict"]["say"] == sure["verdict"]["say"]
    assert len(sure["variations"]) in (0, 12)


DEMO = Path(__file__).resolve().parents[2] / "studies" / "first-molds"

NOT_ON_ITS_OWN = re.compile(r"[─━ ]+|Estimates for planning; .*")
"""Lines of the command line that the page shows elsewhere: rules of tables, and its footer."""


@pytest.mark.slow
@pytest.mark.usefixtures("_solved_once")
@pytest.mark.parametrize("name", ["egg", "figurine", "knobs", "missed", "vent"])
def test_neither_door_tells_more_of_a_demo_mold(name: str) -> None:
    file = DEMO / f"{name}.toml"
    said, sure, words = told({"mold": dict_of(load(file))})
    runner = CliRunner(env={"COLUMNS": "900", "NO_COLOR": "1"})
    done = runner.invoke(cli.app, ["close", str(file), "--more"])
    lines = [bare(without_seconds(line)).strip().rstrip(".") for line in done.stdout.splitlines()]
    tables = [said["table"], *said["tables"]]
    heads = [set(re.split(r"[ ,]+", " ".join(each["heads"]))) for each in tables]
    command = " ".join(lines)
    assert [line for line in words if line not in command] == []
    page = ". ".join(words)
    more = [line for line in lines if line not in page and not NOT_ON_ITS_OWN.fullmatch(line)]
    assert [line for line in more if not any(set(line.split()) <= head for head in heads)] == []
    assert " is read as E = " in command
    if said["solved"]:
        assert "Checked: forces balance" in command
        assert said["large"]
    assert len(sure["variations"]) in (0, 12)
