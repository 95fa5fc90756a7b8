"""Writing a changed mold over its file: what did not change keeps its place, form and comments."""

from __future__ import annotations

import re
from collections import Counter
from pathlib import Path
from typing import Any, cast

import tomlkit
from tomlkit.items import AoT, Item, Table

from squeeze.mold.errors import SqueezeError
from squeeze.mold.file.mold_file import dict_of, dump, parse
from squeeze.mold.tables.mold import Mold

Data = dict[str, Any]

_COMMENT = re.compile(r"(?:\"[^\"\n]*\"|'[^'\n]*'|[^#\"'\n])*(#.*)")


def rewritten(text: str, mold: Mold, folder: Path | None = None) -> str:
    r"""Return a mold file's text with another mold in it; only what differs is written anew.

    Parameters
    ----------
    text : str
        The file as it is.
    mold : Mold
        What the new text has to describe.
    folder : Path, optional
        Where drawings that the text names lie.

    Returns
    -------
    str
        A text from which `parse` makes `mold`. Where the old text cannot be read, or cannot take
        the change, a fresh one without its comments; `lost_comments` says which.

    Examples
    --------
    >>> from squeeze.mold import mold_of, parse
    >>> text = 'length_mm = 90 # poured twice\n[rubber]\nshore_a = 20\n'
    >>> text += '[block]\nshape = "round"\ndiameter_mm = 80\n'
    >>> changed = dict_of(parse(text)) | {"rubber": {"shore_a": 25}}
    >>> print(rewritten(text, mold_of(changed)).splitlines()[:3])
    ['length_mm = 90 # poured twice', '[rubber]', 'shore_a = 25.0']
    """
    try:
        before = dict_of(parse(text, folder=folder))
        document = tomlkit.parse(text)
        _carry(cast(Data, document), before, dict_of(mold))
        made = tomlkit.dumps(document)
        if parse(made, folder=folder) == mold:
            return made
    except (SqueezeError, ValueError, KeyError, TypeError, IndexError):
        pass
    return dump(mold)


def lost_comments(before: str, after: str) -> tuple[str, ...]:
    r"""Return the comments of the TOML text `before` that `after` does not have, in their order.

    Examples
    --------
    >>> lost_comments("a = 1 # one\n# two\n", "a = 2 # one\n")
    ('# two',)
    """
    left = Counter(_comments(after))
    lost = []
    for comment in _comments(before):
        if left[comment]:
            left[comment] -= 1
        else:
            lost.append(comment)
    return tuple(lost)


def _comments(text: str) -> list[str]:
    found = (_COMMENT.match(line) for line in text.splitlines())
    return [match.group(1).strip() for match in found if match]


def _carry(place: Data, before: Data, after: Data) -> None:
    """Bring a table of the document from one mold to the other, key by key."""
    for key in [key for key in before if _is_nothing(after.get(key))]:
        del place[key]
    for key, value in after.items():
        if _is_nothing(value):
            continue
        if key not in before:
            place[key] = _fresh(value)
        elif before[key] == value:
            continue
        elif isinstance(value, dict) and isinstance(place.get(key), dict):
            _carry(place[key], before[key], value)
        elif isinstance(place.get(key), AoT) and isinstance(value, list | tuple):
            _carry_list(place[key], before[key], value)
        else:
            _set(place, key, value)


def _is_nothing(value: Any) -> bool:
    """Return whether a key is left out: it is not there, or is a list without entries."""
    return value is None or (isinstance(value, list | tuple) and not value)


def _set(place: Data, key: str, value: Any) -> None:
    """Give a key another value; a comment behind the old one stays."""
    old, new = place[key], _fresh(value)
    if isinstance(old, Item) and isinstance(new, Item):
        new.trivia.comment_ws, new.trivia.comment = old.trivia.comment_ws, old.trivia.comment
    place[key] = new


def _fresh(value: Any) -> Any:
    plain = _plain(value)
    if isinstance(plain, list) and plain and all(isinstance(each, dict) for each in plain):
        made = tomlkit.aot()
        for each in plain:
            made.append(_table(each))
        return made
    return _table(plain) if isinstance(plain, dict) else tomlkit.item(plain)


def _table(data: Data) -> Table:
    made = tomlkit.table()
    for key, value in data.items():
        made[key] = _fresh(value)
    return made


def _plain(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _plain(each) for key, each in value.items()}
    return [_plain(each) for each in value] if isinstance(value, list | tuple) else value


def _carry_list(place: AoT, before: Any, after: Any) -> None:
    """Bring a list of tables from one mold to the other: entries of one name, else by their turn.

    Raises
    ------
    ValueError
        When entries have changed places.
    """
    was = _partners(before, after)
    kept = [k for k in was if k is not None]
    if kept != sorted(kept):
        raise ValueError("entries have changed places")
    for k in reversed(range(len(before))):
        if k not in kept:
            del place[k]
    for number, (partner, entry) in enumerate(zip(was, after, strict=True)):
        if partner is None:
            place.insert(number, _table(_plain(entry)))
        elif before[partner] != entry:
            _carry(cast(Data, place[number]), before[partner], entry)


def _partners(before: Any, after: Any) -> list[int | None]:
    """Return for each entry the number of the one that it was before; None for a new one."""
    names = [[each.get("name") for each in side] for side in (before, after)]
    unique = all(None not in side and len(set(side)) == len(side) for side in names)
    if unique and len(before) != len(after):
        return [names[0].index(name) if name in names[0] else None for name in names[1]]
    same = [k for k, (a, b) in enumerate(zip(before, after, strict=False)) if a == b]
    if len(before) > len(after) and len(same) < len(after):
        gone = next(k for k in range(len(before)) if k not in same)
        short = len(before) - len(after)
        return [k if k < gone else k + short for k in range(len(after))]
    return [k if k < len(before) else None for k in range(len(after))]
