"""Links and pictures of all pages lead somewhere; every page of the site can be reached."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

TOP = Path(__file__).parents[2]
PAGES = sorted(
    [
        TOP / "README.md",
        TOP / "DEVELOPERS.md",
        *(TOP / "docs").glob("*.md"),
        *(TOP / "studies").rglob("*.md"),
    ]
)
LINK = re.compile(r"!?\[[^\]]*\]\(([^)\s]+)\)", re.DOTALL)
FENCE = re.compile(r"^( *)```.*?^\1```$", re.MULTILINE | re.DOTALL)


def prose(page: Path) -> str:
    """Return a page without its blocks of code."""
    return FENCE.sub("", page.read_text(encoding="utf-8"))


def anchors(page: Path) -> set[str]:
    """Return the anchors that the headings of a page get, here and on the site."""
    heads = re.findall(r"^#+ (.*)$", prose(page), re.MULTILINE)
    plain = (re.sub(r"[^\w\- ]", "", LINK.sub("", head).lower()) for head in heads)
    return {text.strip().replace(" ", "-") for text in plain}


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.relative_to(TOP).as_posix())
def test_links_lead_somewhere(page):
    text = prose(page)
    for target in LINK.findall(text):
        if target.startswith(("http://", "https://", "mailto:")):
            continue
        name, _, anchor = target.partition("#")
        place = (page.parent / name).resolve() if name else page
        assert place.exists(), f"{target}: nothing there"
        if anchor:
            assert anchor in anchors(place), f"{target}: no such heading"


def test_every_page_is_in_the_navigation():
    index = (TOP / "docs" / "index.md").read_text(encoding="utf-8")
    listed = {
        line
        for block in re.findall(r"```{toctree}(.*?)```", index, re.DOTALL)
        for line in block.split()
    }
    for page in (TOP / "docs").glob("*.md"):
        assert page.stem == "index" or page.stem in listed, f"{page.name} cannot be reached"


def test_every_page_for_casters_and_teachers_carries_the_cautions():
    for name in ("index", "first-mold", "kinds", "teach", "trust", "section", "why", "verdict"):
        assert "cautions.md" in (TOP / "docs" / f"{name}.md").read_text(encoding="utf-8"), name


def test_the_readme_is_short_and_begins_with_the_job():
    lines = (TOP / "README.md").read_text(encoding="utf-8").splitlines()
    assert len(lines) < 120
    first_screen = "\n".join(lines[:40])
    assert "wide-square.png" in first_screen
    assert "squeeze close studies/barrels/barrels.toml" in first_screen
    assert re.search(r"^(Clean|Fine line|Flash|Leaks): ", first_screen, re.MULTILINE)


def test_every_picture_is_made_by_the_program():
    """By a study, by a command that stands on the page, or by a script of the studies."""
    scripts = "".join(path.read_text(encoding="utf-8") for path in TOP.glob("studies/*.py"))
    stories = re.search(r"^OUTLINES = .*$", scripts, re.MULTILINE)
    assert stories is not None
    drawn = {
        f"{story}-{name}.png"
        for story in ("wide", "barrels")
        for name in re.findall(r'"(\w+)":', stories[0])
    }
    drawn |= set(re.findall(r'PICTURES / "([\w-]+\.png)"', scripts))
    for page in PAGES:
        text = page.read_text(encoding="utf-8")
        for name in re.findall(r"!\[[^\]]*\]\(([^)\s]+)\)", prose(page)):
            picture = (page.parent / name).resolve()
            if picture.parent == TOP / "docs" / "pictures":
                assert picture.name in drawn, picture
            elif (picture.parent / "study.toml").is_file():
                study = (picture.parent / "study.toml").read_text(encoding="utf-8")
                made = f'file = "{picture.name}"' in study
                assert made or f"--figure {picture.name}" in text, picture
            else:
                searched = rf"squeeze design \S*\b{picture.stem}\.toml"  # draws what it found
                assert re.search(searched, text), f"{picture}: nothing says how it is made"
