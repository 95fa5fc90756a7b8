"""Docstrings of all rooms: shapes of arrays, units of numbers, parameters of long calls, errors."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

import squeeze

ROOM = Path(squeeze.__file__).parent
ROOMS = ("mold", "solve", "verdict", "study", "design", "show", "page")
"""Of the command line each option carries its own words: they are what --help prints."""
ARRAY = re.compile(r"\b(Array|Points|Whole|Mask|States|Flags|NDArray|ArrayLike)\b")
SHAPE = r"\((\.\.\.|\d+|[a-zA-Z])[\w .,+*]*,?[^()]*\)|any shape"
UNIT = re.compile(r"\[[^\]]+\]")
ENDINGS = ("mm", "mm2", "n", "kpa", "mpa", "s", "pct", "deg", "rad", "g", "kg", "cm3", "min", "c")
NO_UNIT = {
    "fineness",
    "coarser_fineness",
    "friction",
    "mu",
    "share",
    "shore_a",
    "poisson",
    "evenness",
}
"""Figures without a unit: shares, coefficients, hardness."""
PLAIN = re.compile(rf"{ARRAY.pattern}|\b(str|int|bool|float|dict|object|Any|Data)\b")
"""Kinds that do not say what they hold; a record of the program's own does."""
SAID_ONCE = {"inches"}
"""Whether lengths are told in inches: the same in every room."""

Function = ast.FunctionDef


def functions(text: str) -> Iterator[tuple[str, Function]]:
    """Yield the public functions, and the public methods of public classes, with their names."""
    for node in ast.parse(text).body:
        if isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
            yield node.name, node
        elif isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
            for each in node.body:
                if isinstance(each, ast.FunctionDef) and not each.name.startswith("_"):
                    yield f"{node.name}.{each.name}", each


def own_raises(function: Function) -> Iterator[ast.Raise]:
    """Yield what the function itself raises, not the functions that it defines."""
    waiting: list[ast.AST] = [*function.body]
    while waiting:
        node = waiting.pop()
        if isinstance(node, ast.Raise) and node.exc is not None:
            yield node
        if not isinstance(node, ast.FunctionDef | ast.Lambda):
            waiting.extend(ast.iter_child_nodes(node))


def lacks(function: Function) -> list[str]:
    """Return what a docstring does not say."""
    doc = ast.get_docstring(function) or ""
    given = function.args.posonlyargs + function.args.args + function.args.kwonlyargs
    given = [each for each in given if each.arg not in ("self", "cls")]
    found = [] if doc else ["a docstring"]
    for each in given:
        kind = ast.unparse(each.annotation) if each.annotation else ""
        name = re.escape(each.arg)
        if ARRAY.search(kind) and not re.search(rf"\b{name}\b.{{0,80}}?({SHAPE})", doc, re.DOTALL):
            found.append(f"{each.arg}: of which shape?")
        has_unit = each.arg.rsplit("_", 1)[-1] in ENDINGS or each.arg in NO_UNIT
        if re.search(r"\bfloat\b", kind) and not has_unit and not said_with_unit(each.arg, doc):
            found.append(f"{each.arg}: in which unit?")
        is_plain = each.arg not in SAID_ONCE and re.search(PLAIN, kind)
        if is_plain and not re.search(rf"\b{name}\b", doc):
            found.append(f"{each.arg}: what is it?")
    result = ast.unparse(function.returns) if function.returns else ""
    if ARRAY.search(result) and not re.search(SHAPE, doc):
        found.append("of which shape is the result?")
    if any(own_raises(function)) and "Raises" not in doc and "Yields" not in doc:
        found.append("what does it raise?")
    return found


def said_with_unit(name: str, doc: str) -> bool:
    """Whether the docstring gives a figure's unit in brackets, or says what it is a share of."""
    said = [doc[found.start() :][:300] for found in re.finditer(rf"\b{re.escape(name)}\b", doc)]
    words = r"\bover\b|\bshare\b|\btimes\b|\bparameter|\bratio\b|\bpower\b|\b0\.\.1\b|\b0 to 1\b"
    return bool(said) and (any(map(UNIT.search, said)) or bool(re.search(words, doc)))


@pytest.mark.parametrize("room", ROOMS)
def test_a_docstring_says_shapes_units_parameters_and_errors(room):
    missing = {}
    seen = 0
    for file in sorted((ROOM / room).rglob("*.py")):
        for name, function in functions(file.read_text("utf-8")):
            seen += 1
            if found := lacks(function):
                missing[f"{file.relative_to(ROOM)}: {name}"] = found
    assert seen > 40
    assert missing == {}


def test_what_is_not_said_is_found():
    short = (
        'def f(a: Array, pull: float, b: X, c: Y) -> Array:\n    """Do."""\n    raise ValueError'
    )
    ((_, function),) = functions(short)
    assert lacks(function) == [
        "a: of which shape?",
        "a: what is it?",
        "pull: in which unit?",
        "pull: what is it?",
        "of which shape is the result?",
        "what does it raise?",
    ]
    ((_, function),) = functions('def f(path: str, x: X) -> None:\n    """Write it."""')
    assert lacks(function) == ["path: what is it?"]
    whole = (
        'def f(a: Array, pull: float) -> Array:\n    """Return the sum (n,) of `a` (n, 2) under'
        ' `pull` [N]."""\n'
    )
    ((_, function),) = functions(whole)
    assert lacks(function) == []
