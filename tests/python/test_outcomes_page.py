"""The page on Python has a heading for every outcome of a solve, and for nothing else."""

from __future__ import annotations

import re
from pathlib import Path

from squeeze import Outcome

PAGE = Path(__file__).parents[2] / "docs" / "python.md"


def test_every_outcome_has_its_heading():
    text = PAGE.read_text(encoding="utf-8").partition("## Why is there no answer?")[2]
    sections = dict(re.findall(r"^### `(\w+)`\n+(.+?)(?=\n###|\Z)", text, re.M | re.S))
    assert set(sections) == {outcome.name for outcome in Outcome}
    assert all(len(said.split()) >= 10 for said in sections.values())
    answers = {name for name, said in sections.items() if said.startswith("There is an answer")}
    assert answers == {outcome.name for outcome in Outcome if outcome.has_answer}
