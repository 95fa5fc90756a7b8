"""The version of the program's numerics: what, besides the case, an answer depends on."""

from __future__ import annotations

import ast
from functools import cache
from hashlib import sha256
from importlib.resources import files
from importlib.resources.abc import Traversable

ROOMS = ("mold", "solve", "verdict")


@cache
def numerics() -> str:
    """Return a digest of the code that makes an answer out of a mold.

    Every change of that code counts, remarks and layout apart: what is hashed is the syntax tree.
    """
    digest = sha256()
    for room in ROOMS:
        for name, text in _modules(files(f"squeeze.{room}"), room):
            digest.update(f"{name}\n{_tree(text)}\n".encode())
    digest.update(_tree(_text(files("squeeze.study") / "measure.py")).encode())
    return digest.hexdigest()[:16]


def _modules(folder: Traversable, path: str) -> list[tuple[str, str]]:
    """Return path and text of every module in a folder and the folders in it, in order."""
    found: list[tuple[str, str]] = []
    for entry in sorted(folder.iterdir(), key=lambda entry: entry.name):
        if entry.is_dir():
            found += _modules(entry, f"{path}/{entry.name}")
        elif entry.name.endswith(".py"):
            found.append((f"{path}/{entry.name}", _text(entry)))
    return found


def _tree(text: str) -> str:
    """Return the syntax tree of a module as text, its docstrings left out."""
    tree = ast.parse(text)
    for node in ast.walk(tree):
        if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef):
            first = node.body[0] if node.body else None
            if isinstance(first, ast.Expr) and isinstance(first.value, ast.Constant):
                if isinstance(first.value.value, str):
                    node.body = node.body[1:] or [ast.Pass()]
    return ast.dump(tree)


def _text(entry: Traversable) -> str:
    return entry.read_text(encoding="utf-8").replace("\r\n", "\n")
