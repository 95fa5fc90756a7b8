"""What a run has to do, how long the rest takes, and how workers are parted with: by hand."""

from __future__ import annotations

import math
import signal
import sys
from collections import deque
from types import SimpleNamespace

import pytest

from squeeze.study import MemoryStore, cases
from squeeze.study.records import Batch, CaseAnswer, CaseState
from squeeze.study.runner import dask_cluster, progress, solve_batch, worker_pool
from squeeze.study.runner.progress import RunClock, Workload
from squeeze.study.runner.run import copy_answers, run, write_plan
from squeeze.study.runner.worker_pool import NoWorkers, Worker, WorkerPool
from squeeze.study.store.contract import CaseCounts

run_module = sys.modules["squeeze.study.runner.run"]
HEAD = 'mold = "small.toml"\n'
SIX = HEAD + '[vary]\n"block.bevel_mm" = [0, 2, 4]\n"band.tension_n_per_mm" = [0.1, 0.2]'


def done(identity: str, factor_s=0.0, solve_s=0.0, state=CaseState.DONE) -> CaseAnswer:
    return CaseAnswer(identity, state, factor_s=factor_s, solve_s=solve_s)


# what there is to do


def test_cases_without_an_answer_wait_and_neighbours_share_a_section(study):
    made, store = study(SIX), MemoryStore()
    assert write_plan(made, store) == Workload(planned=6, waiting=6, sections=3)
    found = list(cases(made))
    for case in (found[0], found[2], found[3]):
        store.put(done(case.id))
    assert write_plan(made, store) == Workload(planned=6, waiting=3, sections=2)


def test_answers_are_copied_whole(study):
    first, second = MemoryStore(), MemoryStore()
    made = study(SIX)
    for store in (first, second):
        write_plan(made, store)
    for case in list(cases(made))[:4]:
        first.put(done(case.id))
    copy_answers(first, second)
    assert second.count() == first.count() == CaseCounts(planned=6, done=4)
    assert first.count().missing == 2


def test_a_study_that_has_all_answers_starts_no_worker(study, monkeypatch):
    made, store = study(SIX), MemoryStore()
    write_plan(made, store)
    for case in cases(made):
        store.put(done(case.id))
    monkeypatch.setattr("squeeze.study.runner.run._solver", lambda *_: 1 / 0)
    assert run(made, store).missing == 0
    with pytest.raises(ZeroDivisionError):
        run(study(SIX.replace("0.2", "0.3")), store)


def test_as_many_workers_are_started_as_asked_for_or_as_there_are_cores(study, monkeypatch):
    monkeypatch.setattr(run_module, "cores", lambda: 7)
    made = study("timeout_s = 9\n" + SIX)
    assert run_module._solver(made, None, None).capacity == 7
    three = run_module._solver(made, 3, None)
    assert (three.capacity, three.timeout_s) == (3, 9.0)


def test_missing_is_what_has_no_answer_of_any_kind():
    assert CaseCounts(planned=10, done=4, failed=2, refused=1, other=5).missing == 3


# how long it takes


def clocked(monkeypatch, elapsed_s, cost, finished=(), workload=None, capacity=2):
    now = [100.0]
    monkeypatch.setattr(progress.time, "monotonic", lambda: now[0])
    clock = RunClock(workload or Workload(20, 10, 4), capacity, cost)
    for answer in finished:
        clock.progress(answer)
    now[0] += elapsed_s
    return clock.progress()


def test_the_rest_is_foretold_by_factors_and_solves_over_the_workers(monkeypatch):
    """Four factors of 3 s and ten solves of 1 s by two workers take 11 s."""
    found = clocked(monkeypatch, 0.0, (3.0, 1.0))
    assert found.left_s == pytest.approx(11.0)
    assert (found.finished, found.failed, found.elapsed_s, found.workers) == (0, 0, 0.0, 2)


def test_the_watch_is_trusted_the_more_the_longer_it_ran(monkeypatch):
    """Four of ten in 8 s: the watch says 12 s more, the forecast 0.6 of 11; weighed 4 to 6."""
    answers = [done(str(k)) for k in range(4)]
    found = clocked(monkeypatch, 8.0, (3.0, 1.0), answers)
    assert found.left_s == pytest.approx(0.6 * (0.6 * 11) + 0.4 * 12)
    whole = clocked(monkeypatch, 8.0, (3.0, 1.0), [done(str(k)) for k in range(10)])
    assert whole.left_s == pytest.approx(0.0)


