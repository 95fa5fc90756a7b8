"""The page in a real browser: Chromium, driven; skipped where there is none."""

from __future__ import annotations

import re
import shutil
import struct
import zlib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import squeeze
from squeeze.mold import BadInput, dict_of, mold_of
from squeeze.show.figure.tint import levels

playwright = pytest.importorskip("playwright.sync_api", reason="needs the extra 'browser'")
axe = pytest.importorskip("axe_playwright_python.sync_playwright", reason="needs 'browser'")
CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="there is no chromium on this machine")

FLAGS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
VIEWS = ("Section", "Trace", "Teach", "Studies")
WIDE, SLATE, NARROW = (1280, 900), (820, 1100), (320, 640)


@pytest.fixture(scope="module")
def chromium() -> Iterator[Any]:
    """Start the browser once."""
    with playwright.sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        yield browser
        browser.close()


@pytest.fixture
def opened(chromium, site) -> Iterator[Any]:
    """Open pages; afterwards none may have asked elsewhere or failed."""
    seen: list[str] = []
    faults: list[str] = []
    contexts: list[Any] = []

    def watch(page) -> None:
        page.on("request", lambda request: seen.append(request.url))
        page.on("pageerror", lambda error: faults.append(f"{error} {error.stack}"))

    def start(size=WIDE, **more):
        width, height = size
        context = chromium.new_context(viewport={"width": width, "height": height}, **more)
        context.on("page", watch)
        contexts.append(context)
        return enter(context.new_page(), site)

    yield start
    for context in contexts:
        context.close()
    elsewhere = [url for url in seen if not url.startswith((site.address, "blob:", "data:"))]
    assert elsewhere == []
    assert faults == []


def enter(page, site):
    page.goto(site.address)
    page.wait_for_selector("body[data-ready]")
    settled(page)
    return page


def settled(page) -> None:
    """Wait until the fine answer to the mold as it stands is drawn."""
    page.wait_for_function(
        """() => !document.querySelector('#busy').hasAttribute('data-on')
            && !document.querySelector('#section').classList.contains('stale')
            && !document.querySelector('#scale-note').textContent.includes('Coarse')
            && document.querySelector('#verdict').dataset.state !== 'waiting'""",
        timeout=30_000,
    )


def kept(page) -> dict[str, Any]:
    """Return the mold as the browser keeps it."""
    page.wait_for_timeout(200)
    return page.evaluate(
        "JSON.parse(localStorage['squeeze.mold.' + sessionStorage['squeeze.slot']]).mold"
    )


def say(page) -> str:
    return page.inner_text("#say")


def centre(page, selector: str) -> tuple[float, float]:
    box = page.locator(selector).bounding_box()
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def drag(page, selector: str, dx: float, dy: float) -> None:
    x, y = centre(page, selector)
    page.mouse.move(x, y)
    page.mouse.down()
    for k in range(1, 6):
        page.mouse.move(x + dx * k / 5, y + dy * k / 5)
    page.mouse.up()


def test_it_opens_with_the_verdict_of_the_command_line(opened, site) -> None:
    page = opened()
    closing = squeeze.close(squeeze.load(site.file))
    assert say(page) == squeeze.judge(closing).say
    assert mold_of(kept(page)) == squeeze.load(site.file)


def test_closed_places_are_tinted_and_open_ones_hatched(opened) -> None:
    page = opened()
    tints = page.evaluate("fetch('/start').then((r) => r.json()).then((s) => s.tints['8'])")
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


def test_levels_are_those_of_the_figures(opened) -> None:
    page = opened()
    for top in (0.37, 3.0, 8.0, 22.5, 35.0, 36.1, 140.0):
        step, count = page.evaluate(
            f"import('/assets/tint.js').then(({{levels: l}}) => [l({top}).step, l({top}).count])"
        )
        wanted = levels(top)
        assert step == pytest.approx(wanted.step)
        assert count == len(wanted.colours)


def test_dragging_a_point_of_the_cut_moves_it_and_one_undo_brings_it_back(opened) -> None:
    page = opened()
    before = kept(page)["cut"][0]["path_mm"]
    drag(page, "#section .handle.cut >> nth=1", 40, 0)
    settled(page)
    after = kept(page)["cut"][0]["path_mm"]
    assert after[0] == before[0]
    assert after[1][0] > before[1][0] + 5
    assert after[1][1] == before[1][1]
    assert page.input_value("[aria-label='x of point 2']") == f"{after[1][0]:g}"
    page.click("#undo")
    settled(page)
    assert kept(page)["cut"][0]["path_mm"] == before


