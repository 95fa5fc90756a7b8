"""Damaged stores: every one a real file, broken as disks and people break them."""

from __future__ import annotations

import json
import os
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest
from typer.testing import CliRunner

from squeeze import cli
from squeeze.study import (
    Case,
    CaseAnswer,
    CaseState,
    SqliteStore,
    StoreFault,
    open_store,
    read_study,
    store_path,
)
from squeeze.study.store.faults import DamagedStore
from squeeze.study.store.lock import StoreLock

MANY = 600
COLUMNS, KEEP = ("bevel",), ("gap", "say")
FEW = """
mold = "small.toml"
fineness = 0.5
[vary]
"block.bevel_mm" = [0, 3]
"""


def case_id(n: int) -> str:
    return f"{n * 2654435761 % 2**32:08x}{n:024x}"


def answer(n: int) -> CaseAnswer:
    return CaseAnswer(
        case_id(n), CaseState.DONE, "converged", {"gap": n / 7, "say": "s" * 200}, None, 0.5, 0.1
    )


def filled(path: Path, many: int) -> Path:
    """Return the path of a store with many answers, closed, all in one file."""
    with closing(SqliteStore(path)) as store:
        store.plan(COLUMNS, KEEP, (Case(case_id(n), n, {"bevel": n}, {}, "s") for n in range(many)))
        store.put_all(answer(n) for n in range(many))
    assert not path.with_name(f"{path.name}-wal").exists()
    return path


def change(path: Path, statement: str, *given: object) -> None:
    with closing(sqlite3.connect(path)) as db:
        db.execute(statement, given)
        db.commit()


def page_of(path: Path, table: str, number: int = 0) -> tuple[int, int]:
    """Return offset and size of a leaf page of a table."""
    data = path.read_bytes()
    size = int.from_bytes(data[16:18], "big")
    leaf = {"answer": 10, "planned": 13}[table]
    text = b"converged" if table == "answer" else b'"bevel"'
    found = [
        k for k in range(size, len(data), size) if data[k] == leaf and text in data[k : k + size]
    ]
    return found[number], size


def overwrite(path: Path, offset: int, data: bytes) -> None:
    with path.open("r+b") as file:
        file.seek(offset)
        file.write(data)


def run(path: Path, *more: str):
    return CliRunner().invoke(
        cli.app, ["study", str(path), "--workers", "1", "--no-figures", *more]
    )


