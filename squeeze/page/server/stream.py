"""Answers that come line by line: news on the way, the answer last, each a line of JSON."""

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncIterator
from typing import Any

from starlette.responses import StreamingResponse

from squeeze.page.server.solvers import Solvers

LINES = "application/x-ndjson"
"""What a page accepts that wants to hear how its answer comes along."""

News = dict[str, Any]


def streamed_answer(solvers: Solvers, asked: dict[str, Any], line: str) -> StreamingResponse:
    """Return a response that tells how an answer comes along, and then the answer.

    Each line is a JSON object: ``{"what": words, "share": 0..1 or null}`` for news; the last one is
    the answer with its ``status``. Where the reader goes away, the answer is ended soon.

    Parameters
    ----------
    solvers : Solvers
    asked : dict
        What the browser sent.
    line : str
        Page and kind of question: one of a kind waits, the newest.
    """
    return StreamingResponse(_lines(solvers, asked, line), media_type=LINES)


async def _lines(solvers: Solvers, asked: dict[str, Any], line: str) -> AsyncIterator[bytes]:
    loop, news = asyncio.get_running_loop(), asyncio.Queue[News | None]()

    def hear(came: News) -> None:
        loop.call_soon_threadsafe(news.put_nowait, came)

    answer = asyncio.create_task(solvers.ask(asked, line, hear))
    answer.add_done_callback(lambda _: news.put_nowait(None))
    try:
        while (came := await news.get()) is not None:
            yield _line(came)
        status, said = answer.result()
        yield _line(said | {"status": status})
    finally:
        answer.cancel()


def _line(said: News) -> bytes:
    return json.dumps(said, ensure_ascii=False, separators=(",", ":")).encode() + b"\n"
