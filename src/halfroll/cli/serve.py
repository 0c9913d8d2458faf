"""``halfroll serve``: the app in the browser."""

from __future__ import annotations

import click

from halfroll.cli.common import open_workshop, say


@click.command()
@click.option("--port", default=8460, show_default=True, help="TCP port on this machine; 0 takes a free one.")
@click.option("--open/--no-open", "open_browser", default=True, show_default=True, help="Open the browser.")
@click.option("--page", default="/", show_default=True, help="Page to open.")
def serve(port: int, open_browser: bool, page: str) -> None:
    """Show the workshop in the browser. Only this machine can see it.

    \b
    Example:
      halfroll --workshop my-workshop serve
    """
    from halfroll.app.server import run

    workshop = open_workshop()
    run(
        workshop.folder,
        port=port,
        open_browser=open_browser,
        path=page,
        on_ready=lambda address: say(f"{workshop.name} is at {address}  (stop with Ctrl-C)"),
    )
