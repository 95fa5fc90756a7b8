"""Studies that were begun on the page: each a folder that `squeeze study` knows as well."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
import threading
from contextlib import closing, suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from squeeze.mold import BadInput, SqueezeError, dict_of, dump, load, mold_of
from squeeze.mold.tables.values import quote
from squeeze.page.answers.keys import key_in_words
from squeeze.page.defect import defect
from squeeze.show.study.table import accuracy_words
from squeeze.study import SqliteStore, Study, load_study, store_path
from squeeze.verdict.words import in_inches

KEY = re.compile(r"[a-z_]+(\..+)?")
NAME = re.compile(r"[a-z0-9][a-z0-9-]{0,59}")
MOST_CASES = 400
MOST_VALUES = 60
STOP_S = 5.0
ACCURACY_PCT = 1.0
NO_ERRORS = "How far these figures are off was not computed: tick that when you begin a study."
KEEP = (
    "closed_share",
    "largest_gap_mm",
    "least_pressure_kpa",
    "mean_pressure_kpa",
    "largest_shift_mm",
    "seals",
)


class NoStudy(SqueezeError, KeyError):
    """There is no such study here, or it cannot be begun; the text says why."""

    def __str__(self) -> str:
        return str(self.args[0])


@dataclass
class _Run:
    """A process that computes a study, and its latest news."""

    process: subprocess.Popen[str]
    news: dict[str, Any] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.ear = threading.Thread(target=self._listen, daemon=True)
        self.ear.start()

    def _listen(self) -> None:
        """Take note of each line that the process tells, until it ends."""
        with self.process:
            assert self.process.stdout is not None
            for line in self.process.stdout:
                with suppress(ValueError):  # a library that prints says nothing about the study
                    self.news |= json.loads(line)

    @property
    def goes_on(self) -> bool:
        """Whether it has not ended."""
        return self.process.poll() is None


class Studies:
    """The studies in a folder, and the processes that compute them.

    Parameters
    ----------
    folder : Path
        Made when the first study is begun.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.runs: dict[str, _Run] = {}

    def names(self) -> list[str]:
        """Return the names of the studies, the latest first."""
        if not self.folder.is_dir():
            return []
        found = [
            p.parent for p in self.folder.glob("*/study.toml") if NAME.fullmatch(p.parent.name)
        ]
        return [p.name for p in sorted(found, key=lambda p: -p.stat().st_mtime)]

    def all(self) -> list[dict[str, Any]]:
        """Return how each study stands."""
        return [self.stand(name) for name in self.names()]

    def stand(self, name: str, rows: bool = False, inches: bool = False) -> dict[str, Any]:
        """Return how the study `name` stands; with its `rows` when asked.

        Rows are in mm and kPa; with `inches`, why a case has no answer is told in inches.

        A study that cannot be read is listed with its fault, so that it does not hide the others.

        Raises
        ------
        NoStudy
        """
        folder = self._folder(name)
        try:
            return self._stand(name, folder, rows, inches)
        except SqueezeError as error:
            why = str(error)
        except Exception as error:
            why = defect(error, f"reading the study in {folder}", {"Study": str(folder)})[1][
                "error"
            ]
        return {"name": name, "title": name, "error": why, "running": False}

    def _stand(self, name: str, folder: Path, rows: bool, inches: bool) -> dict[str, Any]:
        study = load_study(folder)
        found = {"name": name, "title": study.file.title or name} | self._count(study)
        run = self.runs.get(name)
        found |= {"running": run is not None and run.goes_on} | (run.news if run else {})
        if rows:
            found |= {
                "columns": list(study.columns),
                "keep": list(study.measures),
                "accuracy": accuracy_words(study) if study.file.accuracy else NO_ERRORS,
                "figure": [figure.model_dump() for figure in study.file.figure],
                "rows": _rows(study, inches),
                "mold": _mold_of(study),
                "folder": str(folder),
            }
        return found

    def begin(self, asked: dict[str, Any]) -> str:
        """Write a study and start it; return its name.

        Parameters
        ----------
        asked : dict
            ``mold``, ``title``, and ``vary``: lists of values by their key; ``errors``: whether the
            error of each figure is to be computed as well.

        Raises
        ------
        BadInput
            When the mold, or what is varied, cannot be computed.
        NoStudy
            When nothing sensible is asked for.
        """
        title, vary = _title(asked.get("title")), _vary(asked.get("vary"))
        text = dump(mold_of(asked.get("mold") or {}))
        try:
            folder = self._fresh(title)
            (folder / "mold.toml").write_text(text, encoding="utf-8")
            (folder / "study.toml").write_text(
                _study_text(title, vary, asked.get("errors") is True), encoding="utf-8"
            )
        except OSError as error:
            why = error.strerror or str(error)
            raise NoStudy(f"The study cannot be kept in {self.folder}: {why}.") from error
        try:
            load_study(folder)
        except BadInput:
            for name in ("study.toml", "mold.toml"):
                (folder / name).unlink()
            folder.rmdir()
            raise
        self.go(folder.name)
        return folder.name

    def go(self, name: str) -> None:
        """Start a study, or go on with it where it was left.

        Raises
        ------
        NoStudy
            When there is none of that name, or another one is being computed.
        """
        folder = self._folder(name)
        busy = [each for each, run in self.runs.items() if run.goes_on]
        if name in busy:
            return
        if busy:
            raise NoStudy(f"The study '{busy[0]}' is being computed; wait for it, or stop it.")
        process = subprocess.Popen(
            [
                sys.executable,
                "-c",
                f"from squeeze.page.studies.sweep import main; main({str(folder)!r})",
            ],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            start_new_session=True,
            env=os.environ | {"MPLBACKEND": "Agg"},
        )
        self.runs[name] = _Run(process)

    def stop(self, name: str) -> None:
        """Stop the study `name`; what is finished is kept.

        Raises
        ------
        NoStudy
        """
        self._folder(name)
        run = self.runs.get(name)
        if run is not None and run.goes_on:
            run.process.terminate()
            try:
                run.process.wait(STOP_S)
            except subprocess.TimeoutExpired:
                run.process.kill()
            run.ear.join()

    def end(self) -> None:
        """Stop all studies."""
        for name, run in self.runs.items():
            if run.goes_on:
                self.stop(name)

    def _folder(self, name: str) -> Path:
        if not NAME.fullmatch(name) or name not in self.names():
            raise NoStudy("There is no study of that name.")
        return self.folder / name

    def _fresh(self, title: str) -> Path:
        stem = re.sub(r"[^a-z0-9]+", "-", title.lower()).strip("-")[:40].strip("-") or "study"
        names = (f"{stem}-{k}" if k > 1 else stem for k in range(1, 10_000))
        folder = next(self.folder / name for name in names if not (self.folder / name).exists())
        folder.mkdir(parents=True)
        return folder

    def _count(self, study: Study) -> dict[str, int]:
        assert study.path is not None
        place = store_path(study.path)
        if not place.exists():
            return {"planned": 0, "done": 0, "failed": 0}
        with closing(SqliteStore(place)) as store:
            count = store.count()
        failed = count.failed + count.refused
        return {"planned": count.planned, "done": count.done, "failed": failed}


