"""The length on the page: bands at their places; slow answers that tell how they come along."""

from __future__ import annotations

import json

import pytest
from starlette.testclient import TestClient

from squeeze.mold import mold_of
from squeeze.page.answers.answer import answer
from squeeze.verdict.bands.plan import plan_bands
from squeeze.verdict.bands.sentences import say_plan

BANDS = [{"tension_n": 6.0, "at_mm": [10, 20, 30]}]


@pytest.fixture(scope="module")
def short(mold) -> dict:
    """Return a mold that is quickly closed over its length."""
    return mold(length_mm=40, band=BANDS)


def test_the_length_is_told_as_the_command_does(short: dict) -> None:
    status, along = answer({"do": "along", "mold": short})
    assert status == 200
    plan = plan_bands(mold_of(short))
    said = say_plan(plan)
    assert set(along["say"]) <= set(said.lines)
    assert along["margin"] == pytest.approx(plan.given.margin, rel=1e-9)
    assert [band["at_mm"] for band in along["bands"]] == [10, 20, 30]
    land = along["lands"][0]
    assert len(land["pressure_kpa"]) == len(land["z_mm"])
    assert {len(row) for row in land["pressure_kpa"]} == {len(land["s_mm"])}
    _, bands = answer({"do": "bands", "mold": short})
    assert (bands["say"], bands["lines"]) == (said.say, list(said.lines))
    if bands["holds"]:
        assert mold_of(bands["mold"]).band[0].at_mm == pytest.approx(plan.best.at_mm, abs=0.051)


def test_moving_a_band_needs_no_new_factor(short: dict) -> None:
    told: list[str] = []
    answer({"do": "along", "mold": short}, lambda what, share=None: told.append(what))
    moved = short | {"band": [{"tension_n": 6.0, "at_mm": [5, 20, 35]}]}
    told.clear()
    _, along = answer({"do": "along", "mold": moved}, lambda what, share=None: told.append(what))
    assert told == ["Closing the cuts over the length"]
    assert [band["at_mm"] for band in along["bands"]] == [5, 20, 35]


def test_a_mold_without_bands_is_told_so(short: dict) -> None:
    _, along = answer({"do": "along", "mold": short | {"band": []}})
    assert along["say"] == ["The mold has no bands yet: add some."]


def test_an_answer_comes_line_by_line_with_news_before_it(client: TestClient, mold) -> None:
    asked = {"page": "lines", "mold": mold()}
    headers = {"Accept": "application/x-ndjson"}
    said = client.post("/sure", json=asked, headers=headers)
    assert said.headers["content-type"] == "application/x-ndjson"
    *news, last = map(json.loads, said.text.splitlines())
    assert last["status"] == 200
    assert len(last["variations"]) == 12
    assert news
    assert all(set(each) == {"what", "share"} for each in news)
    wrong = client.post("/close", json={"page": "lines", "mold": {}}, headers=headers)
    assert json.loads(wrong.text.splitlines()[-1])["status"] == 422


def test_why_names_what_would_explain_the_flash(mold) -> None:
    status, said = answer({"do": "why", "mold": mold(), "flash": "can feel it"})
    assert status == 200
    assert len(said["explanations"]) >= 3
    assert {"plausible", "say", "test"} <= set(said["explanations"][0])
    assert answer({"do": "why", "mold": mold(), "flash": "a bit"})[0] == 422
    assert answer({"do": "why", "mold": mold()})[0] == 400


@pytest.mark.parametrize(("form", "start"), [("png", b"\x89PNG"), ("svg", b"<?xml")])
def test_the_figure_is_drawn(mold, form: str, start: bytes) -> None:
    from base64 import b64decode

    status, said = answer({"do": "figure", "mold": mold(), "form": form})
    assert status == 200
    assert b64decode(said[form]).startswith(start)
    assert answer({"do": "figure", "mold": mold(), "form": "exe"})[0] == 400


def test_templates_come_in_one_file_or_are_refused_in_words(mold) -> None:
    from base64 import b64decode
    from io import BytesIO
    from zipfile import ZipFile

    lid = {"name": "lid", "covers": "top", "thickness_mm": 12, "material": "plywood"}
    _, said = answer({"do": "templates", "mold": mold(cradle=[lid]), "paper": "letter"})
    with ZipFile(BytesIO(b64decode(said["zip"]))) as archive:
        assert {"templates-letter.pdf", "lid.svg", "lid.dxf"} <= set(archive.namelist())
    status, refused = answer({"do": "templates", "mold": mold()})
    assert (status, refused["error"].startswith("The mold has no cradle")) == (400, True)


def test_air_stays_where_the_tilt_leaves_it(mold) -> None:
    cavity = {"name": "bar", "shape": "rectangle", "width_mm": 20, "height_mm": 6, "round_mm": 1}
    given = mold(cavity=[cavity], sprue={"diameter_mm": 4, "height_mm": 10, "at_mm": [8, 3]})
    _, level = answer({"do": "air", "mold": given})
    _, right = answer({"do": "air", "mold": given, "about_length_deg": 30})
    _, left = answer({"do": "air", "mold": given, "about_length_deg": -30})
    assert left["volume_mm3"] != right["volume_mm3"]
    low, high = sorted((left, right), key=lambda each: each["volume_mm3"])
    assert level["volume_mm3"] <= low["volume_mm3"] < high["volume_mm3"]
    assert high["pockets"][0]["cavity"] == "bar"
    assert len(high["pockets"][0]["at_mm"]) == 3
    assert answer({"do": "air", "mold": given, "end_up_deg": 80})[0] == 400
