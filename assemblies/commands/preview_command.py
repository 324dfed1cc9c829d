"""The command `panelwright preview`: serve a design's page until Ctrl-C."""

from __future__ import annotations

import contextlib
import os
import shlex
import socket
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from panelwright.assemblies.console.shared_options import Chosen
from panelwright.assemblies.console.terminal import write
from panelwright.plates._validate import positive
from panelwright.plates.errors import DesignError, OutputError

if TYPE_CHECKING:
    import uvicorn
    from panelwright.assemblies.preview.session import Session

__all__ = ["run_preview"]

DEFAULT_LIMIT_S = 60.0


def run_preview(chosen: Chosen) -> int:
    """Serve the page; returns when it is asked to end."""
    design = Path(chosen.design)
    if not design.is_file():
        raise DesignError(f"there is no design file {str(design)!r}", value=str(design))
    settings = _settings(chosen.settings)
    limit_s = None if chosen.time_limit is None else positive(chosen.time_limit, "time limit of a build", unit="s")
    with _listening(chosen.port) as listener:
        port = listener.getsockname()[1]
        address = f"http://127.0.0.1:{port}/"
        write(sys.stderr, f"{design.name} is shown at {address}; Ctrl-C ends it\n")
        then = "look at it there" if chosen.open else f"open {address} in your browser"
        write(sys.stderr, f"next: {then}; save {design.name}, or move a slider, and the page follows\n")
        if chosen.open:
            import webbrowser

            webbrowser.open(address)
        _serve(chosen.design, settings, chosen.shop, DEFAULT_LIMIT_S if limit_s is None else limit_s, listener, port)
    build = shlex.join(("panelwright", "build", chosen.design, "--out", "out"))
    write(
        sys.stderr,
        f"the preview has ended\nnext: {build} writes what the machine cuts, with the --set that the page gave you\n",
    )
    return 0


def _settings(texts: Sequence[str]) -> dict[str, str]:
    found: dict[str, str] = {}
    for setting in texts:
        name, equals, value = setting.partition("=")
        if not equals or not name.strip():
            raise DesignError(f"setting {setting!r} sets nothing; write name=value", value=setting)
        found[name.strip()] = value
    return found


def _listening(port: int) -> socket.socket:
    """A socket on this machine's own address.  Raises `OutputError` for a port that cannot be had."""
    if not 0 <= port <= 65535:
        raise OutputError(f"port {port} does not exist; give one from 1024 to 65535, or 0 for any that is free", value=port)
    listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    if os.name != "nt":  # there it would let two programs have one port
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind(("127.0.0.1", port))
        listener.listen(64)
    except OSError as error:
        listener.close()
        raise OutputError(
            f"port {port} cannot be used: {error.strerror or error}; give another with --port, or 0 for any that is free",
            value=port,
        ) from error
    return listener


def _serve(given: str, settings: dict[str, str], shop: str | None, limit_s: float, listener: socket.socket, port: int) -> None:
    import asyncio

    import uvicorn
    from panelwright.assemblies.preview.server import app_of
    from panelwright.assemblies.preview.session import Session

    async def serve() -> None:
        session = Session(given, settings, shop, limit_s)
        config = uvicorn.Config(
            app_of(session, port), log_level="error", access_log=False, lifespan="on", timeout_graceful_shutdown=1
        )
        server = uvicorn.Server(config)
        closing = asyncio.create_task(_closing(server, session))
        await server.serve(sockets=[listener])
        closing.cancel()

    with contextlib.suppress(KeyboardInterrupt):
        asyncio.run(serve())


async def _closing(server: uvicorn.Server, session: Session) -> None:
    """End the streams of events as soon as the server is to end: they would keep it waiting."""
    import asyncio

    while not server.should_exit:
        await asyncio.sleep(0.1)
    session.close()
