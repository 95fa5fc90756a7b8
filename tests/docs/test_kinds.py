"""docs/kinds.md shows what squeeze says to the files that `squeeze new --kind` writes.

Run as a program it writes those lines anew.
"""

from __future__ import annotations

import re
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from typer.testing import CliRunner

from squeeze.cli import app
from squeeze.show.start import start
from squeeze.show.start_kinds import KINDS

PAGE = Path(__file__).parents[2] / "docs" / "kinds.md"
BETWEEN = re.compile(r"<!-- head of (\w+) -->\n(.*?)<!-- end of head -->", re.DOTALL)


def head(kind: str) -> str:
    """Return the head of the file to start from, as a block of text."""
    with TemporaryDirectory() as folder:
        file = Path(folder) / f"{kind}.toml"
        file.write_text(start(kind, kind), encoding="utf-8")
        printed = CliRunner().invoke(app, ["close", str(file)]).stdout
    return "\n".join(["", "```", printed.split("\nland ")[0], "```", ""]) + "\n"


def test_the_page_has_every_kind():
    told = PAGE.read_text(encoding="utf-8")
    assert {kind for kind, _ in BETWEEN.findall(told)} == set(KINDS)
    assert all(f"squeeze new {kind} --kind {kind}" in told for kind in KINDS)


@pytest.mark.slow(minutes=True)
@pytest.mark.parametrize("kind", KINDS)
def test_the_page_shows_the_head_of_each_kind(kind):
    assert dict(BETWEEN.findall(PAGE.read_text(encoding="utf-8")))[kind] == head(kind)


if __name__ == "__main__":
    text = PAGE.read_text(encoding="utf-8")
    made = BETWEEN.sub(
        lambda found: f"<!-- head of {found[1]} -->\n{head(found[1])}<!-- end of head -->", text
    )
    PAGE.write_text(made, encoding="utf-8")
