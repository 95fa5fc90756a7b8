"""Same question, same answer: each figure through every door."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import numpy as np
import pytest
from typer.testing import CliRunner

import squeeze
from squeeze.cli import app
from squeeze.mold import dict_of
from squeeze.page.answers.answer import answer
from squeeze.show.text.bands import OVER_THE_LENGTH
from squeeze.solve.along.long_block import LongBlock
from squeeze.verdict.bands.barriers_along import seal_along
from squeeze.verdict.figures import BY_NAME, TABLE, Figure, figures_of

MOLD = """
title = "A rod off the middle"
length_mm = 100
[rubber]
shore_a = 20
[block]
shape = "round"
diameter_mm = 80
[[cavity]]
name = "rod"
shape = "round"
diameter_mm = 20
centre_mm = [-12, 5]
[[cut]]
name = "across"
path_mm = [[-40, 5], [40, 5]]
friction = 0.2
[[band]]
tension_n_per_mm = {pull}
"""

STUDY = """
mold = "rod.toml"
keep = [{names}]
[vary]
"band.tension_n_per_mm" = [{pull}]
"""


@pytest.fixture(scope="module", params=[pytest.param(0.1, marks=pytest.mark.slow), 0.4])
def pull(request):
    """Give pulls of the bands: too little to seal, and enough."""
    return request.param


@pytest.fixture(scope="module")
def folder(pull, tmp_path_factory) -> Path:
    made = tmp_path_factory.mktemp("doors")
    (made / "rod.toml").write_text(MOLD.format(pull=pull), encoding="utf-8")
    return made


@pytest.fixture(scope="module")
def mold(folder):
    return squeeze.load(folder / "rod.toml")


@pytest.fixture(scope="module")
def closing(mold):
    return squeeze.close(mold)


@pytest.fixture(scope="module")
def figures(closing, mold):
    return figures_of(closing, mold)


@pytest.fixture(scope="module")
def even_figures(mold):
    """Return the figures of what compares many blocks, on one even mesh each."""
    return figures_of(squeeze.Block(mold).close(deformation="auto"), mold)


@pytest.fixture(scope="module")
def small_figures(mold):
    """Return the figures of sweeps and of the length, which keep to small deformation."""
    return figures_of(squeeze.Block(mold).close(), mold)


def test_the_even_mesh_is_as_good_as_the_errors_say(closing, figures, even_figures):
    """What compares many blocks differs from `close` by no more than its error and its own."""
    errors = closing.errors
    peak = figures.largest_pressure_kpa
    assert even_figures.seals is figures.seals
    assert even_figures.largest_gap_mm == pytest.approx(
        figures.largest_gap_mm, abs=3 * errors.gap_mm + 1e-6
    )
    assert even_figures.mean_pressure_kpa == pytest.approx(figures.mean_pressure_kpa, abs=peak / 50)


def said(*words: str) -> None:
    done = CliRunner().invoke(app, list(words))
    assert done.exit_code == 0, done.output


def same(found: dict, figures, names=BY_NAME) -> None:
    for name in names:
        wanted = figures.values[name]
        if isinstance(wanted, float):
            assert found[name] == pytest.approx(wanted, rel=1e-9, abs=1e-12), name
        else:
            assert found[name] == wanted, name


def test_the_figures_differ_where_pooling_would_show(figures, closing):
    lands = closing.lands
    pooled = figures.least_pressure_kpa / figures.mean_pressure_kpa
    assert figures.evenness == min(land.evenness for land in lands)
    assert figures.evenness != pytest.approx(pooled, rel=1e-3)


def test_json_of_close(folder, figures):
    said("close", str(folder / "rod.toml"), "--json", str(folder / "close.json"))
    told = json.loads((folder / "close.json").read_text(encoding="utf-8"))
    same(told["figures"], figures)
    assert told["verdict"]["seals"] is figures.seals
    for key in ("margin", "closes", "evenness", "largest_gap_mm"):
        assert told["variations"]["given"][key] == pytest.approx(figures.values[key])
    assert min(land["evenness"] for land in told["lands"]) == pytest.approx(figures.evenness)


@pytest.mark.slow
def test_cradle(folder, even_figures):
    said("cradle", str(folder / "rod.toml"), "--json", str(folder / "cradle.json"))
    told = json.loads((folder / "cradle.json").read_text(encoding="utf-8"))
    bare = next(row for row in told["cradles"] if row["name"] == "bands alone")
    same(bare, even_figures, set(BY_NAME) - {"flash_reach_mm", "flash_mass_g"})


@pytest.mark.usefixtures("solved_here")
def test_column_of_a_study(folder, small_figures, pull):
    names = ", ".join(f'"{name}"' for name in BY_NAME)
    (folder / "rod.study.toml").write_text(STUDY.format(names=names, pull=pull), encoding="utf-8")
    table = folder / "table.csv"
    said("study", str(folder / "rod.study.toml"), "--csv", str(table), "--workers", "1")
    with table.open(encoding="utf-8", newline="") as lines:
        (row,) = csv.DictReader(lines)
    for name, figure in BY_NAME.items():
        wanted = small_figures.values[name]
        if isinstance(wanted, bool | str):
            assert row[name].lower() == str(wanted).lower(), name
        else:
            assert float(row[name]) == pytest.approx(wanted, rel=1e-9, abs=1e-12), figure.name


def test_faces_alone(mold, small_figures):
    """What a study keeps without asking how the rubber moves."""
    from squeeze.verdict.figures import FigureSource, of_kind

    source = FigureSource(squeeze.Block(mold).press())
    for name, figure in of_kind("lands", "seal").items():
        assert source.value(figure) == pytest.approx(small_figures.values[name], rel=1e-9), name


def test_page(mold, figures):
    status, told = answer({"do": "close", "mold": dict_of(mold)})
    assert status == 200
    same(told["figures"], figures)
    heads = told["table"]["heads"]
    for row, land in zip(told["table"]["rows"], told["lands"], strict=True):
        assert len(row) == len(heads)
        assert row[heads.index("closed, %")] == f"{100 * land['closed_share']:.0f}"


def test_bands_over_the_length(mold, small_figures):
    """Under an even pull each place along the block is the section."""
    closing = LongBlock(mold, 1).close()
    for name in OVER_THE_LENGTH:
        found = BY_NAME[name].take(closing.lands)
        assert found == pytest.approx(small_figures.values[name], rel=1e-6, abs=1e-9), name
    assert seal_along(closing).margin == pytest.approx(small_figures.margin, rel=0.02)


def test_a_new_figure_is_one_row(monkeypatch, closing, mold):
    """A row put into the table shows in the terminal, the JSON, a study and the page."""
    from squeeze.show.text import lands
    from squeeze.verdict.figures import table, values

    row = Figure(
        name="median_pressure_kpa",
        of="lands",
        take=lambda lands: float(np.median(np.concatenate([x.pressure_kpa for x in lands]))),
        words="median pressure",
        means="of the places of all lands",
        unit="kPa",
        digits=1,
        heads={"lands": "median"},
    )
    for module in (table, values):
        monkeypatch.setattr(module, "TABLE", (*TABLE, row))
        monkeypatch.setattr(module, "BY_NAME", {**BY_NAME, row.name: row})
    told = figures_of(closing, mold)
    assert told.median_pressure_kpa == row.take(closing.lands)
    heads, _ = lands.land_rows(closing, squeeze.judge(closing))
    assert "median\nkPa" in heads
    status, page = answer({"do": "close", "mold": dict_of(mold)})
    assert status == 200
    assert "median, kPa" in page["table"]["heads"]
    assert page["figures"]["median_pressure_kpa"] == pytest.approx(told.median_pressure_kpa)
