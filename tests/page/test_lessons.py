"""Lessons come from files; what is wrong with one is said, and the others are shown."""

from __future__ import annotations

from base64 import b64decode
from io import BytesIO
from pathlib import Path

import pypdf
import pytest

import squeeze
from squeeze.mold import BadInput
from squeeze.page.answers.answer import answer
from squeeze.page.answers.lessons import OWN, lesson_of, lessons
from squeeze.study.gallery import shipped

NAMES = ["1-round-against-square", "2-more-bands", "3-where-to-cut"]


def gaps(lesson, *shares: float) -> list[float]:
    closings = [
        squeeze.close(lesson.mold(share), fineness=0.5, deformation="small") for share in shares
    ]
    return [max(land.largest_gap_mm for land in each.lands) for each in closings]


def test_three_lessons_come_along_and_their_answers_are_true() -> None:
    found, wrong = lessons(Path("/nowhere"))
    assert ([each.name for each in found], wrong) == (NAMES, [])
    for lesson in found:
        assert sum(guess.right for guess in lesson.table.guess) == 1
    square, rounded = gaps(found[0], 0.0, 1.0)
    assert (square > 0.3, rounded == 0.0) == (True, True)
    slack, tight = gaps(found[1], 0.0, 1.0)
    assert tight == pytest.approx(6 * slack, rel=1e-6)  # as at small deformation it must
    top, middle = gaps(found[2], 0.0, 1.0)
    assert (top > 0.3, middle < 0.05) == (True, True)


def test_own_lessons_are_read_and_faults_are_told(tmp_path: Path) -> None:
    own = tmp_path / OWN
    own.mkdir(parents=True)
    text = (shipped("lessons") / f"{NAMES[0]}.toml").read_text()
    (own / "mine.toml").write_text(text.replace("Round against square", "Mine"))
    (own / "typo.toml").write_text(text.replace("block.round_mm", "block.rond_mm"))
    (own / "less.toml").write_text('title = "x"\n')
    found, wrong = lessons(tmp_path)
    assert [each.name for each in found] == [*NAMES, "mine"]
    assert found[-1].table.title == "Mine"
    assert len(wrong) == 2
    assert any("rond_mm" in each for each in wrong)
    assert any("question" in each for each in wrong)
    with pytest.raises(BadInput):
        lesson_of(own / "none.toml")


@pytest.mark.slow
def test_the_sheet_for_the_class_is_one_page() -> None:
    for name in NAMES:
        status, said = answer({"do": "class", "lesson": name})
        assert status == 200
        made = pypdf.PdfReader(BytesIO(b64decode(said["pdf"])))
        assert len(made.pages) == 1
        text = made.pages[0].extract_text()
        assert "I guess" in text
        assert "for the teacher" in text
        assert "rated and marked by its maker" in " ".join(text.split())
    assert answer({"do": "class", "lesson": "../x"})[0] == 400
