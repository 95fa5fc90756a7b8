"""Whole jobs, by keyboard and by mouse alone: a demo opened, changed, read, saved, printed."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

import squeeze
from squeeze.mold import mold_of

SIZES = [(1440, 900), (1024, 768), (390, 844)]
FRESH = "#dialog button:has-text('Start a new mold')"
SHEET = "[aria-label='Bench sheet as PDF on A4']"
MOST_TABS = 200


def tab_to(page: Any, selector: str) -> None:
    """Press Tab until what is named has the focus."""
    for _ in range(MOST_TABS):
        if page.locator(f"{selector}:focus").count():
            return
        page.keyboard.press("Tab")
    raise AssertionError(f"{selector} is not reached with the Tab key")


def in_view(page: Any, selector: str) -> bool:
    """Return whether something lies within the window, whole and uncovered in its middle."""
    return page.evaluate(
        """(wanted) => { const node = document.querySelector(wanted);
            const { left, top, right, bottom } = node.getBoundingClientRect();
            const hit = document.elementFromPoint((left + right) / 2, (top + bottom) / 2);
            return left >= 0 && top >= 0 && right <= innerWidth && bottom <= innerHeight
              && Boolean(hit) && (node.contains(hit) || hit.contains(node)); }""",
        selector,
    )


def saved(waiting: Any, folder: Path) -> Path:
    """Return a file that the browser saved."""
    path = folder / waiting.value.suggested_filename
    waiting.value.save_as(path)
    return path


def check(page: Any, rules: Any, file: Path) -> None:
    """Check the end of a job: the verdict in view, the mold in the file, no rule broken."""
    mold = mold_of(page.kept())
    assert squeeze.load(file) == mold
    assert mold.block.width_mm == 110
    assert len(mold.cut) == 2
    page.evaluate("scrollTo(0, 0)")
    page.settled()
    assert page.said() == page.said_of(mold)
    assert in_view(page, "#say")
    assert page.evaluate("document.documentElement.scrollWidth - innerWidth") <= 0
    assert rules(page) == []


@pytest.mark.parametrize("size", SIZES, ids=str)
def test_by_keyboard_alone(opened, rules, tmp_path: Path, size: tuple[int, int]) -> None:
    page = opened(size, color_scheme="light", reduced_motion="reduce")
    tab_to(page, "#open")
    page.keyboard.press("Enter")
    page.until("document.querySelector('#dialog').open")
    tab_to(page, FRESH)
    page.keyboard.press("Enter")
    page.until("document.querySelector('#of').textContent === 'Two pen barrels'")
    tab_to(page, "#field-block-width-mm")
    page.keyboard.press("Control+a")
    page.keyboard.type("110")
    tab_to(page, "#panel [data-key='cut more']")
    page.keyboard.press("Enter")
    page.answered()
    with page.expect_download() as waiting:
        page.keyboard.press("Control+s")
    file = saved(waiting, tmp_path)
    tab_to(page, "#paper")
    page.keyboard.press("Enter")
    tab_to(page, SHEET)
    assert in_view(page, SHEET)
    if size == SIZES[0]:
        with page.expect_download() as waiting:
            page.keyboard.press("Enter")
        assert saved(waiting, tmp_path).read_bytes().startswith(b"%PDF")
    page.keyboard.press("Escape")
    page.until("!document.querySelector('#dialog').open")
    check(page, rules, file)


@pytest.mark.parametrize("size", SIZES, ids=str)
def test_by_mouse_alone(opened, rules, tmp_path: Path, size: tuple[int, int]) -> None:
    page = opened(size, color_scheme="dark", reduced_motion="reduce")
    page.click("#open")
    page.click(FRESH)
    page.until("document.querySelector('#of').textContent === 'Two pen barrels'")
    page.answered()
    page.evaluate("scrollTo(0, 0)")
    page.locator("#section").scroll_into_view_if_needed()
    scale = page.evaluate("document.querySelector('#section').getScreenCTM().a")
    width = page.kept()["block"]["width_mm"]
    page.drag("#section .handle.side", scale * (110 - width) / 2, 0)
    assert page.kept()["block"]["width_mm"] == pytest.approx(110, abs=1.1)
    page.drag("#section .handle.side", scale * (110 - page.kept()["block"]["width_mm"]) / 2, 0)
    page.check("#draw-cut")
    box = page.locator("#section").bounding_box()
    scale = page.evaluate("document.querySelector('#section').getScreenCTM().a")
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2 + 20 * scale
    page.mouse.move(x - 60 * scale, y)
    page.mouse.down()
    page.mouse.move(x + 60 * scale, y, steps=3)
    page.mouse.up()
    page.answered()
    with page.expect_download() as waiting:
        page.click("#save")
    file = saved(waiting, tmp_path)
    page.click("#paper")
    page.locator(SHEET).scroll_into_view_if_needed()
    assert in_view(page, SHEET)
    page.click("#dialog .close")
    check(page, rules, file)
