"""`squeeze study`: what it says, writes, and how it leaves."""

from __future__ import annotations

import pytest
from typer.testing import CliRunner

from squeeze import cli
from squeeze.study import rows_of

runner = CliRunner()
FEW = """
title = "Two bevels"
mold = "small.toml"
fineness = 0.5
table = "results.csv"

[vary]
"block.bevel_mm" = [0, 3]

[figure]
x = "block.bevel_mm"
y = "closed_share"
"""


def study(*asked: object):
    return runner.invoke(cli.app, ["study", *map(str, asked), "--workers", "1"])


def test_it_tells_runs_and_writes(write):
    path = write(FEW)
    done = study(path)
    assert done.exit_code == 0, done.output
    assert "Two bevels: 2 cases; 2 to compute on 2 sections." in done.stderr
    assert "Expected time: " in done.stderr
    assert done.stdout.startswith("2 of 2 cases done.")
    assert len(list(rows_of(path.with_name("results.csv")))) == 2
    assert path.with_name("study-1.png").stat().st_size > 1000
    again = study(path)
    assert again.exit_code == 0
    assert "cases;" not in again.stderr  # nothing to do, nothing is told to be done


@pytest.mark.usefixtures("solved_here")
def test_table_and_figure_are_in_inches_where_that_is_asked_for(write):
    path = write(FEW)
    done = study(path, "--inches")
    assert done.exit_code == 0, done.output
    assert "psi" in done.stdout
    assert "0.1181" in done.stdout  # a bevel of 3 mm
    assert "kpa" not in done.stdout
    (_, bevel) = rows_of(path.with_name("results.csv"))
    assert bevel["block.bevel_mm"] == 3  # files stay


def test_status_computes_and_writes_nothing(write):
    path = write(FEW)
    before = set(path.parent.iterdir())
    done = study(path, "--status")
    assert done.exit_code == 0
    assert done.stdout.startswith("0 of 2 cases done, 2 missing.")
    assert set(path.parent.iterdir()) == before


@pytest.mark.usefixtures("solved_here")
def test_status_knows_a_study_that_has_changed(write):
    study(write(FEW))
    path = write(FEW.replace("[0, 3]", "[3, 5]"))
    done = study(path, "--status")
    assert done.stdout.startswith("1 of 2 cases done, 1 missing. The store also holds 1 answer")


@pytest.mark.slow
def test_failed_cases_are_named_and_tried_again(write, poison):
    poison("if mold.block.bevel_mm == 3.0: os._exit(9)")
    path = write(FEW)
    done = study(path, "--no-figures")
    assert done.exit_code == 1
    assert "1 of 2 cases done, 1 failed." in done.stdout
    assert "case 2 (block.bevel_mm = 3): its worker ended by itself, status 9" in done.stdout
    poison("pass")
    assert "1 failed" in study(path, "--status").stdout
    assert study(path, "--no-figures").exit_code == 1
    assert study(path, "--no-figures", "--retry-failed").exit_code == 0


def test_bad_input_leaves_with_two_and_writes_nothing(write):
    path = write(FEW.replace("bevel_mm", "bevl_mm"))
    before = set(path.parent.iterdir())
    done = study(path)
    assert done.exit_code == 2
    assert f"{path}:8: vary.block.bevl_mm: " in done.stderr
    assert done.stdout == ""
    assert set(path.parent.iterdir()) == before


def test_a_place_that_cannot_be_written_is_said_before_it_runs(write, tmp_path):
    path = write(FEW)
    done = study(path, "--csv", tmp_path / "none" / "a.csv")
    assert done.exit_code == 2
    assert "there is no folder" in done.stderr
    assert not path.with_suffix(".sqlite").exists()


@pytest.mark.usefixtures("solved_here")
def test_csv_and_parquet(write, tmp_path):
    pytest.importorskip("pyarrow")
    path = write(FEW)
    files = {kind: tmp_path / f"out.{kind}" for kind in ("csv", "parquet")}
    done = study(path, "--no-figures", *(p for k, f in files.items() for p in (f"--{k}", f)))
    assert done.exit_code == 0, done.output
    assert all(file.is_file() for file in files.values())
    assert not path.with_name("study-1.png").exists()


@pytest.mark.usefixtures("solved_here")
def test_nothing_is_left_beside_the_results(write):
    path = write(FEW)
    study(path)
    names = {entry.name for entry in path.parent.iterdir()}
    assert names == {"small.toml", "study.toml", "study.sqlite", "results.csv", "study-1.png"}


@pytest.mark.usefixtures("solved_here")
def test_a_folder_that_is_write_protected_is_said(write, plain_user):
    study(write(FEW))  # imports all that it needs
    path = write(FEW, folder=plain_user.folder)
    with plain_user:
        plain_user.folder.chmod(0o500)
        done = study(path)
        plain_user.folder.chmod(0o700)
    assert done.exit_code == 2
    assert done.stderr.count("\n") == 1