def test_dragging_width_and_bevel(opened) -> None:
    page = opened()
    drag(page, "#section .handle.bevel", -40, 40)
    settled(page)
    assert kept(page)["block"]["bevel_mm"] > 10
    drag(page, "#section .handle.side", 30, 0)
    settled(page)
    assert kept(page)["block"]["width_mm"] > 122


def test_a_slider_changes_the_answer_and_its_field(opened) -> None:
    page = opened()
    assert "do not seal" in say(page)
    page.focus("#field-block-bevel-mm-slider")
    page.fill("#field-block-bevel-mm-slider", "35")
    settled(page)
    assert page.input_value("#field-block-bevel-mm") == "35"
    assert page.input_value("#field-block-bevel-mm-slider") == "35"
    given = kept(page)
    assert given["block"]["bevel_mm"] == 35
    assert say(page) == squeeze.judge(squeeze.close(mold_of(given))).say


def test_many_quick_steps_cost_few_solves(opened) -> None:
    page = opened()
    asked: list[str] = []
    page.on("request", lambda r: asked.append(r.url) if r.url.endswith("/close") else None)
    page.evaluate(
        """() => { const slider = document.querySelector('#field-block-bevel-mm-slider');
            for (let v = 1; v <= 30; v += 1) {
              slider.value = v; slider.dispatchEvent(new Event('input', {bubbles: true})); } }"""
    )
    settled(page)
    assert page.input_value("#field-block-bevel-mm") == "30"
    assert len(asked) <= 4


def test_a_long_solve_is_given_up_for_a_later_change(opened) -> None:
    page = opened()
    held: list[Any] = []
    ended: list[str] = []
    page.on("requestfailed", lambda request: ended.append(request.post_data or ""))
    page.route("**/close", lambda route: route.continue_() if held else held.append(route))
    page.fill("#field-block-bevel-mm", "20")
    page.wait_for_timeout(1500)
    assert page.input_value("#field-block-bevel-mm") == "20"
    page.fill("#field-block-bevel-mm", "35")
    settled(page)
    assert len(ended) == 1
    assert '"bevel_mm":20' in ended[0]
    assert say(page) == squeeze.judge(squeeze.close(mold_of(kept(page)))).say


def test_points_are_moved_and_taken_away_by_keys(opened) -> None:
    page = opened()
    page.click("#panel >> text=Add a point")
    settled(page)
    assert len(kept(page)["cut"][0]["path_mm"]) == 3
    middle = page.locator("#section .handle.cut >> nth=1")
    middle.focus()
    page.keyboard.press("ArrowUp")
    page.keyboard.press("Shift+ArrowRight")
    assert kept(page)["cut"][0]["path_mm"][1] == [10, 41]
    assert "x 10 mm, y 41 mm" in middle.get_attribute("aria-label")
    page.keyboard.press("Delete")
    settled(page)
    assert len(kept(page)["cut"][0]["path_mm"]) == 2
    page.keyboard.press("Control+z")
    assert len(kept(page)["cut"][0]["path_mm"]) == 3
    page.keyboard.press("Control+y")
    assert len(kept(page)["cut"][0]["path_mm"]) == 2


def test_a_fault_stands_at_its_field_with_the_text_of_the_command_line(opened) -> None:
    page = opened()
    for typed in ("abc", "2000", "-1", ""):
        page.fill("#field-block-width-mm", typed)
        page.wait_for_selector("#field-block-width-mm[aria-invalid]")
        with pytest.raises(BadInput) as told:
            squeeze.close(mold_of(kept(page)))
        faults = {fault.key: fault.text for fault in told.value.faults}
        assert page.inner_text("#field-block-width-mm-fault") == faults["block.width_mm"]
        assert page.inner_text("#faults").split("\n") == [f.say() for f in told.value.faults]
        page.fill("#field-block-width-mm", "120")
        settled(page)
        assert page.inner_text("#field-block-width-mm-fault") == ""


def test_everything_is_there_after_a_reload_undo_among_it(opened) -> None:
    page = opened()
    page.fill("#field-block-bevel-mm", "12")
    page.click("#pin")
    page.fill("#field-block-bevel-mm", "21")
    settled(page)
    page.reload()
    page.wait_for_selector("body[data-ready]")
    settled(page)
    assert page.input_value("#field-block-bevel-mm") == "21"
    assert page.is_visible("#difference")
    page.click("#undo")
    settled(page)
    assert page.input_value("#field-block-bevel-mm") == "12"
    page.click("#redo")
    settled(page)
    assert page.input_value("#field-block-bevel-mm") == "21"


