"""The length of the block: bands are put, moved and counted on its side view."""

from __future__ import annotations


def test_bands_are_moved_along_the_block_and_the_answer_follows(opened) -> None:
    page = opened()
    page.view("Length")
    page.until("document.querySelector('.length .say').textContent.includes('own 8 bands')")
    assert page.locator(".strand").count() == 8
    before = page.kept()["band"]
    assert page.locator(".side-view .cell").count() > 3
    page.click("text=Add a band")
    page.until("document.querySelector('.length .say').textContent.includes('own 9 bands')")
    assert len(page.kept()["band"][0]["at_mm"]) == 9
    assert "count" not in page.kept()["band"][0]
    first = page.kept()["band"][0]["at_mm"][0]
    page.focus(".strand >> nth=0")
    page.keyboard.press("ArrowRight")
    assert page.kept()["band"][0]["at_mm"][0] == round(first) + 1
    page.drag(".strand >> nth=0 >> .target", -60, 0)
    assert page.kept()["band"][0]["at_mm"][0] < first
    page.focus(".strand >> nth=0")
    page.keyboard.press("Delete")
    page.until("document.querySelector('.length .say').textContent.includes('own 8 bands')")
    page.click("text=Spread evenly")
    page.until("document.querySelectorAll('.strand').length === 8")
    assert page.kept()["band"] == before
