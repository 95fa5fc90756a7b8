"""Air that stays while the mold is poured: tilting the block on the page."""

from __future__ import annotations

import re

import pytest

from squeeze.mold import dump, mold_of

EARS = [[-20, -15], [20, -15], [20, 15], [8, 15], [8, 0], [-8, 0], [-8, 12], [-20, 12]]
"""A cavity of two ears: resin that comes in over the right one leaves air in the left one."""

HEARD = "!document.querySelector('#air .found-say').textContent.startsWith('{}')"
SPOTS = "nodes => nodes.map((n) => [Number(n.getAttribute('cx')), -Number(n.getAttribute('cy'))])"


def told(page) -> list[list[float]]:
    """Return where the list tells of air: [x, y] of each place [mm]."""
    lines = page.locator("#air .causes li").all_inner_texts()
    number = r"(-?[\d.]+)(?: mm)?"
    return [
        [float(v) for v in re.search(f"Vent at x {number}, y {number}", line).groups()]
        for line in lines
    ]


def test_a_block_held_so_moves_the_sliders_and_the_places_in_the_picture(opened, mold) -> None:
    given = mold(
        title="Ears",
        block={"shape": "round", "diameter_mm": 90},
        cavity=[{"name": "ears", "shape": "drawn", "points_mm": EARS}],
        cut=[{"name": "across", "path_mm": [[-45, -8], [45, -8]]}],
    )
    page = opened()
    text = dump(mold_of(given)).encode()
    page.set_input_files("#file", {"name": "ears.toml", "mimeType": "", "buffer": text})
    page.until("document.querySelector('#of').textContent === 'Ears'")
    page.settled()
    assert page.locator("#section .air-mark").count() == 0
    page.click("#air summary")
    page.wait_for_selector("text=Hold it so")
    level = page.inner_text("#air .found-say >> nth=0")
    ((x, y),) = page.eval_on_selector_all("#section .air-mark", SPOTS)
    assert -20 < x < -8
    assert [[x, y]] == [pytest.approx(each, abs=0.1) for each in told(page)]

    remedy = page.inner_text("#air .found-say >> nth=1")
    page.click("text=Hold it so")
    page.until(HEARD.format(level))
    about, end = (
        int(page.input_value(f"#air-{key}")) for key in ("about_length_deg", "end_up_deg")
    )
    sides = f"{'right' if about > 0 else 'left'} side", "far end" if end > 0 else "start"
    assert about != 0
    assert end != 0
    for side, deg in zip(sides, (abs(about), abs(end)), strict=True):
        assert f"{side} raised by {deg} degrees" in remedy
        assert page.locator(f"#air output:text-is('{side} {deg}°')").count() == 1
    kept = re.search(r"it keeps ([\d.]+) cm3", remedy)[1]
    assert page.inner_text("#air .found-say >> nth=0").startswith(f"{kept} cm³ of air stays")
    assert page.is_hidden("text=Hold it so")
    spots = page.eval_on_selector_all("#section .air-mark", SPOTS)
    assert spots == [pytest.approx(each, abs=0.1) for each in told(page)]
    assert all((x, y) != pytest.approx(spot, abs=1) for spot in spots)  # none where it was

    page.fill("#air-about_length_deg", "0")
    page.fill("#air-end_up_deg", "0")
    page.wait_for_selector("text=Hold it so")
    assert page.inner_text("#air .found-say >> nth=0") == level
    page.click("#air summary")
    page.until("document.querySelectorAll('#section .air-mark').length === 0")
