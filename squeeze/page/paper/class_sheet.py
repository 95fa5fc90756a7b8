"""A sheet for the class: the question, the guesses, two pictures, room to write; one page."""

from __future__ import annotations

from base64 import b64encode
from datetime import date
from typing import Any

from squeeze.mold.progress import Progress
from squeeze.page.answers.closed import Refused, closed
from squeeze.page.answers.lessons import Lesson, lessons
from squeeze.show.paper import PAPERS
from squeeze.show.sheet.contents import Sheet, digest_of
from squeeze.show.sheet.parts import Grid, Row, Step
from squeeze.show.sheet.pdf import as_pdf
from squeeze.show.sheet.picture import closing_picture
from squeeze.verdict.words import length

SHARES = (0.0, 0.25, 0.5, 0.75, 1.0)
LINE = "." * 60
WIDTHS = (0.5, 0.25, 0.25)
"""Shares of a table's width: where the slider stands, what is closed, the gap."""


def class_sheet(asked: dict[str, Any], progress: Progress) -> dict[str, Any]:
    """Return the sheet of a lesson as PDF, in base64.

    `asked` has the name of the ``lesson``, the ``paper`` (``a4`` or ``letter``) and ``inches``.

    Raises
    ------
    Refused
        When there is no such lesson or no such paper.
    """
    name, paper = asked.get("lesson"), asked.get("paper", "a4")
    lesson = next((each for each in lessons()[0] if each.name == name), None)
    if lesson is None or paper not in PAPERS:
        raise Refused("There is no such lesson, or no such paper.")
    made = sheet_of_lesson(lesson, asked.get("inches") is True, progress)
    return {"pdf": b64encode(as_pdf(made, paper)).decode()}


def sheet_of_lesson(lesson: Lesson, inches: bool, progress: Progress) -> Sheet:
    """Return what stands on a lesson's sheet; its figures are at small deformation.

    Parameters
    ----------
    lesson : Lesson
    inches : bool
        Give lengths in inches.
    progress : Progress
        Called with what is being done.
    """
    table, found = lesson.table, []
    for number, share in enumerate(SHARES):
        progress("Closing the cuts", number / len(SHARES))
        found.append(closed(lesson.mold(share), 0.7, inches))
    start, end = table.slider.ends
    words = [start, "a quarter of the way", "half way", "three quarters of the way", end]
    guesses = [Row("[  ]", guess.text) for guess in table.guess]
    heads = (table.slider.name, "closed, %", "widest gap")
    rows = [
        (
            word,
            f"{100 * min(land.closed_share for land in each.closing.lands):.0f}",
            length(max(land.largest_gap_mm for land in each.closing.lands), inches),
        )
        for word, each in zip(words, found, strict=True)
    ]
    blank = [(word, "......", "......") for word in words]
    return Sheet(
        title=table.title,
        head=table.question,
        advice=("Guess first, then look: tick one, and fill in the table from the screen.",),
        steps=(
            Step("I guess", (*guesses, Row("because", LINE), Row("", LINE))),
            Step(
                "I see",
                (
                    closing_picture(found[0].closing),
                    closing_picture(found[-1].closing),
                    Grid(heads, tuple(blank), WIDTHS),
                    Row("So", LINE),
                    Row("", LINE),
                ),
            ),
            Step(
                "Fold here: for the teacher",
                (
                    Row("Answer", table.answer),
                    Row("Right", "; ".join(g.text for g in table.guess if g.right) or "none"),
                    Grid(heads, tuple(rows), WIDTHS),
                ),
            ),
        ),
        file=f"lesson {lesson.name}",
        digest=digest_of(found[0].mold),
        date=date.today().isoformat(),
    )
