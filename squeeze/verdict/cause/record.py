"""A cause of trouble, and what to do about it."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Cause:
    """A cause of trouble.

    Attributes
    ----------
    kind : str
        ``pot``, ``no pull``, ``loose band``, ``film``, ``gap``, ``weak``, ``starved``, ``flat``,
        ``corners``, ``shape``, ``resin``.
    why : str
        One plain sentence.
    do : str
        What to do about it, in one plain sentence.
    """

    kind: str
    why: str
    do: str
