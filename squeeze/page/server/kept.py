"""The mold file that the page was started with: reading it, and writing it back."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from pathlib import Path

from squeeze.show.write import write_all


@dataclass(frozen=True)
class KeptFile:
    """A mold file on this machine; no other file is ever read or written.

    Attributes
    ----------
    path : Path
    name : str
        As it was given on the command line.
    """

    path: Path
    name: str

    def read(self) -> tuple[str, str]:
        """Return its text and its stamp.

        Raises
        ------
        OSError
        UnicodeDecodeError
        """
        raw = self.path.read_bytes()
        return raw.decode("utf-8-sig"), stamp(raw)

    def write(self, text: str, seen: str | None) -> str | None:
        """Write the file unless somebody else changed it; return its new stamp, else None.

        Parameters
        ----------
        text : str
        seen : str or None
            Stamp of the text that the change began from; None writes over whatever is there.

        Raises
        ------
        CannotWrite
        """
        if seen is not None and self._now() != seen:
            return None
        raw = text.encode()

        def put(part: Path) -> None:
            part.write_bytes(raw)

        write_all({self.path: put})
        return stamp(raw)

    def _now(self) -> str | None:
        try:
            return stamp(self.path.read_bytes())
        except OSError:
            return None


def stamp(raw: bytes) -> str:
    """Return a mark by which a text is known again."""
    return hashlib.sha256(raw).hexdigest()[:32]