def test_a_page_of_rubbish_costs_its_own_answers_alone(tmp_path):
    path = filled(tmp_path / "a.sqlite", MANY)
    offset, size = page_of(path, "answer", 3)
    on_page = path.read_bytes()[offset : offset + size].count(b"converged")
    overwrite(path, offset, os.urandom(size // 2) + b"\xff" * (size // 2))
    with open_store(path) as store:
        assert store.repair is not None
        assert MANY - on_page <= store.repair.kept < MANY
        kept = {a.id: a for a in store.answers()}
        assert len(kept) == store.repair.kept
        assert all(kept[case_id(n)] == answer(n) for n in range(MANY) if case_id(n) in kept)
        store.check()
        aside = store.repair.moved_to
    assert aside == path.with_name("a.sqlite.damaged")
    assert aside.stat().st_size > 0
    with open_store(path) as store:
        assert store.repair is None
        assert store.count().other == len(kept)


def test_a_second_damaged_file_takes_another_name(tmp_path):
    path = filled(tmp_path / "a.sqlite", MANY)
    for name in ("a.sqlite.damaged", "a.sqlite.damaged-2"):
        offset, size = page_of(path, "answer", 1)
        overwrite(path, offset, b"\xff" * size)
        with open_store(path) as store:
            assert store.repair is not None
            assert store.repair.moved_to == path.with_name(name)


def test_answers_that_are_in_the_log_alone_are_kept(tmp_path):
    """A run that was killed leaves its last answers in the write-ahead log."""
    path = filled(tmp_path / "a.sqlite", MANY)
    with closing(SqliteStore(path)) as store:
        store.put(answer(MANY))
        copies = {p.name: p.read_bytes() for p in tmp_path.iterdir() if p.name[-4:] != "-shm"}
    for name, data in copies.items():
        (tmp_path / name).write_bytes(data)
    offset, size = page_of(path, "planned")
    overwrite(path, offset, b"\xff" * size)
    with open_store(path) as store:
        assert store.repair is not None
        assert store.repair.kept == MANY + 1
        assert store.state(case_id(MANY)) is CaseState.DONE


def test_a_lost_root_loses_all_answers_and_says_so(tmp_path):
    path = filled(tmp_path / "a.sqlite", MANY)
    with closing(sqlite3.connect(path)) as db:
        root, size = db.execute(
            "select rootpage, (select page_size from pragma_page_size) from sqlite_master"
            " where name = 'answer'"
        ).fetchone()
    overwrite(path, (root - 1) * size, b"\xff" * size)
    with open_store(path) as store:
        assert store.repair is not None
        assert store.repair.kept == 0


def test_a_repair_that_was_broken_off_is_finished(tmp_path):
    path = filled(tmp_path / "a.sqlite", 5)
    path.rename(tmp_path / "a.sqlite.new")
    with open_store(path) as store:
        assert store.count().done == 5
    path.with_name("a.sqlite.new").write_text("half a repair")
    with open_store(path) as store:
        assert store.count().done == 5
    assert not path.with_name("a.sqlite.new").exists()


BREAK = {
    "bad JSON": "update answer set measures = '{\"gap\": 0.1' where id = ?",
    "another number": "update answer set measures = replace(measures, '0.1', '0.7') where id = ?",
    "unknown state": "update answer set state = 'half done' where id = ?",
    "no list of measures": "update answer set measures = '[1, 2]' where id = ?",
    "bytes": "update answer set measures = x'ff00ff' where id = ?",
    "text for a time": "update answer set factor_s = cast(x'fffe41' as text) where id = ?",
    "another checksum": "update answer set checksum = checksum + 1 where id = ?",
}


@pytest.mark.parametrize("how", BREAK)
def test_a_broken_answer_is_told_and_dropped(tmp_path, how):
    path = filled(tmp_path / "a.sqlite", 5)
    change(path, BREAK[how], case_id(1))
    with closing(SqliteStore(path)) as store:
        assert store.broken_count() == 1
        assert [row["state"] for row in store.rows()] == ["done", "missing", *["done"] * 3]
        assert (store.count().done, store.count().missing) == (4, 1)
        assert store.state(case_id(1)) is None
        assert len(list(store.answers())) == 4
        assert store.seconds() == (0.5, 0.1)
    with open_store(path) as store:
        assert store.repair is not None
        assert (store.repair.kept, store.repair.broken, store.repair.moved_to) == (4, 1, None)
        assert store.broken_count() == 0
    with open_store(path) as store:
        assert store.repair is None


@pytest.mark.parametrize(
    ("statement", "said"),
    [
        ("update about set value = 'a lot' where key = 'format'", "format a lot"),
        ("update about set value = '99' where key = 'format'", "format 99"),
        ("delete from about where key = 'format'", "of no format"),
        ("alter table answer drop column factor_s", "table answer lacks factor_s"),
        ("alter table planned rename column given to taken", "table planned lacks given"),
        ("drop table answer", "table answer lacks id"),
        ("drop table about", "other tables"),
    ],
)
def test_another_kind_of_store_is_refused_and_left_alone(tmp_path, statement, said):
    path = filled(tmp_path / "a.sqlite", 5)
    change(path, statement)
    before = path.read_bytes()
    for opened in (SqliteStore, lambda place: open_store(place).__enter__()):
        with pytest.raises(StoreFault, match=said):
            opened(path)
    assert path.read_bytes() == before


@pytest.mark.parametrize("data", [b"this is no store, and long enough to tell. " * 50, b"x"])
def test_a_file_that_is_no_store_is_left_alone(tmp_path, data):
    path = tmp_path / "a.sqlite"
    path.write_bytes(data)
    with pytest.raises(StoreFault, match="not the store of a study"), open_store(path):
        pass
    assert path.read_bytes() == data


@pytest.mark.parametrize(
    "statement",
    [
        "update about set value = '[1' where key = 'keep'",
        "update planned set given = '{\"bevel\": 7}' where number = 1",
        "update planned set given = '{\"bevel' where number = 1",
    ],
)
def test_a_broken_plan_is_told(tmp_path, statement):
    path = filled(tmp_path / "a.sqlite", 3)
    change(path, statement)
    with pytest.raises(DamagedStore, match="plan in the store is damaged; run the study again"):
        read_study(path)


def test_every_flipped_byte_is_survived(tmp_path):
    """A byte here and there in every page: a sentence or a repair, never a wrong number."""
    path = filled(tmp_path / "a.sqlite", 40)
    good = path.read_bytes()
    wanted = {case_id(n): answer(n) for n in range(40)}
    for offset in range(0, len(good), 487):
        for other in tmp_path.iterdir():
            other.unlink()
        path.write_bytes(good[:offset] + bytes([good[offset] ^ 0x55]) + good[offset + 1 :])
        try:
            with open_store(path) as store:
                kept = {found.id: found for found in store.answers()}
        except StoreFault:
            continue
        assert all(wanted[key] == found for key, found in kept.items()), offset


@pytest.mark.usefixtures("solved_here")
def test_status_and_run_tell_of_a_broken_answer(write):
    path = write(FEW)
    assert run(path).exit_code == 0
    whole = read_study(path)
    with closing(sqlite3.connect(store_path(path))) as db:
        (first,) = db.execute("select min(id) from answer").fetchone()
        db.execute("update answer set measures = '{' where id = ?", [first])
        db.commit()
    done = run(path, "--status")
    assert done.exit_code == 3
    assert "1 of 2 cases done, 1 missing." in done.stdout
    assert "The store has 1 damaged answer, counted as missing." in done.stdout
    done = run(path)
    assert done.exit_code == 3
    assert "The store had 1 damaged answer, to be computed once more. The other 1" in done.stdout
    assert run(path).exit_code == 0
    assert json.dumps(_rows(read_study(path))) == json.dumps(_rows(whole))


def _rows(table) -> list[dict]:
    return table.to_dict("records") if hasattr(table, "to_dict") else table


@pytest.mark.usefixtures("solved_here")
def test_a_run_repairs_a_damaged_page_and_computes_the_rest(write):
    path = write(FEW)
    assert run(path).exit_code == 0
    whole = _rows(read_study(path))
    offset, size = page_of(store_path(path), "answer")
    overwrite(store_path(path), offset, b"\xff" * size)
    done = run(path, "--status")
    assert done.exit_code == 2
    assert "the store is damaged" in done.stderr
    done = run(path)
    assert done.exit_code == 3
    assert "The store was damaged. What could be read is kept (0 answers)" in done.stdout
    assert json.dumps(_rows(read_study(path))) == json.dumps(whole)


@pytest.mark.parametrize("content", [b"", b"garbage, and more of it\n" * 40, b"\0" * 9000])
def test_what_is_in_the_lock_file_does_not_matter(tmp_path, content):
    path, lock = tmp_path / "a.sqlite", tmp_path / "a.sqlite.lock"
    lock.write_bytes(content)
    with open_store(path), pytest.raises(StoreFault, match="another run"), open_store(path):
        pass
    assert not lock.exists()


@pytest.mark.usefixtures("solved_here")
def test_a_lock_that_cannot_be_made_is_said(write):
    path = write(FEW)
    path.with_name("study.sqlite.lock").mkdir()
    done = run(path)
    assert done.exit_code == 2
    assert "study.sqlite.lock: cannot be used" in done.stderr


@pytest.mark.skipif(sys.platform == "win32", reason="there the lock file is left lying")
def test_a_lock_is_removed_while_it_is_held(tmp_path, monkeypatch):
    """Were it removed after, the next run's lock would be taken away from it."""
    path = tmp_path / "a.sqlite"
    held = []
    unlink = Path.unlink

    def watched(place: Path, **how: bool) -> None:
        with pytest.raises(StoreFault, match="another run"):
            StoreLock(path)
        held.append(place)
        unlink(place, **how)

    with StoreLock(path):
        monkeypatch.setattr(Path, "unlink", watched)
    assert held == [path.with_name("a.sqlite.lock")]


@pytest.mark.skipif(sys.platform == "win32", reason="there the lock file is left lying")
def test_a_lock_on_a_removed_file_does_not_count(tmp_path, monkeypatch):
    """Who opened the file before it was removed has to open the new one."""
    path, lock = tmp_path / "a.sqlite", tmp_path / "a.sqlite.lock"
    take, taken = StoreLock._held, []

    def removed_meanwhile(self: StoreLock, store: Path) -> bool:
        if not taken:
            lock.unlink()
        taken.append(take(self, store))
        return taken[-1]

    monkeypatch.setattr(StoreLock, "_held", removed_meanwhile)
    with StoreLock(path):
        assert taken == [False, True]
        with pytest.raises(StoreFault, match="another run"):
            StoreLock(path)


IN_A_SMALL_DISK = """
set -e
mount -t tmpfs -o size={size} tmpfs {folder}
cp {source}/small.toml {source}/study.toml {folder}
cd {folder}
set +e
{python} -m squeeze study study.toml --workers 1 --no-figures {more}
echo "status $?"
{after}
"""


def in_a_small_disk(folder: Path, source: Path, size: str, more: str = "", after: str = ""):
    """Run a study on a disk of a given size; skip where none may be mounted."""
    folder.mkdir()
    script = IN_A_SMALL_DISK.format(
        folder=folder, source=source, size=size, python=sys.executable, more=more, after=after
    )
    own = ["unshare", "--mount", "--map-root-user"] if os.geteuid() else ["unshare", "--mount"]
    try:
        probe = subprocess.run([*own, "sh", "-c", f"mount -t tmpfs tmpfs {folder}"], timeout=20)
    except (OSError, subprocess.TimeoutExpired):
        pytest.skip("there is no unshare here")
    if probe.returncode:
        pytest.skip("no disk may be mounted here")
    return subprocess.run(
        [*own, "sh", "-c", script], capture_output=True, text=True, timeout=300, check=False
    )


AGAIN = (
    f"mount -o remount,size=20m {{}}/disk; {sys.executable} -m squeeze study study.toml --status"
)
HUNDREDS = """
mold = "small.toml"
fineness = 0.5
[vary]
"band.tension_n_per_mm" = { from = 0.1, to = 0.9, count = 900 }
"""


@pytest.mark.slow
@pytest.mark.skipif(sys.platform != "linux", reason="mounts a disk")
def test_a_disk_that_is_full_while_planning_is_said(write, tmp_path):
    source = write(HUNDREDS).parent
    done = in_a_small_disk(tmp_path / "disk", source, "130k", after=AGAIN.format(tmp_path))
    assert "the disk is full. Free some space" in done.stderr, done
    assert "status 2" in done.stdout
    assert "Traceback" not in done.stderr
    assert "0 of 900 cases done, 900 missing" in done.stdout


@pytest.mark.slow
@pytest.mark.skipif(sys.platform != "linux", reason="mounts a disk")
def test_a_disk_that_fills_during_the_run_loses_nothing(write, tmp_path):
    """The log of what is written grows until the disk is full; afterwards there is room again."""
    source = write(HUNDREDS.replace("900", "300")).parent
    done = in_a_small_disk(tmp_path / "disk", source, "260k", after=AGAIN.format(tmp_path))
    assert "the disk is full" in done.stderr, done
    assert "status 2" in done.stdout
    assert "Traceback" not in done.stderr
    (said,) = [line for line in done.stdout.splitlines() if " of 300 cases done" in line]
    assert 0 < int(said.split()[0]) < 300


def test_a_plan_that_does_not_fit_leaves_the_old_one(tmp_path):
    """Whatever the disk: SQLite itself is told that the file may not grow."""
    path = filled(tmp_path / "a.sqlite", 5)
    with closing(SqliteStore(path)) as store:
        (pages,) = store._db.execute("pragma page_count").fetchone()
        store._db.execute(f"pragma max_page_count = {pages + 2}")
        more = (Case(case_id(n), n, {"bevel": n}, {}, "s") for n in range(5000))
        with pytest.raises(StoreFault, match="the disk is full"):
            store.plan(COLUMNS, KEEP, more)
        assert store.count().done == 5
        store.put(answer(1))
