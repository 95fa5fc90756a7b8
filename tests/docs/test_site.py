"""The site: it is built without a warning, asks for nothing from outside, and can be searched."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest

from squeeze.show.export import as_json
from squeeze.verdict import judge

TOP = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def site(tmp_path_factory) -> Path:
    pytest.importorskip("sphinx", reason="the site wants .[docs]")
    pytest.importorskip("myst_parser", reason="the site wants .[docs]")
    made = tmp_path_factory.mktemp("site")
    command = [sys.executable, "-m", "sphinx", "-q", "-W", "-c", "docs", ".", str(made)]
    done = subprocess.run(command, cwd=TOP, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    return made


@pytest.mark.slow
def test_the_site_asks_for_nothing_from_outside(site):
    for page in site.rglob("*.html"):
        text = page.read_text(encoding="utf-8")
        assert not re.findall(r'(?:src|<link[^>]* href)="https?://[^"]*"', text), page


@pytest.mark.slow
def test_the_site_can_be_searched_offline(site):
    index = (site / "searchindex.js").read_text(encoding="utf-8")
    assert index.startswith("Search.setIndex(")
    assert '"bevel' in index


@pytest.mark.slow
def test_the_site_has_the_studies_with_their_pictures(site):
    page = (site / "studies" / "outlines" / "README.html").read_text(encoding="utf-8")
    (name,) = re.findall(r'src="([^"]*closing[^"]*\.png)"', page)
    assert (site / "studies" / "outlines" / name).resolve().is_file()


def test_the_page_of_json_names_every_key(gaping):
    told = (TOP / "docs" / "json.md").read_text(encoding="utf-8")
    data = as_json(gaping, judge(gaping))
    parts = [data, data["lands"][0], data["cavities"][0], data["verdict"], data["trust"]]
    missing = {key for part in parts for key in part if f"`{key}`" not in told}
    assert not missing
