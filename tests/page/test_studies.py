"""Studies begun on the page: they run beside it, can be stopped, and go on."""

from __future__ import annotations

import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from squeeze.mold import BadInput
from squeeze.page.studies.studies import NoStudy, Studies
from squeeze.study import load_study


@pytest.fixture
def studies(tmp_path: Path) -> Iterator[Studies]:
    made = Studies(tmp_path / "studies")
    yield made
    made.end()


SQUARE = {"shape": "square", "width_mm": 60, "bevel_mm": 5}


def asked(mold, bevels, title="Bevels") -> dict:
    return {"mold": mold(block=SQUARE), "title": title, "vary": {"block.bevel_mm": bevels}}


def wait(studies: Studies, name: str, until, seconds=60.0) -> dict:
    deadline = time.monotonic() + seconds
    while time.monotonic() < deadline:
        stand = studies.stand(name, rows=True)
        if until(stand):
            return stand
        time.sleep(0.1)
    raise AssertionError(stand)


@pytest.mark.slow
def test_a_study_runs_to_its_end_beside_the_page(studies: Studies, mold) -> None:
    name = studies.begin(asked(mold, [2, 6]))
    assert name == "bevels"
    stand = wait(studies, name, lambda stand: not stand["running"] and stand["done"] == 2)
    assert [row["block.bevel_mm"] for row in stand["rows"]] == [2, 6]
    assert all(row["state"] == "done" for row in stand["rows"])
    assert load_study(Path(stand["folder"])).file.title == "Bevels"


@pytest.mark.slow
def test_a_stopped_study_keeps_what_it_has_and_goes_on(studies: Studies, mold) -> None:
    name = studies.begin(asked(mold, [2 + 0.1 * k for k in range(40)]))
    wait(studies, name, lambda stand: stand["done"] >= 1)
    studies.stop(name)
    process = studies.runs[name].process
    assert process.poll() is not None
    stopped = studies.stand(name)
    assert 1 <= stopped["done"] < 40
    studies.go(name)
    wait(studies, name, lambda stand: stand["done"] > stopped["done"])


def test_one_study_at_a_time(studies: Studies, mold) -> None:
    studies.begin(asked(mold, [2 + 0.1 * k for k in range(40)]))
    with pytest.raises(NoStudy, match="is being computed"):
        studies.begin(asked(mold, [1, 2], title="Second"))


def test_a_study_ends_with_the_server(studies: Studies, mold) -> None:
    name = studies.begin(asked(mold, [2 + 0.1 * k for k in range(40)]))
    process = studies.runs[name].process
    assert process.stdin is not None
    process.stdin.close()  # what a killed server leaves behind
    assert process.wait(20) is not None


@pytest.mark.parametrize(
    ("vary", "says"),
    [
        ({}, "one to three things"),
        ([1], "one to three things"),
        ({"block.bevel_mm": [1]}, "2 to 60 values"),
        ({"block.bevel_mm": list(range(61))}, "2 to 60 values"),
        ({"block.bevel_mm": [1, None]}, "numbers or words"),
        ({"block.bevel_mm": list(range(30)), "band.count": list(range(30))}, "900 cases"),
    ],
)
def test_what_makes_no_study_is_told(studies: Studies, mold, vary, says: str) -> None:
    with pytest.raises(NoStudy, match=says):
        studies.begin({"mold": mold(block=SQUARE), "title": "x", "vary": vary})
    assert studies.names() == []


def test_faults_of_what_is_varied_are_told_and_nothing_is_left(studies: Studies, mold) -> None:
    with pytest.raises(BadInput, match="bevl_mm"):
        studies.begin({"mold": mold(block=SQUARE), "title": "x", "vary": {"block.bevl_mm": [1, 2]}})
    assert list(studies.folder.iterdir()) == []


@pytest.mark.parametrize("name", ["../mold", "", "a/b", ".", "A", "-x", "x" * 80, "nothing"])
def test_names_lead_nowhere_else(studies: Studies, name: str) -> None:
    with pytest.raises(NoStudy):
        studies.stand(name)


def test_the_routes_tell_what_is_wrong(client: TestClient, mold) -> None:
    bad = client.post("/studies", json=asked(mold, [1]) | {"title": "two\nlines"})
    assert bad.status_code == 400
    assert "title" in bad.json()["error"]
    assert client.post("/studies", json={"title": "x", "vary": {"a": [1, 2]}}).status_code == 422
    assert client.get("/studies/nothing").status_code == 400
    assert client.post("/studies/nothing/go", json={}).status_code == 400
    assert client.get("/studies").json() == {"studies": []}
