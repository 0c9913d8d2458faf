"""What every page shares: the head of the sheet, the few places to go, and how a fault is said.

``page`` registers a page function. Whatever goes wrong while it builds becomes words on a page of the same look: an
`InputError` with status 404 or 422, anything else with 500 and no more than that it is our fault.
"""

from __future__ import annotations

import inspect
import logging
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import wraps
from typing import Any
from weakref import WeakKeyDictionary

from fastapi import Request, Response
from fastapi.exception_handlers import http_exception_handler
from nicegui import Client, app, ui
from starlette.exceptions import HTTPException

from halfroll.app import assets
from halfroll.app.dom import Plain, el, html
from halfroll.core.errors import HalfrollError, InputError
from halfroll.workshop import Workshop

log = logging.getLogger(__name__)

PLACES = (
    ("/", "Drivers"),
    ("/design", "Design"),
    ("/suspension", "Suspension"),
    ("/cabinets", "Cabinets"),
    ("/crossovers", "Crossovers"),
    ("/compare", "Compare"),
    ("/bench", "Bench"),
    ("/import", "Add a take"),
    ("/sweep", "Sweep"),
    ("/parts", "Parts"),
    ("/kits", "Kits"),
    ("/builders", "Builders"),
    ("/releases", "Releases"),
    ("/rigs", "Rigs"),
)


class NotHereError(InputError):
    """What the address names does not exist."""


Handler = Callable[..., Any]

_notices: WeakKeyDictionary[Client, Plain] = WeakKeyDictionary()
"""The foot of each open page, where things are said."""


def page(path: str, *, workshop_name: Callable[[], str]) -> Callable[[Handler], Handler]:
    """Register a page function at `path`, plain or async; its parameters come from the address."""

    def register(build: Handler) -> Handler:
        if inspect.iscoroutinefunction(build):

            @wraps(build)
            async def shown(*args: Any, **kwargs: Any) -> Any:
                with _page(path, workshop_name) as broken:
                    if broken is not None:
                        raise broken
                    return await build(*args, **kwargs)
        else:

            @wraps(build)
            def shown(*args: Any, **kwargs: Any) -> Any:
                with _page(path, workshop_name) as broken:
                    if broken is not None:
                        raise broken
                    return build(*args, **kwargs)

        ui.page(path)(shown)
        return shown

    return register


@contextmanager
def _page(path: str, workshop_name: Callable[[], str]) -> Iterator[HalfrollError | None]:
    """The frame around a page; gives what is wrong with the workshop's own record, which the page must raise in place of its content."""
    client = ui.context.client
    name, broken = _named(workshop_name)
    try:
        _frame(client, path, name)
        with el("div", cls="page"):
            yield broken
    except HalfrollError as error:
        _instead(client, path, error)
    except Exception:
        log.exception("The page %s could not be built", path)
        _instead(client, path, None)


def _named(workshop_name: Callable[[], str]) -> tuple[str, HalfrollError | None]:
    """What stands at the head of a page: the workshop's name, or ours where its record cannot be read, with what is wrong."""
    try:
        return workshop_name(), None
    except HalfrollError as error:
        return "halfroll", error


def _instead(client: Client, path: str, error: HalfrollError | None, name: str = "halfroll") -> None:
    """Replace whatever was built of a page by the fault in words."""
    if client.is_deleted:
        return
    client.status_code = 500 if error is None else 404 if isinstance(error, NotHereError) else 422
    client.content.clear()
    if not any(child.tag == "header" for child in client.layout.default_slot.children):
        _frame(client, path, name)
    with client.content, el("div", cls="page"):
        fault(error)


def fault(error: HalfrollError | None) -> None:
    """A fault in words, as the content of a page."""
    with el("section", cls="block prose"):
        if error is None:
            el("h1", "A fault of ours")
            el(
                "p",
                "Something in halfroll went wrong while this page was made. Nothing in the workshop was changed.",
            )
            el("p", "What went wrong is written in the terminal where the server runs.", cls="quiet")
        else:
            el("h1", "Not found" if isinstance(error, NotHereError) else "This cannot be shown")
            el("p", str(error)).props('role="alert"')
        el("a", "To all drivers", href="/", cls="button")


def _frame(client: Client, path: str, name: str) -> None:
    ui.add_head_html(assets.head_html())
    ui.page_title(name)
    with client.layout:
        with el("header", cls="site") as header:
            with el("a", href="/", cls="mark"):
                html(assets.MARK)
                el("span", name)
            with el("nav", aria_label="Places"):
                for address, label in PLACES:
                    link = el("a", label, href=address)
                    if address == path:
                        link.props('aria-current="page"')
            el("button", cls="theme plain", type="button")
        header.move(target_index=0)
    ui.skip_link("Skip to the content", target=client.content).classes(replace="skip")
    with el("div", cls="notice", role="alert"):
        _notices[client] = el("p")


def title(text: str) -> None:
    """Set what the browser's tab says."""
    ui.page_title(f"{text} · halfroll")


def say(text: str) -> None:
    """Say something at the foot of the window; read aloud by a screen reader. Empty text takes it away."""
    _notices[ui.context.client].text = text


def telling(handler: Handler) -> Handler:
    """An event handler, plain or async, whose faults are said on the page instead of vanishing in the log."""
    if inspect.iscoroutinefunction(handler):

        @wraps(handler)
        async def told_later(*args: Any) -> None:
            with _told():
                await handler(*args)

        return told_later

    @wraps(handler)
    def told(*args: Any) -> None:
        with _told():
            handler(*args)

    return told


@contextmanager
def _told() -> Iterator[None]:
    say("")
    try:
        yield
    except HalfrollError as error:
        say(str(error))
    except Exception:
        log.exception("A fault while answering a page")
        say("Something in halfroll went wrong. Nothing was changed; the terminal of the server says more.")


def register_not_found(workshop_name: Callable[[], str]) -> None:
    """Answer an address that does not exist in the same look."""

    @app.exception_handler(404)
    async def not_found(request: Request, exception: Exception) -> Response:
        endpoint = request.scope.get("endpoint")
        if endpoint not in (None, app) and isinstance(exception, HTTPException):
            return await http_exception_handler(request, exception)
        with Client(ui.page(""), request=request) as client:
            error = NotHereError("There is no page with this address", found=request.url.path)
            _instead(client, "", error, _named(workshop_name)[0])
        return client.build_response(request, 404)


def need(workshop: Workshop, id_: str, level: str) -> str:
    """Return an id from the address if there is such a thing, else raise `NotHereError`."""
    try:
        return workshop.existing(id_, level)
    except InputError as error:
        raise NotHereError(error.message, found=error.found, allowed=error.allowed) from error
