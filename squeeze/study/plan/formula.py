"""Short formulas in study files: arithmetic over a mold's keys, read as a tree and never run."""

from __future__ import annotations

import ast
import math
import operator
import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

Lookup = Callable[[str], Any]

LONGEST = 300
_BRACED = re.compile(r"\{([^{}]+)\}")

_TWO = {
    ast.Add: operator.add,
    ast.Sub: operator.sub,
    ast.Mult: operator.mul,
    ast.Div: operator.truediv,
    ast.Pow: math.pow,
    ast.Mod: operator.mod,
}
_COMPARED = {
    ast.Lt: operator.lt,
    ast.LtE: operator.le,
    ast.Gt: operator.gt,
    ast.GtE: operator.ge,
    ast.Eq: operator.eq,
    ast.NotEq: operator.ne,
}
_ONE = {ast.USub: operator.neg, ast.UAdd: operator.pos, ast.Not: operator.not_}
_FUNCTIONS: dict[str, Callable[..., Any]] = {
    "abs": abs,
    "min": min,
    "max": max,
    "sqrt": math.sqrt,
    "sin": lambda deg: math.sin(math.radians(deg)),
    "cos": lambda deg: math.cos(math.radians(deg)),
    "tan": lambda deg: math.tan(math.radians(deg)),
}


class StudyValueError(ValueError):
    """What a study file asks for does not fit; the text is one plain sentence."""


@dataclass(frozen=True)
class Formula:
    """A formula, read and checked.

    Attributes
    ----------
    text : str
        As it stands in the file.
    names : tuple of str
        The keys it uses.
    """

    text: str
    names: tuple[str, ...]
    tree: ast.expr

    def value(self, lookup: Lookup) -> Any:
        """Return what the formula gives; `lookup` returns the value of a key.

        Raises
        ------
        StudyValueError
            When it cannot be computed, such as a division by zero.
        """
        try:
            return _value(self.tree, self.names, lookup)
        except (ArithmeticError, TypeError, ValueError) as error:
            if isinstance(error, StudyValueError):
                raise
            raise StudyValueError(f"the formula {self.text} cannot be computed: {error}") from None


def formula(text: str) -> Formula:
    """Read the formula `text`, such as ``block.bevel_mm > 0.3 * block.width_mm``.

    Keys with spaces stand in braces: ``{cut.across the barrels.friction} < 0.5``. Angles of sin,
    cos and tan are degrees.

    Raises
    ------
    StudyValueError
        When it is not such a formula.

    Examples
    --------
    >>> formula("2 * width_mm > 10").value({"width_mm": 6}.get)
    True
    """
    if len(text) > LONGEST:
        raise StudyValueError(f"the formula is longer than {LONGEST} letters")
    names: list[str] = []
    bare = _BRACED.sub(lambda part: _held(part[1].strip(), names), text)
    try:
        tree = ast.parse(bare.strip(), mode="eval").body
        read = _plain(tree, names)
    except (SyntaxError, ValueError, RecursionError, MemoryError) as error:
        if isinstance(error, StudyValueError):
            raise
        raise StudyValueError(f"{text!r} is not a formula; write such as {EXAMPLE}") from None
    return Formula(text, tuple(names), read)


EXAMPLE = "block.bevel_mm > 0.3 * block.width_mm"


def _held(name: str, names: list[str]) -> str:
    names.append(name)
    return f" k__{len(names) - 1} "


def _plain(node: ast.expr, names: list[str]) -> ast.expr:
    """Return the tree with each dotted key put down as a name ``k__0``; refuse all else."""
    if isinstance(node, ast.Attribute) or (isinstance(node, ast.Name) and not _is_held(node)):
        names.append(_dotted(node))
        return ast.Name(f"k__{len(names) - 1}", ast.Load())
    if isinstance(node, ast.Name):
        return node
    if isinstance(node, ast.Constant) and isinstance(node.value, int | float | str):
        return node
    if isinstance(node, ast.BinOp) and type(node.op) in _TWO:
        return ast.BinOp(_plain(node.left, names), node.op, _plain(node.right, names))
    if isinstance(node, ast.UnaryOp) and type(node.op) in _ONE:
        return ast.UnaryOp(node.op, _plain(node.operand, names))
    if isinstance(node, ast.BoolOp):
        return ast.BoolOp(node.op, [_plain(part, names) for part in node.values])
    if isinstance(node, ast.Compare) and all(type(op) in _COMPARED for op in node.ops):
        parts = [_plain(part, names) for part in node.comparators]
        return ast.Compare(_plain(node.left, names), node.ops, parts)
    if isinstance(node, ast.Call):
        return _plain_call(node, names)
    raise StudyValueError(
        f"{ast.unparse(node)} is not allowed in a formula; allowed are numbers, keys, + - * / ** %,"
        f" comparisons, and, or, not, {', '.join(_FUNCTIONS)}"
    )


def _plain_call(node: ast.Call, names: list[str]) -> ast.expr:
    known = isinstance(node.func, ast.Name) and node.func.id in _FUNCTIONS
    if not known or node.keywords:
        raise StudyValueError(
            f"{ast.unparse(node.func)} is not known; allowed are {', '.join(_FUNCTIONS)}"
        )
    return ast.Call(node.func, [_plain(part, names) for part in node.args], [])


def _is_held(node: ast.Name) -> bool:
    return node.id.startswith("k__")


def _dotted(node: ast.expr) -> str:
    if isinstance(node, ast.Name):
        return node.id
    if isinstance(node, ast.Attribute):
        return f"{_dotted(node.value)}.{node.attr}"
    raise StudyValueError(f"{ast.unparse(node)} is not a key")


def _value(node: ast.expr, names: tuple[str, ...], lookup: Lookup) -> Any:
    def of(part: ast.expr) -> Any:
        return _value(part, names, lookup)

    if isinstance(node, ast.Constant):
        return node.value
    if isinstance(node, ast.Name):
        return lookup(names[int(node.id[3:])])
    if isinstance(node, ast.BinOp):
        return _TWO[type(node.op)](of(node.left), of(node.right))
    if isinstance(node, ast.UnaryOp):
        return _ONE[type(node.op)](of(node.operand))
    if isinstance(node, ast.BoolOp):
        wanted = isinstance(node.op, ast.Or)
        return wanted if any(bool(of(part)) is wanted for part in node.values) else not wanted
    if isinstance(node, ast.Compare):
        return _compared(node, of)
    assert isinstance(node, ast.Call)
    assert isinstance(node.func, ast.Name)
    return _FUNCTIONS[node.func.id](*map(of, node.args))


def _compared(node: ast.Compare, of: Callable[[ast.expr], Any]) -> bool:
    parts = [of(part) for part in (node.left, *node.comparators)]
    pairs = zip(node.ops, parts[:-1], parts[1:], strict=True)
    return all(_COMPARED[type(op)](a, b) for op, a, b in pairs)
