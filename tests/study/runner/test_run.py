"""Running: what is computed, what is not; cases that crash, hang or make no mold."""

from __future__ import annotations

import math
import time
from contextlib import closing

import pytest

import squeeze
from squeeze.study import MemoryStore, NoWorkers, SqliteStore, run, store_path
from squeeze.study.plan.study import batches, cases
from squeeze.study.runner import solve_batch
from squeeze.study.runner.solve_batch import close_or_press
from squeeze.study.runner.worker_pool import WorkerPool

HEAD = 'mold = "small.toml"\nfineness = 0.5\n'
FEW = HEAD + '[vary]\n"block.bevel_mm" = [0, 3]\n"band.tension_n_per_mm" = [0.1, 0.2]\n'


def computed(study, store, **how) -> int:
    """Run and return how many cases were computed."""
    finished = [0]
    run(study, store, on_progress=lambda p: finished.append(p.finished), **how)
    return finished[-1]


@pytest.mark.usefixtures("solved_here")
def test_the_answers_are_those_of_the_solver(study):
    made, store = study(FEW), MemoryStore()
    assert run(made, store, workers=1).done == 4
    for case, row in zip(sorted(cases(made), key=lambda c: c.number), store.rows(), strict=True):
        closing_ = squeeze.Block(squeeze.mold_of(case.mold), 0.5).close()
        assert row["closed_share"] == pytest.approx(
            sum(x.closed_share * x.length_mm for x in closing_.lands)
            / sum(x.length_mm for x in closing_.lands)
        )
        assert row["largest_gap_mm"] == pytest.approx(max(x.largest_gap_mm for x in closing_.lands))
        assert row["seals"] is squeeze.judge(closing_).seals


@pytest.mark.usefixtures("solved_here")
def test_only_what_is_missing_or_changed_is_computed(study, tmp_path):
    with closing(SqliteStore(tmp_path / "a.sqlite")) as store:
        assert computed(study(FEW), store, workers=1) == 4
        rows = list(store.rows())
        assert computed(study(FEW), store, workers=1) == 0
        assert list(store.rows()) == rows
        assert computed(study(FEW.replace("[0, 3]", "[0, 3, 6]")), store, workers=1) == 2
        assert computed(study(FEW.replace("[0, 3]", "[6, 0]")), store, workers=1) == 0
        assert store.count().planned == 4


@pytest.mark.usefixtures("solved_here")
def test_a_changed_mold_is_computed_anew(write, tmp_path):
    path = write(FEW)
    mold = path.with_name("small.toml")
    with closing(SqliteStore(tmp_path / "a.sqlite")) as store:
        assert computed(squeeze.study.load_study(path), store, workers=1) == 4
        mold.write_text(mold.read_text().replace("diameter_mm = 8", "diameter_mm = 9"))
        assert computed(squeeze.study.load_study(path), store, workers=1) == 4


@pytest.mark.usefixtures("solved_here")
def test_equal_cases_are_computed_once(study):
    made, store = study(FEW.replace("[0, 3]", "[0, 0.0]")), MemoryStore()
    assert computed(made, store, workers=1) == 2
    assert store.count().done == 4


@pytest.mark.usefixtures("solved_here")
def test_what_makes_no_mold_is_refused_by_name(study):
    """A bevel of 30 on 40 mm, and an oval without height, leave the rest alone."""
    text = HEAD + '[vary]\n"block.bevel_mm" = [0, 30]\n"block.shape" = ["square", "oval"]\n'
    store = MemoryStore()
    count = run(study(text), store, workers=1)
    assert (count.done, count.refused, count.missing) == (1, 3, 0)
    errors = [row["error"] for row in store.rows()]
    assert errors[0] is None
    assert "height_mm" in errors[1]
    assert "bevel" in errors[2]


SLANT = """
length_mm = 40
[rubber]
youngs_modulus_mpa = 0.6
[block]
shape = "square"
width_mm = 40
[[cut]]
name = "slant"
path_mm = [[-40, -14.559], [40, 14.559]]
[[band]]
tension_n_per_mm = 0.2
"""


@pytest.mark.usefixtures("solved_here")
def test_a_piece_that_nothing_holds_is_an_outcome(study):
    """By statics: halves on a slant of 20 degrees slide unless friction is over tan 20 = 0.364."""
    text = HEAD + 'keep = ["closed_share", "seals"]\n[vary]\n"cut.slant.friction" = [0.3, 0.45]\n'
    store = MemoryStore()
    assert run(study(text, SLANT), store, workers=1).done == 2
    loose, held = store.rows()
    assert (loose["outcome"], loose["closed_share"], loose["seals"]) == (
        "a piece is not held",
        None,
        None,
    )
    assert (held["outcome"], held["closed_share"]) == ("converged", 1.0)


SIXTY = (
    HEAD
    + '[vary]\n"block.bevel_mm" = {from=2, to=6}\n'
    + '"band.tension_n_per_mm" = {from=0.1, to=0.2, count=12}'
)


