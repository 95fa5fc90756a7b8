"""Bodies of requests: JSON objects of bounded size, in bounded time."""

from __future__ import annotations

import asyncio
import json
from typing import Any

from starlette.exceptions import HTTPException
from starlette.requests import ClientDisconnect, Request

LARGEST_BYTES = 4_500_000
SLOWEST_S = 15.0


async def body_of(request: Request, largest: int = LARGEST_BYTES) -> dict[str, Any]:
    """Return the JSON object that was sent.

    Raises
    ------
    HTTPException
        400 when it is not a JSON object, 408 when it does not come, 413 when it is too large.
    """
    try:
        async with asyncio.timeout(SLOWEST_S):
            raw = await _read(request, largest)
    except TimeoutError:
        raise HTTPException(408, "What was sent did not come in time.") from None
    except ClientDisconnect:
        raise HTTPException(400, "The connection was closed.") from None
    try:
        found = json.loads(raw)
    except (ValueError, RecursionError):
        raise HTTPException(400, "What was sent is not valid JSON.") from None
    if not isinstance(found, dict):
        raise HTTPException(400, "What was sent is not a JSON object.")
    return found


async def _read(request: Request, largest: int) -> bytes:
    parts, size = [], 0
    async for part in request.stream():
        size += len(part)
        if size > largest:
            raise HTTPException(413, f"What was sent is larger than {largest / 1e6:g} MB.")
        parts.append(part)
    return b"".join(parts)
