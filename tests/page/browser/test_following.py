"""Pictures follow a hand that goes on moving, however long each answer takes."""

from __future__ import annotations

import time
from typing import Any

from squeeze.mold import mold_of

SLIDER = "#field-block-bevel-mm-slider"
PICTURES = 5
PATIENCE_S = 120.0

LATE = """() => { const fetched = window.fetch; window.asked = []; window.pictures = 0;
    window.fetch = async (path, how) => {
      const call = { quick: how?.body?.includes('"quick":true') ?? false, given_up: false };
      how?.signal?.addEventListener('abort', () => (call.given_up = true));
      if (path === '/close') window.asked.push(call);
      if (path === '/close') await new Promise((done) => setTimeout(done, 250));
      return fetched(path, how); };
    const block = document.querySelector('#section .rubber');
    const watcher = new MutationObserver(() => (window.pictures += 1));
    watcher.observe(block, { attributes: true, attributeFilter: ['d'] }); }"""
"""Every answer a quarter of a second later than it is; new pictures of the block are counted."""


def test_coarse_pictures_follow_a_slider_that_goes_on_moving(opened) -> None:
    page = opened()
    page.settled()
    page.evaluate(LATE)
    box = page.locator(SLIDER).bounding_box()
    x, y = box["x"] + 0.2 * box["width"], box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    began, k, moved = time.monotonic(), 0, 0.0
    while (spent := time.monotonic() - began) < PATIENCE_S:
        k += 1
        moved = 0.5 * box["width"] * abs((k % 80) / 40 - 1)
        page.mouse.move(x + moved, y)
        if spent > 2.0 and page.evaluate("window.pictures") >= PICTURES:
            break
    asked, pictures = page.evaluate("[window.asked, window.pictures]")
    assert pictures >= PICTURES
    assert [call for call in asked if call["quick"] and call["given_up"]] == []
    assert len(asked) < k  # not one for each movement
    page.mouse.move(x + moved, y + 300)
    page.mouse.up()  # beside the slider
    page.settled()
    given = page.kept()
    assert page.input_value(SLIDER) == f"{given['block']['bevel_mm']:g}"
    assert page.said() == page.said_of(mold_of(given))
    page.click("#undo")
    page.answered()
    assert page.kept()["block"]["bevel_mm"] == 3  # the whole drag was one step


def test_an_answer_that_takes_ten_seconds_comes_though_the_hand_goes_on(opened) -> None:
    page = opened()
    page.settled()
    page.clock.install()
    page.evaluate(
        """async () => {
            const { Asker } = await import('/assets/ask.js');
            window.fetch = (path, { signal, body }) => new Promise((done, fail) => {
              const json = new Response(body, { headers: { 'Content-Type': 'application/json' } });
              setTimeout(() => done(json), 10_000);
              signal.addEventListener('abort', () => fail(new DOMException('', 'AbortError'))); });
            window.came = [];
            const asker = new Asker('test', (_, { mold }) => window.came.push(mold));
            let moved = 0;
            setInterval(() => asker.want({ mold: (moved += 1) }), 500); }"""
    )
    page.clock.run_for(90_000)
    came: list[Any] = page.evaluate("window.came")
    assert len(came) >= 2
    assert came == sorted(came)
