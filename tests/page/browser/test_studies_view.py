"""The view of studies."""

from __future__ import annotations

VIEWS = ("Section", "Trace", "Teach", "Studies")
WIDE, SLATE, NARROW = (1280, 900), (820, 1100), (320, 640)


def test_a_study_runs_on_when_its_tab_is_closed(opened, site, tmp_path) -> None:
    page = opened()
    page.click(".views >> text=Studies")
    page.fill("#study-title", "Bevels of a test")
    page.fill("#vary-0-values", "3")
    assert page.inner_text(".study-form [role=status]") == "3 cases to compute."
    page.click("text=Begin the study")
    page.wait_for_selector(".study-list li")
    again = page.in_place()
    again.click(".views >> text=Studies")
    again.wait_for_selector("text=3 of 3 done", timeout=60_000)
    again.wait_for_selector(".chart-line")
    assert again.locator(".chart-figure .chart").count() == 5
    assert "Bevel (leg of the flat), mm" in again.inner_text(".chart-figure >> nth=0")
    again.hover(".chart-dot >> nth=0")
    again.wait_for_selector(".peek .thumb")
    with again.expect_download() as waiting:
        again.click("text=Save as CSV")
    waiting.value.save_as(tmp_path / "study.csv")
    lines = (tmp_path / "study.csv").read_text().splitlines()
    assert lines[0].startswith("block.bevel_mm,closed_share,largest_gap_mm")
    assert len(lines) == 4
    again.click("summary:has-text('Table')")
    assert again.locator(".study-table tbody tr").count() == 3
    again.fill("#vary-0-values", "1")
    again.click("text=Begin the study")
    again.wait_for_function("() => document.querySelector('.study-form .fault').textContent !== ''")
    assert "2 to 60 values" in again.inner_text(".study-form .fault")


def test_a_study_is_told_in_inches_and_saved_in_mm(opened, tmp_path) -> None:
    page = opened()
    page.click("#settings")
    page.check("[name=inches][value=yes]")
    page.keyboard.press("Escape")
    page.click(".views >> text=Studies")
    page.fill("#study-title", "Bevels in inches")
    page.fill("#vary-0-from", "0.5")
    page.fill("#vary-0-to", "2.75")
    page.fill("#vary-0-values", "2")
    page.click("text=Begin the study")
    entry = ".study-list li:has-text('Bevels in inches')"
    page.wait_for_selector(f"{entry} >> text=1 of 2 done, 1 without an answer", timeout=60_000)
    page.wait_for_selector(".chart-missing")
    page.click("summary:has-text('Table')")
    page.until("document.querySelectorAll('.study-table tbody tr').length === 2")
    told = page.inner_text(".charts")
    assert "leaves nothing of a side of 4.72 in at (0, -2.36) in; at most 2.36 in" in told
    assert "Bevel (leg of the flat), in" in told
    assert "Least pressure, psi" in told
    assert [word for word in ("mm", "kPa", "block.") if word in told] == []
    assert page.inner_text(".study-table tbody td >> nth=0") == "0.5"
    page.hover(".chart-missing >> nth=0")
    page.wait_for_selector(".peek .thumb")
    assert "2.75" in page.inner_text(".peek figcaption")
    with page.expect_download() as waiting:
        page.click("text=Save as CSV")
    waiting.value.save_as(tmp_path / "study.csv")
    assert (tmp_path / "study.csv").read_text().splitlines()[1].startswith("12.7,")


def test_a_study_is_begun_watched_stopped_and_shown(opened, site) -> None:
    page = opened()
    page.click(".views >> text=Studies")
    labels = page.locator("#vary-0 option").all_inner_texts()
    assert len(set(labels)) == len(labels)
    assert page.locator("#vary-0 optgroup").count() >= 5
    page.fill("#study-title", "<b>Bevels</b> & more")
    page.fill("#vary-0-from", "-")
    assert page.inner_text(".study-form [role=status]") == 'From: "-" is not a number.'
    page.click("text=Begin the study")
    assert page.inner_text(".study-form .fault") == 'From: "-" is not a number.'
    page.fill("#vary-0-from", "0")
    page.fill("#vary-0-to", "30")
    page.fill("#vary-0-values", "60")
    page.click("text=Begin the study")
    entry = ".study-list li:has-text('<b>Bevels</b> & more')"
    page.wait_for_selector(f"{entry} >> text=/^[1-9]\\d* of 60 done/", timeout=120_000)
    page.wait_for_selector(".chart-line")
    page.click(f"{entry} >> text=Stop")
    page.wait_for_selector(f"{entry} >> text=Go on", timeout=60_000)
    page.click("summary:has-text('Table')")
    done = int(page.inner_text(f"{entry} .study-note").split()[0])
    assert 1 <= done < 60
    assert page.locator(".study-table tbody tr").count() >= done
