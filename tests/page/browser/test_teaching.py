"""The view for a class."""

from __future__ import annotations

from squeeze.mold import mold_of

VIEWS = ("Section", "Trace", "Teach", "Studies")
WIDE, SLATE, NARROW = (1280, 900), (820, 1100), (320, 640)


def test_the_class_guesses_and_sees_square_become_round(opened) -> None:
    page = opened()
    page.view("Teach")
    page.until("document.querySelectorAll('.teach .rubber').length > 0")
    assert not page.is_visible(".teach .say")  # no answer before a guess
    assert page.is_hidden(".teach .big")
    page.click("text=It opens wider.")
    assert page.inner_text(".guessed").startswith("Look again.")
    page.click("text=It closes, the rounder the better.")
    assert page.inner_text(".guessed").startswith("Right.")
    page.until("document.querySelector('.teach .say').textContent.startsWith('Leaks')")
    assert page.locator(".teach .arrow").count() == 4  # a square's bands push at its corners alone
    page.fill("#teach-round", "50")
    page.until("document.querySelectorAll('.teach .grown .chart-dot').length === 2")
    page.fill("#teach-round", "100")
    page.until("document.querySelector('.teach .say').textContent.startsWith('Clean')")
    assert page.locator(".teach .arrow").count() > 20
    assert "100 %" in page.inner_text(".big")
    assert page.locator(".teach .grown .chart-dot").count() == 3
    size = page.eval_on_selector(
        ".teach .say", "node => parseFloat(getComputedStyle(node).fontSize)"
    )
    assert size >= 28
    page.again()
    assert page.input_value("#teach-round") == "100"
    with page.expect_download() as waiting:
        page.click("text=Sheet for the class")
    assert waiting.value.suggested_filename == "1-round-against-square.pdf"


def test_a_lesson_is_chosen_pulled_harder_and_taken_to_the_section(opened) -> None:
    page = opened()
    page.view("Teach")
    page.check("[name=lesson][value='2-more-bands']")
    page.click("text=It grows.")
    page.until("document.querySelector('.teach .big dd') !== null")
    page.until("document.querySelector('.teach .say').textContent.includes(': ')")
    page.fill("#teach-tension", "2")
    page.until("document.querySelector('.found').textContent.startsWith('2 times the tension')")
    assert page.inner_text(".tension-note") == "0.2 N per mm of block"
    page.click("text=Take it to the section")
    page.until("document.querySelector('#of').textContent === 'More bands'")
    page.settled()
    given = page.kept()
    assert given["band"] == [{"tension_n_per_mm": 0.2}]
    assert page.said() == page.said_of(mold_of(given))
