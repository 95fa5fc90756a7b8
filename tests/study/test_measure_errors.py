"""Columns of errors: what a study with `accuracy` keeps besides its measures."""

from __future__ import annotations

import contextlib
import csv
from pathlib import Path

import pytest

import squeeze
from squeeze.study import MemoryStore, SqliteStore, cases, rows_of, run, write_csv
from squeeze.study.measure_errors import error_columns, measure_errors, with_errors
from squeeze.verdict.figures import errors_of_figures

BARRELS = Path(__file__).parents[2] / "studies" / "barrels"
KEEP = ("largest_gap_mm", "seals", "closed_share", "leaks", "evenness", "say", "step_mm")
WITH = """
mold = "small.toml"
keep = ["largest_gap_mm", "seals", "least_pressure_kpa", "gap_mm at 15, 0"]
accuracy = 2.0

[vary]
"band.tension_n_per_mm" = [0.1, 0.2]
"""


@pytest.fixture(scope="module")
def closing():
    mold = squeeze.load(BARRELS / "barrels.toml")
    return squeeze.close(mold, fineness=0.5, deformation="small")


def test_what_is_measured_has_an_error_and_what_is_counted_has_none():
    assert list(error_columns(KEEP)) == ["largest_gap_mm", "closed_share", "evenness", "step_mm"]
    assert with_errors(KEEP[:2]) == ("largest_gap_mm", "error.largest_gap_mm", "seals")
    assert with_errors(["small.land.a.0.closed_share", "pressure_kpa at 1, 2"]) == (
        "small.land.a.0.closed_share",
        "error.small.land.a.0.closed_share",
        "pressure_kpa at 1, 2",
        "error.pressure_kpa at 1, 2",
    )


def test_errors_of_the_whole_are_those_of_the_figures(closing):
    figures = errors_of_figures(closing)
    names = ["largest_gap_mm", "mean_pressure_kpa", "step_mm", "largest_strain_pct"]
    found = measure_errors(names, closing)
    assert found == {f"error.{name}": figures[name] for name in names}
    assert found["error.largest_gap_mm"] > 0


def test_errors_of_one_land_are_its_own(closing):
    name = closing.lands[0].cut
    keep = [f"land.{name}.{k}.largest_gap_mm" for k in range(len(closing.lands))]
    found = measure_errors(keep, closing)
    told = closing.errors.lands
    assert [found[f"error.{measure}"] for measure in keep] == [land.gap_mm for land in told]
    missing = measure_errors([f"land.{name}.99.largest_gap_mm"], closing)
    assert list(missing.values()) == [None]


def test_the_error_at_a_place_is_within_that_of_its_land(closing):
    k = max(range(len(closing.lands)), key=lambda k: closing.lands[k].largest_gap_mm)
    land, told = closing.lands[k], closing.errors.lands[k]
    middle = len(land.s_mm) // 2
    measure = f"gap_mm at {land.x_mm[middle]}, {land.y_mm[middle]}"
    (found,) = measure_errors([measure], closing).values()
    assert 0 < found <= told.gap_mm * (1 + 1e-9)


def test_an_answer_whose_errors_nobody_looked_at_has_none():
    block = squeeze.Block(squeeze.load(BARRELS / "barrels-round.toml"), 0.25)
    found = measure_errors(["closed_share", "seals"], block.close())
    assert found == {"error.closed_share": None}


@pytest.mark.parametrize("kind", ["memory", "file"])
@pytest.mark.usefixtures("solved_here")
def test_a_study_keeps_the_errors_that_squeeze_close_tells(study, tmp_path, kind):
    asked = study(WITH)
    store = MemoryStore() if kind == "memory" else SqliteStore(tmp_path / "study.sqlite")
    run(asked, store, workers=1)
    first, second = store.rows()
    mold = squeeze.load(tmp_path / "small.toml")
    closing = squeeze.close(mold, accuracy_pct=2.0, deformation="small", band_tension_n_per_mm=0.1)
    told = errors_of_figures(closing)
    for name in ("largest_gap_mm", "least_pressure_kpa"):
        assert first[f"error.{name}"] == pytest.approx(told[name], rel=1e-9)
    assert "error.seals" not in first
    assert second["error.least_pressure_kpa"] == pytest.approx(2 * told["least_pressure_kpa"])
    assert list(first)[2:6] == [
        "largest_gap_mm",
        "error.largest_gap_mm",
        "seals",
        "least_pressure_kpa",
    ]
    store.close()


@pytest.mark.usefixtures("solved_here")
def test_errors_pass_through_csv_and_python(study, tmp_path):
    asked = study(WITH + '[[figure]]\nx = "band.tension_n_per_mm"\ny = "error.largest_gap_mm"\n')
    with contextlib.closing(SqliteStore(tmp_path / "study.sqlite")) as store:
        run(asked, store, workers=1)
        write_csv(store, tmp_path / "out.csv")
    with open(tmp_path / "out.csv", newline="", encoding="utf-8") as stream:
        head = next(csv.reader(stream))
    assert "error.gap_mm at 15, 0" in head
    kept, back = rows_of(tmp_path / "study.toml"), rows_of(tmp_path / "out.csv")
    assert [row["error.least_pressure_kpa"] for row in kept] == [
        row["error.least_pressure_kpa"] for row in back
    ]
    pytest.importorskip("pandas")
    assert "error.largest_gap_mm" in squeeze.read_study(tmp_path / "study.toml").columns


def test_answers_of_a_study_without_errors_stay_its_own(study):
    """The same study asked for errors is another question; without it nothing has changed."""
    plain, other = study(WITH.replace("accuracy = 2.0", "")), study(WITH)
    assert not any(name.startswith("error.") for name in plain.keep)
    assert {case.id for case in cases(plain)}.isdisjoint(case.id for case in cases(other))


@pytest.mark.parametrize(
    ("given", "says"),
    [
        ("accuracy = 0", "0.05 to 20"),
        ('accuracy = "fine"', "accuracy"),
        ("accuracy = 1.0\nfineness = 2", "both given"),
    ],
)
def test_an_accuracy_that_cannot_be_is_refused(study, given, says):
    with pytest.raises(squeeze.BadInput) as refused:
        study(WITH.replace("accuracy = 2.0", given))
    assert says in str(refused.value)
