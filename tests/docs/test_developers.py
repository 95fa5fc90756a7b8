"""DEVELOPERS.md names files and names of the code that are there."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

TOP = Path(__file__).parents[2]
QUOTED = sorted(set(re.findall(r"`([^`\n]+)`", (TOP / "DEVELOPERS.md").read_text("utf-8"))))
PATHS = [
    word
    for word in QUOTED
    if re.fullmatch(r"(squeeze|studies|tests|docs)/[\w./-]+", word) and "NAME" not in word
]
NAMES = [word for word in QUOTED if re.fullmatch(r"[A-Z][a-z]+[A-Z]\w+|[A-Z]{4,}(_[A-Z]+)*", word)]


@pytest.mark.parametrize("path", PATHS)
def test_a_path_is_there(path):
    assert (TOP / path).exists()


@pytest.mark.parametrize("name", NAMES)
def test_a_class_or_a_table_is_there(name):
    """It is defined in the program, or as a table of the tests."""
    defined = re.compile(rf"^(class )?{name}\b", re.MULTILINE)
    files = [*(TOP / "squeeze").rglob("*.py"), *(TOP / "tests").rglob("*.py")]
    assert any(defined.search(file.read_text("utf-8")) for file in files)


def test_the_page_names_some_of_each():
    assert len(PATHS) > 10
    assert {"SHAPES", "LOAD_KINDS", "ShapeTable", "ContactProblem"} <= set(NAMES)
