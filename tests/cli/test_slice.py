"""`squeeze slice` from a model on disk to the sheet: the same air everywhere, cuts with a bow."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from typer.testing import CliRunner

import squeeze
from squeeze.cli.commands import app
from squeeze.mold import dict_of
from squeeze.page.answers.answer import answer
from squeeze.solve import Closing, Refined
from squeeze.verdict.air.pockets import air_of
from squeeze.verdict.quantities import shrinkage_of

trimesh: Any = pytest.importorskip("trimesh")

RUN = CliRunner()
BANDS = """
[[band]]
stock = "64"
count = 3
"""


@dataclass(frozen=True)
class ClosedForm:
    """A model, how it lies, where its sprue is, and the air that it keeps.

    Attributes
    ----------
    make : callable
        Returns the mesh.
    options : tuple of str
        Of `squeeze slice`.
    sprue_mm : (x, y)
    air_mm3 : float
    share : float
        How far the grid may be off.
    """

    make: Callable[[], Any]
    options: tuple[str, ...]
    sprue_mm: tuple[float, float]
    air_mm3: float
    share: float


def inverted_cup() -> Any:
    """Return a bowl with a post in its middle: the post fills from below and has no way out."""
    profile = [(0, 0), (30, 0), (30, 26), (24, 26), (24, 6), (10, 6), (10, 26), (0, 26)]
    return trimesh.creation.revolve(np.array(profile, float), sections=96)


def u_tube() -> Any:
    """Return two arms of 10 x 40 mm on a foot, 60 mm long."""
    ring = np.array([(-30, -25), (30, -25), (30, 25), (20, 25), (20, -15), (-20, -15), (-20, 25),
                     (-30, 25)], float)  # fmt: skip
    cap = [(0, 5, 7), (5, 6, 7), (0, 1, 4), (0, 4, 5), (1, 2, 4), (2, 3, 4)]
    return trimesh.creation.extrude_triangulation(ring, np.array(cap), 60.0)


BIG, SMALL, TILT = 30.0, 8.0, math.radians(20)
LEVEL = SMALL - BIG * math.sin(TILT)
"""The sprue stands on the ridge of the ring's low side, at this height."""


def ring() -> Any:
    """Return a torus that lies flat."""
    return trimesh.creation.torus(BIG, SMALL, major_sections=128, minor_sections=64)


def _above_the_sprue() -> float:
    """Return what of the tilted ring lies above its sprue, by quadrature [mm3]."""
    n, whole = (240, 120, 40), (math.tau, math.tau, SMALL)
    middles = ((np.arange(k) + 0.5) * full / k for k, full in zip(n, whole, strict=True))
    phi, theta, rho = np.meshgrid(*middles, indexing="ij")
    out = BIG + rho * np.cos(theta)
    high = out * np.cos(phi) * math.sin(TILT) + rho * np.sin(theta) * math.cos(TILT)
    cell = math.prod(full / k for k, full in zip(n, whole, strict=True))
    return float(np.sum(out * rho * (high > LEVEL)) * cell)


CLOSED_FORMS = {
    "inverted cup": ClosedForm(
        inverted_cup, ("--axis", "x"), (27, 13), math.pi * 10**2 * 20, 0.05
    ),
    "U-tube": ClosedForm(u_tube, ("--axis", "z"), (-25, 25), 10 * 40 * 60, 0.05),
    "tilted ring": ClosedForm(
        ring, ("--axis", "x", "--turn", "20"), (-BIG * math.cos(TILT), LEVEL), _above_the_sprue(),
        0.1,
    ),
}  # fmt: skip


def run(*words: object) -> str:
    done = RUN.invoke(app, [str(word) for word in words])
    assert done.exit_code == 0, done.output
    return " ".join(done.output.split())


@dataclass
class Still:
    """A block that gives the same closing for any load."""

    closing: Closing
    mold: squeeze.Mold

    @property
    def section(self):
        return self.closing.section

    def close(self, loads=None, **case):
        return self.closing


