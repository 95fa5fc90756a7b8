"""A real Dask scheduler and two real workers, each a process of its own."""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
import time
from contextlib import closing, contextmanager

import pytest

from squeeze.study import MemoryStore, NoWorkers, SqliteStore, cases, run
from squeeze.study.plan.study import batches
from squeeze.study.runner.dask_cluster import AHEAD, DaskCluster

pytest.importorskip("distributed")
pytestmark = [
    pytest.mark.filterwarnings("default"),  # of the cluster's own making
    pytest.mark.skipif(os.name != "posix", reason="needs signals"),
]

HEAD = 'mold = "small.toml"\nfineness = 0.5\n'
SOME = (
    HEAD + '[vary]\n"block.bevel_mm" = {from=0, to=5}\n"band.tension_n_per_mm" = [0.1, 0.15, 0.2]\n'
)


def free_port() -> int:
    with closing(socket.socket()) as s:
        s.bind(("127.0.0.1", 0))
        return s.getsockname()[1]


@contextmanager
def cluster(workers: int = 2):
    """Start a scheduler and workers; yield its address and the workers' processes."""
    address = f"tcp://127.0.0.1:{free_port()}"
    quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL, "start_new_session": True}
    dask = [sys.executable, "-m", "dask"]
    port = address.rpartition(":")[2]
    common = ["--no-dashboard"]
    started = [
        subprocess.Popen(
            [*dask, "scheduler", "--host", "127.0.0.1", "--port", port, *common], **quiet
        )
    ]
    one = ["--nthreads", "1", "--no-nanny", "--host", "127.0.0.1", "--no-dashboard"]
    try:
        for _ in range(workers):
            started.append(subprocess.Popen([*dask, "worker", address, *one], **quiet))
        yield address, started[1:]
    finally:
        for process in reversed(started):
            process.kill()
            process.wait()


@pytest.mark.slow
def test_the_cluster_gives_what_this_machine_gives(study, tmp_path):
    made, here = study(SOME), MemoryStore()
    run(made, here, workers=2)
    with cluster() as (address, _), closing(SqliteStore(tmp_path / "a.sqlite")) as store:
        count = run(made, store, scheduler=address)
        assert (count.done, count.missing) == (18, 0)
        assert list(store.rows()) == list(here.rows())
        finished = []
        run(made, store, scheduler=address, on_progress=finished.append)
        assert finished == []


@pytest.mark.slow
def test_a_poisoned_case_on_the_cluster_is_named(study, poison):
    poison("if mold.block.bevel_mm == 2.0: os.kill(os.getpid(), 9)")
    with cluster() as (address, workers):
        store = MemoryStore()
        count = run(study(SOME), store, scheduler=address)
        assert (count.done, count.failed, count.missing) == (15, 3, 0)
        bad = [row for row in store.rows() if row["state"] == "failed"]
        assert {row["block.bevel_mm"] for row in bad} == {2}
        assert all("SIGKILL" in row["error"] for row in bad)
        assert all(worker.poll() is None for worker in workers)


@pytest.mark.slow
def test_a_cluster_worker_that_goes_loses_nothing(study, poison):
    poison("time.sleep(0.3)")
    with cluster() as (address, workers):
        store, killed = MemoryStore(), []

        def tell(progress):
            if progress.finished >= 3 and not killed:
                killed.append(workers[0].pid)
                os.kill(workers[0].pid, signal.SIGKILL)

        count = run(study(SOME), store, scheduler=address, on_progress=tell)
        assert killed
        assert (count.done, count.missing) == (18, 0)


@pytest.mark.slow
def test_a_cluster_is_handed_a_few_batches_at_a_time(study):
    made = study(SOME)
    taken = []

    def counted():
        for case in cases(made):
            taken.append(case.id)
            yield from batches(made, [case])

    with cluster() as (address, _), DaskCluster(address, 60) as solver:
        for finished, _ in enumerate(solver.answers(counted()), start=1):
            assert len(taken) <= finished + AHEAD * solver.capacity
            if finished == 6:
                break


@pytest.mark.slow
def test_another_version_there_is_refused(study, poison, tmp_path):
    poison("pass")
    other = "import squeeze.study.plan.numerics as n; n.numerics = lambda: 'another'"
    (tmp_path / "poison" / "sitecustomize.py").write_text(other)
    with cluster(1) as (address, _), pytest.raises(NoWorkers, match="another version"):
        run(study(SOME), MemoryStore(), scheduler=address)


def test_no_cluster_is_said(study, monkeypatch):
    monkeypatch.setattr("squeeze.study.runner.dask_cluster.REACH_S", 1)
    start = time.monotonic()
    with pytest.raises(NoWorkers, match="no Dask scheduler"):
        run(study(SOME), MemoryStore(), scheduler=f"tcp://127.0.0.1:{free_port()}")
    assert time.monotonic() - start < 15
