"""`squeeze new --study`: a copy of a study of the gallery."""

from __future__ import annotations

from typer.testing import CliRunner

from squeeze import cli
from squeeze.study import load_study, rows_of
from squeeze.study.gallery import gallery

runner = CliRunner()


def new(*asked: object):
    return runner.invoke(cli.app, ["new", *map(str, asked)])


def test_a_copied_study_is_the_study(tmp_path):
    folder = tmp_path / "mine"
    done = new(folder, "--study", "corners")
    assert done.exit_code == 0, done.output
    assert f"Next: squeeze study {folder}" in done.stdout
    study = load_study(folder)
    assert study.file == load_study(gallery()["corners"]).file
    assert len(list(rows_of(folder / study.file.table))) == 13


def test_a_story_without_a_study_file_is_closed_next(tmp_path):
    done = new(tmp_path / "pens", "--study", "barrels")
    assert "Next: squeeze close" in done.stdout


def test_what_is_there_stays_as_it_is(tmp_path):
    (tmp_path / "mine").mkdir()
    done = new(tmp_path / "mine", "--study", "corners")
    assert done.exit_code == 2
    assert not list((tmp_path / "mine").iterdir())


def test_an_unknown_study_is_answered_with_those_that_there_are(tmp_path):
    done = new(tmp_path / "mine", "--study", "colours")
    assert done.exit_code == 2
    assert all(name in done.stderr for name in gallery())
    assert not (tmp_path / "mine").exists()


def test_a_folder_that_cannot_be_made_is_told(tmp_path):
    done = new(tmp_path / "no" / "mine", "--study", "corners")
    assert done.exit_code == 2
    assert "cannot be made" in done.stderr


def test_a_study_takes_no_kind(tmp_path):
    assert new(tmp_path / "mine", "--study", "corners", "--kind", "egg").exit_code == 2
