"""Write the sheets for the class: one page for each lesson, on A4 and on Letter.

    python studies/class_sheets.py

By hand, after a change of the lessons or of the solver. They lie beside the lessons, under
docs/lessons, and go into the wheel with them.
"""

from __future__ import annotations

from squeeze.mold.progress import silent
from squeeze.page.answers.lessons import lessons
from squeeze.page.paper.class_sheet import sheet_of_lesson
from squeeze.show.paper import PAPERS
from squeeze.show.sheet.pdf import as_pdf
from squeeze.study.gallery import shipped


def main() -> None:
    """Write all of them."""
    found, wrong = lessons()
    assert not wrong, wrong
    for lesson in found:
        sheet = sheet_of_lesson(lesson, inches=False, tell=silent)
        for paper in PAPERS:
            path = shipped("lessons") / f"{lesson.name}-{paper}.pdf"
            path.write_bytes(as_pdf(sheet, paper))
            print(f"Wrote {path.name}.", flush=True)


if __name__ == "__main__":
    main()
