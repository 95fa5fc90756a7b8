"""The command line: what it says, writes, and how it leaves."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from dataclasses import dataclass, replace
from pathlib import Path
from types import SimpleNamespace

import meshio
import numpy as np
import pytest
from typer.testing import CliRunner

import squeeze
from squeeze import cli
from squeeze.cli.preamble import length_given
from squeeze.mold import BadInput, Mold
from squeeze.solve import Closing, Refined, refined
from squeeze.verdict import MORE_BANDS
from squeeze.verdict.place import ALIKE

runner = CliRunner()


@pytest.fixture
def mold_file(tmp_path):
    done = runner.invoke(cli.app, ["new", str(tmp_path / "pens")])
    assert done.exit_code == 0, done.output
    return tmp_path / "pens.toml"


@dataclass
class Still:
    """A block that gives the same closing for any load."""

    closing: Closing
    mold: Mold

    @property
    def section(self):
        return self.closing.section

    @property
    def mesh(self):
        return SimpleNamespace(points=np.zeros((4, 2)))

    def close(self, loads=None, **case):
        return self.closing


def stand_in(monkeypatch, closing):
    monkeypatch.setattr(
        "squeeze.solve.refined", lambda mold, **asked: Refined(Still(closing, mold), closing)
    )


@pytest.fixture
def solved(monkeypatch, gaping):
    """Stand a made-up closing in for the solve: these tests are about the command line."""
    stand_in(monkeypatch, gaping)
    return gaping


def test_help_loads_nothing_heavy():
    done = subprocess.run(
        [sys.executable, "-X", "importtime", "-m", "squeeze", "--help"],
        capture_output=True,
        text=True,
        check=True,
    )
    assert "close" in done.stdout
    loaded = {line.rsplit("|", 1)[-1].strip().split(".")[0] for line in done.stderr.splitlines()}
    assert "typer" in loaded
    heavy = {"numpy", "matplotlib", "scipy", "shapely", "pydantic", "skfem", "meshio"}
    assert loaded & heavy == set()
    assert "squeeze.solve" not in done.stderr


@pytest.mark.parametrize("command", ["close", "new"])
def test_every_command_shows_an_example(command):
    assert f"Example: squeeze {command}" in runner.invoke(cli.app, [command, "--help"]).output


def test_version():
    assert runner.invoke(cli.app, ["--version"]).output == f"squeeze {squeeze.__version__}\n"


def test_sentence_first_then_table_then_caution(mold_file, solved):
    done = runner.invoke(cli.app, ["close", str(mold_file)])
    assert done.exit_code == 0
    lines = done.stdout.splitlines()
    assert lines[0].startswith("Leaks: ")
    assert "1 of 3 lands lets resin through" in lines[0]
    assert "\x1b" not in done.stdout
    assert done.stdout.index("left outside to 'barrel 1'") > done.stdout.index(lines[1])
    assert "stimates for planning" in lines[-1]
    assert MORE_BANDS not in lines
    more = runner.invoke(cli.app, ["close", str(mold_file), "--more"])
    assert more.stdout.splitlines()[:2] == lines[:2]
    assert MORE_BANDS in more.stdout.splitlines()


def test_strict_leaves_with_one_and_still_writes(mold_file, solved, tmp_path):
    out = tmp_path / "out.json"
    done = runner.invoke(cli.app, ["close", str(mold_file), "--strict", "--json", str(out)])
    assert done.exit_code == 1
    assert json.loads(out.read_text())["verdict"]["seals"] is False


def test_strict_leaves_with_nought_when_it_seals(mold_file, monkeypatch, closed):
    stand_in(monkeypatch, closed)
    assert runner.invoke(cli.app, ["close", str(mold_file), "--strict"]).exit_code == 0


def test_all_outputs_are_written(mold_file, solved, tmp_path):
    names = {"--figure": "a.svg", "--json": "a.json", "--vtu": "a.vtu"}
    asked = [part for key, name in names.items() for part in (key, str(tmp_path / name))]
    done = runner.invoke(cli.app, ["close", str(mold_file), "--deformed", *asked])
    assert done.exit_code == 0, done.output
    assert {p.name for p in tmp_path.iterdir()} == {*names.values(), "pens.toml"}
    assert "<svg" in (tmp_path / "a.svg").read_text()


def test_a_dash_writes_to_standard_output_and_sends_the_words_aside(mold_file, solved):
    done = runner.invoke(cli.app, ["close", str(mold_file), "--json", "-"])
    assert done.exit_code == 0, done.output
    assert json.loads(done.stdout)["verdict"]["seals"] is False
    assert done.stderr.startswith("Leaks: ")


def test_a_figure_into_a_stream_is_a_png(mold_file, solved):
    done = runner.invoke(cli.app, ["close", str(mold_file), "--figure", "-"])
    assert done.exit_code == 0, done.output
    assert done.stdout_bytes.startswith(b"\x89PNG")


def test_inches(mold_file, solved):
    done = runner.invoke(cli.app, ["close", str(mold_file), "--inches"])
    assert "up to 0.039 in open" in done.stdout


def test_bad_input_leaves_with_two_and_writes_nothing(mold_file, tmp_path):
    text = mold_file.read_text().replace('"square"', '"sqare"')
    mold_file.write_text(text)
    line = next(k for k, t in enumerate(text.splitlines(), start=1) if "sqare" in t)
    out = tmp_path / "a.json"
    done = runner.invoke(cli.app, ["close", str(mold_file), "--json", str(out)])
    assert done.exit_code == 2
    assert f"{mold_file}:{line}: block.shape: " in done.stderr
    assert done.stdout == ""
    assert not out.exists()


def test_a_missing_mold_is_bad_input(tmp_path):
    done = runner.invoke(cli.app, ["close", str(tmp_path / "none.toml")])
    assert done.exit_code == 2
    assert "none.toml" in done.stderr
    assert isinstance(done.exception, SystemExit)


@pytest.mark.parametrize(
    ("option", "name", "why"),
    [
        ("--json", "no/a.json", "there is no folder"),
        ("--figure", "no/a.png", "there is no folder"),
        ("--vtu", f"{'n' * 300}.vtu", "the name is too long"),
        ("--json", "pens.toml", "it is the file that is read"),
    ],
)
def test_a_place_that_cannot_be_written_costs_no_answer(mold_file, solved, option, name, why):
    place = mold_file.parent / name
    done = runner.invoke(cli.app, ["close", str(mold_file), option, str(place)])
    assert done.exit_code == 2
    assert done.stderr.count("\n") == 1
    assert f"{place}: cannot be written: {why}" in done.stderr
    assert done.stdout.startswith("Leaks: ")
    assert [entry.name for entry in mold_file.parent.iterdir()] == ["pens.toml"]


def test_a_place_that_cannot_be_written_is_told_before_the_solve(
    mold_file, tmp_path, monkeypatch, capsys
):
    def tell(mold, **asked):
        raise squeeze.SqueezeError("the solve begins")

    monkeypatch.setattr("squeeze.solve.refined", tell)
    asked = ["close", str(mold_file), "--json", str(tmp_path / "no" / "a.json")]
    done = runner.invoke(cli.app, asked)
    assert done.exit_code == 2
    assert [
        ("no folder" in line, line == "the solve begins") for line in done.stderr.splitlines()
    ] == [
        (True, False),
        (False, True),
    ]


def test_a_figure_of_unknown_form_is_refused(mold_file, tmp_path, monkeypatch):
    monkeypatch.setattr("squeeze.solve.refined", None)
    done = runner.invoke(cli.app, ["close", str(mold_file), "--figure", str(tmp_path / "a.gif")])
    assert done.exit_code == 2
    assert "has to end in .png, .pdf, .svg" in done.stderr
    assert done.stdout == ""


def test_errors_of_the_solve_have_no_traceback(mold_file, monkeypatch):
    def fail(mold, **asked):
        raise squeeze.SqueezeError("the section is too fine to mesh")

    monkeypatch.setattr("squeeze.solve.refined", fail)
    done = runner.invoke(cli.app, ["close", str(mold_file)])
    assert done.exit_code == 2
    assert done.stderr.strip() == "the section is too fine to mesh"


def test_new_does_not_write_over(mold_file):
    before = mold_file.read_text()
    mold_file.write_text("mine")
    done = runner.invoke(cli.app, ["new", str(mold_file)])
    assert done.exit_code == 2
    assert mold_file.read_text() == "mine"
    assert 'title = "pens"' in before


def test_new_file_is_a_good_mold(mold_file):
    mold = squeeze.load(mold_file)
    assert [c.name for c in mold.cavity] == ["barrel 1", "barrel 2"]


def test_public_names_are_there():
    for name in squeeze.__all__:
        assert getattr(squeeze, name) is not None
    with pytest.raises(AttributeError, match="nothing_such"):
        squeeze.nothing_such  # noqa: B018


def test_without_an_answer_it_says_so(mold_file, monkeypatch, made_up):
    from squeeze.solve.outcome import Outcome

    made = made_up(outcome=Outcome.NOT_FINITE, press=lambda x: np.full_like(x, np.nan)).closing()
    made = replace(made, cavities=())
    stand_in(monkeypatch, made)
    done = runner.invoke(cli.app, ["close", str(mold_file), "--strict"])
    assert done.exit_code == 1
    assert "no answer" in done.stdout
    assert "nan" not in done.stdout


def test_inches_leave_the_json_in_mm(mold_file, solved, tmp_path):
    out = tmp_path / "a.json"
    runner.invoke(cli.app, ["close", str(mold_file), "--inches", "--json", str(out)])
    assert "1.0 mm" in json.loads(out.read_text())["verdict"]["say"]


BARRELS = Path(__file__).parents[2] / "studies" / "barrels" / "barrels.toml"


@pytest.mark.slow
def test_for_real_a_square_leaves_the_middle_open(tmp_path, monkeypatch):
    found = []

    def kept(*given, **asked):
        found.append(refined(*given, **asked))
        return found[-1]

    monkeypatch.setattr("squeeze.solve.refined", kept)
    out = {kind: tmp_path / f"out.{kind}" for kind in ("json", "vtu", "png")}
    asked = ["--json", str(out["json"]), "--vtu", str(out["vtu"]), "--figure", str(out["png"])]
    done = runner.invoke(cli.app, ["close", str(BARRELS), "--strict", "--more", *asked])
    assert done.exit_code == 1, done.output
    told = json.loads(out["json"].read_text())
    assert re.search(
        "Small-strain theory gives a widest gap of 0.7[78] mm, not 0.42 mm", done.stdout
    )
    assert MORE_BANDS not in done.stdout  # it is a sentence of small deformation
    small = runner.invoke(cli.app, ["close", str(BARRELS), "--small", "--more"])
    assert MORE_BANDS in small.stdout.splitlines()
    assert [land["seals"] for land in told["lands"]] == [True, False, False, False, True]
    worst, widest = told["verdict"]["worst"], max(x["largest_gap_mm"] for x in told["lands"])
    assert (1 - ALIKE) * widest <= worst["gap_mm"] <= widest  # of both ends of the web the first
    assert done.stdout.startswith(told["verdict"]["say"])
    back = meshio.read(out["vtu"])
    moved = back.point_data["displacement_mm"][:, :2]
    np.testing.assert_allclose(moved, found[0].closing.field.displacement_mm, atol=1e-9)


@pytest.mark.slow
@pytest.mark.parametrize(("name", "most"), [("barrels", 15), ("barrels-round", 10)])
def test_the_answer_is_short(name, most):
    """Head, a line a land and a casting, the caution: no more unless asked for."""
    done = runner.invoke(cli.app, ["close", str(BARRELS.with_name(f"{name}.toml"))])
    assert done.exit_code == 0, done.output
    assert len(done.stdout.splitlines()) <= most


@pytest.mark.slow
def test_for_real_the_file_to_start_from_seals(mold_file):
    done = runner.invoke(cli.app, ["close", str(mold_file), "--strict"])
    assert done.exit_code == 0, done.output
    assert done.stdout.startswith("Clean: every land seals")


FLAT = """\
title = "Flat"
length_mm = 100
rubber = { shore_a = 20 }
block = { shape = "rectangle", width_mm = 120, height_mm = 50 }
cut = [{ path_mm = [[-60, 0], [60, 0]] }]
band = [{ tension_n_per_mm = 0.6 }]
[[cavity]]
shape = "round"
diameter_mm = 12
centre_mm = [-24, 0]
[[cavity]]
shape = "round"
diameter_mm = 12
centre_mm = [24, 0]
"""


@pytest.mark.slow
def test_for_real_the_changed_mold_does_what_the_advice_says(tmp_path):
    """Advice is asked for, its first change written; that file seals, the first one does not."""
    first, better, out = (tmp_path / name for name in ("flat.toml", "better.toml", "a.json"))
    first.write_text(FLAT)
    asked = ["close", str(first), "--advise", "--changed", str(better), "--json", str(out)]
    done = runner.invoke(cli.app, [*asked, "--strict"])
    assert done.exit_code == 1, done.output
    assert "seals instead of 1 leak" in done.stdout
    claimed = json.loads(out.read_text())["advice"]["changes"][0]["after"]
    done = runner.invoke(cli.app, ["close", str(better), "--strict", "--json", str(out)])
    assert done.exit_code == 0, done.output
    got = json.loads(out.read_text())
    assert got["variations"]["given"] == claimed


def test_variations_flash_and_rubber_are_told(mold_file, solved):
    done = runner.invoke(cli.app, ["close", str(mold_file), "--more"])
    for words in ("12 variations", "Flash: heavy flash", "Rubber: this block", "Leak: "):
        assert words in done.stdout


def test_nothing_to_change_is_no_error(mold_file, tmp_path):
    """The verdict and the JSON are there whether or not a change makes the mold better."""
    text = mold_file.read_text().replace('"square"', '"round"').replace("width_mm", "diameter_mm")
    mold_file.write_text(text.replace("bevel_mm = 15", "").replace("count = 8", "count = 3"))
    out, better = tmp_path / "a.json", tmp_path / "b.toml"
    better.write_text("mine")
    asked = ["close", str(mold_file), "--advise", "--changed", str(better), "--json", str(out)]
    done = runner.invoke(cli.app, asked)
    assert done.exit_code == 0, done.output
    assert done.stdout.startswith(json.loads(out.read_text())["verdict"]["say"])
    assert f"There is nothing to write to {better}" in done.stdout
    assert better.read_text() == "mine"


ODD = """\
title = '$\\frac{$ [bold]x'
length_mm = 100
rubber = { shore_a = 20 }
block = { shape = "square", width_mm = 80, bevel_mm = 5 }
cut = [{ name = '<b>&"] א', path_mm = [[-40, 0], [40, 0]] }]
band = [{ tension_n_per_mm = 0.6 }]
[[cavity]]
name = "$_[/] 🚀 %%d"
shape = "round"
diameter_mm = 12
centre_mm = [0, 0]
"""


@pytest.mark.slow
def test_for_real_odd_names_come_through_every_output(tmp_path):
    mold, out = tmp_path / "odd.toml", tmp_path / "out"
    out.mkdir()
    mold.write_text(ODD, encoding="utf-8")
    names = squeeze.load(mold).cavity[0].name, squeeze.load(mold).cut[0].name
    files = {"figure": "a.svg", "json": "a.json", "vtu": "a.vtu", "changed": "b.toml"}
    asked = [part for key, name in files.items() for part in (f"--{key}", str(out / name))]
    done = runner.invoke(cli.app, ["close", str(mold), *asked])
    assert done.exit_code == 0, done.output
    assert f"'{names[0]}'" in done.stdout
    told = json.loads((out / "a.json").read_text())
    assert [land["cut"] for land in told["lands"]] == [names[1]] * 2
    asked = ["--templates", str(out), "--take", str(out / "c.toml"), "--figure", str(out / "c.pdf")]
    done = runner.invoke(cli.app, ["cradle", str(mold), *asked])
    assert done.exit_code == 0, done.output


@pytest.mark.parametrize(
    ("option", "text", "said"),
    [
        ("--thickness", "1/32", '--thickness: "1/32" given; give 0.0787 to 7.87 inches'),
        ("--rise", "thick", '--rise: "thick" given; give 0.0197 to 7.87 inches'),
    ],
)
def test_lengths_of_options_are_read_in_inches(option, text, said):
    asked = ["cradle", "studies/barrels/barrels.toml", "--inches", option, text]
    done = CliRunner().invoke(cli.app, asked)
    assert done.exit_code == 2
    assert said in done.output


def test_a_length_of_an_option_is_mm_unless_inches_are_asked_for():
    assert length_given(None, "--rise", 1, 200, True) is None
    assert length_given("3/4", "--rise", 1, 200, True) == pytest.approx(19.05)
    assert length_given("12.5", "--rise", 1, 200, False) == 12.5
    with pytest.raises(BadInput, match="give 1 to 200 mm"):
        length_given("3/4", "--rise", 1, 200, False)
