"""A real browser for the tests: Chromium, driven.

Without one the tests are skipped, unless the environment says ``SQUEEZE_BROWSER=required``: then
they fail. ``SQUEEZE_BROWSER=/path/to/chromium`` names one that is not on the path.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import cache
from importlib import import_module
from typing import Any

import pytest

import squeeze
from squeeze.mold import dump

WANTED = os.environ.get("SQUEEZE_BROWSER", "")
NAMES = ("chromium", "chromium-browser", "google-chrome")

FLAGS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
WIDE = (1280, 900)

ANSWERED = """() => !document.querySelector('#section').classList.contains('stale')
    && !document.querySelector('#verdict').hasAttribute('data-stale')
    && document.querySelector('#verdict').dataset.state !== 'waiting'"""

SETTLED = f"""{ANSWERED} && !document.querySelector('#busy').hasAttribute('data-on')
    && !document.querySelector('#scale-note').textContent.includes('a better one follows')"""

PATIENCE_MS = 180_000
"""How long the page may take to settle; much, for the machine may be busy [ms]."""


def _browser_path() -> str | None:
    names = (WANTED,) if "/" in WANTED else NAMES
    return next(filter(None, map(shutil.which, names)), None)


def _without(why: str) -> None:
    """Leave the tests out for want of a browser, or fail where one is required."""
    if WANTED:
        pytest.fail(f"SQUEEZE_BROWSER={WANTED}, but {why}", pytrace=False)
    pytest.skip(why)


def pytest_itemcollected(item: pytest.Item) -> None:
    """Call each test of this folder slow: it waits for a browser and for real answers."""
    item.add_marker(pytest.mark.slow)


@pytest.fixture(scope="module")
def chromium() -> Iterator[Any]:
    """Start the browser once a module.

    Not once for all: its driver holds the thread's event loop, which tests elsewhere need.
    """
    path = _browser_path()
    try:
        driving = import_module("playwright.sync_api")
    except ImportError:
        _without("the extra 'browser' is not installed")
    if path is None:
        _without("there is no Chromium on this machine")
    with driving.sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=path, args=FLAGS, timeout=PATIENCE_MS)
        yield browser
        browser.close()


@cache
def _said_of(text: str) -> str:
    """Return the verdict's sentence on a mold file; several tests ask for the same ones."""
    mold = squeeze.parse(text)
    return squeeze.judge(squeeze.close(mold, check=False), mold=mold).say


class Driven:
    """A tab with the page in it; whatever is not here is asked of playwright's own page."""

    def __init__(self, page: Any, address: str) -> None:
        self.page, self.address = page, address

    def __getattr__(self, name: str) -> Any:
        return getattr(self.page, name)

    def enter(self) -> Driven:
        """Go to the page and wait for its first answer, a coarse one."""
        self.page.goto(self.address, timeout=PATIENCE_MS)
        return self.ready()

    def ready(self) -> Driven:
        """Wait for the first answer after the page was opened, a coarse one."""
        self.page.wait_for_selector("body[data-ready]", timeout=PATIENCE_MS)
        self.answered()
        return self

    def again(self) -> None:
        """Reload the page."""
        self.page.reload()
        self.ready()

    def beside(self) -> Driven:
        """Open another tab of the same browser."""
        return Driven(self.context.new_page(), self.address).enter()

    def in_place(self) -> Driven:
        """Close the tab and open another one of the same browser."""
        context = self.context
        self.page.close()
        return Driven(context.new_page(), self.address).enter()

    def answered(self) -> None:
        """Wait until an answer to the mold as it stands is drawn, a coarse one at least."""
        self.page.wait_for_function(ANSWERED, timeout=PATIENCE_MS)

    def settled(self) -> None:
        """Wait until the fine answer to the mold as it stands is drawn."""
        self.page.wait_for_function(SETTLED, timeout=PATIENCE_MS)

    def drawn(self) -> None:
        """Wait until the browser has drawn what changed last."""
        self.page.evaluate(
            "new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))"
        )

    def view(self, name: str) -> None:
        """Go to a view by its name in the head, and wait until it stands."""
        self.page.click(f".views >> text={name}")
        self.until(f"document.querySelector('.views [aria-current]').textContent.match('{name}')")
        self.drawn()

    def until(self, condition: str) -> None:
        """Wait until an expression in JavaScript is true."""
        self.page.wait_for_function(f"() => {condition}", timeout=PATIENCE_MS)

    def kept(self) -> dict[str, Any]:
        """Return the mold as the browser keeps it, once it has kept the last change."""
        self.page.wait_for_function(
            "() => document.body.dataset.kept === 'yes'", timeout=PATIENCE_MS
        )
        return self.page.evaluate(
            "JSON.parse(localStorage['squeeze.mold.' + sessionStorage['squeeze.slot']]).mold"
        )

    def said(self) -> str:
        """Return the verdict's sentence."""
        return self.page.inner_text("#say")

    @staticmethod
    def said_of(mold: Any) -> str:
        """Return the verdict's sentence as the command line would tell it."""
        return _said_of(dump(mold))

    def drag(self, selector: str, dx: float, dy: float) -> None:
        """Drag the middle of something by so many pixels."""
        box = self.page.locator(selector).bounding_box()
        x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
        self.page.mouse.move(x, y)
        self.page.mouse.down()
        for k in range(1, 6):
            self.page.mouse.move(x + dx * k / 5, y + dy * k / 5)
        self.page.mouse.up()


