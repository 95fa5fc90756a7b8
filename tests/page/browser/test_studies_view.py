"""The view of studies."""

from __future__ import annotations

import csv
from typing import Any

import pytest

from squeeze.mold import dump, mold_of

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


FLAT = {"shape": "rectangle", "width_mm": 120, "height_mm": 40, "bevel_mm": 3}
"""Wide and low: its cut opens in the middle, and the more so the harder its bands pull."""

FIELDS = """nodes => nodes.filter((n) => n.querySelector('title')).map((n) => {
    const box = n.getBBox();
    return [box.x + box.width / 2, box.y + box.height / 2, n.querySelector('title').textContent,
            n.getAttribute('fill')];
})"""
FIGURES = "nodes => nodes.map((n) => [+n.getAttribute('x'), +n.getAttribute('y'), n.textContent])"
SCALE = """nodes => nodes.filter((n) => !n.querySelector('title'))
    .map((n) => [n.getAttribute('fill'), Number(n.nextElementSibling.textContent)])"""


def by_place(marks: list[list[Any]], across: list[float], up: list[float]) -> dict[Any, list[Any]]:
    """Return what stands in a map at each pair of values; `marks` begin with x and y [px].

    Columns and rows are counted on the map, the lowest row first.
    """
    columns = sorted({round(mark[0]) for mark in marks})
    rows = sorted({round(mark[1]) for mark in marks}, reverse=True)
    place = {(round(m[0]), round(m[1])): m[2:] for m in marks}
    return {
        (a, b): place.get((x, y))
        for a, x in zip(across, columns, strict=True)
        for b, y in zip(up, rows, strict=True)
    }


def test_each_field_of_a_map_tells_the_figure_of_its_case(opened, mold, tmp_path) -> None:
    """Four bevels by four pulls; the last bevel leaves nothing of a side."""
    bevels, pulls = [3.0, 9.0, 15.0, 21.0], [0.01, 0.02, 0.03, 0.04]
    cut = [{"name": "across", "path_mm": [[-60, 0], [60, 0]]}]
    page = opened()
    text = dump(mold_of(mold(title="Flat", block=FLAT, cut=cut))).encode()
    page.set_input_files("#file", {"name": "flat.toml", "mimeType": "", "buffer": text})
    page.until("document.querySelector('#of').textContent === 'Flat'")
    page.view("Studies")
    page.fill("#study-title", "Bevels by pulls")
    page.select_option("#vary-1", label="Bands: Tension per mm of block")
    for i, values in enumerate((bevels, pulls)):
        for name, value in (("from", values[0]), ("to", values[-1]), ("values", len(values))):
            page.fill(f"#vary-{i}-{name}", str(value))
    page.click("text=Begin the study")
    page.wait_for_selector("text=12 of 16 done, 4 without an answer", timeout=60_000)
    page.until("document.querySelectorAll('.charts .map-figure').length === 5 * 12")
    with page.expect_download() as waiting:
        page.click("text=Save as CSV")
    waiting.value.save_as(tmp_path / "map.csv")
    with (tmp_path / "map.csv").open(newline="") as file:
        cases = {
            (float(row["block.bevel_mm"]), float(row["band.1.tension_n_per_mm"])): row
            for row in csv.DictReader(file)
        }
    charts = page.locator(".chart-figure")
    titles = [charts.nth(k).locator("figcaption").inner_text() for k in range(charts.count())]
    for title, key in (
        ("Widest gap, mm", "largest_gap_mm"),
        ("Mean pressure, kPa", "mean_pressure_kpa"),
    ):
        chart = charts.nth(titles.index(title))
        cells = chart.locator("svg > .map-cell, svg > .chart-missing")
        fields = by_place(cells.evaluate_all(FIELDS), bevels, pulls)
        figures = by_place(chart.locator(".map-figure").evaluate_all(FIGURES), bevels[:3], pulls)
        scale = cells.evaluate_all(SCALE)
        assert fields.keys() == cases.keys()
        for place, row in cases.items():
            told, colour = fields[place]
            if place[0] == bevels[-1]:
                assert "leaves nothing of a side" in told
                assert (colour, row[key]) == (None, "")
                continue
            value = float(row[key])
            assert float(told) == pytest.approx(value, abs=5e-4)
            assert float(figures[place][0]) == pytest.approx(value, rel=0.05)
            assert colour == [tint for tint, begins in scale if begins <= value * (1 + 1e-9)][-1]
        for bevel in bevels[:3]:  # the block deforms little: figures go as the pull
            one, four = (float(fields[bevel, pull][0]) for pull in (pulls[0], pulls[-1]))
            assert four == pytest.approx(4 * one, abs=2.5e-3)
            assert four > 0.05