@pytest.mark.slow
def test_a_poisoned_case_among_sixty_is_named(study, poison, tmp_path):
    poison(
        "if mold.block.bevel_mm == 4.0 and mold.band[0].tension_n_per_mm == 0.1:\n"
        "    os.kill(os.getpid(), 11)"
    )
    made = study(SIXTY)
    with closing(SqliteStore(tmp_path / "a.sqlite")) as store:
        count = run(made, store, workers=2)
        assert (count.done, count.failed, count.missing) == (59, 1, 0)
        bad = [row for row in store.rows() if row["state"] == "failed"]
        assert [(r["block.bevel_mm"], r["band.tension_n_per_mm"]) for r in bad] == [(4, 0.1)]
        assert "SIGSEGV" in bad[0]["error"]
        assert computed(made, store, workers=1) == 0  # it is not tried again of itself
        poison("pass")
        assert computed(made, store, workers=1, retry_failed=True) == 1
        assert store.count().done == 60


def test_an_error_in_a_case_is_told(study, poison):
    poison("if mold.block.bevel_mm == 3.0: raise ZeroDivisionError('by nought')")
    store = MemoryStore()
    count = run(study(FEW), store, workers=1)
    assert (count.done, count.failed) == (2, 2)
    assert "ZeroDivisionError: by nought" in [row["error"] for row in store.rows()]


@pytest.mark.usefixtures("solved_here")
def test_failed_cases_are_tried_again_only_when_that_is_asked_for(study, monkeypatch):
    def fails(block, mold, *given):
        if mold.block.bevel_mm == 3.0:
            raise ZeroDivisionError("by nought")
        return close_or_press(block, mold, *given)

    store = MemoryStore()
    with monkeypatch.context() as patch:
        patch.setattr(solve_batch, "close_or_press", fails)
        assert run(study(FEW), store, workers=1).failed == 2
    more = FEW.replace("[0, 3]", "[0, 3, 6]")  # with something new to compute beside them
    assert computed(study(more), store, workers=1) == 2
    assert store.count().failed == 2
    assert computed(study(more), store, workers=1, retry_failed=True) == 2
    assert store.count().done == 6


@pytest.mark.slow
def test_a_case_that_hangs_is_given_up(study, poison):
    poison(
        "if mold.block.bevel_mm == 3.0 and mold.band[0].tension_n_per_mm == 0.1: time.sleep(600)"
    )
    store = MemoryStore()
    start = time.monotonic()
    count = run(study("timeout_s = 3\n" + FEW), store, workers=2)
    assert (count.done, count.failed) == (3, 1)
    bad = next(row for row in store.rows() if row["state"] == "failed")
    assert (bad["block.bevel_mm"], bad["error"]) == (3, "took longer than 3 s")
    assert time.monotonic() - start < 60


def test_what_a_library_prints_does_no_harm(study, poison):
    poison("print('chatter', flush=True); os.write(1, b'more chatter')")
    assert run(study(FEW), MemoryStore(), workers=1).done == 4


def test_workers_that_cannot_start_end_the_run(study, poison, tmp_path):
    poison("pass")
    (tmp_path / "poison" / "sitecustomize.py").write_text("import os; os._exit(7)")
    with pytest.raises(NoWorkers, match="status 7"):
        run(study(FEW), MemoryStore(), workers=1)


@pytest.mark.usefixtures("solved_here")
def test_progress_is_told_before_and_after_each(study):
    told = []
    run(study(FEW), MemoryStore(), workers=1, on_progress=told.append)
    assert [p.finished for p in told] == [0, 1, 2, 3, 4]
    assert (told[0].workload.planned, told[0].workload.waiting, told[0].workload.sections) == (
        4,
        4,
        2,
    )
    assert math.isnan(told[0].left_s)
    assert all(p.left_s > 0 for p in told[1:-1])
    assert told[-1].left_s == 0


@pytest.mark.usefixtures("solved_here")
def test_time_is_foretold_at_once_when_it_was_measured_before(study):
    store, told = MemoryStore(), []
    run(study(FEW), store, workers=1)
    run(study(FEW.replace("[0, 3]", "[5, 7]")), store, workers=1, on_progress=told.append)
    assert told[0].left_s > 0


def test_a_pool_leaves_no_process(study):
    made = study(FEW)
    with WorkerPool(2, 60) as pool:
        source = pool.answers(batches(made, cases(made)))
        next(source)
        processes = [worker.process for worker in pool.workers]
        assert processes
    assert all(process.poll() is not None for process in processes)


def test_batches_are_taken_as_they_are_needed(study):
    """However many there are, no more than one for each worker is held."""
    made = study(SIXTY)
    taken = []

    def counted():
        for case in cases(made):
            taken.append(case.id)
            yield from batches(made, [case])

    with WorkerPool(2, 60) as pool:
        for finished, _ in enumerate(pool.answers(counted()), start=1):
            assert len(taken) <= finished + 2
            if finished == 6:
                break


def test_the_store_stands_beside_the_study(write):
    path = write(FEW)
    assert store_path(path) == path.with_name("study.sqlite")