@pytest.fixture
def asked(monkeypatch) -> list[squeeze.Mold]:
    """Close every mold as one coarse small one: these tests are about air and cuts."""
    small = squeeze.mold_of(
        {
            "length_mm": 50,
            "rubber": {"shore_a": 20},
            "block": {"shape": "round", "diameter_mm": 40},
            "cavity": [{"shape": "round", "diameter_mm": 10}],
            "cut": [{"path_mm": [[-20, 0], [20, 0]]}],
            "band": [{"stock": "31", "count": 3}],
        }
    )
    closing = squeeze.close(small, deformation="small", fineness=0.35)
    molds: list[squeeze.Mold] = []

    def refined(mold: squeeze.Mold, **more: Any) -> Refined:
        molds.append(mold)
        return Refined(Still(closing, mold), closing)  # type: ignore[arg-type]

    monkeypatch.setattr("squeeze.solve.refined", refined)
    return molds


def sliced(folder: Path, form: ClosedForm) -> Path:
    """Write a mold file with `squeeze slice`, and give it the sprue of the closed form."""
    (folder / "models").mkdir()
    form.make().export(folder / "models" / "a.stl")
    file = folder / "m.toml"
    run("slice", folder / "models" / "a.stl", "--units", "mm", *form.options, "--out", file)
    x, y = form.sprue_mm
    with file.open("a") as opened:
        opened.write(f"\n[sprue]\ndiameter_mm = 6\nheight_mm = 30\nat_mm = [{x}, {y}]\n")
    return file


@pytest.mark.parametrize(
    "name",
    [
        "U-tube",
        pytest.param("inverted cup", marks=pytest.mark.slow),
        pytest.param("tilted ring", marks=pytest.mark.slow),
    ],
)
def test_sheet_page_and_json_tell_the_air_of_the_model_itself(tmp_path, asked, name):
    form = CLOSED_FORMS[name]
    file = sliced(tmp_path, form)
    run("close", file, "--json", tmp_path / "a.json")
    air = json.loads((tmp_path / "a.json").read_text())["air"]
    assert (air["source"], air["note"]) == ("models", "")
    (pocket,) = air["pockets"]
    assert pocket["volume_mm3"] == pytest.approx(form.air_mm3, rel=form.share)
    page = {"do": "air", "mold": dict_of(squeeze.load(file)), "folder": str(tmp_path)}
    status, said = answer(page)
    assert status == 200
    assert said["volume_mm3"] == pytest.approx(pocket["volume_mm3"])
    assert said["pockets"][0]["at_mm"] == pytest.approx(pocket["at_mm"])
    run("sheet", file, "--html", "--out", tmp_path / "a.html")
    html = (tmp_path / "a.html").read_text()
    told = re.findall(r"<dt>Air</dt><dd>([\d.]+) cm3 caught in", html)
    assert [float(v) for v in told] == [round(pocket["volume_mm3"] / 1000, 1)]
    x, y, along = pocket["at_mm"]
    x0, y0, _, _ = (v / 2 for v in box_of(file))
    assert f"{round(x + x0):g} from left, {round(y + y0):g} from below, {round(along):g} mm" in html


def box_of(file: Path) -> tuple[float, float, float, float]:
    block = squeeze.load(file).block
    assert block.width_mm is not None
    assert block.height_mm is not None
    return block.width_mm, block.height_mm, 0.0, 0.0


@pytest.mark.slow
def test_without_the_model_the_stations_are_looked_at_and_that_is_said(tmp_path, asked):
    form = CLOSED_FORMS["U-tube"]
    file = sliced(tmp_path, form)
    (tmp_path / "models" / "a.stl").unlink()
    run("close", file, "--json", tmp_path / "a.json")
    air = json.loads((tmp_path / "a.json").read_text())["air"]
    assert air["source"] == "stations"
    assert air["note"] == (
        "The model 'models/a.stl' is not there any more: air is looked for in 11 stations, each for"
        " its part of the length"
    )
    assert sum(p["volume_mm3"] for p in air["pockets"]) == pytest.approx(form.air_mm3, rel=0.05)
    run("sheet", file, "--html", "--out", tmp_path / "a.html")
    assert air["note"].split(":")[1] in (tmp_path / "a.html").read_text()
    status, said = answer({"do": "air", "mold": dict_of(squeeze.load(file))})
    assert status == 200
    assert said["note"].startswith("The models are not read here: air is looked for in 11 stations")


@pytest.mark.slow
def test_a_model_that_is_not_that_of_the_cavities_is_left_alone(tmp_path):
    file = sliced(tmp_path, CLOSED_FORMS["U-tube"])
    text = file.read_text()
    assert air_of(squeeze.load(file), tmp_path).source == "models"
    moved = text.replace("at_mm = [-30.0, -25.0]", "at_mm = [-26.0, -25.0]")
    assert moved != text
    file.write_text(moved)
    note = air_of(squeeze.load(file), tmp_path).note
    assert "are not those of the model any more: air is looked for in 11 stations" in note
    (tmp_path / "models" / "a.stl").write_text("nothing")
    file.write_text(text)
    assert air_of(squeeze.load(file), tmp_path).note.startswith("A model cannot be used: ")


