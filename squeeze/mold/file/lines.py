"""Where in a TOML text each key stands: a small scanner, for texts that are known to be valid."""

from __future__ import annotations

import re
from collections.abc import Iterator

KeyPath = tuple[str | int, ...]

_STRING = r'"""(?:\\.|[^\\])*?"{3,5}|' + r"'''.*?'{3,5}|" + r'"(?:\\.|[^"\\\n])*"|' + r"'[^'\n]*'"
_TOKEN = re.compile(
    rf"(?P<string>{_STRING})|(?P<comment>#[^\n]*)|(?P<other>\n|[^\s]|[ \t\r]+)", re.S
)
_KEY_PART = re.compile(r'\s*("(?:\\.|[^"\\])*"|\'[^\']*\'|[A-Za-z0-9_-]+)\s*\.?')


def key_lines(toml: str) -> dict[KeyPath, int]:
    """Return the line, from 1, of every table of the text `toml` and of every key that has one.

    Tables that stand in a list carry their number from 0: ``("cut", 1, "path_mm")``. Keys inside
    ``{...}`` count as the key that holds them.
    """
    found: dict[KeyPath, int] = {(): 1}
    counts: dict[KeyPath, int] = {}
    table: KeyPath = ()
    for line, statement in _statements(toml):
        if not statement.startswith("["):
            _record(found, table, _key(statement), line)
            continue
        twice = statement.startswith("[[")
        table = _located(_key(statement.strip("[")), counts, new=twice)
        found.setdefault(table, line)
        found.setdefault(table[:1], line)
    return found


def _record(found: dict[KeyPath, int], table: KeyPath, key: tuple[str, ...], line: int) -> None:
    for n in range(1, min(len(key), 4) + 1):  # nothing in a mold is nested more deeply
        found.setdefault(table + key[:n], line)


def _located(key: tuple[str, ...], counts: dict[KeyPath, int], new: bool) -> KeyPath:
    """Return the full path of a table header; `new` begins another entry of a list."""
    path: KeyPath = ()
    for n, part in enumerate(key, start=1):
        path += (part,)
        if new and n == len(key):
            counts[path] = counts.get(path, -1) + 1
        if path in counts:
            path += (counts[path],)
    return path


def _statements(toml: str) -> Iterator[tuple[int, str]]:
    """Yield (line, text) of every header and of every key with its value."""
    line, begun, depth, text = 1, 1, 0, ""
    for token in _TOKEN.finditer(toml + "\n"):
        bit = token.group()
        if bit == "\n" and depth <= 0:
            if text.strip():
                yield begun, text.strip()
            depth, text = 0, ""
        elif token.lastgroup != "comment":
            begun = begun if text.strip() else line
            depth += (bit in "[{") - (bit in "]}") if len(bit) == 1 else 0
            text += bit
        line += bit.count("\n")


def _key(statement: str) -> tuple[str, ...]:
    """Return the parts of the dotted key with which a statement begins."""
    parts, place = [], 0
    while match := _KEY_PART.match(statement, place):
        parts.append(match.group(1).strip("\"'"))
        place = match.end()
        if not match.group().rstrip().endswith("."):
            break
    return tuple(parts)
