"""A photograph is traced."""

from __future__ import annotations

import struct
import zlib
from pathlib import Path

import numpy as np
import pytest

import squeeze
from squeeze.mold import mold_of

VIEWS = ("Section", "Trace", "Teach", "Studies")
WIDE, SLATE, NARROW = (1280, 900), (820, 1100), (320, 640)


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
    page.settled()
    given = mold_of(page.kept())
    corners = np.array([(-60, 60), (60, 60), (60, -60), (-60, -60)])
    assert np.array(given.block.points_mm) == pytest.approx(corners, abs=0.6)
    assert given.cavity[0].diameter_mm == pytest.approx(40, abs=0.6)
    assert given.cavity[0].centre_mm == pytest.approx((0, 0), abs=0.6)
    closing = squeeze.close(given)
    assert [land.length_mm for land in closing.lands] == pytest.approx([40, 40], abs=1)
    assert page.said() == page.said_of(given)


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
    page.again()
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
