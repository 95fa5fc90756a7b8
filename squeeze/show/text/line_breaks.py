"""Lines of text that do not part a name."""

from __future__ import annotations

import re
import textwrap

WHOLE = re.compile(r"'[^']{1,30}'|\d (mm|in|kPa|%)(?!\w)")


def wrapped_lines(text: str, width: int) -> list[str]:
    """Break a text into lines of at most `width` letters.

    Quoted names stay whole, and a number keeps its unit.

    Examples
    --------
    >>> wrapped_lines("between 'barrel 1' and 'barrel 2'", 20)
    ["between 'barrel 1'", "and 'barrel 2'"]
    """
    held = WHOLE.sub(lambda part: part[0].replace(" ", "\N{NO-BREAK SPACE}"), text)
    return [line.replace("\N{NO-BREAK SPACE}", " ") for line in textwrap.wrap(held, width)]


def fill(text: str, width: int) -> str:
    """Return `wrapped_lines` of at most `width` letters as one text."""
    return "\n".join(wrapped_lines(text, width))
