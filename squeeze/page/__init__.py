"""The page: see a mold close in the browser, on this machine only."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from squeeze.page.run import serve

__all__ = ["serve"]


def __getattr__(name: str) -> Any:
    """Import the server when it is asked for; the processes beside it do without."""
    if name == "serve":
        from squeeze.page.run import serve

        return serve
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
