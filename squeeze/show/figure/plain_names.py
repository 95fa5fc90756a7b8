"""Names in figures are text, whatever signs they hold: ``$x$`` is no formula there."""

from __future__ import annotations

import warnings
from collections.abc import Iterator
from contextlib import contextmanager

from matplotlib import rc_context


@contextmanager
def plain_names() -> Iterator[None]:
    """Draw all text as it stands, also as a decorator.

    A sign that the font lacks is drawn as an empty box, without a word on it.
    """
    with rc_context({"text.parse_math": False, "text.usetex": False}), warnings.catch_warnings():
        warnings.filterwarnings("ignore", r"Glyph .* missing from", UserWarning)
        yield
