"""The server's routes for studies."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from squeeze.mold import BadInput, SqueezeError
from squeeze.page.server.body import body_of
from squeeze.page.studies.studies import NoStudy, Studies
from squeeze.verdict.words import in_inches


def study_routes() -> list[Route]:
    """Return the routes under /studies; `app.state.studies` holds the `Studies`."""
    return [
        Route("/studies", _all),
        Route("/studies", _begin, methods=["POST"]),
        Route("/studies/{name}", _one),
        Route("/studies/{name}/go", _go, methods=["POST"]),
        Route("/studies/{name}/stop", _stop, methods=["POST"]),
    ]


async def _response(does: Callable[..., Any], *given: Any, inches: bool = False) -> Response:
    """Run something in a thread and tell what comes of it, or why nothing does.

    With `inches` faults are told in inches.
    """
    try:
        return JSONResponse(await run_in_threadpool(does, *given))
    except NoStudy as error:
        return JSONResponse({"error": str(error)}, 400)
    except BadInput as error:
        told = in_inches if inches else str
        faults = [{"key": f.key, "text": told(f.text), "say": f.say()} for f in error.faults]
        return JSONResponse({"faults": faults}, 422)
    except SqueezeError as error:
        return JSONResponse({"error": str(error)}, 422)


def _studies(request: Request) -> Studies:
    return request.app.state.studies


async def _all(request: Request) -> Response:
    return await _response(lambda: {"studies": _studies(request).all()})


async def _one(request: Request) -> Response:
    inches = request.query_params.get("inches") == "yes"
    return await _response(_studies(request).stand, request.path_params["name"], True, inches)


async def _begin(request: Request) -> Response:
    asked = await body_of(request)
    inches = asked.get("inches") is True
    return await _response(lambda: {"name": _studies(request).begin(asked)}, inches=inches)


async def _go(request: Request) -> Response:
    await body_of(request)
    name = request.path_params["name"]
    return await _response(lambda: _studies(request).go(name) or _studies(request).stand(name))


async def _stop(request: Request) -> Response:
    await body_of(request)
    name = request.path_params["name"]
    return await _response(lambda: _studies(request).stop(name) or _studies(request).stand(name))
