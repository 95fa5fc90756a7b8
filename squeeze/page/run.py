"""Start the server and the browser."""

from __future__ import annotations

import os
import re
import secrets
import socket
import threading
import webbrowser
from contextlib import suppress
from pathlib import Path

import uvicorn
from starlette.applications import Starlette

from squeeze.mold import SqueezeError, load
from squeeze.page.server.app import app_of
from squeeze.page.server.connection import MOST_CONNECTIONS, TimedConnection
from squeeze.page.server.kept import KeptFile

HOST = "127.0.0.1"
KEY = re.compile(r"[A-Za-z0-9_-]{20,64}")
PORT = 7433
"""Always the same, for the browser keeps what was made under the address it was made at."""


class CannotServe(SqueezeError, OSError):
    """The page's address is taken."""


def serve(mold: Path | None = None, port: int = PORT, browser: bool = True) -> None:
    """Serve the page on this machine until it is stopped.

    Parameters
    ----------
    mold : Path, optional
        A mold file to begin with; the page can write it back.
    port : int
    browser : bool
        Whether to open the page in the browser.

    Raises
    ------
    BadInput
        When the mold file cannot be read as one.
    CannotServe
        When the port is taken.
    """
    if mold is not None:
        load(mold)
    key = page_key(Path.home() / ".squeeze")
    listening = listen(port, key)
    port = listening.getsockname()[1]
    kept = KeptFile(mold.resolve(), str(mold)) if mold else None
    address = address_of(port, key)
    print(f"The page is at {address} (stop it with Ctrl+C).", flush=True)
    if browser:
        threading.Thread(target=webbrowser.open, args=[address], daemon=True).start()
    server_of(app_of(port, key, kept)).run([listening])


def server_of(
    app: Starlette, connection: type[TimedConnection] = TimedConnection
) -> uvicorn.Server:
    """Return the server of an application; it says nothing in the terminal.

    Parameters
    ----------
    app : Starlette
    connection : type
        How connections are kept, with their limits on time and number.
    """
    config = uvicorn.Config(
        app,
        http=connection,
        log_level="critical",
        limit_concurrency=connection.most + 1,
        timeout_graceful_shutdown=2,
        server_header=False,
    )
    return uvicorn.Server(config)


def address_of(port: int, key: str) -> str:
    """Return the page's address at `port`, with the key that its calls have to bring along."""
    return f"http://{HOST}:{port}/?key={key}"


def page_key(folder: Path) -> str:
    """Return the key of this person's pages; it is made once, for a bookmark has to stay good.

    Parameters
    ----------
    folder : Path
        Where it is kept, in a file that nobody else may read. Where it cannot be kept, the key is
        good for this once.
    """
    path = folder / "page-key"
    with suppress(OSError):
        kept = path.read_text(encoding="ascii", errors="replace").strip()
        if KEY.fullmatch(kept):
            return kept
    key = secrets.token_urlsafe(24)
    with suppress(OSError):
        folder.mkdir(parents=True, exist_ok=True)
        path.unlink(missing_ok=True)
        with open(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "w") as file:
            file.write(f"{key}\n")
    return key


def listen(port: int, key: str) -> socket.socket:
    """Return a socket that listens on this machine alone; port 0 takes any that is free.

    The `key` completes the address in the error.

    Raises
    ------
    CannotServe
        When the port is taken.
    """
    listening = socket.socket()
    listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listening.bind((HOST, port))
        listening.listen(MOST_CONNECTIONS)  # who comes before the server is ready waits
    except OSError as error:
        listening.close()
        raise CannotServe(
            f"{address_of(port, key)} is taken; if the page runs there already, use it, or give"
            f" another port: --port {port + 1}"
        ) from error
    return listening
