"""Connections with a limit on time, so that unfinished requests cannot keep others out."""

from __future__ import annotations

import asyncio
import json
from contextlib import suppress
from typing import Any, cast

import h11
from uvicorn.protocols.http.h11_impl import H11Protocol

REQUEST_S = 15.0
"""How long the head and body of one request may take to arrive [s]."""

READ_S = 30.0
"""How long a client may leave an answer lying without reading on [s]."""

MOST_CONNECTIONS = 300
"""A connection beyond these takes the place of the one that was quiet for longest."""

LATE = "The request did not arrive in time."


class TimedConnection(H11Protocol):
    """An HTTP connection that is closed when a request, or its reader, takes too long.

    The clock starts with the connection, and with the first bytes of every later request; it stops
    when the request has arrived whole.
    """

    request_s = REQUEST_S
    read_s = READ_S
    most = MOST_CONNECTIONS

    def __init__(self, *given: Any, **named: Any) -> None:
        super().__init__(*given, **named)
        self.since = self.loop.time()
        self._late: asyncio.TimerHandle | None = None
        self._unread: asyncio.TimerHandle | None = None

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Start the clock. Where all places are taken, free the one that was quiet for longest."""
        if len(self.connections) >= self.most:
            others = cast(set[TimedConnection], self.connections)
            quiet = [each for each in others if not each.arrived]
            if quiet:
                min(quiet, key=lambda each: each.since).drop()
        super().connection_made(transport)
        self._watch()

    @property
    def arrived(self) -> bool:
        """Whether a whole request is here and waits for its answer."""
        return self.conn.their_state not in (h11.IDLE, h11.SEND_BODY)

    def data_received(self, data: bytes) -> None:
        """Take what came; the clock goes on until the request is whole."""
        super().data_received(data)
        self._watch()

    def on_response_complete(self) -> None:
        """Go on to the next request of the connection, if it has begun to arrive."""
        super().on_response_complete()
        self.since = self.loop.time()
        self._watch()

    def connection_lost(self, exc: Exception | None) -> None:
        """Stop the clocks."""
        self._late, self._unread = _stopped(self._late), _stopped(self._unread)
        super().connection_lost(exc)

    def pause_writing(self) -> None:
        """Wait for the reader, but not for ever."""
        super().pause_writing()
        self._unread = self.loop.call_later(self.read_s, self.drop)

    def resume_writing(self) -> None:
        """Stop the reader's clock."""
        self._unread = _stopped(self._unread)
        super().resume_writing()

    def drop(self) -> None:
        """Close the connection at once and free its place."""
        self._late = _stopped(self._late)
        self.connections.discard(self)
        self.transport.abort()

    def _watch(self) -> None:
        """Have the clock run while a request is under way and not whole."""
        begun = self.timeout_keep_alive_task is None or self.conn.trailing_data[0]
        idle = self.conn.their_state is h11.IDLE and not begun
        if self.transport.is_closing() or self.arrived or idle:
            self._late = _stopped(self._late)
        elif self._late is None:
            self._late = self.loop.call_later(self.request_s, self._overdue)

    def _overdue(self) -> None:
        """Say that the request came too late, where nothing has been answered yet, and close."""
        self._late = None
        if self.transport.is_closing():
            return
        if self.conn.our_state in (h11.IDLE, h11.SEND_RESPONSE):
            with suppress(h11.LocalProtocolError):  # a HEAD request takes no body
                self._tell_late()
        if self.cycle is not None:  # whoever reads the body learns that no more will come
            self.cycle.disconnected = True
            self.cycle.message_event.set()
        self.connections.discard(self)
        self.transport.close()

    def _tell_late(self) -> None:
        body = json.dumps({"error": LATE}).encode()
        headers = {
            "Content-Type": "application/json",
            "Content-Length": str(len(body)),
            "Connection": "close",
        }
        head = h11.Response(status_code=408, headers=list(headers.items()), reason=b"Too late")
        for part in (head, h11.Data(data=body), h11.EndOfMessage()):
            self.transport.write(self.conn.send(part) or b"")


def _stopped(timer: asyncio.TimerHandle | None) -> None:
    if timer is not None:
        timer.cancel()
