"""The last line of defence: what goes wrong against all expectation, said in one sentence."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from starlette.requests import Request
from starlette.responses import JSONResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from squeeze.show.report import report_defect


def defect(
    error: BaseException, doing: str, given: Mapping[str, str]
) -> tuple[int, dict[str, Any]]:
    """Write a report on a defect; return the status and the sentence that the page shows.

    Parameters
    ----------
    error : BaseException
    doing : str
        What was being done, in words that follow "while".
    given : mapping of str to str
        What was asked, by its heading.
    """
    return 500, {"error": report_defect(error, doing, given).say, "defect": True}


class Defects:
    """Answers in words where a route fails; nothing is shown in the terminal."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on; where that fails, write a report and say so."""
        if scope["type"] != "http":
            return await self.app(scope, receive, send)
        begun = False

        async def noted(message: Message) -> None:
            nonlocal begun
            begun = True
            await send(message)

        try:
            await self.app(scope, receive, noted)
        except Exception as error:
            request = Request(scope)
            line = f"{request.method} {request.url.path}"
            status, reply = defect(error, f"answering the page ({line})", {"Request": line})
            if not begun:
                await JSONResponse(reply, status)(scope, receive, send)
