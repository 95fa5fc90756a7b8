"""What is typed: numbers reach the mold, anything else stays in its field."""

from __future__ import annotations

import re
from typing import Any

import pytest

import squeeze
from squeeze.mold import BadInput, dump, mold_of
from squeeze.mold.tables.shape import SHAPES

VIEWS = ("Section", "Trace", "Teach", "Studies")
WIDE, SLATE, NARROW = (1280, 900), (820, 1100), (320, 640)


WIDTH = "#field-block-width-mm"
X2 = "[aria-label='x of point 2']"


def type_over(page, selector: str, text: str) -> None:
    """Select what stands in a field and type, key by key, as people do."""
    page.focus(selector)
    page.keyboard.press("Control+a")
    page.keyboard.type(text)


@pytest.mark.parametrize("typed", ["2000", "-1", "0"])
def test_a_number_out_of_range_is_told_at_its_field_as_on_the_command_line(opened, typed) -> None:
    page = opened()
    page.fill(WIDTH, typed)
    page.wait_for_selector(f"{WIDTH}[aria-invalid]")
    with pytest.raises(BadInput) as told:
        squeeze.close(mold_of(page.kept()))
    faults = {fault.key: fault.text for fault in told.value.faults}
    assert page.inner_text(f"{WIDTH}-fault") == faults["block.width_mm"]
    assert f"Block, Width: {faults['block.width_mm']}" in page.inner_text("#faults")
    assert "width_mm" not in page.inner_text("#view-bench")
    page.click("#faults button >> nth=0")
    page.until("document.activeElement.id === 'field-block-width-mm'")
    page.fill(WIDTH, "120")
    page.answered()
    assert page.inner_text(f"{WIDTH}-fault") == ""


def test_minus_sixty_five_is_typed_into_a_point_key_by_key(opened) -> None:
    page = opened()
    type_over(page, X2, "-65")
    assert page.kept()["cut"][0]["path_mm"][1][0] == -65
    page.wait_for_selector("#faults button")  # a cut that lies outside the block
    type_over(page, X2, "62.5")
    page.answered()
    assert page.kept()["cut"][0]["path_mm"][1][0] == 62.5
    page.click("#undo")  # what is typed without leaving a field is one step
    assert page.kept()["cut"][0]["path_mm"][1][0] == 60


NO_NUMBERS = ("-", ".", "", "1e", "abc", "1e999", "NaN", "0x10", "1,000", "--5")


@pytest.mark.parametrize("selector", [X2, WIDTH, "#field-length-mm"])
def test_what_is_no_finite_number_stays_in_the_field(opened, selector: str) -> None:
    page = opened()
    page.evaluate("document.querySelectorAll('details').forEach((d) => { d.open = true; })")
    before = page.kept()
    for bevel, typed in enumerate(NO_NUMBERS, start=10):
        page.fill(selector, typed)
        assert page.kept() == before
        page.keyboard.press("Tab")
        assert page.input_value(selector) == typed
        assert page.get_attribute(selector, "aria-invalid") == "true"
        page.fill("#field-block-bevel-mm", str(bevel))
        before = before | {"block": before["block"] | {"bevel_mm": bevel}}
        assert page.kept() == before
        assert page.input_value(selector) == typed
    page.settled()
    assert page.said() == page.said_of(mold_of(before))
    page.focus(selector)
    page.keyboard.press("Escape")
    assert page.get_attribute(selector, "aria-invalid") is None
    assert float(page.input_value(selector)) > 1


def test_a_field_tells_what_is_used_in_place_of_what_is_typed(opened) -> None:
    page = opened()
    page.fill(WIDTH, "wide")
    assert page.inner_text(f"{WIDTH}-fault") == '"wide" is not a number; 120 mm is still used'
    page.fill(WIDTH, "1,200")
    assert page.inner_text(f"{WIDTH}-fault").startswith('"1,200" can be read in two ways')
    page.fill(WIDTH, "-")
    assert page.inner_text(f"{WIDTH}-fault") == ""  # a number may still come of it
    page.keyboard.press("Tab")
    assert page.inner_text(f"{WIDTH}-fault") == '"-" is not a number; 120 mm is still used'
    page.fill(WIDTH, "")
    page.keyboard.press("Tab")
    assert page.inner_text(f"{WIDTH}-fault") == "a number is needed here; 120 mm is still used"
    page.fill("#field-block-width-mm-slider", "118")
    page.answered()
    assert page.input_value(WIDTH) == "118"
    assert page.inner_text(f"{WIDTH}-fault") == ""


def test_a_comma_is_read_as_a_point(opened) -> None:
    page = opened()
    type_over(page, "#field-block-bevel-mm", "12,5")
    page.answered()
    assert page.kept()["block"]["bevel_mm"] == 12.5


def test_a_field_that_may_be_empty_takes_its_usual_value(opened) -> None:
    page = opened()
    page.fill("#field-block-round-mm", "3")
    page.answered()
    assert page.kept()["block"]["round_mm"] == 3
    page.fill("#field-block-round-mm", "")
    page.answered()
    assert "round_mm" not in page.kept()["block"]
    assert page.get_attribute("#field-block-round-mm", "placeholder") == "2"


