"""The version of the numerics: what, besides the case, an answer depends on."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from functools import cache
from hashlib import sha256
from importlib.resources import files
from importlib.resources.abc import Traversable

ROOMS = ("mold", "solve", "verdict")
"""Rooms all of whose modules count, in folders at any depth."""

MODULES = (
    "study/measure_errors.py",
    "study/measures.py",
    "study/own_measures.py",
    "study/plan/sections.py",
    "study/runner/solve_batch.py",
)
"""Modules of the study room that take part in an answer."""


@cache
def numerics() -> str:
    """Return a digest of the code that makes an answer out of a mold: 16 hexadecimal digits.

    Answers in a store belong to the digest that they were computed with.
    """
    return code_digest(files("squeeze"))


def code_digest(package: Traversable) -> str:
    """Return the digest of the numerics in a package folder: 16 hexadecimal digits.

    The syntax trees are hashed, so every change of the code counts, and a change of comments,
    docstrings or layout does not.

    Parameters
    ----------
    package : Traversable
        The folder that holds `ROOMS` and `MODULES`.

    Raises
    ------
    FileNotFoundError
        When a room or a module is not there.
    """
    digest = sha256()
    for room in ROOMS:
        for tree in trees(package.joinpath(room), room):
            digest.update(tree.encode())
    for path in MODULES:
        digest.update(f"{path}\n{_syntax(package.joinpath(path))}\n".encode())
    return digest.hexdigest()[:16]


def trees(folder: Traversable, path: str) -> Iterator[str]:
    """Yield path and syntax tree of every module in a folder and the folders in it, in order.

    Parameters
    ----------
    folder : Traversable
    path : str
        What the paths begin with.
    """
    for inner, module in _modules(folder, path):
        yield f"{inner}\n{_syntax(module)}\n"


def _modules(folder: Traversable, path: str) -> Iterator[tuple[str, Traversable]]:
    """Yield path and file of every module in a folder and the folders in it, in order."""
    for entry in sorted(folder.iterdir(), key=lambda entry: entry.name):
        inner = f"{path}/{entry.name}"
        if entry.is_dir():
            yield from _modules(entry, inner)
        elif entry.name.endswith(".py"):
            yield inner, entry


def _syntax(module: Traversable) -> str:
    return syntax_of(module.read_text(encoding="utf-8"))


def syntax_of(source: str) -> str:
    """Return the syntax tree of Python source as text, docstrings left out."""
    tree = ast.parse(source)
    for node in ast.walk(tree):
        if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef):
            if ast.get_docstring(node, clean=False) is not None:
                node.body = node.body[1:] or [ast.Pass()]
    return ast.dump(tree)
