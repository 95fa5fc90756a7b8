"""How a long computation reports its progress: one callback, for terminal, page and Python."""

from __future__ import annotations

from typing import Protocol


class Progress(Protocol):
    """What takes news of a computation.

    It is called with a few words on what comes next, and with the share that is done (0 to 1)
    where that is known.
    """

    def __call__(self, what: str, share: float | None = None) -> None:
        """Take the news."""


def silent(what: str, share: float | None = None) -> None:
    """Take the news `what`, and the `share` that is done (0 to 1), and drop both."""