def test_the_page_reads_no_model_outside_of_the_folder_of_its_file(tmp_path):
    file = sliced(tmp_path, CLOSED_FORMS["U-tube"])
    inner = tmp_path / "inner"
    inner.mkdir()
    mold = dict_of(squeeze.load(file))
    mold["model"] = [dict(mold["model"][0], file="../models/a.stl")]
    _, said = answer({"do": "air", "mold": mold, "folder": str(inner)})
    assert said["note"].startswith("The model '../models/a.stl' lies outside of the mold's folder")
    assert said["source"] == "stations"


def test_slice_says_what_it_found_and_writes_a_file_that_closes(tmp_path, asked, monkeypatch):
    monkeypatch.chdir(tmp_path)
    trimesh.creation.icosphere(subdivisions=3, radius=12).export("ball.stl")
    told = RUN.invoke(app, ["slice", "ball.stl"])
    assert told.exit_code == 2
    assert "probably: --units mm" in " ".join(told.output.split())
    said = run("slice", "ball.stl", "--units", "mm", "--stations", 5, "--wall", 10)
    assert said.startswith("Wrote ball.toml. Add bands, then: squeeze close ball.toml")
    assert "ball: 24.0 x 24.0 x 24.0 mm" in said
    assert "Sections at 12.4 to 31.6 mm along the block: 5 of them" in said
    assert "The parting line runs level along the block." in said
    assert (
        "Nothing is undercut against this parting line. Undercuts narrower than 0.25 mm are" in said
    )
    assert "No place keeps air" in said
    again = RUN.invoke(app, ["slice", "ball.stl", "--units", "mm"])
    assert again.exit_code == 2
    assert "this file is there already" in " ".join(again.output.split())
    with Path("ball.toml").open("a") as opened:
        opened.write(BANDS)
    run("close", "ball.toml", "--json", "a.json")
    found = json.loads(Path("a.json").read_text())
    assert found["air"]["pockets"] == []
    volume = found["quantities"]["cavities_cm3"] * 1000
    assert volume == pytest.approx(4 / 3 * math.pi * 12**3, rel=0.03)


def test_shrinkage_bows_the_cuts_of_a_sliced_mold(tmp_path, asked):
    trimesh.creation.icosphere(subdivisions=3, radius=12).export(tmp_path / "ball.stl")
    file = tmp_path / "ball.toml"
    run("slice", tmp_path / "ball.stl", "--units", "mm", "--stations", 3, "--out", file)
    text = file.read_text().replace("shore_a = 20.0", "shore_a = 20.0\nshrinkage_percent = 0.5")
    file.write_text(text + BANDS)
    wanted = dict(shrinkage_of(squeeze.load(file)).bow_mm)  # type: ignore[union-attr]
    assert min(wanted.values()) > 0
    run("close", file)
    run("close", file, "--shrinkage")
    plain, bowed = asked
    assert {cut.bow_mm for cut in plain.cut} == {0.0}
    assert {cut.name: cut.bow_mm for cut in bowed.cut} == pytest.approx(wanted)


@pytest.mark.slow
def test_shrinkage_opens_the_cut_of_a_sliced_ball(tmp_path):
    """The land starts with its bow, so under the same bands it presses less in its middle."""
    trimesh.creation.icosphere(subdivisions=3, radius=12).export(tmp_path / "ball.stl")
    file = tmp_path / "ball.toml"
    run("slice", tmp_path / "ball.stl", "--units", "mm", "--stations", 3, "--out", file)
    text = file.read_text().replace("shore_a = 20.0", "shore_a = 20.0\nshrinkage_percent = 2")
    file.write_text(text + BANDS)
    middle = []
    for number, more in enumerate(((), ("--shrinkage",))):
        run("close", file, "--small", *more, "--json", tmp_path / f"{number}.json")
        lands = json.loads((tmp_path / f"{number}.json").read_text())["lands"]
        middle.append([land["pressure_kpa"][len(land["pressure_kpa"]) // 2] for land in lands])
    plain, bowed = np.array(middle)
    assert len(plain) == 2
    assert (bowed < 0.95 * plain).all()
