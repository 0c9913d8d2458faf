"""Serve a workshop to this machine: bind, guard, run, stop.

``run`` is all that the command line calls; ``build`` registers the pages, for tests and for ``run``.
"""

from __future__ import annotations

import asyncio
import errno
import socket
import threading
import webbrowser
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from pathlib import Path

from halfroll.app.guard import ASGIApp, LocalOnly
from halfroll.core.errors import InputError
from halfroll.workshop import Workshop

DEFAULT_PORT = 8460
_LOOPBACK = ("127.0.0.1", "localhost")
_GRACE_S = 2
"""How long open pages may take to hang up when the server stops (s)."""


def run(
    workshop_folder: Path,
    *,
    host: str = "127.0.0.1",
    port: int = DEFAULT_PORT,
    open_browser: bool = False,
    path: str = "/",
    on_ready: Callable[[str], None] = lambda address: None,
) -> None:
    """Serve the workshop in `workshop_folder` until Ctrl+C.

    Parameters
    ----------
    host
        ``127.0.0.1`` or ``localhost``; anything else is refused, for the pages have no log-in.
    port
        TCP port; 0 takes a free one.
    open_browser
        Open `path` in the person's browser once the server answers.
    on_ready
        Told the address once the server answers.

    Raises
    ------
    InputError
        When the folder is no workshop, the host is not this machine, or the port is taken.
    """
    import uvicorn

    workshop = Workshop.open(workshop_folder)
    listener = bind(host, port)
    address = f"http://127.0.0.1:{listener.getsockname()[1]}"

    def ready() -> None:
        on_ready(address + path)
        if open_browser:
            threading.Thread(target=webbrowser.open, args=(address + path,), daemon=True).start()

    app = LocalOnly(build(workshop, on_started=ready), listener.getsockname()[1])
    config = uvicorn.Config(
        app, log_level="warning", access_log=False, server_header=False, timeout_graceful_shutdown=_GRACE_S,
        ws="websockets-sansio",
    )  # fmt: skip
    try:
        uvicorn.Server(config).run(sockets=[listener])
    except KeyboardInterrupt:  # uvicorn passes Ctrl+C on after it has stopped; stopping is what was asked for
        pass
    finally:
        listener.close()


def bind(host: str, port: int) -> socket.socket:
    """A listening socket on the loopback address, or an `InputError` that says what to do."""
    if host not in _LOOPBACK:
        raise InputError(
            "The host of the server must be this machine", key="host", found=host, allowed=_LOOPBACK,
            remedy="The pages have no log-in, so they are served to this machine only",
        )  # fmt: skip
    if not 0 <= port <= 65535:
        raise InputError("The port of the server must be 0 to 65535", key="port", found=port)
    listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    if hasattr(socket, "SO_EXCLUSIVEADDRUSE"):  # Windows: without it two servers may share one port
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_EXCLUSIVEADDRUSE, 1)
    else:
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind(("127.0.0.1", port))
        listener.listen()
    except OSError as fault:
        listener.close()
        raise _port_error(port, fault) from fault
    return listener


def _port_error(port: int, fault: OSError) -> InputError:
    if fault.errno in (errno.EADDRINUSE, getattr(errno, "WSAEACCES", None)):
        return InputError(
            "The port of the server must be free", key="port", found=f"{port}, which another program listens on",
            remedy="Stop the other program, or choose another port; port 0 takes any free one",
        )  # fmt: skip
    return InputError(
        "The port of the server must be one that may be opened", key="port", found=f"{port} ({fault.strerror})",
        remedy=f"Choose a port from 1024 upwards, such as {DEFAULT_PORT}",
    )  # fmt: skip


def build(workshop: Workshop, *, on_started: Callable[[], None] = lambda: None) -> ASGIApp:
    """The ASGI application over one workshop, without the guard."""
    from fastapi import FastAPI
    from nicegui import ui

    from halfroll.app import assets, pages

    @asynccontextmanager
    async def lifespan(_: FastAPI) -> AsyncIterator[None]:
        on_started()
        warming = asyncio.get_running_loop().run_in_executor(None, assets.warm_up)
        yield
        await warming

    parent = FastAPI(lifespan=lifespan, docs_url=None, redoc_url=None, openapi_url=None)
    pages.register(workshop)
    ui.run_with(
        parent, title="halfroll", language="en-GB", tailwind=False, show_welcome_message=False,
        binding_refresh_interval=None, reconnect_timeout=10.0, favicon=assets.FAVICON,
    )  # fmt: skip
    return parent
