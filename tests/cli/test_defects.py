"""The last line of defence: whatever happens, one sentence, and never a traceback."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest
from typer.testing import CliRunner

import squeeze
from squeeze import cli
from squeeze.show.report import KEPT, report_defect

runner = CliRunner()
MOLD = 'title = "Plain"\nlength_mm = 100\nrubber = { shore_a = 20 }\n'


@pytest.fixture
def home(tmp_path, monkeypatch):
    monkeypatch.setenv("HOME", str(tmp_path / "home"))
    return tmp_path / "home"


@pytest.fixture
def mold(tmp_path):
    path = tmp_path / "plain.toml"
    path.write_text(MOLD + 'block = { shape = "square", width_mm = 80 }\n')
    return path


def broken(*_, **__):
    raise ZeroDivisionError("a defect")


@pytest.mark.parametrize(
    ("asked", "where"),
    [
        (["close"], "squeeze.solve.refined"),
        (["bands"], "squeeze.verdict.bands.plan.plan_bands"),
        (["cradle"], "squeeze.mold.load"),
        (["new"], "squeeze.show.start.start"),
        (["page"], "squeeze.page.serve"),
    ],
)
def test_any_command_tells_a_defect_in_one_sentence(home, mold, monkeypatch, asked, where):
    monkeypatch.setattr(where, broken)
    monkeypatch.setattr(sys, "argv", ["squeeze", *asked, str(mold)])
    given = mold.with_name("other.toml") if asked == ["new"] else mold
    done = runner.invoke(cli.app, [*asked, str(given)])
    assert done.exit_code == 70
    assert done.stdout == ""
    assert done.stderr.count("\n") == 1
    assert "Traceback" not in done.stderr
    assert "this is a defect of squeeze" in done.stderr
    (path,) = (home / ".squeeze" / "reports").iterdir()
    assert f"the full report is in {path};" in done.stderr
    text = path.read_text()
    for part in (
        f"squeeze {squeeze.__version__}",
        sys.version,
        MOLD,
        "ZeroDivisionError: a defect",
    ):
        assert part in text


def test_debug_shows_the_report(home, mold, monkeypatch):
    monkeypatch.setattr("squeeze.solve.refined", broken)
    done = runner.invoke(cli.app, ["close", str(mold), "--debug"])
    assert done.exit_code == 70
    assert "ZeroDivisionError: a defect" in done.stderr


def test_debug_changes_nothing_else(mold):
    mold.write_text("nonsense")
    assert runner.invoke(cli.app, ["close", str(mold), "--debug"]).exit_code == 2


def test_a_report_finds_a_place_without_a_home(tmp_path, monkeypatch):
    monkeypatch.setattr(Path, "home", lambda: Path("/dev/null/nobody"))
    monkeypatch.setattr("tempfile.gettempdir", lambda: str(tmp_path))
    told = report_defect(ValueError("odd"), "testing", {"Command": "\udcff"})
    assert told.path is not None
    assert told.path.parent == tmp_path
    nowhere = report_defect(ValueError("odd"), "testing", {}, Path("/dev/null/nowhere"))
    assert nowhere.path is None
    assert "no report could be written" in nowhere.say
    assert "ValueError: odd" in nowhere.text


def test_old_reports_are_removed(tmp_path):
    for _ in range(KEPT + 3):
        last = report_defect(ValueError("odd"), "testing", {}, tmp_path)
    assert len(list(tmp_path.iterdir())) == KEPT
    assert last.path is not None
    assert last.path.exists()


def test_a_library_that_is_broken_is_told(home):
    code = "import sys; sys.modules['typer'] = None; from squeeze.cli import main; main()"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
    assert done.returncode == 70
    assert done.stderr.startswith("squeeze failed while starting: this is a defect")
    assert done.stderr.count("\n") == 1


def command(*asked: object, **streams):
    return subprocess.run(
        [sys.executable, "-m", "squeeze", *map(str, asked)],
        stderr=subprocess.PIPE,
        text=True,
        timeout=120,
        **streams,
    )


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="no device that is always full here")
@pytest.mark.parametrize("asked", [["--version"], ["--help"], ["new", "pens"]])
def test_an_answer_that_cannot_be_printed(tmp_path, asked):
    with open("/dev/full", "w") as full:
        done = command(*asked, stdout=full, cwd=tmp_path)
    assert done.returncode == 2
    assert done.stderr.count("\n") == 1
    assert "No space left on device" in done.stderr


def test_a_name_that_the_terminal_cannot_show(mold):
    """An ASCII terminal gets the answer all the same."""
    text = mold.read_text().replace("Plain", "Plein \N{ROCKET}")
    mold.write_text(
        text + 'cut = [{ name = "\N{HEBREW LETTER ALEF}", path_mm = [[-40, 0], [40, 0]] }]'
    )
    done = subprocess.run(
        [sys.executable, "-m", "squeeze", "close", str(mold)],
        capture_output=True,
        timeout=120,
        env=os.environ | {"PYTHONIOENCODING": "ascii", "PYTHONUTF8": "0"},
    )
    assert done.returncode == 0, done.stderr
    assert done.stderr == b""
