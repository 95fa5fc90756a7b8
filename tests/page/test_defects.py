"""What goes wrong against all expectation: one sentence on the page, a report on the disk."""

from __future__ import annotations

import logging
from pathlib import Path
from typing import Any

import pytest

from squeeze.page.answers import answer as answering
from squeeze.page.server.app import app_of
from squeeze.page.server.kept import KeptFile
from squeeze.page.server.solvers import Solvers
from squeeze.page.studies.studies import Studies


class NoSolvers(Solvers):
    """Answers nothing and starts no process."""

    def __init__(self) -> None:
        pass

    async def ask(self, asked: dict[str, Any], name: str) -> Any:
        return 200, {}

    def end(self) -> None:
        pass


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("HOME", str(tmp_path))
    return tmp_path


def planted(*_: object, **__: object) -> Any:
    raise ZeroDivisionError("planted")


def check(said: str, home: Path, doing: str) -> str:
    """Check the sentence; return the report that it names."""
    assert said.startswith(f"squeeze failed while {doing}: this is a defect of squeeze")
    assert "Traceback" not in said
    assert said.count("\n") == 0
    (report,) = (home / ".squeeze" / "reports").iterdir()
    assert str(report) in said
    text = report.read_text()
    assert "ZeroDivisionError: planted" in text
    return text


@pytest.mark.parametrize(
    ("room", "name", "method", "path"),
    [
        (Studies, "all", "GET", "/studies"),
        (Studies, "begin", "POST", "/studies"),
        (Studies, "go", "POST", "/studies/a/go"),
        (Studies, "stop", "POST", "/studies/a/stop"),
        (Studies, "names", "GET", "/studies/a"),
        (KeptFile, "read", "GET", "/start"),
        (NoSolvers, "ask", "GET", "/start"),
        (NoSolvers, "ask", "POST", "/close"),
        (NoSolvers, "ask", "PUT", "/file"),
    ],
)
def test_a_route_that_fails_says_so_in_one_sentence(
    home: Path,
    monkeypatch: pytest.MonkeyPatch,
    caplog: pytest.LogCaptureFixture,
    capfd: pytest.CaptureFixture[str],
    key: str,
    with_key,
    room: type,
    name: str,
    method: str,
    path: str,
) -> None:
    file = home / "mine.toml"
    file.write_text("length_mm = 140\n")
    app = app_of(
        7433, key, KeptFile(file, "mine.toml"), studies=home / "studies", solvers=NoSolvers
    )
    monkeypatch.setattr(room, name, planted)
    with (
        caplog.at_level(logging.DEBUG),
        with_key(app) as client,
    ):
        answer = client.request(method, path, json={"page": "a"})
    assert answer.status_code == 500
    assert "default-src 'none'" in answer.headers["content-security-policy"]
    check(answer.json()["error"], home, f"answering the page ({method} {path})")
    assert "Traceback" not in caplog.text + "".join(capfd.readouterr())


@pytest.mark.parametrize(
    ("do", "doing"),
    [
        ("close", "closing the cuts of 'Two barrels' on the page"),
        ("advise", "searching for what helps 'Two barrels' on the page"),
        ("write", "writing 'Two barrels' as a file"),
        ("read", "reading two.toml on the page"),
        ("start", "starting the page"),
    ],
)
def test_a_calculation_that_fails_says_so_and_keeps_the_mold(
    home: Path,
    monkeypatch: pytest.MonkeyPatch,
    capfd: pytest.CaptureFixture[str],
    mold,
    do: str,
    doing: str,
) -> None:
    monkeypatch.setitem(answering._DOES, do, planted)
    asked = {"text": "length_mm = 7", "name": "two.toml"} if do == "read" else {"mold": mold()}
    status, said = answering.answer({"do": do, **asked})
    assert status == 500
    report = check(said["error"], home, doing)
    assert ("length_mm = 7" if do == "read" else '"diameter_mm": 60') in report
    assert "".join(capfd.readouterr()) == ""


def test_one_study_that_cannot_be_read_does_not_hide_the_others(home: Path, mold) -> None:
    studies = Studies(home / "studies")
    for name in ("good", "bad", "broken"):
        folder = studies.folder / name
        folder.mkdir(parents=True)
        (folder / "mold.toml").write_text("length_mm = 140\n")
        (folder / "study.toml").write_text('mold = "mold.toml"\n[vary]\nlength_mm = [1, 2]\n')
    (studies.folder / "bad" / "study.toml").write_text("[[[")
    (studies.folder / "broken" / "study.toml").write_bytes(b"\xff\xfe\x00")
    found = {each["name"]: each for each in studies.all()}
    assert set(found) == {"good", "bad", "broken"}
    assert found["bad"]["error"]
    assert found["broken"]["error"]


def test_a_folder_that_takes_no_study_is_told(home: Path, mold, key, with_key) -> None:
    (home / "studies").write_text("a file where the folder should be")
    app = app_of(7433, key, studies=home / "studies", solvers=NoSolvers)
    square = {"shape": "square", "width_mm": 60, "bevel_mm": 5}
    asked = {"mold": mold(block=square), "title": "x", "vary": {"block.bevel_mm": [1, 2]}}
    with with_key(app) as client:
        answer = client.post("/studies", json=asked)
    assert answer.status_code == 400
    assert "cannot be kept in" in answer.json()["error"]
