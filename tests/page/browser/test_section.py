"""The section alive: drawn, dragged, moved by sliders and keys, read along the lands."""

from __future__ import annotations

import re
from typing import Any

import numpy as np
import pytest

import squeeze
from squeeze.mold import dump, mold_of
from squeeze.show.figure.tint import levels

VIEWS = ("Section", "Trace", "Teach", "Studies")
WIDE, SLATE, NARROW = (1280, 900), (820, 1100), (320, 640)


def test_it_opens_with_the_verdict_of_the_command_line(resting, site) -> None:
    page = resting
    assert page.said() == page.said_of(squeeze.load(site.file))
    assert mold_of(page.kept()) == squeeze.load(site.file)


def test_closed_places_are_tinted_and_open_ones_hatched(resting) -> None:
    page = resting
    levels = page.locator("#legend svg.swatch").count()
    tints = page.evaluate(
        f"import('/assets/ask.js').then((ask) => ask.get('/start')).then((s) => s.tints[{levels}])"
    )
    fills = page.eval_on_selector_all(
        "#section .pressed", "nodes => nodes.map(n => n.getAttribute('fill'))"
    )
    assert fills
    assert set(fills) <= set(tints)
    open_ = page.eval_on_selector_all(
        "#section .open", "nodes => nodes.map(n => n.getAttribute('fill'))"
    )
    assert len(open_) == 5  # every land of this mold stands open somewhere
    assert set(open_) == {"url(#hatch-now)"}
    assert page.locator("#section .star").count() == 1


def test_each_land_bears_its_number_in_the_picture_and_over_its_curve(resting) -> None:
    page = resting
    mold = mold_of(page.kept())
    lands = squeeze.Block(mold).close().lands
    rings = page.eval_on_selector_all(
        "#section circle.number",
        "nodes => nodes.map((n) => [n.nextElementSibling.textContent,"
        " Number(n.getAttribute('cx')), -Number(n.getAttribute('cy'))])",
    )
    assert [text for text, *_ in rings] == [str(k + 1) for k in range(len(lands))]
    for k, (_, x, y) in enumerate(rings):
        apart = [float(np.hypot(land.x_mm - x, land.y_mm - y).min()) for land in lands]
        assert apart.index(min(apart)) == k
    heads = page.locator("#plot .title").all_text_contents()
    rows = page.locator("#table tr th").all_inner_texts()
    assert [row.split()[0] for row in rows] == [text for text, *_ in rings]
    assert all(head.rstrip("…") in row for head, row in zip(heads, rows, strict=True))


def test_vents_are_drawn_from_their_cavity_to_the_outside(resting) -> None:
    """On a square of 40 mm, on the wedge above it, beside both; with the sheet's numbers."""
    page = resting
    ring = "[-20, -20, 20, -20, 20, 20, 0, 30, -20, 20]"
    ends = page.evaluate(
        "import('/assets/vents.js').then(({ outside }) =>"
        f" [[-5, -3], [10, 12], [0, 0], [25, 4]].map(([x, y]) => outside({ring}, x, y)))"
    )
    assert ends == pytest.approx([27.5, 25, 30, 4])
    found = page.evaluate(
        "import('/assets/vents.js').then(({ drawnVents }) => {"
        " const vent = [1, 3, 1, 1].map((x) => ({ at_mm: [x, 2] })).concat({ at_mm: [3] });"
        " return [drawnVents({ vent }), drawnVents({ vent: vent.slice(1), resin: { standing: true }"
        " }), drawnVents({ vent: [vent[0], vent[0], vent[0]] }), drawnVents({})]; })"
    )
    one, three = {"x": 1, "y": 2, "along": False}, {"x": 3, "y": 2, "along": False}
    assert found[0] == [one | {"say": "v1, v3, v4"}, three | {"say": "v2"}]
    assert found[1] == [
        three | {"along": True, "say": "v1"},
        one | {"along": True, "say": "v2, v3"},
    ]
    assert found[2:] == [[one | {"say": "v1-3"}], []]


def test_levels_are_those_of_the_figures(resting) -> None:
    page = resting
    for top in (0.37, 3.0, 8.0, 22.5, 35.0, 36.1, 140.0):
        step, count = page.evaluate(
            f"import('/assets/tint.js').then(({{levels: l}}) => [l({top}).step, l({top}).count])"
        )
        wanted = levels(top)
        assert step == pytest.approx(wanted.step)
        assert count == len(wanted.colours)