def test_one_field_that_fails_does_not_stop_the_others(opened) -> None:
    page = opened()
    page.evaluate(
        """() => { window.reported = [];
            window.reportError = (error) => window.reported.push(error.message);
            const cut = document.querySelector('[aria-label="x of point 2"]');
            Object.defineProperty(cut, 'entry', { get() { throw new Error('planted'); } }); }"""
    )
    page.fill("#field-block-bevel-mm", "12")
    page.settled()
    assert set(page.evaluate("window.reported")) == {"planted"}
    assert page.kept()["block"]["bevel_mm"] == 12
    assert page.input_value("#field-block-bevel-mm-slider") == "12"
    assert page.said() == page.said_of(mold_of(page.kept()))


def test_names_may_be_anything(opened) -> None:
    page = opened()
    name = "#panel [id^=field-cut-0-name]"
    for text in ("[bold]x", "<b>&\"'", "$\\frac{$", "ערבית", "\U0001f48d ring", ""):
        page.fill(name, text)
        assert page.kept()["cut"][0].get("name", "") == text
        heads = page.locator("#panel h3").all_inner_texts()
        assert f"Cut '{text or 'cut 1'}'" in heads
    page.answered()


def test_inches(opened) -> None:
    page = opened()
    page.click("#settings")
    page.check("[name=inches][value=yes]")
    page.keyboard.press("Escape")
    page.settled()
    assert page.input_value("#field-block-width-mm") == "4.7244"
    assert re.search(r"0\.\d+ in ", page.said())
    page.fill("#field-block-width-mm", "5")
    page.answered()
    assert page.kept()["block"]["width_mm"] == 127
    page.fill("#field-block-width-mm", "4 1/2")
    page.answered()
    assert page.kept()["block"]["width_mm"] == pytest.approx(114.3)
    page.fill("#field-block-width-mm", '4"')
    assert page.kept()["block"]["width_mm"] == pytest.approx(101.6)
    page.fill("#field-block-width-mm", "110 mm")
    assert page.kept()["block"]["width_mm"] == 110
    page.fill("#field-block-width-mm", "2000")
    page.wait_for_selector(f"{WIDTH}[aria-invalid]")
    assert " in" in page.inner_text(f"{WIDTH}-fault")
    assert "mm" not in page.inner_text(f"{WIDTH}-fault")
    page.fill("#field-block-width-mm", "5")
    page.answered()
    page.again()
    assert page.input_value("#field-block-width-mm") == "5"


PSI_PER_KPA, N_PER_LBF = 0.145037738, 4.4482216152605


def test_pressures_and_forces_go_with_the_inches(opened) -> None:
    """As on the command line and in the picture: psi and pounds of force, and round steps."""
    page = opened()
    page.click("#settings")
    page.check("[name=inches][value=yes]")
    page.keyboard.press("Escape")
    page.settled()
    assert page.inner_text("#legend .legend-name") == "pressure from, psi"
    steps = page.locator("#legend li:has(svg)").all_inner_texts()
    assert [float(each) for each in steps] == pytest.approx(
        [k * float(steps[1]) for k in range(len(steps))]
    )
    assert float(f"{float(steps[1]):.0e}") == float(steps[1])
    assert page.text_content("#plot .unit >> nth=0") == "psi"
    page.focus("#walk")
    page.keyboard.press("ArrowRight")
    assert re.search(r"presses with [\d.]+ psi$", page.get_attribute("#walk", "aria-valuetext"))
    given = page.kept() | {"push": [{"pressure_kpa": 10}, {"pressure_kpa": 5}]}
    given["band"] = [{"tension_n_per_mm": 0.6}]
    page.set_input_files("#file", {"name": "a.toml", "mimeType": "", "buffer": dumped(given)})
    page.until("document.querySelector('#field-push-0-pressure-kpa')")
    pressure, pull = "#field-push-0-pressure-kpa", "#field-band-0-tension-n-per-mm"
    shown = [float(page.input_value(each)) for each in (pressure, pull)]
    assert shown == pytest.approx([10 * PSI_PER_KPA, 0.6 * 25.4 / N_PER_LBF], rel=1e-4)
    page.eval_on_selector_all("details.group", "nodes => nodes.forEach((n) => (n.open = true))")
    page.fill(pressure, "2")
    assert page.kept()["push"][0]["pressure_kpa"] == pytest.approx(2 / PSI_PER_KPA)
    page.fill(pressure, "1000")
    page.wait_for_selector(f"{pressure}[aria-invalid]")
    assert re.search(r"from 0 to 145 psi$", page.inner_text(f"{pressure}-fault"))
    left = page.locator("main").inner_text()
    assert re.findall(r"\d kPa|\d mm\b|\bkPa\b|N/mm|N per mm", left) == []


def dumped(given: dict[str, Any]) -> bytes:
    return dump(mold_of(given)).encode()


def test_every_shape_of_the_file_is_offered_with_its_figures(opened) -> None:
    page = opened()
    offered = "#field-block-shape option"
    assert page.locator(offered).count() == len(SHAPES)
    for shape in SHAPES:
        page.select_option("#field-block-shape", shape)
        assert page.kept()["block"]["shape"] == shape
        mold_of(page.kept())  # the figures are those that the file asks for
    page.click("#undo")
    page.answered()

    def with_one_more(route: Any) -> None:
        answer = route.fetch()
        given = answer.json()
        given["shapes"]["hexagon"] = ["width_mm", "edge_length_mm", "bevel_mm", "round_mm"]
        route.fulfill(response=answer, json=given)

    page.route("**/start", with_one_more)
    page.again()
    page.answered()
    page.select_option("#field-block-shape", "hexagon")
    assert page.inner_text("label[for='field-block-edge-length-mm']") == "Edge length"
    assert page.kept()["block"] == {"shape": "hexagon", "width_mm": 120, "bevel_mm": 3}