@pytest.mark.slow
def test_a_tab_that_was_closed_can_be_gone_back_to(opened, site) -> None:
    page = opened()
    page.fill("#field-block-bevel-mm", "17.5")
    settled(page)
    context = page.context
    page.close()
    again = enter(context.new_page(), site)
    assert again.input_value("#field-block-bevel-mm") == "17.5"
    again.click("#open")
    again.click("text=Start a new mold")
    settled(again)
    assert "17.5" != again.input_value("#field-block-bevel-mm")
    again.click("#open")
    again.click("#dialog .slots button:not([disabled])")
    again.wait_for_function(
        "() => document.querySelector('#field-block-bevel-mm').value === '17.5'"
    )


@pytest.mark.slow
def test_two_tabs_do_not_write_over_each_other(opened, site) -> None:
    page = opened()
    page.fill("#field-block-bevel-mm", "11")
    settled(page)
    other = enter(page.context.new_page(), site)
    other.fill("#field-block-bevel-mm", "22")
    settled(other)
    page.reload()
    page.wait_for_selector("body[data-ready]")
    assert page.input_value("#field-block-bevel-mm") == "11"


def test_saving_in_place_and_opening(opened, site, tmp_path: Path) -> None:
    before = site.file.read_bytes()
    try:
        page = opened()
        page.fill("#field-block-bevel-mm", "7.25")
        settled(page)
        page.keyboard.press("Control+s")
        page.wait_for_selector("#notice.there")
        assert squeeze.load(site.file) == mold_of(kept(page))
        assert squeeze.load(site.file).block.bevel_mm == 7.25
        good, bad = tmp_path / "other.toml", tmp_path / "bad.toml"
        good.write_bytes(before.replace(b"Carved pen barrels", b"Other barrels"))
        bad.write_bytes(b"length_mm = 140\nlength_mm = 3\n")
        page.set_input_files("#file", good)
        page.wait_for_function(
            "() => document.querySelector('#of').textContent.startsWith('Other')"
        )
        assert mold_of(kept(page)) == squeeze.load(good)
        page.set_input_files("#file", bad)
        with pytest.raises(BadInput) as told:
            squeeze.loads(bad.read_text(), "bad.toml")
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


def test_two_states_side_by_side_with_the_difference_in_words(opened) -> None:
    page = opened()
    page.click("#pin")
    page.fill("#field-block-bevel-mm", "35")
    settled(page)
    page.wait_for_selector("#pinned .pressed")
    words = page.inner_text("#differences")
    assert words.startswith("Before, 3 of 5 lands do not seal; now,")
    assert page.inner_text("#changes") == "Changed: block.bevel_mm from 3 to 35."
    assert page.inner_text("#pinned-say").startswith("3 of 5 lands do not seal")
    page.click("#swap")
    settled(page)
    assert page.input_value("#field-block-bevel-mm") == "3"
    assert page.inner_text("#changes") == "Changed: block.bevel_mm from 35 to 3."
    page.click("#unpin")
    assert not page.is_visible("#difference")


def test_with_and_without_a_cradle(opened) -> None:
    page = opened()
    page.click("#pin")
    page.select_option("#field-cradle-family", "round boards")
    settled(page)
    given = kept(page)
    assert [piece["covers"] for piece in given["cradle"]] == ["top", "left", "bottom", "right"]
    assert page.locator("#section .cradle").count() == 4
    assert "now, all 5 lands seal" in page.inner_text("#differences")
    page.fill("#field-cradle-all-thickness-mm", "1000")
    page.wait_for_selector("#field-cradle-all-thickness-mm[aria-invalid]")
    page.select_option("#field-cradle-family", "none")
    settled(page)
    assert "cradle" not in kept(page)


@pytest.mark.slow
def test_what_would_help_is_searched_for_and_can_be_tried(opened) -> None:
    page = opened()
    page.click("text=Search for what helps")
    page.wait_for_selector("#counsel li button", timeout=200_000)
    assert "seals" in page.inner_text("#counsel li small >> nth=0")
    page.click("#counsel li button >> nth=0")
    page.wait_for_function("() => document.querySelector('#verdict').dataset.state === 'seals'")
    assert "as it was then" in page.inner_text("#counsel [role=status]")
    page.click("#undo")
    settled(page)
    assert "do not seal" in say(page)


