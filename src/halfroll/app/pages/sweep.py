"""``/sweep``: make the test signal that is played through the driver."""

from __future__ import annotations

import math
from typing import Any

from fastapi import HTTPException, Request, Response
from nicegui import app, ui

from halfroll.app import frame
from halfroll.app.dom import Plain, el
from halfroll.app.field import Field
from halfroll.app.view import show
from halfroll.core.errors import InputError
from halfroll.measure.sweep import Sweep
from halfroll.workshop import Workshop, load_draft, save_draft

FIELDS: tuple[tuple[str, str, str], ...] = (
    ("start_hz", "Start", "Hz"),
    ("stop_hz", "Stop", "Hz"),
    ("duration_s", "Duration", "s"),
    ("rate_hz", "Sample rate", "Hz"),
    ("level", "Peak level", "of full scale, 0 to 1"),
    ("fade_in_s", "Fade in", "s"),
    ("fade_out_s", "Fade out", "s"),
    ("silence_before_s", "Silence before", "s; the noise floor is read from it"),
    ("silence_after_s", "Silence after", "s; the room must fall silent in it"),
)
"""Name, words and unit of every parameter of a sweep."""


def sweep_of(values: dict[str, str]) -> Sweep:
    """The sweep of typed values; missing ones keep their default. `InputError` names the key that is wrong."""
    given: dict[str, Any] = {}
    for key, label, _ in FIELDS:
        text = values.get(key, "").strip().replace(",", ".")
        if not text:
            continue
        try:
            given[key] = int(float(text)) if key == "rate_hz" else float(text)
        except ValueError:
            raise InputError(f"{label} of the sweep must be a number", key=key, found=repr(text)) from None
    return Sweep(**given)


def written(sweep: Sweep) -> dict[str, str]:
    """The parameters of a sweep as they are typed."""
    return {
        key: f"{getattr(sweep, key):g}" if key != "rate_hz" else str(sweep.rate_hz) for key, _, _ in FIELDS
    }


def address(sweep: Sweep, path: str) -> str:
    """`path` with the parameters of a sweep."""
    return f"{path}?" + "&".join(f"{key}={value}" for key, value in written(sweep).items())


def register(workshop: Workshop) -> None:
    """Add the page and the file it hands out."""

    @frame.page("/sweep", workshop_name=lambda: workshop.name)
    def sweep_page() -> None:
        frame.title("Sweep")
        show("sweep.html")
        _form(workshop, dict(ui.context.client.request.query_params))

    @app.get("/sweep.wav")
    def sweep_file(request: Request) -> Response:
        from halfroll.workshop.audio import encode_audio

        try:
            sweep = sweep_of(dict(request.query_params))
        except InputError as error:
            raise HTTPException(422, str(error)) from error
        name = f"sweep-{sweep.start_hz:g}-{sweep.stop_hz:g}Hz-{sweep.duration_s:g}s.wav"
        headers = {"Content-Disposition": f'attachment; filename="{name}"'}
        return Response(
            encode_audio(sweep.samples(), sweep.rate_hz, ".wav"), media_type="audio/wav", headers=headers
        )


def _form(workshop: Workshop, given: dict[str, str]) -> None:
    fields: dict[str, Field] = {}

    def changed(changed_field: Field | None = None) -> None:
        for field in fields.values():
            field.error("")
        typed = {key: field.value for key, field in fields.items()}
        if changed_field is not None:
            save_draft(workshop, "sweep", {"typed": typed})
        try:
            _offer(sweep_of(typed), download, onward, length)
        except InputError as error:
            _offer(None, download, onward, length)
            fields[str(error.place.key)].error(_short(error))

    with el("section", cls="block"):
        el("h2", "Parameters")
        last = (load_draft(workshop, "sweep") or {}).get("typed", {})
        start = {
            **written(Sweep()),
            **last,
            **{k: v for k, v in given.items() if k in dict.fromkeys(f[0] for f in FIELDS)},
        }
        with el("div", cls="fields"):
            for key, label, unit in FIELDS:
                fields[key] = Field(
                    key, label, value=start[key], hint=unit, inputmode="decimal", on_change=changed
                )
        length = el("p", cls="quiet")
        with el("div", cls="actions"):
            download = el("a", "Download the sweep (WAV)", cls="button main", download="").mark("download")
            onward = el("a", "I have recorded it: add a take", cls="button")
    changed()


def _offer(sweep: Sweep | None, download: Plain, onward: Plain, length: Plain) -> None:
    """Set the links to a sweep; without one they lead nowhere."""
    if sweep is None:
        download.put(href=None, aria_disabled="true")
        length.text = ""
        return
    download.put(href=address(sweep, "/sweep.wav"), aria_disabled=None)
    onward.put(href=address(sweep, "/import"))
    octaves = math.log2(sweep.stop_hz / sweep.start_hz)
    length.text = (
        f"{sweep.length / sweep.rate_hz:.1f} s in all, {octaves:.1f} octaves, "
        f"{sweep.duration_s / octaves:.2f} s an octave; {sweep.length * 3 / 1e6:.1f} MB, 24 bit."
    )


def _short(error: InputError) -> str:
    """The error without the key, which is the field it stands under."""
    text = f"{error.message}; found {error.found}." if error.found else f"{error.message}."
    return text + (f" Allowed: {error.allowed}." if error.allowed else "")
