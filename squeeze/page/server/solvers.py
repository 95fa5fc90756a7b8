"""Processes that work out the answers, so that a long one can be ended and none blocks the page."""

from __future__ import annotations

import asyncio
import multiprocessing
import os
import signal
import threading
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager, suppress
from multiprocessing import resource_tracker
from multiprocessing.connection import Connection
from typing import Any

LIMIT_S = 300.0
"""No answer may take longer [s]; whoever waits can stop it before."""

DESIGN_LIMIT_S = 3600.0
"""A design searches hundreds of blocks [s]."""

SLOW = ("advise", "design", "sheet", "figure", "templates", "why", "along", "bands", "class")
"""These close dozens of molds, or factorise dozens of waves; they wait for each other, and for
nothing else, so that the section goes on meanwhile."""

GRACE_S = 2.5
"""How long a process may take to leave an answer that nobody waits for any more [s]; then it is
ended, and another one takes as long to start."""

STOP = "stop"
"""Sent to a process that is to leave its answer; it does at the next news of it."""

AT_HAND = ("start", "open", "read", "write")
"""Short ones that a hand waits for, as it does for a coarse answer."""

MOST_WAITING = 200

Reply = tuple[int, dict[str, Any]]

ENDED: Reply = 503, {"error": "The calculation was ended before it was done."}
DIED: Reply = (
    500,
    {
        "error": "The calculation stopped twice without a word, perhaps for want of memory. Close"
        " other programs, or try a mold with fewer cavities and cuts."
    },
)
OVERTAKEN: Reply = 409, {"error": "A later change took the place of this one."}


NEWS_S = 0.2
"""News of one answer come no quicker than this [s]."""

News = Callable[[dict[str, Any]], None]


class _Left(BaseException):
    """Nobody waits for the answer any more. No error of the answer: nothing may catch it there."""


def work(wire: Connection) -> None:
    """Answer what comes along the wire until it is closed; meanwhile, send news of it.

    News are dicts, answers are pairs of a status and a dict. An answer that is to be left is left
    where there would be news; the process stays, with all that it has loaded and keeps.
    """
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    from squeeze.page.answers.answer import answer

    last = 0.0

    def progress(what: str, share: float | None = None) -> None:
        nonlocal last
        if wire.poll():
            raise _Left
        now = time.monotonic()
        if now - last >= NEWS_S:
            last = now
            wire.send({"what": what, "share": share})

    while True:
        try:
            asked = wire.recv()
            if asked != STOP:  # else its answer went out just before
                wire.send(answer(asked, progress))
        except _Left:
            wire.send(ENDED)
        except (EOFError, OSError):
            return


def deaf(news: dict[str, Any]) -> None:
    """Drop the news."""


@contextmanager
def _unheard() -> Iterator[None]:
    """Keep Ctrl-C from the processes started meanwhile: the server ends them itself.

    A terminal sends it to all of them, and one that is still importing would print a traceback.
    """
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    resource_tracker.ensure_running()  # it lifts the mask again when it starts
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


class Solver:
    """One process at the other end of a wire."""

    def __init__(self, target: Callable[[Connection], None] = work) -> None:
        spawn = multiprocessing.get_context("spawn")
        self.wire, far = spawn.Pipe()
        self.process = spawn.Process(target=target, args=(far,), daemon=True)
        with _unheard():
            self.process.start()
        far.close()
        self._begin()

    def _begin(self) -> None:
        self.page = ""
        self.at_hand = False
        self.ended = False
        self.sending = threading.Lock()

    def ask(self, asked: dict[str, Any], limit_s: float, hear: News = deaf) -> Reply:
        """Return the answer; waits for it. The process is ended when it takes too long.

        Parameters
        ----------
        asked : dict
        limit_s : float
            How long the answer may take [s].
        hear : callable
            Takes the news that the process sends meanwhile.

        Raises
        ------
        EOFError, OSError
            When the process dies before it answers.
        """
        with self.sending:
            self.wire.send(asked)
        until = time.monotonic() + limit_s
        while self.wire.poll(max(0.0, until - time.monotonic())):
            came = self.wire.recv()
            if not isinstance(came, dict):
                return came
            hear(came)
        self.end()
        return 504, {"error": f"The calculation took more than {limit_s:g} s and was ended."}

    def leave(self) -> None:
        """Have the process leave its answer as soon as it can, and stay."""
        if self.sending.acquire(blocking=False):
            with suppress(OSError):
                self.wire.send(STOP)
            self.sending.release()

    def kill(self) -> None:
        """End the process, whatever it is doing; nobody may ask it from now on."""
        self.ended = True
        self.process.kill()

    def end(self) -> None:
        """End the process and wait until it is gone."""
        self.kill()
        self.process.join()

    @property
    def alive(self) -> bool:
        """Whether it can be asked."""
        return not self.ended and self.process.is_alive()


class _Page:
    """What one page has asked: one answer under way, the others wait in line."""

    def __init__(self) -> None:
        self.line = asyncio.Lock()
        self.latest: object = None
        self.asking = 0
        self.job: object = None
        self.solver: Solver | None = None


