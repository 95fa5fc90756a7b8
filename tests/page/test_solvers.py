"""Processes that answer: one that dies takes no other answer along."""

from __future__ import annotations

import asyncio
import multiprocessing
import os
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

import pytest

from squeeze.page.server.app import app_of
from squeeze.page.server.solvers import ENDED, STOP, Solver, Solvers, work

OBEY = """
import os, signal, sys, time
from multiprocessing.connection import Connection
wire = Connection(int(sys.argv[1]))
while True:
    try:
        asked = wire.recv()
    except EOFError:
        break
    if asked == "stop":
        continue
    mark = asked.get("once")
    if asked["do"] == "die" or (mark and not os.path.exists(mark)):
        if mark:
            open(mark, "w").close()
        os.kill(os.getpid(), signal.SIGKILL)
    if asked.get("heeds") and wire.poll(20.0):
        wire.send((503, {"left": wire.recv()}))
        continue
    time.sleep(asked.get("wait_s", 0.0))
    wire.send((200, {"k": asked.get("k"), "process": os.getpid()}))
"""
"""Does what it is told in place of closing a mold: answers, waits, or dies."""


class _Process:
    """A process with the names that `Solver` uses."""

    def __init__(self, far: socket.socket) -> None:
        command = [sys.executable, "-c", OBEY, str(far.fileno())]
        self.popen = subprocess.Popen(command, pass_fds=[far.fileno()])
        self.pid = self.popen.pid

    def kill(self) -> None:
        self.popen.kill()

    def join(self) -> None:
        self.popen.wait()

    def is_alive(self) -> bool:
        return self.popen.poll() is None


class Obedient(Solver):
    def __init__(self) -> None:
        near, far = socket.socketpair()
        self.wire = Connection(near.detach())
        with far:
            self.process: Any = _Process(far)
        self._begin()

    def end(self) -> None:
        super().end()
        self.wire.close()


@pytest.fixture
def solvers() -> Iterator[Solvers]:
    made = Solvers(count=2, limit_s=20.0, grace_s=0.2, make=Obedient)
    yield made
    made.end()


async def ask(solvers: Solvers, *all_asked: dict[str, Any]) -> list[Any]:
    """Ask all at once, each for a page of its own."""
    pages = range(len(all_asked))
    jobs = (
        solvers.ask({"do": "close", "k": k} | asked, f"page {k}")
        for k, asked in zip(pages, all_asked, strict=True)
    )
    return await asyncio.gather(*jobs)


def test_a_process_that_dies_once_costs_nobody_an_answer(solvers: Solvers, tmp_path: Path) -> None:
    lost = [{"once": str(tmp_path / f"{k}")} for k in range(3)]
    found = asyncio.run(ask(solvers, *lost, *({"wait_s": 0.3},) * 5))
    assert [(status, said["k"]) for status, said in found] == [(200, k) for k in range(8)]


def test_what_kills_two_processes_is_told_and_the_others_are_answered(solvers: Solvers) -> None:
    jobs = [{"do": "die" if k % 3 == 0 else "close", "wait_s": 0.1} for k in range(9)]
    found = asyncio.run(ask(solvers, *jobs))
    assert [status for status, _ in found] == [500, 200, 200] * 3
    assert "stopped twice without a word" in found[0][1]["error"]


def test_processes_killed_while_they_are_free_are_replaced(solvers: Solvers) -> None:
    async def again_and_again() -> list[int]:
        found = []
        for _ in range(4):
            for solver in solvers.free:
                os.kill(solver.process.pid or 0, signal.SIGKILL)  # it may look alive for a while
            found += [status for status, _ in await ask(solvers, {}, {}, {})]
        return found

    assert asyncio.run(again_and_again()) == [200] * 12


def test_an_answer_that_comes_as_it_is_given_up_harms_no_later_one(solvers: Solvers) -> None:
    async def again_and_again() -> list[int]:
        found = []
        for _ in range(8):
            given_up = asyncio.create_task(solvers.ask({"do": "close", "wait_s": 0.2}, "one"))
            await asyncio.sleep(0.01)
            given_up.cancel()  # ended in 0.2 s, which is when its answer comes
            found += [status for status, _ in await ask(solvers, {}, {}, {})]
            await asyncio.wait([given_up])
            found += [status for status, _ in await ask(solvers, {}, {}, {})]
        return found

    assert asyncio.run(again_and_again()) == [200] * 48


