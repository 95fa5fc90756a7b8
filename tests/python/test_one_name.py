"""One name stands for one thing in the whole program."""

from __future__ import annotations

import ast
from collections import defaultdict
from collections.abc import Iterable
from pathlib import Path

import pytest

import squeeze

ROOM = Path(squeeze.__file__).parent
ENTRIES = {"main": "a process begins there", "run": "a command is run there"}
"""Names that more than one module may have."""


def defined(module: ast.Module) -> Iterable[str]:
    """Yield the names of the public functions and of all classes of a module."""
    for node in module.body:
        if isinstance(node, ast.ClassDef):
            yield node.name.lstrip("_")
        elif isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
            yield node.name


def twice(texts: dict[str, str]) -> dict[str, list[str]]:
    """Return the names that more than one module defines, with these modules."""
    where: dict[str, list[str]] = defaultdict(list)
    for name, text in texts.items():
        for found in defined(ast.parse(text)):
            where[found].append(name)
    return {name: modules for name, modules in where.items() if len(modules) > 1}


def test_no_two_modules_give_one_name_to_different_things():
    """But commands, which are called as one types them."""
    texts = {
        str(file.relative_to(ROOM)): file.read_text("utf-8")
        for file in ROOM.rglob("*.py")
        if file.parent.name != "cli"
    }
    assert len(texts) > 300
    found = twice(texts)
    assert {name: modules for name, modules in found.items() if name not in ENTRIES} == {}


def test_a_name_that_stands_twice_is_found():
    texts = {"a.py": "class _Run: ...\ndef _own(): ...", "b.py": "class Run: ...\ndef _own(): ..."}
    assert twice(texts) == {"Run": ["a.py", "b.py"]}


BY_HAND = {"polygon_loop": "an outline of one's own, as `circle` and `ellipse` give one"}
"""Names that nothing in the program asks for."""


def named(module: ast.Module) -> Iterable[str]:
    """Yield every name that a module uses: as such, of an object, imported, or as a text."""
    for node in ast.walk(module):
        if isinstance(node, ast.Name):
            yield node.id
        elif isinstance(node, ast.Attribute):
            yield node.attr
        elif isinstance(node, ast.alias):
            yield node.name.rsplit(".", 1)[-1]
        elif isinstance(node, ast.Constant) and isinstance(node.value, str):
            yield node.value


@pytest.mark.slow
def test_what_nothing_uses_goes():
    """A function or class that only tests ask for belongs to them."""
    modules = [ast.parse(file.read_text("utf-8")) for file in ROOM.rglob("*.py")]
    used = {name for module in modules for name in named(module)}
    made = {
        node.name
        for module in modules
        for node in module.body
        if isinstance(node, ast.ClassDef | ast.FunctionDef)
        and not (node.name.startswith("__") or node.decorator_list)
    }
    assert made - used == set(BY_HAND)


@pytest.mark.parametrize("word", ["manager", "handler", "helper", "utils"])
def test_no_module_is_called_by_a_word_that_says_nothing(word):
    assert not [file for file in ROOM.rglob("*.py") if word in file.stem]
