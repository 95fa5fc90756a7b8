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
from squeeze.show.text.air import say_air
from squeeze.solve import Refined, refined
from squeeze.verdict.air.pockets import Air, air_of
from squeeze.verdict.words import in_inches

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


def written(file: Path, out: Path) -> dict[str, Any]:
    """Return what the command line writes as JSON."""
    done = CliRunner().invoke(cli.app, ["close", str(file), "--json", str(out)])
    assert done.exit_code == 0, done.output
    return json.loads(out.read_text())


IN_SENTENCES = {"castings", "flash", "quantities", "rubber", "seal", "variations", "seconds", "air"}
"""What the JSON of the command line holds beyond the page's: the page tells it in its sentences and
tables, which the tests compare; how long it took is nobody's; of air the page asks by itself."""


def same_data(file: Path, out: Path, said: dict[str, Any], sure: dict[str, Any]) -> None:
    """Hold the page's figures to those that the command line writes."""
    wrote = written(file, out)
    page = json.loads(json.dumps(said | {"verdict": sure["verdict"]}))
    assert set(wrote) - set(page) <= IN_SENTENCES
    both = (set(wrote) & set(page)) - IN_SENTENCES
    assert {"cavities", "joints", "lands", "seats", "trust", "verdict"} <= both
    assert [key for key in both if wrote[key] != page[key]] == []


def same_air(file: Path, out: Path, inches: bool = False) -> Air:
    """Hold the air that the page tells of to what the command line writes, and the sheet says."""
    mold, wrote = load(file), written(file, out)["air"]
    status, page = answer({"do": "air", "mold": dict_of(mold), "inches": inches})
    assert status == 200
    known = json.loads(json.dumps(page))
    assert {key: known[key] for key in wrote} == wrote
    air = air_of(mold, file.parent)
    assert page["volume_mm3"] == pytest.approx(air.volume_mm3)
    remedies = [line for line in say_air(air) if line.startswith(("Held with", "With a sprue"))]
    assert page["remedies"] == (list(map(in_inches, remedies)) if inches else remedies)
    return air


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
    if not inches:  # files stay in mm
        same_data(file, tmp_path / "mine.json", said, sure)


EARS = [[-20, -15], [20, -15], [20, 15], [8, 15], [8, 0], [-8, 0], [-8, 12], [-20, 12]]
"""A cavity of two ears: resin that comes in over the one leaves air in the other."""

CUT = [{"name": "across", "path_mm": [[-45, -8], [45, -8]]}]


@pytest.mark.usefixtures("_solved_once")
@pytest.mark.parametrize("inches", [False, True])
def test_both_doors_tell_of_the_same_air(tmp_path: Path, mold, inches: bool) -> None:
    file = tmp_path / "ears.toml"
    ears = {"name": "ears", "shape": "drawn", "points_mm": EARS}
    round_block = {"shape": "round", "diameter_mm": 90}
    given = mold_of(mold(block=round_block, cavity=[ears], cut=CUT, resin={"head_mm": 90}))
    file.write_text(dump(given))
    air = same_air(file, tmp_path / "ears.json", inches)
    (pocket,) = air.pockets
    assert pocket.at_mm[0] < -8
    assert pocket.volume_mm3 == pytest.approx(12 * 12 * given.length_mm, rel=0.15)
    assert air.tilt is not None
    tilt = {"about_length_deg": air.tilt.about_length_deg, "end_up_deg": air.tilt.end_up_deg}
    tilted = answer({"do": "air", "mold": dict_of(given)} | tilt)[1]
    assert tilted["volume_mm3"] == pytest.approx(air.tilt.volume_mm3, abs=1.0)
    assert tilted["remedies"] == []


DEMO = Path(__file__).resolve().parents[2] / "studies" / "first-molds"

NOT_ON_ITS_OWN = re.compile(r"[─━ ]+|Estimates for planning; .*")
"""Lines of the command line that the page shows elsewhere: rules of tables, and its footer."""


@pytest.mark.slow
@pytest.mark.usefixtures("_solved_once")
@pytest.mark.parametrize("name", ["egg", "figurine", "knobs", "missed", "vent"])
def test_neither_door_tells_more_of_a_demo_mold(name: str, tmp_path: Path) -> None:
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
    same_data(file, tmp_path / f"{name}.json", said, sure)
    same_air(file, tmp_path / f"{name}.json")
