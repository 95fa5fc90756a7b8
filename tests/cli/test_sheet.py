"""`squeeze sheet` writes where it is asked to, and refuses what it does not know."""

from __future__ import annotations

from typer.testing import CliRunner

from squeeze.cli.commands import app

RUN = CliRunner()
MOLD = """
length_mm = 50
[rubber]
shore_a = 20
[block]
shape = "round"
diameter_mm = 40
[[cavity]]
shape = "round"
diameter_mm = 10
[[cut]]
path_mm = [[-20, 0], [20, 0]]
[[band]]
stock = "31"
count = 3
"""


def test_sheet_is_written_beside_where_it_was_asked(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "ring.toml").write_text(MOLD)
    told = RUN.invoke(app, ["sheet", "ring.toml", "--paper", "letter"])
    assert told.exit_code == 0, told.output
    assert (tmp_path / "ring-sheet.pdf").read_bytes().startswith(b"%PDF")
    told = RUN.invoke(app, ["sheet", "ring.toml", "--html", "--out", "a.html"])
    assert told.exit_code == 0
    assert (tmp_path / "a.html").read_text().startswith("<!doctype html>")
    told = RUN.invoke(app, ["sheet", "ring.toml", "ring.toml"])
    assert told.exit_code == 0
    assert (tmp_path / "ring-ring-sheet.pdf").exists()


def test_papers_that_nobody_has_are_refused(tmp_path):
    told = RUN.invoke(app, ["sheet", str(tmp_path / "ring.toml"), "--paper", "a5"])
    assert told.exit_code == 2
    assert "allowed are a4 and letter" in told.output
