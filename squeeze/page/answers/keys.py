"""Keys of a mold file as one says them at the bench."""

from __future__ import annotations

import re

LISTS = "band cavity cradle cut filler model push station stock vent".split()
"""Tables of which a file may have several, each with its name or number."""


def key_in_words(key: str) -> str:
    """Return a key of a mold file as one says it at the bench.

    Examples
    --------
    >>> key_in_words("cut.across the top.path_mm"), key_in_words("block.width_mm")
    ("Cut 'across the top', path", 'Block, width')
    >>> key_in_words("cavity.barrel 4"), key_in_words("push.2")
    ("Cavity 'barrel 4'", 'Push 2')
    """
    head, *rest = key.split(".")
    if not rest:
        return _bare(head).capitalize()
    *names, last = rest if head not in LISTS or len(rest) > 1 else (*rest, "")
    name = ".".join(names)
    named = f" {name}" if name.isdigit() else f" '{name}'" if name else ""
    return f"{_bare(head).capitalize()}{named}" + (f", {_bare(last)}" if last else "")


_UNITS = re.compile(r"_(mm|deg|n|n_per_mm|kpa|mpa|g|g_cm3|mpa_s|min|percent)$")


def _bare(key: str) -> str:
    return _UNITS.sub("", key).replace("_", " ")
