"""Bodies of requests: JSON objects of bounded size and depth, with text that can be written."""

from __future__ import annotations

import json
from typing import Any

from starlette.exceptions import HTTPException
from starlette.requests import ClientDisconnect, Request

LARGEST_BYTES = 4_500_000

DEEPEST = 32
"""Levels of nesting; a mold file has five."""

TOO_DEEP = f"What was sent is nested more than {DEEPEST} levels deep."


async def body_of(request: Request, largest: int = LARGEST_BYTES) -> dict[str, Any]:
    """Return the JSON object that was sent.

    Raises
    ------
    HTTPException
        400 when it is not a JSON object that can be used, 413 when it is too large.
    """
    try:
        raw = await _read(request, largest)
    except ClientDisconnect:
        raise HTTPException(400, "The connection was closed.") from None
    try:
        found = json.loads(raw)
    except RecursionError:
        raise HTTPException(400, TOO_DEEP) from None
    except ValueError:
        raise HTTPException(400, "What was sent is not valid JSON.") from None
    if not isinstance(found, dict):
        raise HTTPException(400, "What was sent is not a JSON object.")
    _check(found)
    return found


async def _read(request: Request, largest: int) -> bytes:
    parts, size = [], 0
    async for part in request.stream():
        size += len(part)
        if size > largest:
            raise HTTPException(413, f"What was sent is larger than {largest / 1e6:g} MB.")
        parts.append(part)
    return b"".join(parts)


def _check(found: dict[str, Any]) -> None:
    """Refuse what is nested too deeply, and text that holds half a character."""
    level: list[Any] = [found]
    for _ in range(DEEPEST):
        tables = [value for value in level if isinstance(value, dict)]
        lists = [value for value in level if isinstance(value, list)]
        texts = [value for value in level if isinstance(value, str)]
        if not all(map(_whole, [*texts, *(key for table in tables for key in table)])):
            raise HTTPException(
                400, "What was sent holds half a character (a lone surrogate); it is no text."
            )
        level = [value for table in tables for value in table.values()]
        level += [value for each in lists for value in each]
        if not level:
            return
    raise HTTPException(400, TOO_DEEP)


def _whole(text: str) -> bool:
    try:
        text.encode()
    except UnicodeEncodeError:
        return False
    return True
