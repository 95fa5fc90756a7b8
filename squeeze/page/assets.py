"""The page's own files, read once; nothing else of the disk can be asked for."""

from __future__ import annotations

from dataclasses import dataclass
from importlib.resources import files

KINDS = {
    ".html": "text/html; charset=utf-8",
    ".css": "text/css; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".svg": "image/svg+xml",
}


@dataclass(frozen=True)
class Asset:
    """One file of the page."""

    kind: str
    content: bytes


def assets() -> dict[str, Asset]:
    """Return the page's files by name."""
    folder = files("squeeze.page") / "assets"
    return {
        entry.name: Asset(KINDS[suffix], entry.read_bytes())
        for entry in folder.iterdir()
        if (suffix := entry.name[entry.name.rfind(".") :]) in KINDS
    }
