"""Connections that send half a request, or do not read, take nobody's place for long."""

from __future__ import annotations

import socket
import threading
import time
from collections.abc import Iterator
from contextlib import ExitStack

import httpx2
import pytest
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from squeeze.page.run import HOST, listen, server_of
from squeeze.page.server.body import body_of
from squeeze.page.server.connection import TimedConnection

LARGE = 20_000_000
"""More than the buffers of a socket hold [bytes]."""


async def _small(request: Request) -> Response:
    return JSONResponse({"fine": True})


async def _large(request: Request) -> Response:
    return Response(b"x" * LARGE)


async def _taken(request: Request) -> Response:
    return JSONResponse(await body_of(request))


class Hasty(TimedConnection):
    request_s = 1.0
    read_s = 1.0


class Crowded(TimedConnection):
    request_s = 60.0
    most = 50


@pytest.fixture
def served(request: pytest.FixtureRequest) -> Iterator[int]:
    """Serve on this machine with the connections that the test names; the port."""
    app = Starlette(
        routes=[
            Route("/", _small),
            Route("/large", _large),
            Route("/taken", _taken, methods=["POST"]),
        ]
    )
    listening = listen(0, "")
    server = server_of(app, request.param)
    thread = threading.Thread(target=server.run, args=([listening],))
    thread.start()
    yield listening.getsockname()[1]
    server.should_exit = True
    thread.join(20)
    assert not thread.is_alive()


def answered(port: int) -> int:
    return httpx2.get(f"http://{HOST}:{port}/", timeout=30).status_code


def to_the_end(raw: socket.socket) -> bytes:
    """Return all that comes until the server closes the connection."""
    raw.settimeout(20)
    parts = []
    try:
        while part := raw.recv(65536):
            parts.append(part)
    except ConnectionResetError:
        pass
    return b"".join(parts)


HALVES = [
    b"",
    b"G",
    b"GET / HTTP/1.1\r\nHost: a\r\n",
    b"POST /taken HTTP/1.1\r\nHost: a\r\nContent-Length: 100\r\n\r\n{",
    b"GET / HTTP/1.1\r\nHost: a\r\n\r\nGET / HTTP/1.1\r\nHo",
]


@pytest.mark.parametrize("served", [Hasty], indirect=True)
@pytest.mark.parametrize("half", HALVES)
def test_half_a_request_is_told_and_closed(served: int, half: bytes) -> None:
    with socket.create_connection((HOST, served), 10) as raw:
        raw.sendall(half)
        begun = time.monotonic()
        last = to_the_end(raw).split(b"HTTP/1.1 ")[-1]
    assert last.startswith(b"408 ")
    assert b"did not arrive in time" in last
    assert time.monotonic() - begun > 0.5


@pytest.mark.parametrize("served", [Hasty], indirect=True)
def test_a_byte_now_and_then_gains_no_time(served: int) -> None:
    with socket.create_connection((HOST, served), 10) as raw:
        raw.settimeout(0.2)
        for k in range(100):
            try:
                raw.sendall(b"GET / HTTP/1.1\r\nX: "[k % 19 : k % 19 + 1])
                if raw.recv(100) is not None:
                    break
            except TimeoutError:
                continue
            except ConnectionError:
                break
        else:
            pytest.fail("the connection was never closed")
    assert k < 50


@pytest.mark.parametrize("served", [Hasty], indirect=True)
def test_whole_requests_on_one_connection_are_all_answered(served: int) -> None:
    with httpx2.Client(base_url=f"http://{HOST}:{served}") as client:
        for k in range(6):
            assert client.post("/taken", json={"k": k}).json() == {"k": k}
            time.sleep(0.3)


@pytest.mark.parametrize("served", [Hasty], indirect=True)
def test_who_does_not_read_is_let_go(served: int) -> None:
    with socket.create_connection((HOST, served), 10) as raw:
        raw.sendall(b"GET /large HTTP/1.1\r\nHost: a\r\n\r\n")
        time.sleep(2.5)
        assert len(to_the_end(raw)) < LARGE


@pytest.mark.parametrize("served", [Crowded], indirect=True)
@pytest.mark.parametrize("half", HALVES[1:4])
def test_many_half_requests_keep_nobody_out(served: int, half: bytes) -> None:
    with ExitStack() as stack:
        for _ in range(Crowded.most + 30):
            raw = stack.enter_context(socket.create_connection((HOST, served), 10))
            raw.sendall(half)
        assert [answered(served) for _ in range(3)] == [200, 200, 200]


def test_320_half_requests_do_not_hold_the_page(site) -> None:
    with ExitStack() as stack:
        for k in range(320):
            raw = stack.enter_context(socket.create_connection((HOST, site.port), 10))
            raw.sendall(HALVES[1 + k % 3])
        for _ in range(5):
            assert httpx2.get(site.address, timeout=30).status_code == 200