def test_what_nobody_waits_for_is_ended(solvers: Solvers) -> None:
    async def leave() -> float:
        clock = asyncio.get_running_loop().time
        begun = clock()
        given_up = asyncio.create_task(solvers.ask({"do": "close", "wait_s": 15.0}, "one"))
        await asyncio.sleep(0.05)
        given_up.cancel()
        await asyncio.wait([given_up])
        return clock() - begun

    assert asyncio.run(leave()) < 10.0


def test_a_process_that_leaves_an_answer_goes_on_with_the_next() -> None:
    made = Solvers(count=1, grace_s=20.0, make=Obedient)

    async def ask_and_leave() -> tuple[int, Any]:
        before = (await made.ask({"do": "close"}, "one"))[1]["process"]
        for _ in range(3):
            given_up = asyncio.create_task(made.ask({"do": "close", "heeds": True}, "one"))
            await asyncio.sleep(0.05)
            given_up.cancel()
            await asyncio.wait([given_up])
        overtaken = asyncio.create_task(made.ask({"do": "close", "heeds": True}, "one"))
        await asyncio.sleep(0.05)
        assert (await made.ask({"do": "close"}, "one"))[1]["process"] == before
        assert (await overtaken)[0] in (409, 503)
        return before, (await made.ask({"do": "close"}, "two"))[1]["process"]

    try:
        before, after = asyncio.run(ask_and_leave())
    finally:
        made.end()
    assert before == after


def test_an_answer_is_left_where_it_would_tell_news_and_not_before(monkeypatch) -> None:
    near, far = multiprocessing.Pipe()
    begun: list[str] = []

    def long_answer(asked: dict[str, Any], progress: Any) -> Any:
        if asked["do"] == "end":
            raise EOFError
        for k in range(3):
            begun.append(f"{asked['do']} {k}")
            progress("working")
        return 200, asked

    monkeypatch.setattr(signal, "signal", lambda *_: None)
    monkeypatch.setattr("squeeze.page.answers.answer.answer", long_answer)
    for each in (STOP, {"do": "left"}, STOP, {"do": "end"}):
        near.send(each)
    work(far)  # a stop that comes late belongs to no answer
    assert begun == ["left 0"]
    assert near.recv() == ENDED
    near.send({"do": "whole"})
    far_alone = threading.Thread(target=work, args=[far])
    far_alone.start()
    while isinstance(came := near.recv(), dict):
        pass
    assert came == (200, {"do": "whole"})
    near.send({"do": "end"})
    far_alone.join()
    assert begun[1:] == [f"whole {k}" for k in range(3)]


def test_a_long_answer_finds_what_another_long_one_kept(solvers: Solvers) -> None:
    """What a hand waits for has a process of its own, so that no other takes its place."""

    async def turn_by_turn() -> list[int]:
        hurried: dict[str, Any] = {"do": "close", "quick": True}
        deeds = [hurried, {"do": "close"}, {"do": "read"}, {"do": "sure"}, hurried, {"do": "sure"}]
        return [(await solvers.ask(one, f"page {one}"))[1]["process"] for one in deeds]

    found = asyncio.run(turn_by_turn())
    at_hand, long_ones = {found[k] for k in (0, 2, 4)}, {found[k] for k in (1, 3, 5)}
    assert (len(at_hand), len(long_ones)) == (1, 1)
    assert at_hand != long_ones


def test_a_coarse_answer_neither_waits_for_the_fine_one_nor_ends_it(key, with_key) -> None:
    made = Solvers(count=2, limit_s=20.0, grace_s=0.2, make=Obedient)
    app = app_of(7433, key, solvers=lambda: made)
    with with_key(app) as client, ThreadPoolExecutor(1) as pool:
        fine = pool.submit(client.post, "/close", json={"page": "one", "wait_s": 1.0, "k": 1})
        while not made.pages:
            time.sleep(0.01)
        coarse = client.post("/close", json={"page": "one", "quick": True, "k": 2})
        assert (coarse.status_code, coarse.json()["k"]) == (200, 2)
        assert not fine.done()
        assert (fine.result().status_code, fine.result().json()["k"]) == (200, 1)


def test_a_process_that_answers_loads_neither_drawing_nor_paper_nor_search() -> None:
    """Each page starts two of them; what few answers need is loaded when it is asked for."""
    code = "import sys, squeeze.page.answers.answer; print(*sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    heavy = {"matplotlib", "reportlab", "scipy.stats", "squeeze.design"}
    assert not heavy & set(done.stdout.split())