def _mold_of(study: Study) -> dict[str, Any]:
    """Return the mold that a study varies; empty where it names more than one, or none."""
    assert study.path is not None
    try:
        return dict_of(load(study.path.parent / "mold.toml"))
    except BadInput:
        return {}


def _rows(study: Study, inches: bool) -> list[dict[str, Any]]:
    assert study.path is not None
    place = store_path(study.path)
    if not place.exists():
        return []
    with closing(SqliteStore(place)) as store:
        return [_plain(row, inches) for row in store.rows()]


def _plain(row: dict[str, Any], inches: bool) -> dict[str, Any]:
    """Return a row in which what is not finite is None, as JSON has no word for it.

    Why it has no answer is told as at the bench: by words, not by keys.
    """
    finite = {
        key: None if isinstance(value, float) and value - value != 0 else value
        for key, value in row.items()
    }
    if not row.get("error"):
        return finite
    said = "\n".join(map(_bench_words, str(row["error"]).split("\n")))
    return finite | {"error": in_inches(said) if inches else said}


def _bench_words(line: str) -> str:
    """Return a `line` such as ``block.bevel_mm: is too large`` with its key in words."""
    key, colon, text = line.partition(": ")
    return f"{key_in_words(key)}: {text}" if colon and KEY.fullmatch(key) else line


def _title(title: object) -> str:
    if isinstance(title, str) and title.isprintable() and 1 <= len(title.strip()) <= 120:
        return title.strip()
    raise NoStudy("The study needs a title, one line of at most 120 characters.")


def _vary(vary: object) -> dict[str, list[Any]]:
    """Return what is varied, checked for size; the study itself checks keys and values."""
    if not isinstance(vary, dict) or not 1 <= len(vary) <= 3:
        raise NoStudy("A study varies one to three things.")
    cases = 1
    for key, values in vary.items():
        if not isinstance(values, list) or not 2 <= len(values) <= MOST_VALUES:
            raise NoStudy(f"{key}: needed are 2 to {MOST_VALUES} values.")
        if not all(isinstance(v, int | float | str) and v == v for v in values):
            raise NoStudy(f"{key}: {quote(values)} given; needed are numbers or words.")
        cases *= len(values)
    if cases > MOST_CASES:
        raise NoStudy(f"{cases} cases would come of it; the page computes at most {MOST_CASES}.")
    return vary


def _study_text(title: str, vary: dict[str, list[Any]], errors: bool) -> str:
    quoted = json.dumps(title, ensure_ascii=False)
    lines = [f"title = {quoted}", 'mold = "mold.toml"', f"keep = {json.dumps(list(KEEP))}"]
    lines += [f"accuracy = {ACCURACY_PCT}"] if errors else []
    lines += ["", "[vary]"]
    lines += [f"{json.dumps(key)} = {json.dumps(values)}" for key, values in vary.items()]
    keys = list(vary)
    for y in ("largest_gap_mm", "least_pressure_kpa"):
        lines += ["", "[[figure]]", f"x = {json.dumps(keys[0])}", f"y = {json.dumps(y)}"]
        lines += [f"each = {json.dumps(keys[1])}"] if len(keys) == 2 else []
    return "\n".join(lines) + "\n"
