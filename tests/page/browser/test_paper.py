"""Sheet, figure and templates leave the page as files; why a casting flashed."""

from __future__ import annotations

from io import BytesIO
from pathlib import Path
from zipfile import ZipFile

import pytest
from pypdf import PdfReader

import squeeze
from squeeze.show.sheet.contents import sheet_of
from squeeze.show.sheet.html import as_html
from squeeze.verdict import judge

SMALL = """length_mm = 60
title = "A small one"
[rubber]
shore_a = 20
[block]
shape = "square"
width_mm = 60
bevel_mm = 8
[[cavity]]
name = "left"
shape = "round"
diameter_mm = 10
centre_mm = [0, 0]
[[cut]]
name = "across" # with the long knife
path_mm = [[-30, 0], [30, 0]]
[[band]]
tension_n_per_mm = 0.1
[[cradle]]
name = "lid"
covers = "top"
thickness_mm = 12
material = "plywood"
"""


def test_sheet_figure_and_templates_are_saved(opened, tmp_path: Path) -> None:
    page = opened()
    (tmp_path / "small.toml").write_text(SMALL)
    page.set_input_files("#file", tmp_path / "small.toml")
    page.until("document.querySelector('#of').textContent === 'A small one'")
    page.answered()
    page.click("#paper")
    for button, name, start in (
        ("Bench sheet as PDF on A4", "a-small-one-sheet.pdf", b"%PDF"),
        ("Figure as PNG", "a-small-one.png", b"\x89PNG"),
        ("Figure as SVG", "a-small-one.svg", b"<?xml"),
        ("Templates of the cradle, A4", "a-small-one-templates.zip", b"PK"),
    ):
        with page.expect_download() as waiting:
            page.click(f'[aria-label="{button}"]')
        assert waiting.value.suggested_filename == name
        waiting.value.save_as(tmp_path / name)
        assert (tmp_path / name).read_bytes().startswith(start)
    with ZipFile(tmp_path / "a-small-one-templates.zip") as archive:
        names = set(archive.namelist())
    assert {"templates-a4.pdf", "lid.svg"} <= names
    page.keyboard.press("Escape")
    page.click("text=Search for the cause")
    page.wait_for_selector("ol.causes li")  # those of the air are an ul
    assert page.inner_text(".found-say:has(+ ol.causes)")
    page.click("[aria-label=\"Take the cut 'across' away\"]")
    page.answered()
    page.click("#save")
    page.wait_for_selector("#dialog .lost")
    assert page.inner_text("#dialog .lost") == "# with the long knife"
    with page.expect_download() as waiting:
        page.click("text=Save without them")
    waiting.value.save_as(tmp_path / "saved.toml")
    saved = (tmp_path / "saved.toml").read_text()
    assert 'shape = "square"\nwidth_mm = 60\n' in saved
    assert "knife" not in saved


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_the_sheet_as_html_prints_on_one_side(chromium, paper) -> None:
    """Four boards about a block, its bar 100 mm long and its cautions on the same side."""
    file = Path(__file__).parents[3] / "studies" / "cradles" / "boards.toml"
    mold = squeeze.load(file)
    closing = squeeze.close(mold, deformation="small", fineness=0.5, check=False)
    verdict = judge(closing, mold=mold)
    html = as_html(sheet_of(mold, closing, verdict, file=file.name, date="2026-01-02"), paper)
    tab = chromium.new_page()
    tab.set_content(html)
    tab.emulate_media(media="print")
    bar = tab.locator(".bar").bounding_box()["width"]
    pages = PdfReader(BytesIO(tab.pdf(prefer_css_page_size=True))).pages
    tab.close()
    assert len(pages) == 1
    assert "cut-resistant glove" in " ".join(pages[0].extract_text().split())
    assert bar == pytest.approx(100 * 96 / 25.4, abs=0.2)
