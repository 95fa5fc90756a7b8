"""The picture, the table and the JSON of a plan of bands, and the command that makes them."""

import io
import json
import math
from types import SimpleNamespace

import numpy as np
import pytest
from matplotlib.image import imread
from rich.console import Console
from typer.testing import CliRunner

import squeeze
from squeeze.cli import app
from squeeze.mold import dump
from squeeze.show.figure.bands import _levels, bands_figure
from squeeze.show.figure.closing import save
from squeeze.show.text.bands import bands_json, bands_table
from squeeze.verdict.bands.plan import plan_bands
from squeeze.verdict.bands.sentences import say_plan

MOLD = {
    "title": "A round lesson",
    "length_mm": 60,
    "rubber": {"shore_a": 20},
    "block": {"shape": "round", "diameter_mm": 90},
    "cavity": [{"shape": "round", "diameter_mm": 30}],
    "cut": [{"path_mm": [[-45, 0], [45, 0]]}, {"path_mm": [[0, 45], [0, 15]], "along_mm": [0, 30]}],
    "band": [{"tension_n": 4.0, "at_mm": [10, 30]}],
}


@pytest.fixture(scope="module")
def plan():
    return plan_bands(squeeze.mold_of(MOLD), waves=12)


@pytest.fixture(scope="module")
def said(plan):
    return say_plan(plan)


def test_table_has_a_row_for_each_land(plan):
    screen = Console(file=io.StringIO(), width=100)
    screen.print(bands_table(plan))
    text = screen.file.getvalue()
    assert text.count("'cavity 1'") == 3
    assert "ripple" in text


def test_json_holds_every_number(plan, said):
    data = json.loads(bands_json(plan, said))
    assert data["bands"]["count"] == len(plan.best.at_mm)
    assert data["bands"]["at_mm"] == list(plan.best.at_mm)
    (station,) = data["stations"]
    lands = station["lands"]
    assert [land["cut"] for land in lands] == ["cut 1", "cut 1", "cut 2"]
    assert len(lands[0]["pressure_kpa"]) == len(lands[0]["s_mm"])
    assert len(lands[0]["pressure_kpa"][0]) == len(lands[0]["z_mm"]) == 12
    assert data["verdict"]["say"] == said.say
    assert sum(lands[2]["is_cut"]) == 6


@pytest.mark.parametrize("inches", [False, pytest.param(True, marks=pytest.mark.slow)])
def test_figure_is_drawn_and_the_same_each_time(plan, inches, tmp_path):
    said = say_plan(plan, inches)
    for name in ("one.png", "two.png"):
        save(bands_figure(plan, said, inches), tmp_path / name)
    assert (tmp_path / "one.png").read_bytes() == (tmp_path / "two.png").read_bytes()
    assert imread(tmp_path / "one.png").std() > 0.05


def test_figure_shows_bands_at_their_places(plan, said):
    drawn = bands_figure(plan, said)
    strip = drawn.axes[0]
    middles = [patch.get_x() + patch.get_width() / 2 for patch in strip.patches]
    assert middles == pytest.approx(list(plan.best.at_mm))
    width = plan.best.kind.width_mm
    assert [patch.get_width() for patch in strip.patches] == pytest.approx([width] * len(middles))


@pytest.fixture
def file(tmp_path):
    path = tmp_path / "lesson.toml"
    path.write_text(dump(squeeze.mold_of(MOLD)))
    return path


def test_command_tells_and_writes(file, tmp_path):
    figure, data = tmp_path / "bands.svg", tmp_path / "bands.json"
    done = CliRunner().invoke(
        app, ["bands", str(file), "--figure", str(figure), "--json", str(data), "--strict"]
    )
    assert done.exit_code == 0
    assert "fewest" in done.stdout
    assert "Estimates for planning" in done.stdout
    assert figure.stat().st_size > 1000
    assert math.isfinite(json.loads(data.read_text())["bands"]["count"])


def test_command_with_nothing_cut(tmp_path):
    path = tmp_path / "whole.toml"
    path.write_text(dump(squeeze.mold_of(MOLD | {"cut": []})))
    done = CliRunner().invoke(app, ["bands", str(path), "--strict"])
    assert done.exit_code == 0
    assert "no band is needed" in done.stdout


def test_command_is_strict_about_bands_that_cannot(tmp_path):
    path = tmp_path / "weak.toml"
    path.write_text(dump(squeeze.mold_of(MOLD | {"band": [{"tension_n": 0.01}]})))
    assert CliRunner().invoke(app, ["bands", str(path)]).exit_code == 0
    assert CliRunner().invoke(app, ["bands", str(path), "--strict"]).exit_code == 1


def test_command_tells_faults_by_line(tmp_path):
    path = tmp_path / "bad.toml"
    path.write_text(dump(squeeze.mold_of(MOLD)).replace("tension_n", "tension"))
    done = CliRunner().invoke(app, ["bands", str(path)])
    assert done.exit_code == 2
    assert "bad.toml:" in done.stderr


def test_colours_are_chosen_where_some_pressures_are_unknown():
    """A closing without an answer has NaN; the levels are those of what is known."""
    some = SimpleNamespace(pressure_kpa=np.array([[5.0, np.nan], [10.0, 10.0]]))
    lost = SimpleNamespace(pressure_kpa=np.full((2, 2), np.nan))
    known = SimpleNamespace(pressure_kpa=np.array([[5.0, 10.0, 10.0]]))
    both, alone = (_levels(SimpleNamespace(lands=lands)) for lands in ((some, lost), (known,)))
    assert both.edges == alone.edges
