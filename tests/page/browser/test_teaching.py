"""The view for a class."""

from __future__ import annotations

from itertools import pairwise
from math import inf
from typing import Any

import pytest

from squeeze.mold import mold_of

VIEWS = ("Section", "Trace", "Teach", "Studies")
WIDE, SLATE, NARROW = (1280, 900), (820, 1100), (320, 640)


def test_the_class_guesses_and_sees_square_become_round(opened) -> None:
    page = opened()
    page.view("Teach")
    page.until("document.querySelectorAll('.teach .rubber').length > 0")
    assert not page.is_visible(".teach .say")  # no answer before a guess
    assert page.is_hidden(".teach .big")
    assert page.is_hidden(".teach .grown")
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
    assert page.is_visible(".teach .grown")
    high = page.viewport_size["height"]
    for each in (".teach .section >> nth=0", ".teach .legend"):
        box = page.locator(each).bounding_box()
        assert box["y"] + box["height"] <= high
    size = page.eval_on_selector(
        ".teach .say", "node => parseFloat(getComputedStyle(node).fontSize)"
    )
    assert size >= 28
    page.again()
    assert page.input_value("#teach-round") == "100"
    with page.expect_download() as waiting:
        page.click("text=Sheet for the class")
    assert waiting.value.suggested_filename == "1-round-against-square.pdf"


def test_nothing_is_shown_of_another_lesson_or_another_slider(opened) -> None:
    page = opened()
    page.view("Teach")
    page.click("text=It opens wider.")
    page.until("document.querySelector('.teach .say').textContent.startsWith('Leaks')")
    page.until("!document.querySelector('.teach .say').hasAttribute('data-stale')")
    held: list[Any] = []
    page.route("**/close", lambda route: held.append(route))
    page.fill("#teach-round", "50")
    assert page.get_attribute(".teach .say", "data-stale") is not None
    page.check("[name=lesson][value='2-more-bands']")
    page.click("text=It grows.")
    for each in (".say", ".big", ".grown", ".section", ".legend"):
        assert page.is_hidden(f".teach {each}")
    page.route("**/close", lambda route: route.continue_())
    held[0].continue_()
    page.until("document.querySelector('.teach .say').textContent.includes(': ')")
    assert page.is_visible(".teach .section")
    assert page.inner_text("label[for='teach-tension']") == "Halve or double that pull"


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


LEVELS = "nodes => nodes.map((node) => node.getAttribute('fill'))"


def test_small_and_large_deformation_stand_side_by_side_to_one_scale(opened, site, rules) -> None:
    page = opened()
    page.settled()
    asked: list[Any] = []
    page.on("request", lambda one: asked.append(one) if one.url.endswith("/close") else None)
    page.view("Teach")
    page.click("text=It opens wider.")
    page.until("document.querySelector('.teach-pictures.two .at-small .pressed')")
    said = site.post("close", asked[-1].post_data_json).json()
    left, right = page.locator(".teach-pictures .section").all()
    assert left.get_attribute("viewBox") == right.get_attribute("viewBox")
    a, b = left.bounding_box(), right.bounding_box()
    assert (a["y"], a["width"], a["height"]) == pytest.approx((b["y"], b["width"], b["height"]))
    assert a["x"] + a["width"] <= b["x"]

    scale = page.locator(".teach .legend svg rect").evaluate_all(LEVELS)
    steps = [float(text) for text in page.locator(".teach .legend li:has(svg)").all_inner_texts()]
    for picture, each in ((left, said), (right, said["small"])):
        closed = [
            (p, q)
            for land in each["lands"]
            for p, q in pairwise(land["pressure_kpa"])
            if p > 0 and q > 0
        ]
        least, most = max((p + q) / 2 for p, q in closed), max(map(max, closed))
        drawn = picture.locator(".pressed").evaluate_all(LEVELS)
        deepest = max(map(scale.index, drawn))
        assert steps[deepest] <= most
        assert least < [*steps, inf][deepest + 1]

    captions = page.locator(".teach-pictures figcaption").all_inner_texts()
    assert [text.split(":")[0] for text in captions] == ["Large deformation", "Small deformation"]
    for text, each in zip(captions, (said, said["small"]), strict=True):
        widest = max(land["largest_gap_mm"] for land in each["lands"])
        assert f"widest gap {widest:.2f} mm, drawn {said['drawing']['gap_factor']:g} times" in text
    box = page.locator(".teach .legend").bounding_box()
    assert box["y"] + box["height"] <= page.viewport_size["height"]

    for width, high in (NARROW, WIDE):
        page.set_viewport_size({"width": width, "height": high})
        page.drawn()
        page.until("!document.querySelector('.at-small.blank, .teach figcaption[data-stale]')")
        assert rules(page) == []
        assert page.evaluate("document.documentElement.scrollWidth - innerWidth") <= 0

    page.check("[name=lesson][value='3-where-to-cut']")
    assert page.is_hidden(".at-small")
    assert page.is_hidden(".teach-pictures figcaption >> nth=0")