class Solvers:
    """A few processes for all pages: each page has one answer under way, and its latest wins.

    Parameters
    ----------
    count : int
        How many processes at most, and one more for what is slow; 0 = as many as there are cores,
        at most 2.
    limit_s, grace_s : float
        How long an answer may take; and how long when nobody waits for it any more [s].
    make : callable
        Starts one more process.
    """

    def __init__(
        self,
        count: int = 0,
        limit_s: float = LIMIT_S,
        grace_s: float = GRACE_S,
        make: Callable[[], Solver] = Solver,
    ) -> None:
        self.count = count or max(1, min(2, os.cpu_count() or 1))
        self.limit_s, self.grace_s, self.make = limit_s, grace_s, make
        self.free = [make() for _ in range(self.count)]
        self.free[0].at_hand = True
        self.pages: dict[str, _Page] = {}
        self.turns, self.slow = asyncio.Semaphore(self.count), asyncio.Semaphore(1)
        self.threads = ThreadPoolExecutor(self.count + 1)

    async def ask(self, asked: dict[str, Any], name: str, hear: News = deaf) -> Reply:
        """Return the answer for a page; 409 when the page asked again before its turn came.

        `hear` takes the news of it, in a thread of its own.
        """
        if sum(page.asking for page in self.pages.values()) >= MOST_WAITING:
            return 503, {"error": "Too much is being asked at once; try again in a moment."}
        page = self.pages.setdefault(name, _Page())
        mine = page.latest = object()
        self._end_soon(page)
        page.asking += 1
        try:
            async with page.line, self.slow if asked["do"] in SLOW else self.turns:
                if page.latest is not mine:
                    return OVERTAKEN
                answer = await self._kept_to_the_end(asked, name, page, hear)
                return OVERTAKEN if answer == ENDED and page.latest is not mine else answer
        finally:
            page.asking -= 1
            if not page.asking:
                self.pages.pop(name, None)

    async def _kept_to_the_end(
        self, asked: dict[str, Any], name: str, page: _Page, hear: News
    ) -> Reply:
        """Run a job; when the one who asked goes away, it is ended soon and waited for."""
        task = asyncio.create_task(self._run(asked, name, page, hear))
        try:
            return await asyncio.shield(task)
        except asyncio.CancelledError:
            self._end_soon(page)
            await task
            raise

    async def _run(self, asked: dict[str, Any], name: str, page: _Page, hear: News) -> Reply:
        """Have a process answer; where it dies of itself, another one is asked once more.

        A process may die of what it did before, or of what others do to the machine; only what
        kills a second, fresh process is called the fault of what was asked.
        """
        page.job = object()
        try:
            for fresh in (False, True):
                at_hand = asked["do"] in AT_HAND or asked.get("quick") is True
                solver = page.solver = self._take(name, at_hand, fresh)
                solver.page = name
                answer = await self._asked(asked, solver, hear)
                if answer is not DIED:
                    return answer
            return DIED
        finally:
            page.job = page.solver = None

    async def _asked(self, asked: dict[str, Any], solver: Solver, hear: News) -> Reply:
        loop = asyncio.get_running_loop()
        limit_s = DESIGN_LIMIT_S if asked["do"] == "design" else self.limit_s
        try:
            answer = await loop.run_in_executor(self.threads, solver.ask, asked, limit_s, hear)
        except (EOFError, OSError):
            answer = ENDED if solver.ended else DIED
            solver.end()
        if solver.alive:
            self.free.append(solver)
        else:
            solver.end()  # given up just as its answer came
        return answer

    def _take(self, name: str, at_hand: bool, fresh: bool) -> Solver:
        """Return a free solver, or a fresh one.

        One is there for what a hand waits for, the others for what takes its time: what one of
        these has kept of a mold serves the next longer answer on it. Of several, the one that
        served this page last is taken, else the one free for longest.
        """
        dead = [solver for solver in self.free if not solver.alive]
        self.free = [solver for solver in self.free if solver not in dead]
        for solver in dead:
            solver.end()
        fit = sorted(self.free, key=lambda one: (one.at_hand != at_hand, one.page != name))
        if fresh or not fit:
            made = self.make()
            made.at_hand = at_hand
            return made
        self.free.remove(fit[0])
        return fit[0]

    def _end_soon(self, page: _Page) -> None:
        """Leave what a page has under way; end its process if it goes on after the grace."""
        job = page.job
        if job is None:
            return
        if page.solver is not None:
            page.solver.leave()

        def end() -> None:
            if page.job is job and page.solver is not None:
                page.solver.kill()

        asyncio.get_running_loop().call_later(self.grace_s, end)

    def end(self) -> None:
        """End all processes."""
        under_way = [page.solver for page in self.pages.values() if page.solver]
        for solver in (*self.free, *under_way):
            solver.end()
        self.threads.shutdown(wait=False, cancel_futures=True)
