"""The command `squeeze page`: the page in the browser."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from squeeze.cli.preamble import DONE


def page(
    mold: Annotated[
        Path | None, typer.Argument(metavar="[MOLD.toml]", help="A mold file to begin with.")
    ] = None,
    port: Annotated[
        int, typer.Option(metavar="NUMBER", min=0, max=65535, help="Where the page is served.")
    ] = 7433,
    browser: Annotated[
        bool, typer.Option("--browser/--no-browser", help="Open the page in the browser.")
    ] = True,
) -> int:
    """See a mold close in the browser while you change it. Nothing leaves this machine."""
    from squeeze.page import serve

    serve(mold, port, browser)
    return DONE
