"""Anyone can use it: accessibility rules, small screens, fingers, keys."""

from __future__ import annotations

import pytest

VIEWS = ("Section", "Length", "Design", "Trace", "Teach", "Studies")
WIDE, SLATE, NARROW = (1280, 900), (820, 1100), (320, 640)


@pytest.mark.parametrize(
    ("size", "scheme"),
    [
        (NARROW, "light"),
        (NARROW, "dark"),
        (WIDE, "light"),
        (WIDE, "dark"),
    ],
)
def test_accessible_in_every_view(opened, rules, size, scheme: str) -> None:
    page = opened(size, color_scheme=scheme)

    def check(where: str) -> None:
        assert rules(page) == [], where

    page.click("#pin")
    page.fill("#field-block-bevel-mm", "500")
    page.wait_for_selector("#field-block-bevel-mm[aria-invalid]")
    check("a fault")
    page.click("#undo")
    page.answered()
    page.evaluate("document.querySelectorAll('details').forEach((d) => { d.open = true; })")
    check("everything unfolded")
    for name in ("#settings", "#open", "#paper"):
        page.click(name)
        check(name)
        page.keyboard.press("Escape")
    for view in VIEWS:
        page.view(view)
        check(view)


@pytest.mark.parametrize("size", [NARROW, SLATE, WIDE])
def test_nothing_runs_over_and_every_target_takes_a_finger(opened, size) -> None:
    page = opened(size, has_touch=True)
    page.evaluate("document.querySelectorAll('details').forEach((d) => { d.open = true; })")
    for view in VIEWS:
        page.view(view)
        over = page.evaluate("document.documentElement.scrollWidth - innerWidth")
        assert over <= 0, view
        small = page.evaluate(
            """() => [...document.querySelectorAll('button, a, input, select, summary, label.pick')]
              .filter((node) => node.checkVisibility() && !node.closest('.skip, .unseen'))
              .map((node) => node.closest('label.toggle, .check label') ?? node)
              .map((node) => [node.outerHTML.slice(0, 80), node.getBoundingClientRect()])
              .filter(([_, box]) => box.height < 43.9 || box.width < 43.9)
              .map(([html, box]) => `${html} ${box.width} x ${box.height}`)"""
        )
        assert small == [], view
    page.view("Section")
    target = page.locator("#section .handle .target >> nth=0").bounding_box()
    assert target["width"] >= 43.5


def test_everything_is_reached_by_keys(opened) -> None:
    page = opened()
    page.evaluate(
        """() => { window.reached = [];
            addEventListener('focusin', ({ target }) => window.reached.push(
              target.id || target.getAttribute('aria-label') || target.textContent)); }"""
    )
    for _ in range(150):
        page.keyboard.press("Tab")
    reached = page.evaluate("window.reached")
    for wanted in ("open", "save", "squeezed", "pin", "walk", "field-block-bevel-mm"):
        assert wanted in reached, wanted
    assert any(name.startswith("Cut 'across") for name in reached)
    assert any(name.startswith("Middle of 'barrel 1'") for name in reached)
