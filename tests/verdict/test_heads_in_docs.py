"""docs/first-molds.md shows five mold files word for word, each with the head that it gets.

Run as a program it writes them anew.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from typer.testing import CliRunner

import squeeze
from squeeze.cli import app

TOP = Path(__file__).parents[2]
PAGE = TOP / "docs" / "first-molds.md"
MOLDS = sorted((TOP / "studies" / "first-molds").glob("*.toml"))
BETWEEN = re.compile(r"<!-- heads -->\n(.*?)<!-- end of heads -->", re.DOTALL)


def file_shown(path: Path) -> str:
    """Return what the docs show of a mold file: its title, and its text."""
    return f"## {squeeze.load(path).title}\n\n```toml\n{path.read_text().strip()}\n```\n"


def shown(path: Path) -> str:
    """Return what the docs show of a mold: its file, and what the command says over its table."""
    where = path.relative_to(TOP).as_posix()
    printed = CliRunner().invoke(app, ["close", str(path)]).stdout
    head = printed.split("\nland ")[0]
    answer = [f"`squeeze close {where}` answers:", "", "```", head, "```", ""]
    return "\n".join([file_shown(path), *answer])


@pytest.mark.parametrize("path", MOLDS, ids=lambda path: path.stem)
def test_the_docs_show_the_files_word_for_word(path):
    assert file_shown(path) in PAGE.read_text(encoding="utf-8")


@pytest.mark.slow
def test_the_docs_show_the_heads_of_the_first_molds():
    (told,) = BETWEEN.findall(PAGE.read_text(encoding="utf-8"))
    assert told == "\n" + "\n".join(map(shown, MOLDS)) + "\n"


if __name__ == "__main__":
    text = PAGE.read_text(encoding="utf-8")
    made = "<!-- heads -->\n\n" + "\n".join(map(shown, MOLDS)) + "\n<!-- end of heads -->"
    PAGE.write_text(BETWEEN.sub(lambda _: made, text), encoding="utf-8")
