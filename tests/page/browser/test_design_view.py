"""The view of designs: blocks side by side, to one scale, each told once."""

from __future__ import annotations

from typing import Any

import pytest

BOARDS = [{"name": side, "covers": side, "thickness_mm": 10} for side in ("top", "bottom")]
FIGURES = {
    "rubber_g": 500,
    "price": None,
    "bands": 3,
    "steps": 12,
    "margin": 3.0,
    "flash_mm": 0.0,
    "shift_mm": 0.02,
    "grade": "Clean",
    "good_in": 12,
}


def design(number: int, width: float, say: str, **more: Any) -> dict[str, Any]:
    """Return one block of an answer, as the server tells it."""
    block = {"shape": "rectangle", "width_mm": width, "height_mm": 40}
    name = f"rectangle, {width:g} x 40 mm"
    mold = {"block": block, "cut": [{"name": "a", "path_mm": [[-width / 2, 0], [width / 2, 0]]}]}
    return {
        "number": number,
        "name": name,
        "say": say.format(name=name, Name=name.capitalize()),
        "figures": FIGURES,
        "mold": mold | more,
    }


def test_blocks_are_told_once_and_drawn_to_one_scale(opened) -> None:
    page = opened()
    first = design(1, 100, "We would pour this one. {Name}: the least rubber.", cradle=BOARDS)
    second = design(2, 50, "{name}: the least work.")
    found = {"designs": [first, second], "refusal": None, "tried": 9, "certified": 2}
    found |= {"remarks": [], "dropped": []}
    page.route("**/design", lambda route: route.fulfill(json=found))
    page.view("Design")
    page.click("text=Search for blocks")
    page.wait_for_selector("#view-design li")
    told = page.locator("#view-design li h3 + p").all_inner_texts()
    assert told == ["We would pour this one. The least rubber.", "The least work."]
    assert page.locator("#view-design li >> nth=0 >> .thumb .cradle").count() == 2
    assert page.locator("#view-design li >> nth=1 >> .thumb .cradle").count() == 0
    wide = page.eval_on_selector_all(
        "#view-design .thumb .rubber",
        "nodes => nodes.map((n) => n.getBBox().width * n.getScreenCTM().a)",
    )
    assert wide[0] / wide[1] == pytest.approx(2.0, rel=1e-3)
    page.click("#view-design li >> nth=0 >> text=Put it on the section")
    assert page.kept()["block"]["width_mm"] == 100
