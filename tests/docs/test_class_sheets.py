"""The sheets for the class that lie beside the lessons: one page each, with all on the page."""

from __future__ import annotations

from pathlib import Path

import pytest
from pypdf import PdfReader

from squeeze.page.answers.lessons import lesson_of
from squeeze.show.paper import PAPERS, PT_MM

FOLDER = Path(__file__).parents[2] / "docs" / "lessons"
LESSONS = sorted(FOLDER.glob("*.toml"))
TEACH = FOLDER.parent / "teach.md"


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("file", LESSONS, ids=lambda file: file.stem)
def test_a_sheet_has_its_question_and_its_table_on_one_page(file, paper):
    (page,) = PdfReader(file.with_name(f"{file.stem}-{paper}.pdf")).pages
    wide, high = (PT_MM * size for size in PAPERS[paper])
    places: list[tuple[str, float, float]] = []

    def place(text: str, matrix: list[float], at: list[float], *_: object) -> None:
        places.append((text.strip(), at[4], at[5]))

    text = page.extract_text(visitor_text=place)
    lesson = lesson_of(file).table
    said = " ".join(text.split())
    assert lesson.question in said
    assert all(guess.text in said for guess in lesson.guess)
    assert said.count("closed, %") == said.count("widest gap") == 2
    assert "Use only a pressure vessel rated and marked" in said
    assert all(0 <= x < wide and 0 <= y < high for text, x, y in places if text)


def test_the_page_for_teachers_links_every_lesson_and_sheet():
    told = TEACH.read_text(encoding="utf-8")
    assert all(f"(lessons/{file.name})" in told for file in FOLDER.iterdir())
