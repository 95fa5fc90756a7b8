"""The wheel holds all that the commands need, and does the main job in an empty folder."""

from __future__ import annotations

import os
import re
import subprocess
import sysconfig
import tomllib
import venv
import zipfile
from pathlib import Path

import pytest
from hatchling.builders.wheel import WheelBuilder

import squeeze
from squeeze.study.gallery import files_of, gallery, shipped

TOP = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def wheel(tmp_path_factory) -> Path:
    folder = tmp_path_factory.mktemp("wheel")
    (path,) = WheelBuilder(str(TOP)).build(directory=str(folder), versions=["standard"])
    return Path(path)


def test_the_wheel_has_the_version_that_the_program_tells(wheel):
    project = tomllib.loads((TOP / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    assert project["version"] == squeeze.__version__
    assert wheel.name == f"squeeze_mold-{squeeze.__version__}-py3-none-any.whl"


def test_the_change_log_begins_with_the_version():
    text = (TOP / "docs" / "changes.md").read_text(encoding="utf-8")
    assert re.findall(r"^## (\S+)", text, re.M)[0] == squeeze.__version__


def test_the_wheel_holds_the_program_its_page_and_its_studies(wheel):
    held = set(zipfile.ZipFile(wheel).namelist())
    package = {
        path.relative_to(TOP).as_posix()
        for path in (TOP / "squeeze").rglob("*")
        if path.is_file() and "__pycache__" not in path.parts
    }
    studies = {
        f"squeeze/shipped/studies/{name}/{path.name}"
        for name, folder in gallery().items()
        for path in files_of(folder)
    }
    assert package <= held
    assert studies <= held
    lessons = {f"squeeze/shipped/lessons/{path.name}" for path in shipped("lessons").iterdir()}
    assert len(lessons) >= 9  # three lessons, each with its sheets for the class
    assert lessons <= held
    strange = {name for name in held if name.endswith((".sqlite", ".part", ".pyc"))}
    assert not strange


@pytest.mark.slow
def test_the_wheel_does_the_main_job_in_an_empty_folder(wheel, tmp_path):
    """The libraries are those at hand; the program itself is the wheel's."""
    home, folder = tmp_path / "env", tmp_path / "empty"
    folder.mkdir()
    venv.create(home, with_pip=True)
    bin_ = home / ("Scripts" if os.name == "nt" else "bin")
    _run([bin_ / "python", "-m", "pip", "install", "-q", "--no-deps", "--no-index", wheel], folder)
    site = Path(
        _run([bin_ / "python", "-c", "import site; print(site.getsitepackages()[0])"], home)
    )
    libraries = sysconfig.get_paths()["purelib"]
    (site / "libraries.pth").write_text(libraries + "\n", encoding="utf-8")
    where = _run([bin_ / "python", "-c", "import squeeze; print(squeeze.__file__)"], folder)
    assert Path(where).is_relative_to(site)

    squeeze_ = bin_ / "squeeze"
    assert "Next: squeeze close barrels.toml" in _run([squeeze_, "new", "barrels"], folder)
    told = _run([squeeze_, "close", "barrels.toml", "--figure", "barrels.png"], folder)
    assert re.match("Clean|Fine line|Flash|Leaks", told)
    assert (folder / "barrels.png").stat().st_size > 10_000
    _run([squeeze_, "new", "corners", "--study", "corners"], folder)
    assert "missing" in _run([squeeze_, "study", "corners", "--status"], folder)


def _run(command: list[object], folder: Path) -> str:
    clean = {key: value for key, value in os.environ.items() if key != "PYTHONPATH"}
    done = subprocess.run(
        [str(part) for part in command], cwd=folder, env=clean, capture_output=True, text=True
    )
    assert done.returncode == 0, done.stderr
    return done.stdout.strip()
