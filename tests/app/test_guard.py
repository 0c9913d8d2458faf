"""The server answers only pages of its own, asked for under a name of this machine."""

from __future__ import annotations

import socket
from typing import Any

import pytest

from halfroll.app.guard import LocalOnly
from halfroll.app.server import bind
from halfroll.core.errors import InputError

PORT = 8460


async def _answer(kind: str, headers: dict[str, str]) -> tuple[list[dict[str, Any]], bool]:
    """What the guard sends, and whether the application behind it was asked."""
    sent: list[dict[str, Any]] = []
    asked = False

    async def app(scope: Any, receive: Any, send: Any) -> None:
        nonlocal asked
        asked = True
        if kind == "http":
            await send({"type": "http.response.start", "status": 200, "headers": []})
            await send({"type": "http.response.body", "body": b"page"})

    async def receive() -> dict[str, Any]:
        return {"type": "http.request"}

    async def send(message: Any) -> None:
        sent.append(dict(message))

    scope = {"type": kind, "headers": [(k.encode(), v.encode()) for k, v in headers.items()]}
    await LocalOnly(app, PORT)(scope, receive, send)
    return sent, asked


@pytest.mark.parametrize("host", ["127.0.0.1:8460", "localhost:8460", "[::1]:8460", "LOCALHOST:8460"])
async def test_pages_are_served_under_local_names(host: str) -> None:
    """A page opened under a name of this machine is served, with a policy that forbids loading from elsewhere."""
    sent, asked = await _answer("http", {"host": host})
    assert asked
    assert sent[0]["status"] == 200
    policy = dict(sent[0]["headers"])[b"content-security-policy"].decode()
    assert "default-src 'self'" in policy
    assert "frame-ancestors 'none'" in policy


@pytest.mark.parametrize(
    "host",
    ["", "birdhide.example:8460", "127.0.0.1", "127.0.0.1:80", "127.0.0.1:8460.example", "0.0.0.0:8460"],
)
async def test_foreign_host_is_refused(host: str) -> None:
    """A name that was made to point here (DNS rebinding) or another port is refused before the application is asked."""
    sent, asked = await _answer("http", {"host": host} if host else {})
    assert not asked
    assert sent[0]["status"] == 403
    assert sent[1]["body"].startswith(b"This server answers only")


@pytest.mark.parametrize(
    "origin", ["http://birdhide.example", "null", "https://127.0.0.1:8460", "http://127.0.0.1:9999"]
)
@pytest.mark.parametrize("kind", ["http", "websocket"])
async def test_foreign_origin_is_refused(kind: str, origin: str) -> None:
    """A request or a websocket sent by another page is refused."""
    sent, asked = await _answer(kind, {"host": f"127.0.0.1:{PORT}", "origin": origin})
    assert not asked
    refused = {"http": ("http.response.start", "status", 403), "websocket": ("websocket.close", "code", 1008)}
    name, key, value = refused[kind]
    assert (sent[0]["type"], sent[0][key]) == (name, value)


async def test_websocket_needs_an_origin_and_passes_with_ours() -> None:
    """Browsers always send the origin of a websocket; one without it is no page of ours."""
    _, asked = await _answer("websocket", {"host": f"localhost:{PORT}"})
    assert not asked
    _, asked = await _answer("websocket", {"host": f"localhost:{PORT}", "origin": f"http://localhost:{PORT}"})
    assert asked


async def test_websocket_with_foreign_host_is_refused() -> None:
    """The host is checked for websockets too."""
    sent, asked = await _answer("websocket", {"host": "evil.example", "origin": "http://evil.example"})
    assert not asked
    assert sent[0]["type"] == "websocket.close"


def test_port_in_use_is_said() -> None:
    """A taken port is an input error that says so and what to do."""
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        with pytest.raises(InputError, match="another program listens on") as caught:
            bind("127.0.0.1", other.getsockname()[1])
    assert "port 0 takes any free one" in str(caught.value)


@pytest.mark.parametrize("host", ["0.0.0.0", "192.168.1.20", "", "::"])
def test_only_this_machine(host: str) -> None:
    """The pages have no log-in, so no other address is bound."""
    with pytest.raises(InputError, match="must be this machine"):
        bind(host, 0)


@pytest.mark.parametrize("port", [-1, 65536])
def test_port_out_of_range(port: int) -> None:
    """A number that is no port is refused in words."""
    with pytest.raises(InputError, match="0 to 65535"):
        bind("127.0.0.1", port)


def test_binds_to_loopback_only() -> None:
    """The socket listens on 127.0.0.1."""
    with bind("localhost", 0) as listener:
        assert listener.getsockname()[0] == "127.0.0.1"
