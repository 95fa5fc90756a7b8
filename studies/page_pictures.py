"""Photograph the page for docs/page.md: `python studies/page_pictures.py` (wants .[browser]).

By hand, after a change of the page's looks; then look at the pictures.
"""

from __future__ import annotations

import shutil
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from playwright.sync_api import Page, sync_playwright

TOP = Path(__file__).resolve().parents[1]
PICTURES = TOP / "docs" / "pictures"
SIZE = {"width": 1440, "height": 1080}
PATIENCE_MS = 120_000
SETTLED = """() => !document.querySelector('#busy').hasAttribute('data-on')
    && document.querySelector('#verdict').dataset.state !== 'waiting'
    && !document.querySelector('#scale-note').textContent.includes('a better one follows')"""
SURE = "() => !document.querySelector('#variations').hidden"
TAUGHT = """() => (document.querySelector('.teach .small-note').textContent !== ''
      || !document.querySelector('.teach .at-small').hidden)
    && !document.querySelector('.teach-pictures').textContent.includes('a first answer')
    && document.querySelector('.grown .chart-dot[r="5"]')"""


@contextmanager
def served(mold: Path) -> Iterator[str]:
    """Serve the page with a mold; yield its address."""
    command = [sys.executable, "-m", "squeeze", "page", str(mold), "--no-browser", "--port", "7455"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None
        try:
            yield next(word for word in process.stdout.readline().split() if "http" in word)
        finally:
            process.terminate()


def photograph(page: Page, address: str) -> None:
    """Take the section and the view for a class."""
    page.goto(address)
    page.wait_for_selector("body[data-ready]", timeout=PATIENCE_MS)
    page.wait_for_function(SETTLED, timeout=PATIENCE_MS)
    page.wait_for_function(SURE, timeout=PATIENCE_MS)
    page.screenshot(path=PICTURES / "page.png")
    page.get_by_text("Teach", exact=True).click()
    page.wait_for_selector("#teach-round", timeout=PATIENCE_MS)
    page.get_by_text("It closes, the rounder the better.").click()
    for share in ("40", "75"):
        page.fill("#teach-round", share)
        page.wait_for_function(TAUGHT, timeout=PATIENCE_MS)
    page.screenshot(path=PICTURES / "page-teach.png")


def main() -> None:
    """Write both pictures."""
    mold = TOP / "studies" / "barrels" / "barrels.toml"
    with served(mold) as address, sync_playwright() as driver:
        browser = driver.chromium.launch(
            executable_path=shutil.which("chromium"), args=["--no-sandbox"]
        )
        photograph(browser.new_page(viewport=SIZE), address)
        browser.close()


if __name__ == "__main__":
    main()
