"""One contract for every store; what the file adds on top."""

from __future__ import annotations

from contextlib import closing

import pytest

from squeeze.study import (
    Case,
    CaseAnswer,
    CaseCounts,
    CaseState,
    MemoryStore,
    SqliteStore,
    StoreFault,
)
from squeeze.study.runner.run import copy_answers
from squeeze.study.store.lock import StoreLock


def case(number: int, identity: str | None = None) -> Case:
    return Case(identity or f"id{number}", number, {"bevel": number, "word": "x"}, {}, "s")


def done(number: int, **more) -> CaseAnswer:
    kept = {"gap": 0.1 * number, "seals": True, "none": None}
    return CaseAnswer(f"id{number}", CaseState.DONE, "converged", kept, None, 0.4, 0.1, **more)


COLUMNS, KEEP = ("bevel", "word"), ("gap", "seals", "none")


@pytest.fixture(params=["memory", "sqlite"])
def store(request, tmp_path):
    with closing(
        MemoryStore() if request.param == "memory" else SqliteStore(tmp_path / "a.sqlite")
    ) as made:
        made.plan(COLUMNS, KEEP, (case(n) for n in (2, 0, 1)))
        yield made


def test_an_empty_store_misses_everything(store):
    assert store.count() == CaseCounts(planned=3)
    assert store.count().missing == 3
    assert store.seconds() is None
    assert [row["state"] for row in store.rows()] == ["missing"] * 3


def test_rows_come_in_the_order_of_the_study(store):
    store.put(done(2))
    store.put(done(0))
    rows = list(store.rows())
    assert [row["case"] for row in rows] == [1, 2, 3]
    assert rows[2] == {
        "case": 3,
        "bevel": 2,
        "word": "x",
        "gap": 0.2,
        "seals": True,
        "none": None,
        "state": "done",
        "outcome": "converged",
        "error": None,
    }
    assert tuple(rows[0]) == store.columns()


def test_numbers_come_back_exactly(store):
    kept = {"gap": 0.1 + 0.2, "seals": False, "none": 1e-300}
    store.put(CaseAnswer("id0", CaseState.DONE, "converged", kept))
    row = next(store.rows())
    assert {key: row[key] for key in KEEP} == kept


def test_a_case_has_one_answer_and_the_last_one_counts(store):
    store.put(CaseAnswer("id1", CaseState.FAILED, error="took longer"))
    assert store.state("id1") is CaseState.FAILED
    store.put(done(1))
    assert store.state("id1") is CaseState.DONE
    assert store.count() == CaseCounts(planned=3, done=1)
    assert len(list(store.answers())) == 1


def test_states_are_counted_and_forgotten(store):
    store.put(done(0))
    store.put(CaseAnswer("id1", CaseState.FAILED, error="crash"))
    store.put(CaseAnswer("id2", CaseState.REFUSED, error="no mold"))
    assert store.count() == CaseCounts(3, 1, 1, 1, 0)
    assert [row["error"] for row in store.rows()] == [None, "crash", "no mold"]
    assert store.forget(CaseState.FAILED, CaseState.REFUSED) == 2
    assert store.count() == CaseCounts(3, 1)
    assert store.state("id1") is None


def test_answers_of_another_plan_are_kept_aside(store):
    store.put(done(0))
    store.put(done(1))
    store.plan(COLUMNS, KEEP, [case(0), case(1, "new")])
    assert store.count() == CaseCounts(planned=2, done=1, other=1)
    store.plan(COLUMNS, KEEP, [case(0), case(1)])
    assert store.count() == CaseCounts(planned=2, done=2)


def test_equal_cases_share_an_answer(store):
    store.plan(COLUMNS, KEEP, [case(0), case(1, "id0")])
    store.put(done(0))
    assert store.count().done == 2
    assert [row["gap"] for row in store.rows()] == [0.0, 0.0]


def test_a_plan_that_breaks_off_leaves_the_old_one(store):
    def broken():
        yield case(0)
        raise RuntimeError("broken off")

    with pytest.raises(RuntimeError):
        store.plan((), (), broken())
    assert store.count().planned == 3


def test_mean_times(store):
    store.put(done(0))
    store.put(CaseAnswer("id1", CaseState.DONE, "converged", {}, None, 0.0, 0.3))
    assert store.seconds() == (pytest.approx(0.4), pytest.approx(0.2))


def test_a_copy_is_the_same(store):
    store.put(done(0))
    store.put(CaseAnswer("id1", CaseState.FAILED, error="crash"))
    other = MemoryStore()
    copy_answers(store, other)
    other.plan(COLUMNS, KEEP, [case(n) for n in range(3)])
    assert list(other.rows()) == list(store.rows())


def test_the_file_is_there_again(tmp_path):
    path = tmp_path / "a.sqlite"
    with closing(SqliteStore(path)) as store:
        store.plan(COLUMNS, KEEP, [case(0)])
        store.put(done(0))
        rows = list(store.rows())
    with closing(SqliteStore(path)) as store:
        assert list(store.rows()) == rows


def test_the_file_can_be_read_while_it_is_written(tmp_path):
    path = tmp_path / "a.sqlite"
    with closing(SqliteStore(path)) as writer, closing(SqliteStore(path)) as reader:
        writer.plan(COLUMNS, KEEP, [case(n) for n in range(3)])
        rows = reader.rows()
        next(rows)
        writer.put(done(0))
        assert len(list(rows)) == 2
        assert reader.count().done == 1


def test_a_folder_is_no_store(tmp_path):
    (tmp_path / "a.sqlite").mkdir()
    with pytest.raises(StoreFault, match="cannot be used"):
        SqliteStore(tmp_path / "a.sqlite")


def test_one_run_at_a_time(tmp_path):
    path = tmp_path / "a.sqlite"
    with StoreLock(path), pytest.raises(StoreFault, match="another run"):
        StoreLock(path)
    with StoreLock(path):
        pass
