"""Lines of text that do not part a name."""

from __future__ import annotations

import re
import textwrap


def lines_of(text: str, width: int) -> list[str]:
    """Break a text into lines of at most `width` letters; quoted names stay whole.

    Examples
    --------
    >>> lines_of("between 'barrel 1' and 'barrel 2'", 20)
    ["between 'barrel 1'", "and 'barrel 2'"]
    """
    held = re.sub(r"'[^']{1,30}'", lambda name: name[0].replace(" ", "\N{NO-BREAK SPACE}"), text)
    return [part.replace("\N{NO-BREAK SPACE}", " ") for part in textwrap.wrap(held, width)]


def fill(text: str, width: int) -> str:
    """Return `lines_of` as one text."""
    return "\n".join(lines_of(text, width))