def test_dragging_a_point_of_the_cut_moves_it_and_one_undo_brings_it_back(opened) -> None:
    page = opened()
    before = page.kept()["cut"][0]["path_mm"]
    page.drag("#section .handle.cut >> nth=1", 40, 0)
    page.answered()
    after = page.kept()["cut"][0]["path_mm"]
    assert after[0] == before[0]
    assert after[1][0] > before[1][0] + 5
    assert after[1][1] == before[1][1]
    assert page.input_value("[aria-label='x of point 2']") == f"{after[1][0]:g}"
    page.click("#undo")
    page.answered()
    assert page.kept()["cut"][0]["path_mm"] == before


def test_dragging_width_and_bevel(opened) -> None:
    page = opened()
    page.drag("#section .handle.bevel", -40, 40)
    page.answered()
    assert page.kept()["block"]["bevel_mm"] > 10
    page.drag("#section .handle.side", 30, 0)
    page.answered()
    assert page.kept()["block"]["width_mm"] > 122


def test_a_slider_changes_the_answer_and_its_field(opened) -> None:
    page = opened()
    assert page.said().startswith("Leaks")
    page.focus("#field-block-bevel-mm-slider")
    page.fill("#field-block-bevel-mm-slider", "35")
    page.settled()
    assert page.input_value("#field-block-bevel-mm") == "35"
    assert page.input_value("#field-block-bevel-mm-slider") == "35"
    given = page.kept()
    assert given["block"]["bevel_mm"] == 35
    assert page.said() == page.said_of(mold_of(given))


def test_many_quick_steps_cost_few_solves(opened) -> None:
    page = opened()
    page.settled()
    asked: list[str] = []
    page.on("request", lambda r: asked.append(r.url) if r.url.endswith("/close") else None)
    page.evaluate(
        """() => { const slider = document.querySelector('#field-block-bevel-mm-slider');
            for (let v = 1; v <= 30; v += 1) {
              slider.value = v; slider.dispatchEvent(new Event('input', {bubbles: true})); } }"""
    )
    page.settled()
    assert page.input_value("#field-block-bevel-mm") == "30"
    assert len(asked) <= 4


GIVEN_UP = """() => { const fetched = window.fetch; window.givenUp = [];
    window.fetch = (path, how) => {
      how?.signal?.addEventListener('abort', () => window.givenUp.push(how.body));
      return fetched(path, how); }; }"""


def test_a_long_solve_is_given_up_for_a_later_change(opened) -> None:
    page = opened()
    page.settled()
    page.evaluate(GIVEN_UP)
    held: list[Any] = []
    page.route("**/close", lambda route: route.continue_() if held else held.append(route))
    page.fill("#field-block-bevel-mm", "20")
    page.wait_for_selector("#stop", state="visible")
    page.fill("#field-block-bevel-mm", "35")
    page.settled()
    given_up = page.evaluate("window.givenUp")
    assert ['"bevel_mm":20' in each for each in given_up] == [True]
    assert page.said() == page.said_of(mold_of(page.kept()))


def test_points_are_moved_and_taken_away_by_keys(opened) -> None:
    page = opened()
    page.click("#panel >> text=Add a point")
    page.answered()
    assert len(page.kept()["cut"][0]["path_mm"]) == 3
    middle = page.locator("#section .handle.cut >> nth=1")
    middle.focus()
    page.keyboard.press("ArrowUp")
    page.keyboard.press("Shift+ArrowRight")
    assert page.kept()["cut"][0]["path_mm"][1] == [10, 41]
    assert "x 10 mm, y 41 mm" in middle.get_attribute("aria-label")
    page.keyboard.press("Delete")
    page.answered()
    assert len(page.kept()["cut"][0]["path_mm"]) == 2
    page.keyboard.press("Control+z")
    assert len(page.kept()["cut"][0]["path_mm"]) == 3
    page.keyboard.press("Control+y")
    assert len(page.kept()["cut"][0]["path_mm"]) == 2


