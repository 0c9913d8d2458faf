"""Who may ask: only pages of this very server, opened under a name of this very machine.

A server on 127.0.0.1 can still be reached by any web page open in the same browser: by a name that was made to point
here (seen in the Host header), or by a request sent from a foreign page (seen in the Origin header). Both are refused,
for HTTP and for the websocket alike.
"""

from __future__ import annotations

from collections.abc import Awaitable, Callable, MutableMapping
from typing import Any

Scope = MutableMapping[str, Any]
Message = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]
ASGIApp = Callable[[Scope, Receive, Send], Awaitable[None]]

LOCAL_NAMES = ("127.0.0.1", "localhost", "[::1]")

POLICY = (
    "default-src 'self' data: blob:; script-src 'self' 'unsafe-inline' 'unsafe-eval'; "
    "style-src 'self' 'unsafe-inline'; object-src 'none'; base-uri 'self'; form-action 'self'; "
    "frame-ancestors 'none'"
)
"""Content Security Policy: nothing is loaded from, sent to, or framed by anywhere else.

Vue and Vega compile expressions in the page, which needs ``unsafe-eval``; the scripts are all our own server's.
"""

_HEADERS = (
    (b"content-security-policy", POLICY.encode()),
    (b"x-content-type-options", b"nosniff"),
    (b"referrer-policy", b"same-origin"),
)


class LocalOnly:
    """ASGI guard around an application listening on `port`."""

    def __init__(self, app: ASGIApp, port: int) -> None:
        self.app = app
        self.hosts = frozenset(f"{name}:{port}" for name in LOCAL_NAMES)
        if port == 80:
            self.hosts |= frozenset(LOCAL_NAMES)
        self.origins = frozenset(f"http://{host}" for host in self.hosts)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on, or refuse it."""
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
        elif (reason := self._refusal(scope)) is None:
            await self.app(scope, receive, _with_headers(send))
        elif scope["type"] == "websocket":
            await send({"type": "websocket.close", "code": 1008, "reason": reason})
        else:
            await _refuse(send, reason)

    def _refusal(self, scope: Scope) -> str | None:
        """Why a request is refused; None when it may pass. A websocket must always name its origin."""
        headers = dict(scope["headers"])
        host = headers.get(b"host", b"").decode("latin-1").lower()
        if host not in self.hosts:
            return "This server answers only under the name of this machine, such as 127.0.0.1."
        origin = headers.get(b"origin")
        if origin is None:
            return "A websocket must say which page opened it." if scope["type"] == "websocket" else None
        if origin.decode("latin-1").lower() not in self.origins:
            return "Another web page asked for this. Only pages of this server may."
        return None


def _with_headers(send: Send) -> Send:
    async def sending(message: Message) -> None:
        if message["type"] == "http.response.start":
            message = {**message, "headers": [*message.get("headers", ()), *_HEADERS]}
        await send(message)

    return sending


async def _refuse(send: Send, reason: str) -> None:
    body = f"{reason}\n".encode()
    headers = [(b"content-type", b"text/plain; charset=utf-8"), (b"content-length", str(len(body)).encode())]
    await send({"type": "http.response.start", "status": 403, "headers": headers})
    await send({"type": "http.response.body", "body": body})
