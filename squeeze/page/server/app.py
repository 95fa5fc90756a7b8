"""The server's routes."""

from __future__ import annotations

import asyncio
import re
import secrets
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from pathlib import Path
from typing import Any

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from squeeze.mold import SqueezeError
from squeeze.page.defect import Defects
from squeeze.page.server.assets import Asset, assets
from squeeze.page.server.body import body_of
from squeeze.page.server.guard import Guard
from squeeze.page.server.kept import KeptFile
from squeeze.page.server.solvers import SLOW, Solvers
from squeeze.page.server.stream import LINES, streamed_answer
from squeeze.page.server.study_routes import study_routes
from squeeze.page.studies.studies import Studies

DEEDS = ("close", "sure", "air", "read", "write", *SLOW)
"""What a page may ask for."""

READ_MODELS = ("air", "sheet")
"""Answers for which models in the folder of the page's mold file may be read."""

PAGE = re.compile(r"[A-Za-z0-9-]{1,64}")


def app_of(
    port: int,
    key: str,
    kept: KeptFile | None = None,
    studies: Path | None = None,
    solvers: Callable[[], Solvers] = Solvers,
) -> Starlette:
    """Return the application that serves the page.

    Parameters
    ----------
    port : int
        Where it listens; requests that name another host are refused.
    key : str
        What every call has to bring along; requests without it are refused.
    kept : KeptFile, optional
        The mold file to begin with.
    studies : Path, optional
        Folder of the studies that are begun on the page; ``.squeeze/studies`` in the home folder
        unless given.
    solvers : callable
        Makes the processes that answer.
    """

    @asynccontextmanager
    async def running(app: Starlette) -> AsyncIterator[None]:
        app.state.solvers = solvers()
        app.state.studies = Studies(studies or Path.home() / ".squeeze" / "studies")
        try:
            yield
        finally:
            app.state.studies.end()
            app.state.solvers.end()

    app = Starlette(
        routes=[
            Route("/", _asset),
            Route("/assets/{name}", _asset),
            Route("/start", _start),
            *study_routes(),
            Route("/{do}", _answer, methods=["POST"]),
            Route("/file", _save, methods=["PUT"]),
        ],
        middleware=[Middleware(Guard, port=port, key=key), Middleware(Defects)],
        exception_handlers={HTTPException: _refused},
        lifespan=running,
    )
    app.state.kept, app.state.assets = kept, assets()
    return app


async def _refused(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    return JSONResponse({"error": error.detail}, error.status_code, error.headers)


async def _asset(request: Request) -> Response:
    found: Asset | None = request.app.state.assets.get(
        request.path_params.get("name", "index.html")
    )
    if found is None:
        raise HTTPException(404, "There is no such file.")
    return Response(found.content, media_type=found.kind)


async def _start(request: Request) -> Response:
    status, said = await request.app.state.solvers.ask({"do": "start"}, _own_line("start"))
    kept: KeptFile | None = request.app.state.kept
    if status == 200 and kept is not None:
        said["file"] = await _file(request, kept)
    return JSONResponse(said, status)


async def _file(request: Request, kept: KeptFile) -> dict[str, Any]:
    try:
        text, seen = kept.read()
    except (OSError, UnicodeDecodeError) as error:
        return {"name": kept.name, "error": f"{kept.name}: cannot be read: {error}"}
    asked = {"do": "open", "text": text, "name": kept.name, "folder": str(kept.path.parent)}
    return {"name": kept.name, "stamp": seen} | (
        await request.app.state.solvers.ask(asked, _own_line("file"))
    )[1]


async def _answer(request: Request) -> Response:
    do = request.path_params["do"]
    if do not in DEEDS:
        raise HTTPException(404, "There is nothing of that name here.")
    asked = await body_of(request)
    page = asked.get("page")
    if not isinstance(page, str) or not PAGE.fullmatch(page):
        raise HTTPException(400, "The request does not say which page it comes from.")
    # Advice, reading and writing must not take the place of a solve, nor be taken by one. A coarse
    # answer does not wait until the fine one before it has been given up.
    line = f"{page} {'quick' if do == 'close' and asked.get('quick') is True else do}"
    wanted = {key: value for key, value in asked.items() if key != "folder"} | {"do": do}
    kept: KeptFile | None = request.app.state.kept
    if kept is not None and do in READ_MODELS:
        wanted["folder"] = str(kept.path.parent)
    if request.headers.get("accept") == LINES:
        return streamed_answer(request.app.state.solvers, wanted, line)
    return JSONResponse(*reversed(await _unless_gone(request, wanted, line)))


def _own_line(name: str) -> str:
    """Return the name of a line in which nobody else asks, so that no later request overtakes."""
    return f"{name} {secrets.token_hex(8)}"


async def _unless_gone(request: Request, asked: dict[str, Any], line: str) -> Any:
    """Return status and answer; what nobody waits for any more is ended soon."""
    answer = asyncio.create_task(request.app.state.solvers.ask(asked, line))
    gone = asyncio.create_task(_gone(request))
    await asyncio.wait({answer, gone}, return_when=asyncio.FIRST_COMPLETED)
    gone.cancel()
    if not answer.done():
        answer.cancel()
        return 499, {"error": "Nobody waits for the answer any more."}
    return answer.result()


async def _gone(request: Request) -> None:
    while (await request.receive())["type"] != "http.disconnect":
        pass


async def _save(request: Request) -> Response:
    """Write the mold over the file that the page was started with.

    Where the file would lose comments, the answer lists them and nothing is written; with ``lose``
    it is written.
    """
    asked, kept = await body_of(request), request.app.state.kept
    if kept is None:
        raise HTTPException(404, "The page was started without a mold file.")
    seen = asked.get("seen")
    try:
        before, now = kept.read()
    except (OSError, UnicodeDecodeError):
        before, now = None, None
    wanted = {"do": "write", "mold": asked.get("mold"), "over": before}
    wanted["folder"] = str(kept.path.parent)
    status, said = await request.app.state.solvers.ask(wanted, _own_line("save"))
    if status != 200:
        return JSONResponse(said, status)
    if isinstance(seen, str) and now != seen:
        text = f"{kept.name} was changed by somebody else since it was opened here."
        return JSONResponse({"error": text, "changed": True}, 409)
    if said["lost"] and asked.get("lose") is not True:
        text = f"Some comments in {kept.name} belong to what is no longer there."
        return JSONResponse({"error": text, "lost": said["lost"]}, 409)
    try:
        made = kept.write(said["text"], now)
    except SqueezeError as error:
        raise HTTPException(500, str(error)) from None
    if made is None:
        text = f"{kept.name} was changed by somebody else since it was opened here."
        return JSONResponse({"error": text, "changed": True}, 409)
    return JSONResponse({"stamp": made, "name": kept.name})
