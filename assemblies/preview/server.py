"""The server of the preview: one page, its model, its events, and two deeds.  It answers this machine's own pages only.

Requests must name this server as their host, and those from a page must come from a page of its own: so no other site in the
same browser, and no name that somebody makes point to this machine, can read or change anything.
"""

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncGenerator, AsyncIterator, Awaitable, Callable
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from starlette.applications import Starlette
    from starlette.requests import Request
    from starlette.responses import Response

    from .session import Session

__all__ = ["app_of"]

HEARTBEAT_S = 15.0
"""A comment is sent so often, so that a browser that went away is noticed."""

MOST_BODY = 64_000
"""Bytes of a request that are read at most."""


def app_of(session: Session, port: int) -> Starlette:
    """The application for a session, served at that port of 127.0.0.1."""
    from contextlib import asynccontextmanager

    from starlette.applications import Starlette
    from starlette.middleware.base import BaseHTTPMiddleware
    from starlette.responses import JSONResponse, PlainTextResponse, Response, StreamingResponse
    from starlette.routing import Route

    hosts = {f"127.0.0.1:{port}", f"localhost:{port}"}
    page = session.page.encode("utf-8")
    policy = session.policy

    async def guard(request: Request, answer: Callable[[Request], Awaitable[Response]]) -> Response:
        origin = request.headers.get("origin")
        is_own = origin is None or origin in {f"http://{host}" for host in hosts}
        if request.headers.get("host") not in hosts or not is_own or (request.method == "POST" and origin is None):
            return PlainTextResponse("this preview answers its own page only\n", status_code=403)
        response = await answer(request)
        response.headers.update(
            {
                "Cache-Control": "no-store",
                "Cross-Origin-Resource-Policy": "same-origin",
                "Cross-Origin-Opener-Policy": "same-origin",
                "Referrer-Policy": "no-referrer",
                "X-Content-Type-Options": "nosniff",
                "X-Frame-Options": "DENY",
            }
        )
        return response

    async def home(_: Request) -> Response:
        return Response(page, media_type="text/html; charset=utf-8", headers={"Content-Security-Policy": policy})

    async def model(_: Request) -> Response:
        return Response(session.model_json, media_type="application/json")

    async def events(_: Request) -> Response:
        return StreamingResponse(_events(session), media_type="text/event-stream")

    async def values(request: Request) -> Response:
        wanted = await _body(request)
        if not isinstance(wanted, dict) or not all(isinstance(v, str) for v in wanted.values()):
            return PlainTextResponse("give an object of texts\n", status_code=400)
        session.set_values({str(name): value for name, value in wanted.items()})
        return JSONResponse({"ok": True})

    async def stop(_: Request) -> Response:
        session.stop()
        return JSONResponse({"ok": True})

    @asynccontextmanager
    async def living(_: Starlette) -> AsyncGenerator[None]:
        async with session:
            yield

    app = Starlette(
        routes=[
            Route("/", home, methods=["GET"]),
            Route("/model", model, methods=["GET"]),
            Route("/events", events, methods=["GET"]),
            Route("/values", values, methods=["POST"]),
            Route("/stop", stop, methods=["POST"]),
        ],
        lifespan=living,
    )
    app.add_middleware(BaseHTTPMiddleware, dispatch=guard)
    return app


async def _body(request: Request) -> Any:
    """The JSON of a request, None if it is none or too long."""
    data = b""
    async for chunk in request.stream():
        data += chunk
        if len(data) > MOST_BODY:
            return None
    try:
        return json.loads(data)
    except ValueError:
        return None


async def _events(session: Session) -> AsyncIterator[str]:
    """The session's state now and whenever it changes, as server-sent events."""
    seen = -1
    while not session.is_closed:
        if session.version != seen:
            seen = session.version
            yield f"data: {json.dumps(session.state())}\n\n"
            continue
        try:
            await asyncio.wait_for(session.changed(), HEARTBEAT_S)
        except TimeoutError:
            yield ": still here\n\n"
