"""The view for a class."""

from __future__ import annotations

VIEWS = ("Section", "Trace", "Teach", "Studies")
WIDE, SLATE, NARROW = (1280, 900), (820, 1100), (320, 640)


def test_the_class_sees_square_become_round(opened) -> None:
    page = opened()
    page.click(".views >> text=Teach")
    page.wait_for_function(
        "() => document.querySelector('.teach .say').textContent.includes('seal')"
    )
    assert "do not seal" in page.inner_text(".teach .say")
    arrows = page.locator(".teach .arrow").count()
    assert arrows == 4  # a square's bands push at its corners alone
    page.fill("#teach-round", "100")
    page.wait_for_function(
        "() => document.querySelector('.teach .say').textContent.startsWith('Every land seals')"
    )
    assert page.locator(".teach .arrow").count() > 20
    assert "100 %" in page.inner_text(".big")
    size = page.eval_on_selector(
        ".teach .say", "node => parseFloat(getComputedStyle(node).fontSize)"
    )
    assert size >= 28
    page.again()
    assert page.input_value("#teach-round") == "100"
