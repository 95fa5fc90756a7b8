"""A worker dies, the server is killed and started anew: the page goes on, and nothing is lost."""

from __future__ import annotations

import os
import signal
from pathlib import Path


def test_the_page_outlives_its_workers_and_its_server(chromium, driven, fresh_site) -> None:
    context = chromium.new_context(viewport={"width": 1280, "height": 900})
    context.route("**/sure", lambda route: None)
    page = driven(context.new_page(), fresh_site.address).enter()
    for child in fresh_site.children():
        if b"spawn_main" in Path(f"/proc/{child}/cmdline").read_bytes():
            os.kill(child, signal.SIGKILL)
    page.fill("#field-block-bevel-mm", "30")
    page.answered()
    assert page.kept()["block"]["bevel_mm"] == 30
    page.keyboard.press("Tab")  # what is typed next is a step of its own
    fresh_site.kill()
    page.fill("#field-block-bevel-mm", "35")
    page.until("document.querySelector('#say').textContent.includes('does not answer')")
    assert page.get_attribute("#verdict", "data-state") == "unclear"
    later = fresh_site.again()
    try:
        assert later.address == fresh_site.address
        page.until("document.querySelector('#verdict').dataset.state === 'seals'")
        page.answered()
        assert page.input_value("#field-block-bevel-mm") == "35"
        page.click("#undo")
        page.answered()
        assert page.input_value("#field-block-bevel-mm") == "30"
    finally:
        later.process.terminate()
        later.process.wait(15)
        later.process.stdout.close()
        context.close()
