"""One head for one mold: grade, reason and what to do first, through every door."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

import squeeze
from squeeze.cli import app
from squeeze.mold import dict_of
from squeeze.page.answers.answer import answer
from squeeze.show.figure.closing import figure
from squeeze.show.sheet.contents import sheet_of
from squeeze.study.cradles.comparison import compare_cradles
from squeeze.verdict.bands.plan import plan_bands
from squeeze.verdict.bands.sentences import say_plan

MOLD = """
title = "An egg in a flat block"
length_mm = 90
[rubber]
shore_a = 30
[block]
shape = "rectangle"
width_mm = 90
height_mm = 50
bevel_mm = 5
[[cavity]]
name = "egg"
shape = "oval"
width_mm = 44
height_mm = {high}
[[cut]]
name = "through the egg"
path_mm = [[-{long}, 0], [{long}, 0]]
[[band]]
stock = "64"
count = 4
[resin]
head_mm = 40
"""
FLAT, MISSED, GOOD = {"high": 30, "long": 45}, {"high": 30, "long": 30}, {"high": 8, "long": 45}


@pytest.fixture(
    scope="module",
    params=[pytest.param(FLAT, marks=pytest.mark.slow), MISSED],
    ids=["flash", "shut in"],
)
def file(request, tmp_path_factory) -> Path:
    made = tmp_path_factory.mktemp("doors") / "egg.toml"
    made.write_text(MOLD.format(**request.param), encoding="utf-8")
    return made


@pytest.fixture(scope="module")
def mold(file):
    return squeeze.load(file)


@pytest.fixture(scope="module")
def closing(mold):
    return squeeze.close(mold)


@pytest.fixture(scope="module")
def head(closing, mold):
    return squeeze.judge(closing, mold=mold).head


def told(*arguments: str) -> list[str]:
    done = CliRunner().invoke(app, arguments)
    assert done.exit_code == 0, done.output
    return done.output.splitlines()


def plain(text: str) -> str:
    return " ".join(text.split())


def test_terminal_and_json(file, head, tmp_path):
    lines = told("close", str(file), "--json", str(tmp_path / "egg.json"))
    assert lines[:2] == [head.say, head.do]
    data = json.loads((tmp_path / "egg.json").read_text(encoding="utf-8"))["verdict"]
    assert (data["grade"], data["say"], data["do"]) == (head.grade, head.say, head.do)


def test_figure_and_sheet(mold, closing, head):
    verdict = squeeze.judge(closing, mold=mold)
    drawn = plain(" ".join(text.get_text() for text in figure(closing, verdict).texts))
    assert plain(head.say) in drawn
    assert plain(head.do) in drawn
    sheet = sheet_of(mold, closing, verdict, file="egg.toml", date="")
    assert (sheet.head, sheet.advice[0]) == (head.say, head.do)


def test_page(mold, head):
    status, said = answer({"do": "close", "mold": dict_of(mold)})
    assert status == 200
    verdict = said["verdict"]
    assert (verdict["grade"], verdict["do"]) == (head.grade, head.do)
    assert verdict["say"] == head.say


@pytest.mark.usefixtures("solved_here")
def test_study(file, head, tmp_path):
    study = tmp_path / "egg.study.toml"
    keep = '"grade", "say"'
    study.write_text(
        f'mold = "{file}"\ndeformation = "auto"\nkeep = [{keep}]\n[vary]\n"band.count" = [4]\n',
        encoding="utf-8",
    )
    told("study", str(study), "--csv", str(tmp_path / "t.csv"), "--workers", "1")
    table = (tmp_path / "t.csv").read_text(encoding="utf-8")
    assert head.grade in table
    assert head.brief.split(": ")[1][:20] in table or head.say[:60] in table


def test_bands(mold, head):
    """Where a cavity is shut in no band helps; else the plan's own bands are graded as closed."""
    plan = plan_bands(mold, waves=8)
    said = say_plan(plan)
    assert said.lines[0] == f"What to do: {head.do}"
    if plan.unreached:
        assert said.say == head.say
    else:
        assert said.say.startswith(head.say.split(" So ")[0])


@pytest.mark.slow
def test_cradle(mold, head):
    rows = compare_cradles(mold, fineness=0.5).rows
    bare = next(row for row in rows if row.name == "bands alone")
    assert bare.verdict.head.grade == head.grade
    assert bare.verdict.head.do == head.do
    assert bare.verdict.head.say.split(" So ")[0] == head.say.split(" So ")[0]


@pytest.mark.slow
def test_the_answer_is_short(tmp_path):
    """At most 15 lines on the demo, 10 on a mold that is fine."""
    demo = told("close", "studies/barrels/barrels.toml")
    assert len(demo) <= 15
    assert demo[0].startswith("Leaks: ")
    fine = tmp_path / "fine.toml"
    fine.write_text(MOLD.format(**GOOD).replace("bevel_mm = 5", "bevel_mm = 20"), encoding="utf-8")
    lines = told("close", str(fine))
    assert len(lines) <= 10
    assert lines[0].startswith(("Clean: ", "Fine line: "))


@pytest.mark.slow
def test_friction_that_decides_is_told_both_ways():
    """The demo stands open with slippery faces and closes with ones that grip."""
    lines = told("close", "studies/barrels/barrels.toml")
    (line,) = [each for each in lines if each.startswith("Friction decides: ")]
    assert "it leaks when the faces are slippery (release agent, talc)" in line
    assert line.endswith("when they grip (clean, dry faces).")
    mold = squeeze.load("studies/barrels/barrels.toml")
    grips = [cut | {"friction": 0.3} for cut in dict_of(mold)["cut"]]
    gripped = squeeze.mold_of(dict_of(mold) | {"cut": grips})
    ends = [squeeze.close(each, check=False) for each in (mold, gripped)]
    gaps = [max(land.largest_gap_mm for land in each.lands) for each in ends]
    assert gaps[0] > 0.3
    assert gaps[1] < 0.05
