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
    found = {
        entry.name: Asset(KINDS[suffix], entry.read_bytes())
        for entry in folder.iterdir()
        if (suffix := entry.name[entry.name.rfind(".") :]) in KINDS
    }
    return found | {"index.html": _preloading(found)}


def _preloading(found: dict[str, Asset]) -> Asset:
    """Return the page, naming all its modules: the browser fetches them at once, not in turns."""
    page = found["index.html"]
    links = "".join(
        f'<link rel="modulepreload" href="/assets/{name}">\n'
        for name in sorted(found)
        if name.endswith(".js")
    )
    return Asset(page.kind, page.content.replace(b"</head>", f"{links}</head>".encode(), 1))