def picture(path: Path, width: int, height: int) -> Path:
    """Write an even grey picture as PNG."""
    rows = b"".join(b"\0" + b"\x90" * width for _ in range(height))

    def part(kind: bytes, data: bytes) -> bytes:
        body = kind + data
        return struct.pack(">I", len(data)) + body + struct.pack(">I", zlib.crc32(body))

    head = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    parts = [part(b"IHDR", head), part(b"IDAT", zlib.compress(rows)), part(b"IEND", b"")]
    path.write_bytes(b"\x89PNG\r\n\x1a\n" + b"".join(parts))
    return path


def test_a_photograph_is_traced(opened, tmp_path: Path) -> None:
    page = opened()
    page.click(".views >> text=Trace")
    page.set_input_files("#photo", picture(tmp_path / "end.png", 900, 700))
    page.wait_for_selector(".photo-frame:not([data-empty])")

    def click(x: float, y: float) -> None:
        box = page.locator(".photo").bounding_box()
        scale = box["width"] / 900
        page.mouse.click(box["x"] + x * scale, box["y"] + y * scale)

    click(200, 640)
    click(600, 640)
    page.fill("#trace-length", "100")
    page.check("[value=outline]")
    for x, y in ((200, 100), (680, 100), (680, 580), (200, 580)):
        click(x, y)
    page.check("[value='round cavity']")
    click(360, 340)
    click(520, 340)
    page.check("[value=cut]")
    click(206, 340)
    click(674, 340)
    assert "120 mm wide and 120 mm high" in page.inner_text(".needs")
    page.click("text=Make the mold")
    settled(page)
    given = mold_of(kept(page))
    corners = np.array([(-60, 60), (60, 60), (60, -60), (-60, -60)])
    assert np.array(given.block.points_mm) == pytest.approx(corners, abs=0.6)
    assert given.cavity[0].diameter_mm == pytest.approx(40, abs=0.6)
    assert given.cavity[0].centre_mm == pytest.approx((0, 0), abs=0.6)
    closing = squeeze.close(given)
    assert [land.length_mm for land in closing.lands] == pytest.approx([40, 40], abs=1)
    assert say(page) == squeeze.judge(closing).say


def test_tracing_goes_by_keys_is_kept_and_taken_back(opened, tmp_path: Path) -> None:
    page = opened()
    page.click(".views >> text=Trace")
    page.set_input_files("#photo", picture(tmp_path / "end.png", 400, 300))
    page.wait_for_selector(".photo-frame:not([data-empty])")
    page.focus(".photo")
    page.keyboard.press("Enter")
    for _ in range(4):
        page.keyboard.press("Shift+ArrowRight")
    page.keyboard.press("Enter")
    assert page.locator(".dot").count() == 2
    page.reload()
    page.wait_for_selector("body[data-ready]")
    page.wait_for_selector(".photo-frame:not([data-empty])")
    assert page.locator(".dot").count() == 2
    page.focus(".dot >> nth=0")
    page.keyboard.press("ArrowLeft")
    trace = page.evaluate(
        "JSON.parse(localStorage['squeeze.mold.' + sessionStorage['squeeze.slot']])"
    )
    assert trace["mold"]
    page.keyboard.press("Control+z")
    assert page.locator(".dot").count() == 2


def test_the_class_sees_square_become_round(opened) -> None:
    page = opened()
    page.click(".views >> text=Teach")
    page.wait_for_function(
        "() => document.querySelector('.teach .say').textContent.includes('seal')"
    )
    assert "do not seal" in page.inner_text(".teach .say")
    arrows = page.locator(".teach .arrow").count()
    assert arrows == 4  # a square's bands push at its corners alone
    page.fill("#teach-round", "100")
    page.wait_for_function(
        "() => document.querySelector('.teach .say').textContent.startsWith('Every land seals')"
    )
    assert page.locator(".teach .arrow").count() > 20
    assert "100 %" in page.inner_text(".big")
    size = page.eval_on_selector(
        ".teach .say", "node => parseFloat(getComputedStyle(node).fontSize)"
    )
    assert size >= 28
    page.reload()
    page.wait_for_selector("body[data-ready]")
    assert page.input_value("#teach-round") == "100"


@pytest.mark.slow
def test_a_study_runs_on_when_its_tab_is_closed(opened, site) -> None:
    page = opened()
    page.click(".views >> text=Studies")
    page.fill("#study-title", "Bevels of a test")
    page.fill("#vary-0-values", "3")
    assert page.inner_text(".study-form [role=status]") == "3 cases to compute."
    page.click("text=Begin the study")
    page.wait_for_selector(".study-list li")
    context = page.context
    page.close()
    again = enter(context.new_page(), site)
    again.click(".views >> text=Studies")
    again.wait_for_selector("text=3 of 3 done", timeout=60_000)
    again.wait_for_selector(".chart-line")
    assert again.locator(".chart").count() == 5
    again.click("summary:has-text('Table')")
    assert again.locator(".study-table tbody tr").count() == 3
    again.fill("#vary-0-values", "1")
    again.click("text=Begin the study")
    again.wait_for_function("() => document.querySelector('.study-form .fault').textContent !== ''")
    assert "2 to 60 values" in again.inner_text(".study-form .fault")


