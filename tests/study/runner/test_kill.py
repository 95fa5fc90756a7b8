"""Whatever is killed: nothing finished is lost, nothing is doubled, nothing lives on."""

from __future__ import annotations

import os
import random
import signal
import sqlite3
import subprocess
import sys
import time
from contextlib import closing
from pathlib import Path

import pytest

from squeeze.study import MemoryStore, SqliteStore, load_study, run, store_path

pytestmark = pytest.mark.skipif(os.name != "posix", reason="needs signals and /proc")

HEAD = """
mold = "small.toml"
fineness = 0.4
keep = ["closed_share", "mean_pressure_kpa", "largest_gap_mm"]
"""
MANY = (
    HEAD.replace("0.4", "1.4").replace("]", ', "largest_shift_mm"]')  # long enough to kill
    + """[vary]
"block.bevel_mm" = { from = 0, to = 7.8, step = 0.2 }
"band.tension_n_per_mm" = { from = 0.1, to = 0.3, step = 0.05 }
"""
)


def start(path: Path, *more: str) -> subprocess.Popen:
    return subprocess.Popen(
        [
            sys.executable,
            "-m",
            "squeeze",
            "study",
            str(path),
            "--no-figures",
            "--workers",
            "2",
            *more,
        ],
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),  # as from a terminal
    )


def children(pid: int) -> list[int]:
    """Return the processes that `pid` has started."""
    found = []
    for entry in Path("/proc").iterdir():
        if entry.name.isdigit():
            try:
                fields = (entry / "stat").read_text().rsplit(")", 1)[1].split()
            except OSError:
                continue
            if int(fields[1]) == pid and fields[0] != "Z":
                found.append(int(entry.name))
    return found


def lives(pid: int) -> bool:
    try:
        return (Path("/proc") / str(pid) / "stat").read_text().rsplit(")", 1)[1].split()[0] != "Z"
    except OSError:
        return False


def finished(path: Path) -> dict[str, tuple]:
    """Return what the store holds, by case, without opening it for writing."""
    if not path.exists():
        return {}
    try:
        with closing(sqlite3.connect(f"file:{path}?mode=ro", uri=True)) as db:
            rows = db.execute("select id, state, measures from answer").fetchall()
    except sqlite3.OperationalError:
        return {}  # it is just being made
    assert len({row[0] for row in rows}) == len(rows)
    return {row[0]: row[1:] for row in rows}


def gone(pids: list[int], within_s: float = 20.0) -> bool:
    end = time.monotonic() + within_s
    while any(map(lives, pids)):
        if time.monotonic() > end:
            return False
        time.sleep(0.05)
    return True


def until_at_work(runner: subprocess.Popen, store: Path) -> list[int]:
    """Wait until another case is finished, so that workers are at cases, or the runner is done."""
    before = len(finished(store))
    while runner.poll() is None and len(finished(store)) <= before:
        time.sleep(0.02)
    return children(runner.pid)


KILLS = 20
"""So often the runner is killed, and so often a worker, each time with answers in the store."""


@pytest.mark.slow(minutes=True)
def test_forty_random_kills_change_nothing(write):
    path = write(MANY)
    undisturbed = MemoryStore()
    assert run(load_study(path), undisturbed, workers=2).done == 200
    store, dice = store_path(path), random.Random(20)
    killed, started, seen = {"runner": 0, "worker": 0}, set(), {}
    runner = start(path)
    while min(killed.values()) < KILLS:
        victim = dice.choice([name for name, times in killed.items() if times < KILLS])
        early = victim == "runner" and bool(seen) and dice.random() < 0.2  # while it starts
        workers = [] if early else until_at_work(runner, store)
        time.sleep(dice.uniform(0.0, 1.0 if early else 0.2))
        workers = children(runner.pid) or workers
        started |= set(workers)
        if runner.poll() is not None:  # done before all kills were dealt: begin again
            assert runner.returncode == 0
            store.unlink()
            seen, runner = {}, start(path)
            continue
        assert finished(store)
        if victim == "runner":
            os.kill(runner.pid, signal.SIGKILL)
            runner.communicate()
            killed["runner"] += 1
            assert gone(workers)
            now = finished(store)
            assert all(now[key] == value for key, value in seen.items())
            seen, runner = now, start(path)
        elif workers:
            os.kill(dice.choice(workers), signal.SIGKILL)
            killed["worker"] += 1
    out, _ = runner.communicate(timeout=200)
    assert runner.returncode == 0, out
    assert gone(list(started))
    with closing(SqliteStore(store)) as made:
        assert list(made.rows()) == list(undisturbed.rows())
        assert made.count().other == 0
        assert made._db.execute("pragma integrity_check").fetchone() == ("ok",)
    print(f"killed: {killed}")


def until_some_are_done(store: Path, runner: subprocess.Popen, some: int = 5) -> None:
    while len(finished(store)) < some:
        assert runner.poll() is None, runner.communicate()[0]
        time.sleep(0.05)


@pytest.mark.slow
@pytest.mark.parametrize("sign", [signal.SIGINT, signal.SIGTERM])
def test_ctrl_c_stops_and_the_next_run_goes_on(write, sign):
    path = write(MANY)
    runner = start(path)
    until_some_are_done(store_path(path), runner)
    workers = children(runner.pid)
    runner.send_signal(sign)
    out, _ = runner.communicate(timeout=30)
    assert runner.returncode == 130
    assert "Stopped. What was finished is kept" in out
    assert "Traceback" not in out
    assert gone(workers)
    there = finished(store_path(path))
    assert 5 <= len(there) < 200
    assert not path.with_name("study.sqlite.lock").exists()


@pytest.mark.slow
def test_a_killed_runner_leaves_no_orphan_and_loses_nothing(write):
    path = write(MANY)
    store, runner = store_path(path), start(path)
    until_some_are_done(store, runner)
    workers, before = children(runner.pid), finished(store)
    assert workers
    runner.kill()
    runner.communicate()
    assert gone(workers)
    after = finished(store)
    assert all(after[key] == value for key, value in before.items())
    again = start(path, "--status")
    out, _ = again.communicate(timeout=60)
    assert f"{len(after)} of 200 cases done, {200 - len(after)} missing" in out


@pytest.mark.slow
def test_a_worker_deep_in_a_case_goes_with_its_runner(write, poison, tmp_path):
    mark = tmp_path / "in the case"
    poison(f"open({str(mark)!r}, 'w').close(); time.sleep(600)")
    runner = start(write(MANY))
    while not mark.exists():
        assert runner.poll() is None
        time.sleep(0.05)
    workers = children(runner.pid)
    runner.kill()
    runner.communicate()
    assert workers
    assert gone(workers)


@pytest.mark.slow
def test_two_runs_at_once_are_refused(write):
    path = write(MANY)
    runner = start(path)
    until_some_are_done(store_path(path), runner, 1)
    other = start(path)
    out, _ = other.communicate(timeout=60)
    runner.send_signal(signal.SIGINT)
    runner.communicate(timeout=30)
    assert other.returncode == 2
    assert "another run of this study is under way" in out
