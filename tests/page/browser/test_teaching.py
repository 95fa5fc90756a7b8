"""The view for a class."""

from __future__ import annotations

from squeeze.mold import mold_of

VIEWS = ("Section", "Trace", "Teach", "Studies")
WIDE, SLATE, NARROW = (1280, 900), (820, 1100), (320, 640)


def test_the_class_sees_square_become_round(opened) -> None:
    page = opened()
    page.click(".views >> text=Teach")
    page.wait_for_function("() => document.querySelector('.teach .say').textContent.includes(': ')")
    assert page.inner_text(".teach .say").startswith("Leaks")
    arrows = page.locator(".teach .arrow").count()
    assert arrows == 4  # a square's bands push at its corners alone
    page.fill("#teach-round", "100")
    page.wait_for_function(
        "() => document.querySelector('.teach .say').textContent.startsWith('Clean')"
    )
    assert page.locator(".teach .arrow").count() > 20
    assert "100 %" in page.inner_text(".big")
    size = page.eval_on_selector(
        ".teach .say", "node => parseFloat(getComputedStyle(node).fontSize)"
    )
    assert size >= 28
    page.again()
    assert page.input_value("#teach-round") == "100"


def test_a_lesson_is_chosen_pulled_harder_and_taken_to_the_section(opened) -> None:
    page = opened()
    page.click(".views >> text=Teach")
    page.check("[name=lesson][value=low]")
    page.until("document.querySelector('.teach .big dd') !== null")
    page.until("document.querySelector('.teach .say').textContent.includes(': ')")
    page.fill("#teach-tension", "1.2")
    page.until("document.querySelector('.found').textContent.startsWith('2 times the tension')")
    assert page.inner_text(".tension-note") == "1.2 N per mm of block"
    page.click("text=Take it to the section")
    page.until("document.querySelector('#of').textContent === 'A low, wide block'")
    page.settled()
    given = page.kept()
    assert given["band"] == [{"tension_n_per_mm": 1.2}]
    assert page.said() == page.said_of(mold_of(given))
