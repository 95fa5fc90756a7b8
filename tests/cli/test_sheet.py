"""`squeeze sheet` writes where it is asked to, and refuses what it does not know."""

from __future__ import annotations

import re

import pytest
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


def test_a_sheet_is_matched_to_its_file(tmp_path):
    """The signs are those of what the mold says: a remark changes nothing, a size does."""
    ring = tmp_path / "ring.toml"
    ring.write_text(MOLD, encoding="utf-8")
    made = RUN.invoke(app, ["sheet", str(ring), "--match", "0000-0000"])
    assert made.exit_code == 1
    signs = made.output.split("bears ")[1].split(".")[0].strip()
    remarked = tmp_path / "other.toml"
    remarked.write_text("# mine\n" + MOLD, encoding="utf-8")
    for said in (signs, signs.upper().replace("-", " ")):
        same = RUN.invoke(app, ["sheet", str(remarked), "--match", said])
        assert same.exit_code == 0
        assert "is the mold of that sheet" in same.output
    text = MOLD.replace("length_mm = 50", "length_mm = 51")
    remarked.write_text(text, encoding="utf-8")
    assert RUN.invoke(app, ["sheet", str(remarked), "--match", signs]).exit_code == 1
    assert not list(tmp_path.glob("*.pdf"))


@pytest.mark.slow
@pytest.mark.parametrize("asked", [["close", "--more", "--advise"], ["bands"], ["cradle"]])
def test_nothing_is_told_in_mm_or_kpa_once_inches_are_asked(tmp_path, asked):
    ring = tmp_path / "ring.toml"
    # round the small one its bands hang loose
    text = MOLD.replace("diameter_mm = 40", "diameter_mm = 80").replace("20, 0]", "40, 0]")
    ring.write_text(text + "[pot]\nbore_mm = 120\ndepth_mm = 150\n", encoding="utf-8")
    done = RUN.invoke(app, [asked[0], str(ring), *asked[1:], "--inches"])
    assert done.exit_code == 0, done.output
    assert " in" in done.output
    assert re.findall(r"[^\n]*\d mm\b[^\n]*|[^\n]*kPa[^\n]*", done.output) == []