def test_inches(opened) -> None:
    page = opened()
    page.click("#settings")
    page.check("[name=inches][value=yes]")
    page.keyboard.press("Escape")
    settled(page)
    assert page.input_value("#field-block-width-mm") == "4.7244"
    assert re.search(r"0\.\d+ in,", say(page))
    page.fill("#field-block-width-mm", "5")
    settled(page)
    assert kept(page)["block"]["width_mm"] == 127
    page.reload()
    page.wait_for_selector("body[data-ready]")
    assert page.input_value("#field-block-width-mm") == "5"


def test_walking_along_the_lands_tells_each_place(opened) -> None:
    page = opened()
    page.focus("#walk")
    page.keyboard.press("ArrowRight")
    told = page.get_attribute("#walk", "aria-valuetext")
    assert re.match(r"Land 1, .* presses with [\d.]+ kPa$", told)
    page.keyboard.press("End")
    assert page.get_attribute("#walk", "aria-valuetext").startswith("Land 5, ")
    assert page.locator("#section .reading").count() == 1


def test_the_squeezed_shape_moves_the_cavities(opened) -> None:
    page = opened(reduced_motion="reduce")
    before = page.get_attribute("#section .rubber", "d")
    page.check("#squeezed")
    page.wait_for_selector("#section path.former >> nth=0")
    assert page.get_attribute("#section .rubber", "d") != before
    assert page.locator("#section path.former").count() == 5
    assert "as squeezed as it is" in page.inner_text("#scale-note")


SLOW = pytest.mark.slow


@pytest.mark.parametrize(
    ("size", "scheme"),
    [
        (NARROW, "light"),
        pytest.param(NARROW, "dark", marks=SLOW),
        pytest.param(WIDE, "light", marks=SLOW),
        pytest.param(WIDE, "dark", marks=SLOW),
    ],
)
def test_accessible_in_every_view(opened, size, scheme: str) -> None:
    page = opened(size, color_scheme=scheme)

    def check(where: str) -> None:
        found = axe.Axe().run(page).response["violations"]
        told = [(v["id"], v["nodes"][0]["html"]) for v in found]
        assert told == [], where

    page.click("#pin")
    page.fill("#field-block-bevel-mm", "500")
    page.wait_for_selector("#field-block-bevel-mm[aria-invalid]")
    check("a fault")
    page.click("#undo")
    settled(page)
    page.evaluate("document.querySelectorAll('details').forEach((d) => { d.open = true; })")
    check("everything unfolded")
    for name in ("#settings", "#open"):
        page.click(name)
        check(name)
        page.keyboard.press("Escape")
    for view in VIEWS:
        page.click(f".views >> text={view}")
        page.wait_for_timeout(600)
        check(view)


@pytest.mark.parametrize(
    "size", [NARROW, pytest.param(SLATE, marks=SLOW), pytest.param(WIDE, marks=SLOW)]
)
def test_nothing_runs_over_and_every_target_takes_a_finger(opened, size) -> None:
    page = opened(size, has_touch=True)
    page.evaluate("document.querySelectorAll('details').forEach((d) => { d.open = true; })")
    for view in VIEWS:
        page.click(f".views >> text={view}")
        page.wait_for_timeout(400)
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
    page.click(".views >> text=Section")
    page.wait_for_timeout(200)
    target = page.locator("#section .handle .target >> nth=0").bounding_box()
    assert target["width"] >= 43.5


def test_everything_is_reached_by_keys(opened) -> None:
    page = opened()
    reached = set()
    page.keyboard.press("Tab")
    for _ in range(150):
        reached.add(
            page.evaluate(
                "document.activeElement.id || document.activeElement.getAttribute('aria-label')"
                " || document.activeElement.textContent"
            )
        )
        page.keyboard.press("Tab")
    for wanted in ("open", "save", "undo", "squeezed", "pin", "walk", "field-block-bevel-mm"):
        assert wanted in reached or wanted == "undo", wanted
    assert any(name and name.startswith("Cut 'across") for name in reached)
    assert any(name and name.startswith("Middle of 'barrel 1'") for name in reached)
