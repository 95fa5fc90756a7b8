"""The gallery: every study can be run, keeps its results, and its page says what they say."""

from __future__ import annotations

import importlib.util
import re
from pathlib import Path

import pytest

from squeeze.show.study.figures import figure_path, study_figure
from squeeze.study import MemoryStore, cases, load_study, rows_of, write_plan

_spec = importlib.util.spec_from_file_location("pages", Path(__file__).with_name("pages.py"))
pages = importlib.util.module_from_spec(_spec)
_spec.loader.exec_module(pages)

FOLDERS = sorted(path.parent for path in pages.STUDIES.glob("*/study.toml"))
named = pytest.mark.parametrize("folder", FOLDERS, ids=lambda folder: folder.name)


def test_the_gallery_has_its_studies():
    names = {folder.name for folder in FOLDERS}
    told = {
        "outlines",
        "flatness",
        "cut-angle",
        "bands",
        "cradles",
        "corners",
        "hardness",
        "friction",
        "pull",
    }
    assert told <= names
    index = (pages.STUDIES / "README.md").read_text(encoding="utf-8")
    assert all(f"({name}/README.md)" in index for name in names)


@named
def test_the_results_are_those_of_the_study_as_it_stands(folder):
    """The kept CSV has the columns and the cases of the study file, and every case an answer."""
    study = load_study(folder)
    store = MemoryStore()
    write_plan(study, store)
    kept = list(rows_of(folder / study.file.table))
    assert tuple(kept[0]) == store.columns()
    for row, wanted in zip(kept, store.rows(), strict=True):
        assert {name: row[name] for name in study.columns} == {
            name: wanted[name] for name in study.columns
        }
        assert row["state"] == "done"


@named
def test_the_page_says_what_the_results_say(folder):
    page = folder / "README.md"
    text = page.read_text(encoding="utf-8")
    assert pages.renewed(page) == text, "run tests/study/pages.py"
    assert "<!-- results:" in text
    assert f"squeeze study studies/{folder.name}" in text


@named
def test_the_page_shows_every_figure(folder):
    study = load_study(folder)
    text = (folder / "README.md").read_text(encoding="utf-8")
    shown = set(re.findall(r"!\[[^\]]+\]\(([^)]+)\)", text))
    wanted = {figure_path(study, i).name for i in range(len(study.file.figure))}
    assert shown == wanted
    assert all((folder / name).is_file() for name in wanted)


@named
def test_figures_are_drawn_from_the_kept_results(folder):
    study = load_study(folder)
    rows = list(rows_of(folder / study.file.table))
    for i, figure in enumerate(study.file.figure):
        if figure.kind != "sections":
            drawn = study_figure(study, i, rows)
            assert drawn.axes


@pytest.mark.slow
@named
def test_some_cases_give_the_kept_results_again(folder):
    """Three cases of each study, computed now, against its CSV."""
    from squeeze.study.plan.study import batches
    from squeeze.study.runner.solve_batch import BlockCache, solve_batch

    study = load_study(folder)
    kept = {row["case"]: row for row in rows_of(folder / study.file.table)}
    every = sorted(cases(study), key=lambda case: case.number)
    few = every[:: max(1, len(every) // 3)][:3]
    numbers = {case.id: case.number + 1 for case in few}
    for batch in batches(study, few):
        for answer in solve_batch(batch, BlockCache()):
            row = kept[numbers[answer.id]]
            assert answer.outcome == row["outcome"]
            for measure, value in answer.measures.items():
                if isinstance(value, float) and "strain" not in measure:  # singular at corners
                    assert value == pytest.approx(row[measure], rel=0.005, abs=0.005), measure
