"""How evenly the page draws while a hand drags a point of the section.

    python tests/benchmarks/frames.py [--seconds 2] [--profile drag.cpuprofile]

Wants ``.[browser]`` and a Chromium. Prints the time between frames, and what the browser spent on
scripts, styles and layout meanwhile. That is wall time: compare runs of a quiet machine alone;
the load of the machine is printed beside it.
"""

from __future__ import annotations

import argparse
import json
import math
import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from playwright.sync_api import sync_playwright
from table import Table

TOP = Path(__file__).resolve().parents[2]
FLAGS = ["--headless", "--no-sandbox", "--disable-gpu"]
PATIENCE_MS = 180_000
WATCH = """() => { window.gaps = []; window.watching = true; let last = performance.now();
    const frame = (now) => { window.gaps.push(now - last); last = now;
      if (window.watching) requestAnimationFrame(frame); };
    requestAnimationFrame(frame); }"""
WATCH_ANSWERS = """() => { window.waits = []; let arrived = null, frames = 0;
    const parse = JSON.parse;
    JSON.parse = (...given) => { const said = parse(...given);
      if (said?.lands && said.status === 200) arrived ??= frames;
      return said; };
    new MutationObserver(() => {
      if (arrived !== null) window.waits.push(frames - arrived);
      arrived = null;
    }).observe(document.querySelector('#described'),
      { childList: true, characterData: true, subtree: true });
    const frame = () => { frames += 1; requestAnimationFrame(frame); };
    requestAnimationFrame(frame); }"""  # the words for the section change as its picture does
AT_REST = """() => !document.querySelector('#busy').hasAttribute('data-on')
    && document.querySelector('#sure-note').textContent === ''
    && document.querySelector('#verdict').dataset.state !== 'waiting'"""
SPENT = ("TaskDuration", "ScriptDuration", "LayoutDuration", "RecalcStyleDuration")


@contextmanager
def served() -> Iterator[str]:
    """Serve the page with the barrels; yield its address."""
    mold = str(TOP / "studies" / "barrels" / "barrels.toml")
    with tempfile.TemporaryDirectory() as home:
        command = [sys.executable, "-m", "squeeze", "page", mold, "--no-browser", "--port", "0"]
        environment = os.environ | {"HOME": home, "PYTHONPATH": str(TOP)}
        with subprocess.Popen(
            command, stdout=subprocess.PIPE, text=True, env=environment
        ) as process:
            assert process.stdout is not None
            try:
                yield next(word for word in process.stdout.readline().split() if "http" in word)
            finally:
                process.terminate()


def drag(page: Any, selector: str, seconds: float) -> None:
    """Drag a point to and fro for some seconds, as quickly as a hand does."""
    box = page.locator(selector).first.bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    began = time.monotonic()
    while (spent := time.monotonic() - began) < seconds:
        far = 30 * math.sin(3 * spent)
        page.mouse.move(x - abs(far), y + abs(far))
        time.sleep(0.012)
    page.mouse.up()


def spent(session: Any) -> dict[str, float]:
    """Return what the browser has spent so far [s]."""
    metrics = session.send("Performance.getMetrics")["metrics"]
    return {each["name"]: each["value"] for each in metrics if each["name"] in SPENT}


def measure(page: Any, session: Any, table: Table, selector: str, seconds: float) -> None:
    """Measure the frames while one point is dragged."""
    answers: list[str] = []
    page.on("requestfinished", lambda r: answers.append(r.url) if r.url.endswith("/close") else 0)
    before = spent(session)
    page.evaluate(WATCH)
    page.evaluate("() => { window.waits.length = 0; }")
    drag(page, selector, seconds)
    gaps = sorted(page.evaluate("() => { window.watching = false; return window.gaps.slice(1); }"))
    after = spent(session)
    name = selector.rpartition(".")[2]
    table.add(f"{name}: answers drawn", len(answers), "")
    table.add(f"{name}: frames", len(gaps), "")
    table.add(f"{name}: time between frames, half of them", gaps[len(gaps) // 2], "ms", 17)
    table.add(f"{name}: 95 % of them", gaps[int(0.95 * len(gaps))], "ms", 34)
    table.add(f"{name}: the longest", gaps[-1], "ms")
    waits = sorted(page.evaluate("() => window.waits")) or [math.nan]
    table.add(
        f"{name}: frames from an answer to its picture, half of them", waits[len(waits) // 2], "", 2
    )
    table.add(f"{name}: the most", waits[-1], "", 2)
    for key in SPENT:
        table.add(f"{name}: {key}", 1000 * (after[key] - before[key]) / len(gaps), "ms a frame")


def main() -> None:
    """Measure the bevel's and a cut's point."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=float, default=2.0)
    parser.add_argument("--profile", type=Path, help="write what scripts did, for the browser")
    given = parser.parse_args()
    print(f"load of the machine: {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores")
    with served() as address, sync_playwright() as driver:
        browser = driver.chromium.launch(
            executable_path=shutil.which("chromium"), args=FLAGS, timeout=PATIENCE_MS
        )
        page = browser.new_page(viewport={"width": 1440, "height": 900})
        page.set_default_timeout(PATIENCE_MS)
        page.goto(address)
        page.wait_for_selector("body[data-ready]")
        page.wait_for_function(AT_REST)
        page.evaluate(WATCH_ANSWERS)
        session = page.context.new_cdp_session(page)
        session.send("Performance.enable")
        if given.profile:
            session.send("Profiler.enable")
            session.send("Profiler.start")
        table = Table()
        for selector in ("#section .handle.bevel", "#section .handle.cut"):
            measure(page, session, table, selector, given.seconds)
            page.wait_for_function(AT_REST)
        if given.profile:
            given.profile.write_text(json.dumps(session.send("Profiler.stop")["profile"]))
        browser.close()


if __name__ == "__main__":
    main()