def test_walking_along_the_lands_tells_each_place(resting) -> None:
    page = resting
    page.focus("#walk")
    page.keyboard.press("ArrowRight")
    told = page.get_attribute("#walk", "aria-valuetext")
    assert re.match(r"Land 1, .* presses with [\d.]+ kPa$", told)
    page.keyboard.press("End")
    assert page.get_attribute("#walk", "aria-valuetext").startswith("Land 5, ")
    assert page.locator("#section .reading").count() == 1


def test_the_squeezed_shape_moves_the_cavities(resting) -> None:
    page = resting
    before = page.get_attribute("#section .rubber", "d")
    page.check("#squeezed")
    page.wait_for_selector("#section path.former >> nth=0")
    assert page.get_attribute("#section .rubber", "d") != before
    assert page.locator("#section path.former").count() == 5
    assert "as squeezed as it is" in page.inner_text("#scale-note")
    page.uncheck("#squeezed")
    page.wait_for_selector("#section path.former", state="detached")


UNHELD = {
    "cut": [{"name": "slant", "path_mm": [[-60, -20], [60, 20]]}],
    "cavity": [],
    "band": [],
    "push": [
        {"at_mm": [0, 60], "width_mm": 10, "force_n_per_mm": 0.5},
        {"at_mm": [0, -60], "width_mm": 10, "force_n_per_mm": 0.5},
    ],
}


def test_a_mold_without_an_answer_is_drawn_and_told(opened, tmp_path) -> None:
    page = opened()
    given = page.kept() | UNHELD
    (tmp_path / "unheld.toml").write_text(dump(mold_of(given)))
    page.click("#pin")
    page.set_input_files("#file", tmp_path / "unheld.toml")
    page.until("document.querySelector('#say').textContent.includes('held by nothing')")
    page.answered()
    assert page.get_attribute("#verdict", "data-state") == "unclear"
    assert page.locator("#section .unsolved").count() == 1
    assert "no answer" in page.inner_text("#table")
    page.click("#pin")
    page.check("#squeezed")
    page.fill("#field-block-bevel-mm", "5")
    page.answered()
    assert page.inner_text("#differences") == (
        "One of the two has no answer, so they cannot be compared."
    )


def test_a_verdict_on_an_earlier_mold_dims_at_once_and_a_long_one_can_be_stopped(opened) -> None:
    page = opened()
    page.settled()
    held: list[Any] = []
    page.route("**/close", lambda route: held.append(route))
    assert page.get_attribute("#verdict", "data-stale") is None
    dims, stops = page.evaluate(  # within one task of the browser, however slow the machine
        """() => { const field = document.querySelector('#field-block-bevel-mm');
            field.value = '20'; field.dispatchEvent(new Event('input', {bubbles: true}));
            return [document.querySelector('#verdict').hasAttribute('data-stale'),
                    document.querySelector('#stop').checkVisibility()]; }"""
    )
    assert (dims, stops) == (True, False)
    page.wait_for_selector("#stop", state="visible")
    assert re.match(r"Closing the cuts: \d+ s", page.inner_text("#waiting"))
    page.click("#stop")
    page.until("document.querySelector('#say').textContent.startsWith('Stopped.')")
    assert not page.is_visible("#stop")
    page.unroute("**/close")
    page.fill("#field-block-bevel-mm", "21")
    page.settled()
    assert page.get_attribute("#verdict", "data-stale") is None
    assert page.said() == page.said_of(mold_of(page.kept()))


def test_a_coarse_verdict_is_not_replaced_by_a_failure(opened) -> None:
    page = opened()
    page.settled()

    def fail_the_fine(route: Any) -> None:
        if '"quick":true' in (route.request.post_data or ""):
            route.continue_()
        else:
            route.fulfill(status=504, json={"error": "The calculation took more than 60 s."})

    page.route("**/close", fail_the_fine)
    page.fill("#field-block-bevel-mm", "35")
    page.until("document.querySelector('#scale-note').textContent.includes('the last one failed')")
    assert page.get_attribute("#verdict", "data-state") == "seals"
    assert page.said().startswith("Fine line")
    assert "took more than 60 s" in page.inner_text("#scale-note")


def test_the_page_goes_on_by_itself_when_the_server_is_back(opened) -> None:
    page = opened()
    page.route("**/*", lambda route: route.abort())
    page.fill("#field-block-bevel-mm", "35")
    page.until("document.querySelector('#say').textContent.includes('does not answer')")
    page.unroute("**/*")
    page.until("document.querySelector('#verdict').dataset.state === 'seals'")
