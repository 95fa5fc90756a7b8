"""Who may talk to the server: pages that it served itself, on this machine."""

from __future__ import annotations

from hmac import compare_digest
from urllib.parse import parse_qs

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import HTMLResponse, JSONResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

NAMES = ("127.0.0.1", "localhost")

KEY_HEADER = "x-squeeze-key"
NO_KEY = "The address lacks the key that this server was started with."

HEADERS = {
    "Content-Security-Policy": (
        "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self';"
        " img-src 'self' blob: data:; form-action 'none'; base-uri 'none'; frame-ancestors 'none'"
    ),
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cache-Control": "no-store",
}


WORDS = """<!doctype html>
<html lang="en"><meta charset="utf-8"><title>squeeze</title>
<h1>This page opens by its own address alone</h1>
<p>{why}</p>
<p>You came here by a link, under another name, or by an address without its key. Copy the whole
address that <code>squeeze page</code> shows in its terminal into the address bar.</p>
</html>
"""
"""What a person sees who follows a link from another site."""


def _refused(status: int, why: str, headers: Headers) -> Response:
    """Return a refusal: a page of words for a person, JSON for a script."""
    if "text/html" in headers.get("accept", ""):
        return HTMLResponse(WORDS.format(why=why), status)
    return JSONResponse({"error": why}, status)


class Guard:
    """Refuses other hosts, other pages' requests and those without the key; closes the answers.

    Another site open in the same browser could send requests here, or point a name of its own at
    127.0.0.1 to read what comes back. So the Host has to be this server's, the Origin, where the
    browser names one, as well; and what changes something has to come as JSON. Another program on
    this machine knows all that, but not the key: it stands in the page's own address, and every
    call of the page brings it along. The page's own scripts and pictures alone need none.
    """

    def __init__(self, app: ASGIApp, port: int, key: str) -> None:
        self.app, self.key = app, key
        self.hosts = {f"{name}:{port}" for name in NAMES}
        if port == 80:
            self.hosts |= set(NAMES)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on, or refuse it."""
        if scope["type"] == "lifespan":
            return await self.app(scope, receive, send)
        if scope["type"] != "http":
            return None

        async def send_closed(message: Message) -> None:
            if message["type"] == "http.response.start":
                MutableHeaders(scope=message).update(HEADERS)
            await send(message)

        headers = Headers(scope=scope)
        refusal = self._refusal(scope["method"], headers) or self._keyless(scope, headers)
        app = _refused(*refusal, headers) if refusal else self.app
        return await app(scope, receive, send_closed)

    def _refusal(self, method: str, headers: Headers) -> tuple[int, str] | None:
        if headers.get("host") not in self.hosts:
            return 403, "This server answers only to its own address on this machine."
        origin = headers.get("origin")
        if origin is not None and origin not in {f"http://{host}" for host in self.hosts}:
            return 403, "This server answers only to its own page."
        if headers.get("sec-fetch-site", "same-origin") not in ("same-origin", "none"):
            return 403, "This server answers only to its own page."
        asks = method in ("GET", "HEAD")
        if not asks and headers.get("content-type", "").partition(";")[0] != "application/json":
            return 415, "What is sent here has to be JSON (Content-Type: application/json)."
        return None

    def _keyless(self, scope: Scope, headers: Headers) -> tuple[int, str] | None:
        path = scope["path"]
        if path.startswith("/assets/"):
            return None
        if path == "/":
            given = parse_qs(scope["query_string"].decode("latin-1")).get("key", [""])[0]
        else:
            given = headers.get(KEY_HEADER, "")
        return None if compare_digest(given.encode(), self.key.encode()) else (403, NO_KEY)
