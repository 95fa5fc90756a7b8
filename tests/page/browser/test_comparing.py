"""Two states side by side, cradles, and what would help."""

from __future__ import annotations

VIEWS = ("Section", "Trace", "Teach", "Studies")
WIDE, SLATE, NARROW = (1280, 900), (820, 1100), (320, 640)


def test_two_states_side_by_side_with_the_difference_in_words(opened) -> None:
    page = opened()
    page.click("#pin")
    page.fill("#field-block-bevel-mm", "35")
    page.settled()
    page.wait_for_selector("#pinned .pressed")
    words = page.inner_text("#differences")
    assert words.startswith("Before, 3 of 5 lands do not seal; now,")
    assert (
        page.inner_text("#changes") == "Block: Bevel (leg of the flat) changed from 3 mm to 35 mm."
    )
    assert page.inner_text("#pinned-say").startswith("Leaks")
    page.click("#swap")
    page.answered()
    assert page.input_value("#field-block-bevel-mm") == "3"
    assert (
        page.inner_text("#changes") == "Block: Bevel (leg of the flat) changed from 35 mm to 3 mm."
    )
    page.click("#unpin")
    assert not page.is_visible("#difference")


def test_changes_are_told_in_the_words_of_the_fields(opened) -> None:
    page = opened()
    page.evaluate("document.querySelectorAll('details').forEach((d) => { d.open = true; })")
    page.click("#pin")
    page.fill("#field-rubber-shore-a", "25")
    page.select_option("#field-block-shape", "round")
    page.click("text=Add a cut")
    page.select_option("#field-cradle-family", "saddle")
    page.click("[aria-label=\"Take the cavity 'barrel 4' away\"]")
    page.fill("[aria-label='y of point 1'] >> nth=0", "39.5")
    page.answered()
    said = page.inner_text("#changes").split(". ")
    assert set(said) >= {
        "Block: Shape changed from square to round",
        "Rubber: Hardness, Shore A changed from 20 to 25",
        "Cradle: Pieces changed from none to one board on top",
        "Cut 'cut 2': new",
    }
    assert all("_mm" not in each for each in said)
    told = page.evaluate(
        """async () => {
            const { changesBetween } = await import('/assets/changes.js');
            const { get } = await import('/assets/ask.js');
            const start = await get('/start');
            return changesBetween(start.start, start.start, start); }"""
    )
    assert told == []


def test_with_and_without_a_cradle(opened) -> None:
    page = opened()
    page.click("#pin")
    page.select_option("#field-cradle-family", "round boards")
    page.settled()
    given = page.kept()
    assert [piece["covers"] for piece in given["cradle"]] == ["top", "left", "bottom", "right"]
    assert page.locator("#section .cradle").count() == 4
    assert "now, all 5 lands seal" in page.inner_text("#differences")
    page.fill("#field-cradle-all-thickness-mm", "1000")
    page.wait_for_selector("#field-cradle-all-thickness-mm[aria-invalid]")
    page.select_option("#field-cradle-family", "none")
    page.answered()
    assert "cradle" not in page.kept()


def test_what_would_help_is_searched_for_and_can_be_tried(opened) -> None:
    page = opened()
    page.click("text=Search for what helps")
    page.wait_for_selector("#advice-search li button", timeout=200_000)
    assert "seals" in page.inner_text("#advice-search li small >> nth=0")
    page.click("#advice-search li button >> nth=0")
    page.wait_for_function("() => document.querySelector('#verdict').dataset.state === 'seals'")
    assert "as it was then" in page.inner_text("#advice-search [role=status]")
    page.click("#undo")
    page.settled()
    assert page.said().startswith("Leaks")
