"""Start the server and the browser."""

from __future__ import annotations

import socket
import threading
import webbrowser
from pathlib import Path

import uvicorn
from starlette.applications import Starlette

from squeeze.mold import SqueezeError, load
from squeeze.page.app import app_of
from squeeze.page.connection import MOST_CONNECTIONS, TimedConnection
from squeeze.page.kept import KeptFile

HOST = "127.0.0.1"
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
    listening = listen(port)
    port = listening.getsockname()[1]
    kept = KeptFile(mold.resolve(), str(mold)) if mold else None
    address = f"http://{HOST}:{port}/"
    print(f"The page is at {address} (stop it with Ctrl+C).", flush=True)
    if browser:
        threading.Thread(target=webbrowser.open, args=[address], daemon=True).start()
    server_of(app_of(port, kept)).run([listening])


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


def listen(port: int) -> socket.socket:
    """Return a socket that listens on this machine alone; port 0 takes any that is free.

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
            f"http://{HOST}:{port}/ is taken; if the page runs there already, use it, or give"
            f" another port: --port {port + 1}"
        ) from error
    return listening