def test_the_first_case_with_an_answer_says_what_a_case_costs(monkeypatch):
    failed = done("a", 9.0, 9.0, CaseState.FAILED)
    assert math.isnan(clocked(monkeypatch, 1.0, None).left_s)
    none = clocked(monkeypatch, 1.0, None, [failed])
    assert math.isnan(none.left_s)
    assert (none.finished, none.failed) == (1, 1)
    some = clocked(monkeypatch, 0.0, None, [done("b", 3.0, 1.0), done("c", 50.0, 50.0)])
    assert some.left_s == pytest.approx(0.8 * (0.8 * 11))
    refused = done("a", state=CaseState.REFUSED)
    assert clocked(monkeypatch, 0.0, (1.0, 1.0), [refused]).failed == 1


# workers


@pytest.mark.parametrize(
    ("code", "said"),
    [(0, "itself, status 0"), (3, "itself, status 3"), (-9, "SIGKILL"), (-11, "SIGSEGV"),
     (-250, "signal 250")],
)  # fmt: skip
def test_how_a_worker_ended_is_told(code, said):
    assert worker_pool._ending(code) == said
    assert signal.Signals(9).name == "SIGKILL"


def worker(ready=True, left=(), since=50.0, batch=None):
    made = SimpleNamespace(
        ready=ready, left=deque(left), since=since, batch=batch, killed=0,
        process=SimpleNamespace(kill=lambda: None, returncode=-9),
        why=lambda: "its worker ended by SIGKILL",
    )  # fmt: skip
    made.kill = lambda: setattr(made, "killed", made.killed + 1)
    made.deadline = lambda timeout_s: Worker.deadline(made, timeout_s)
    return made


def test_a_case_has_its_time_and_a_start_another():
    assert worker(left=[("a", {})]).deadline(20.0) == 70.0
    assert worker().deadline(20.0) is None
    assert worker(ready=False).deadline(20.0) == 50.0 + worker_pool.START_S


THREE = Batch((("a", 1), ("b", 2), ("c", 3)), "s", ("margin",))


def names(batches) -> list[list[str]]:
    return [[identity for identity, _ in batch.cases] for batch in batches]


def test_a_case_at_which_three_workers_died_has_failed_and_the_others_go_on():
    """The case is tried by itself after the rest of its batch was put back."""
    pool = WorkerPool(1, 20.0)
    for death in (1, 2, 3):
        one = worker(left=THREE.cases, batch=THREE)
        pool.workers.append(one)
        pool.again.clear()
        found = list(pool._ended(one))
        assert one.killed == 1
        assert pool.workers == []
        if death < 3:
            assert found == []
            assert names(pool.again) == [["a"], ["b", "c"]]
    ((answer,), left) = found, names(pool.again)
    assert (answer.id, answer.state) == ("a", CaseState.FAILED)
    assert answer.error == "its worker ended by SIGKILL, 3 times"
    assert left == [["b", "c"]]


def test_a_worker_that_dies_with_nothing_to_do_is_let_go():
    pool = WorkerPool(1, 20.0)
    for idle in (worker(), worker(batch=THREE)):
        pool.workers.append(idle)
        assert list(pool._ended(idle)) == []
        assert pool.workers == []
        assert not pool.again


def test_a_case_that_takes_too_long_has_failed_and_the_rest_goes_on():
    pool = WorkerPool(1, 20.0)
    late = worker(left=list(THREE.cases)[1:], batch=THREE)
    pool.workers.append(late)
    answer = pool._late(late)
    assert (answer.id, answer.state) == ("b", CaseState.FAILED)
    assert answer.error == "took longer than 20 s"
    assert names(pool.again) == [["c"]]
    assert late.killed == 1
    last = worker(left=[("c", 3)], batch=THREE)
    pool.workers.append(last)
    pool.again.clear()
    pool._late(last)
    assert not pool.again


def test_workers_killed_before_they_began_are_started_four_times_more():
    pool = WorkerPool(1, 20.0)
    for _ in range(4):
        young = worker(ready=False, batch=THREE)
        pool.workers.append(young)
        pool.again.clear()
        assert list(pool._ended(young)) == []
        assert names(pool.again) == [["a", "b", "c"]]
    fifth = worker(ready=False, batch=THREE)
    pool.workers.append(fifth)
    with pytest.raises(NoWorkers, match="SIGKILL"):
        list(pool._ended(fifth))


