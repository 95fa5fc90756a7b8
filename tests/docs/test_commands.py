"""Commands in the docs: docs/commands.md is made from the program; what stands anywhere runs."""

from __future__ import annotations

import re
import shlex
import shutil
from pathlib import Path
from typing import Any

import pytest
from typer.main import get_command
from typer.testing import CliRunner

from squeeze import cli
from squeeze.cli.commands_page import commands_page
from squeeze.show.start import start
from squeeze.show.start_kinds import KINDS

TOP = Path(__file__).parents[2]
PAGES = [
    TOP / "README.md",
    *sorted((TOP / "docs").glob("*.md")),
    *sorted(TOP.glob("studies/**/*.md")),
]
GROUP: Any = get_command(cli.app)
BY_HAND = ("page", "slice", "design")
"""One serves until stopped, one needs a model, one searches for minutes; each has its own tests."""

STAND_INS = {
    "barrels.toml": "studies/barrels/barrels-round.toml",
    "my-mold.toml": "studies/barrels/barrels-round.toml",
    "rod.toml": "studies/barrels/barrels-round.toml",
    "bevels.toml": "studies/corners/study.toml",
    "block.toml": "studies/corners/block.toml",
}
"""Files that the docs name without saying how they came about."""


def whole_commands() -> dict[str, str]:
    """Return each command that stands in a block of code, and the page where it does."""
    found = {}
    for page in PAGES:
        for line in re.findall(r"^ *(squeeze [a-z].*)$", blocks(page), re.MULTILINE):
            found[line.split("#")[0].strip()] = page.name
    return found


def blocks(page: Path) -> str:
    """Return the blocks of code of a page that are no Python and no output."""
    text = page.read_text(encoding="utf-8")
    return "\n".join(re.findall(r"^ *```\n(.*?)^ *```$", text, re.MULTILINE | re.DOTALL))


def test_the_page_of_commands_is_made_from_the_program():
    told = (TOP / "docs" / "commands.md").read_text(encoding="utf-8")
    assert told == commands_page(), "python -m squeeze.cli.commands_page > docs/commands.md"


def test_the_page_has_every_command_and_every_option():
    text = commands_page()
    for name, command in GROUP.commands.items():
        part = text.split(f"\n## {name}\n")[1].split("\n## ")[0]
        for each in command.params:
            if each.param_type_name == "option" and each.name != "help":
                assert all(f"`{opt}" in part for opt in each.opts), (name, each.opts)


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.relative_to(TOP).as_posix())
def test_commands_named_in_sentences_have_their_options(page):
    """`squeeze close --json` in a sentence: there is such a command with such an option."""
    for line in re.findall(r"`squeeze ([a-z]+[^`]*)`", page.read_text(encoding="utf-8")):
        name, *rest = line.split()
        assert name in GROUP.commands, line
        known = {opt for each in GROUP.commands[name].params for opt in each.opts}
        for option in (word for word in rest if word.startswith("--")):
            assert option in known, f"squeeze {line}: there is no {option}"


@pytest.mark.parametrize("line", [line for line in whole_commands() if "[OPTIONS]" not in line])
def test_a_command_can_be_given_as_it_stands(line):
    name, *given = shlex.split(line)[1:]
    with GROUP.commands[name].make_context(name, given) as context:
        assert context.params


@pytest.mark.slow
@pytest.mark.parametrize(
    "line",
    [
        line
        for line in whole_commands()
        if "[OPTIONS]" not in line and "--scheduler" not in line and line.split()[1] not in BY_HAND
    ],
)
def test_a_command_of_the_docs_runs(line, tmp_path, monkeypatch):
    """Each in a folder of its own; of a study only how it stands, or it would take an hour."""
    shutil.copytree(
        TOP / "studies", tmp_path / "studies", ignore=shutil.ignore_patterns("*.sqlite*")
    )
    for name, source in STAND_INS.items():
        shutil.copyfile(TOP / source, tmp_path / name)
    for kind in KINDS:
        (tmp_path / f"{kind}.toml").write_text(start(kind, kind), encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    asked = shlex.split(line)[1:]
    if asked[0] == "study":
        asked = [asked[0], asked[1], "--status"]
    if asked[0] == "new":
        for file in tmp_path.glob("*.toml"):
            file.unlink()
    done = CliRunner().invoke(cli.app, asked)
    assert done.exit_code == 0, done.output