@pytest.fixture(scope="session")
def driven() -> type[Driven]:
    """Return what drives a tab; call it with a tab and an address."""
    return Driven


@contextmanager
def _watched(chromium: Any, site: Any) -> Iterator[Callable[..., Driven]]:
    """Yield what opens the page; afterwards no page may have asked elsewhere or have failed."""
    seen: list[str] = []
    faults: list[str] = []
    contexts: list[Any] = []

    def watch(page: Any) -> None:
        page.on("request", lambda request: seen.append(request.url))
        page.on("pageerror", lambda error: faults.append(f"{error} {error.stack}"))

    def start(size: tuple[int, int] = WIDE, sure: bool = False, **more: Any) -> Driven:
        width, height = size
        context = chromium.new_context(viewport={"width": width, "height": height}, **more)
        context.on("page", watch)
        if not sure:
            context.route("**/sure", lambda route: None)
        context.set_default_timeout(PATIENCE_MS)
        contexts.append(context)
        return Driven(context.new_page(), site.address).enter()

    yield start
    for context in contexts:
        for page in (*context.pages, context):
            page.unroute_all(behavior="ignoreErrors")
        context.close()
    elsewhere = [url for url in seen if not url.startswith((site.origin, "blob:", "data:"))]
    assert elsewhere == []
    assert faults == []


@pytest.fixture
def opened(chromium: Any, site: Any) -> Iterator[Callable[..., Driven]]:
    """Return what opens the page in a fresh browser; call it with a size, and options.

    How sure a verdict is takes a dozen closings more: that answer comes with ``sure=True`` alone.
    """
    with _watched(chromium, site) as start:
        yield start


@pytest.fixture(scope="module")
def resting(chromium: Any, site: Any) -> Iterator[Driven]:
    """Return the page at rest with its fine answer, one a module: for tests that change nothing."""
    with _watched(chromium, site) as start:
        page = start(reduced_motion="reduce")
        page.settled()
        yield page


@pytest.fixture
def rules(chromium: Any) -> Callable[[Driven], list[tuple[str, str]]]:
    """Return what tells the accessibility rules that a page breaks: (rule, HTML of the place)."""
    try:
        axe = import_module("axe_playwright_python.sync_playwright").Axe()
    except ImportError:
        _without("the extra 'browser' is not installed")

    def broken(driven: Driven) -> list[tuple[str, str]]:
        found = axe.run(driven.page).response["violations"]
        return [(v["id"], node["html"]) for v in found for node in v["nodes"]]

    return broken
