"""The page: see a mold close in the browser, on this machine only."""

from squeeze.page.run import serve

__all__ = ["serve"]