@pytest.mark.parametrize("status", [0, 1])
def test_a_worker_that_ends_by_itself_before_it_began_ends_the_study(status):
    pool = WorkerPool(1, 20.0)
    young = worker(ready=False, batch=THREE)
    young.process.returncode = status
    pool.workers.append(young)
    with pytest.raises(NoWorkers):
        list(pool._ended(young))


def test_what_was_put_back_is_handed_out_before_anything_new(monkeypatch):
    given = []

    class Fresh(SimpleNamespace):
        batch = None

        def give(self, batch):
            self.batch = batch
            given.append(batch.section)

    monkeypatch.setattr(worker_pool, "Worker", lambda events: Fresh())
    pool = WorkerPool(2, 20.0)
    batches = [Batch((("x", 1),), section, ()) for section in "pqr"]
    source = iter(batches[1:])
    pool._again(batches[0])
    assert pool._hand_out(source)
    assert given == ["p", "q"]
    assert len(pool.workers) == 2
    assert pool._hand_out(source)
    assert given == ["p", "q"]  # all busy
    pool.workers[0].batch = None
    assert pool._hand_out(source)
    assert given == ["p", "q", "r"]
    pool.workers[0].batch = None
    assert pool._hand_out(source)  # the other is still at work
    pool.workers[1].batch = None
    assert not pool._hand_out(source)


# batches


class Kept:
    """A block that says for which section it was made."""

    made: list[str] = []  # noqa: RUF012

    def __init__(self, mold, fineness) -> None:
        self.made.append(f"{mold} {fineness}")


def test_a_block_is_kept_for_the_batch_that_follows(monkeypatch):
    monkeypatch.setattr(solve_batch, "Block", Kept)
    monkeypatch.setattr(solve_batch, "mold_of", lambda data: data["name"])
    monkeypatch.setattr(solve_batch, "section_of_case", lambda data: data)
    Kept.made.clear()
    cache = solve_batch.BlockCache()
    one, two = (Batch(((n, {"name": n}),), n, (), fineness=0.5) for n in ("one", "two"))
    first = cache.block_for(one)
    assert cache.block_for(one) is first
    assert cache.block_for(two) is not first
    assert Kept.made == ["one 0.5", "two 0.5"]


def test_a_case_is_timed_in_two_parts(monkeypatch):
    ticks = iter([10.0, 13.0, 14.5])
    monkeypatch.setattr(solve_batch.time, "perf_counter", lambda: next(ticks))
    closing = SimpleNamespace(outcome="converged")
    monkeypatch.setattr(solve_batch, "mold_of", lambda data: data)
    monkeypatch.setattr(solve_batch, "close_or_press", lambda *_: (closing, None))
    monkeypatch.setattr(solve_batch, "measures", lambda *_: {"margin": 2.0})
    monkeypatch.setattr(solve_batch, "outcome_of", lambda closing: closing.outcome)
    cache = SimpleNamespace(block_for=lambda batch: "block")
    found = solve_batch.solve_case("a", {}, Batch((), "s", ("margin",)), cache)
    assert (found.factor_s, found.solve_s) == (3.0, 1.5)
    assert (found.state, found.outcome, found.measures) == (
        CaseState.DONE, "converged", {"margin": 2.0},
    )  # fmt: skip


def test_a_batch_for_a_cluster_is_cut_into_short_ones():
    n = dask_cluster.SHORTER
    whole = Batch(tuple((str(k), {}) for k in range(2 * n + 1)), "s", ())
    parts = list(dask_cluster._shorter([whole, THREE]))
    assert [len(part.cases) for part in parts[:3]] == [n, n, 1]
    assert sum((part.cases for part in parts[:3]), ()) == whole.cases
    assert sum((part.cases for part in parts[3:]), ()) == THREE.cases


def test_workers_with_another_version_are_named_three_at_most(monkeypatch):
    monkeypatch.setattr(dask_cluster, "numerics", lambda: "mine")
    dask_cluster._check_versions({"a": "mine", "b": "mine"})
    with pytest.raises(NoWorkers, match=r": b$"):
        dask_cluster._check_versions({"a": "mine", "b": "other"})
    with pytest.raises(NoWorkers, match=r": a, b, c$"):
        dask_cluster._check_versions(dict.fromkeys("abcd", "other"))


def test_why_a_cluster_gave_no_answer():
    lost = SimpleNamespace(status="error", exception=lambda: ValueError("odd"))
    assert dask_cluster._reason(lost) == "ValueError: odd"
    assert dask_cluster._reason(SimpleNamespace(status="cancelled")) == "the cluster cancelled it"
