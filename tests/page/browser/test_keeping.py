"""What is made is kept: reload, tabs, files."""

from __future__ import annotations

from pathlib import Path

import pytest

import squeeze
from squeeze.mold import BadInput, dict_of, mold_of

VIEWS = ("Section", "Trace", "Teach", "Studies")
WIDE, SLATE, NARROW = (1280, 900), (820, 1100), (320, 640)


def test_everything_is_there_after_a_reload_undo_among_it(opened) -> None:
    page = opened()
    page.fill("#field-block-bevel-mm", "12")
    page.click("#pin")
    page.fill("#field-block-bevel-mm", "21")
    page.answered()
    page.again()
    page.answered()
    assert page.input_value("#field-block-bevel-mm") == "21"
    assert page.is_visible("#difference")
    page.click("#undo")
    page.answered()
    assert page.input_value("#field-block-bevel-mm") == "12"
    page.click("#redo")
    page.answered()
    assert page.input_value("#field-block-bevel-mm") == "21"


def test_a_tab_that_was_closed_can_be_gone_back_to(opened, site) -> None:
    page = opened()
    page.fill("#field-block-bevel-mm", "17.5")
    page.answered()
    again = page.in_place()
    assert again.input_value("#field-block-bevel-mm") == "17.5"
    again.click("#open")
    again.click("text=Start a new mold")
    again.answered()
    assert "17.5" != again.input_value("#field-block-bevel-mm")
    again.click("#open")
    again.click("#dialog .slots button:not([disabled])")
    again.wait_for_function(
        "() => document.querySelector('#field-block-bevel-mm').value === '17.5'"
    )


def test_two_tabs_do_not_write_over_each_other(opened, site) -> None:
    page = opened()
    page.fill("#field-block-bevel-mm", "11")
    page.answered()
    other = page.beside()
    other.fill("#field-block-bevel-mm", "22")
    other.answered()
    page.again()
    assert page.input_value("#field-block-bevel-mm") == "11"


def test_saving_in_place_and_opening(opened, site, tmp_path: Path) -> None:
    before = site.file.read_bytes()
    try:
        page = opened()
        page.fill("#field-block-bevel-mm", "7.25")
        page.answered()
        page.keyboard.press("Control+s")
        page.wait_for_selector("#notice.there")
        assert squeeze.load(site.file) == mold_of(page.kept())
        assert squeeze.load(site.file).block.bevel_mm == 7.25
        good, bad = tmp_path / "other.toml", tmp_path / "bad.toml"
        good.write_bytes(before.replace(b"Carved pen barrels", b"Other barrels"))
        bad.write_bytes(b"length_mm = 140\nlength_mm = 3\n")
        page.set_input_files("#file", good)
        page.wait_for_function(
            "() => document.querySelector('#of').textContent.startsWith('Other')"
        )
        assert mold_of(page.kept()) == squeeze.load(good)
        page.set_input_files("#file", bad)
        with pytest.raises(BadInput) as told:
            squeeze.parse(bad.read_text(), "bad.toml")
        page.wait_for_selector("#dialog .refused")
        assert page.inner_text("#dialog .refused") == str(told.value)
        page.keyboard.press("Escape")
        with page.expect_download() as waiting:
            page.click("#save")
        assert waiting.value.suggested_filename == "other.toml"
        waiting.value.save_as(tmp_path / "saved.toml")
        assert dict_of(squeeze.load(tmp_path / "saved.toml")) == dict_of(squeeze.load(good))
    finally:
        site.file.write_bytes(before)
