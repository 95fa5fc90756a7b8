"""docs/commands.md, made from the program itself: every command with its options.

Run as a program it prints the page; a test compares it with the one that is kept.
"""

from __future__ import annotations

from typing import Any

from typer.main import get_command

from squeeze.cli.commands import app
from squeeze.cli.preamble import ANSWERS_LOST, BAD_INPUT, DEFECT, DONE, LEAKS, STOPPED

HEAD = """\
# Commands

Every command with all that it takes, as `squeeze COMMAND --help` says it. [The mold
file](moldfile.md) says what stands in `MOLD.toml`. Made by
`python -m squeeze.cli.commands_page > docs/commands.md`.
"""

MORE = {
    "close": "verdict.md",
    "bands": "along.md",
    "cradle": "cradles.md",
    "design": "design.md",
    "sheet": "sheet.md",
    "why": "why.md",
    "slice": "slice.md",
    "study": "studies.md",
    "page": "page.md",
    "new": "section.md",
}
"""The page that says more on a command."""

STATUS = f"""
## Exit statuses

| status | means |
| --- | --- |
| {DONE} | done |
| {LEAKS} | with `--strict`: done, but it does not seal; `squeeze study`: some cases failed |
| {BAD_INPUT} | something given is wrong, or a file cannot be written; a sentence says what |
| {ANSWERS_LOST} | `squeeze study`: the store was damaged and answers were lost |
| {DEFECT} | a defect of squeeze; a sentence says where the report is |
| {STOPPED} | stopped with Ctrl-C |
"""


def commands_page() -> str:
    """Return the page as Markdown."""
    group: Any = get_command(app)
    parts = [HEAD, *(_command(name, each) for name, each in group.commands.items())]
    return "\n".join([*parts, STATUS.lstrip("\n")])


def _command(name: str, command: Any) -> str:
    arguments, options = _parts(command)
    usage = " ".join(["squeeze", name, *(_slot(each) for each in arguments), "[OPTIONS]"])
    example = command.epilog.removeprefix("Example: ")
    lines = [f"## {name}", "", _one_line(command.help), "", "```", usage, example, "```", ""]
    lines += ["| takes | does |", "| --- | --- |"]
    lines += [f"| `{each.metavar or each.name.upper()}` | {_help(each)} |" for each in arguments]
    lines += [f"| {_names(each)} | {_help(each)} |" for each in options]
    if name in MORE:
        lines += ["", f"[More]({MORE[name]})"]
    return "\n".join([*lines, ""])


def _parts(command: Any) -> tuple[list[Any], list[Any]]:
    """Return the arguments and the options of a command, `--help` left out."""
    arguments = [each for each in command.params if each.param_type_name == "argument"]
    options = [each for each in command.params if each.param_type_name == "option"]
    return arguments, [each for each in options if not each.hidden and each.name != "help"]


def _slot(argument: Any) -> str:
    name = argument.metavar or argument.name.upper()
    more = "..." if argument.nargs == -1 and not name.endswith("...") else ""
    return f"{name}{more}" if argument.required or name.startswith("[") else f"[{name}{more}]"


def _names(option: Any) -> str:
    value = "" if option.is_flag else f" {option.metavar or option.type.name.upper()}"
    forms = [f"`{name}{value}`" for name in option.opts]
    return ", ".join([*forms, *(f"`{name}`" for name in option.secondary_opts)])


def _help(parameter: Any) -> str:
    text = _one_line(parameter.help or "").replace("|", "\\|")
    default = parameter.default
    has_default = default is not None and not isinstance(default, bool) and not callable(default)
    if has_default and parameter.param_type_name == "option":
        shown = f"{default:g}" if isinstance(default, float) else default
        text += f" Default: {shown}."
    return text


def _one_line(text: str | None) -> str:
    return " ".join((text or "").split())


if __name__ == "__main__":
    print(commands_page(), end="")
