"""``/bench``: measure now. Cautions first, levels, the limit, the level for a wanted drive, sweep, verdict, take."""

from __future__ import annotations

import queue
from collections.abc import Callable, Sequence
from functools import partial
from typing import TYPE_CHECKING

from nicegui import ui

from halfroll.app import address, frame
from halfroll.app.bench_typed import Wanted, devices_of, limits_of, wanted_of
from halfroll.app.chart import Chart
from halfroll.app.dom import el
from halfroll.app.field import button
from halfroll.app.job import work
from halfroll.app.meters import Meters, StopBar, level_rows
from halfroll.app.pages.bench_fields import BenchFields, units
from halfroll.app.sounding import Sounding
from halfroll.app.typed import Errors
from halfroll.app.view import show
from halfroll.core.errors import CancelledError, InputError
from halfroll.core.progress import Progress, part
from halfroll.core.text import count, format_value
from halfroll.publish.theme import theme
from halfroll.workshop import RigRecord, Workshop, live
from halfroll.workshop.bench import capture_setup
from halfroll.workshop.paths import version_of

if TYPE_CHECKING:
    from halfroll.measure.analysis.response import Response
    from halfroll.measure.capture import Device, SoundCard

LOOK_EVERY_S = 0.1


def register(workshop: Workshop) -> None:
    """Add the page."""

    @frame.page("/bench", workshop_name=lambda: workshop.name)
    async def bench_page() -> None:
        frame.title("Bench")
        show("bench_head.html")
        if not units(workshop) or not workshop.rig_names():
            show("bench_empty.html", unit=bool(units(workshop)), rig=bool(workshop.rig_names()))
            return
        try:
            known = await work("Looking for sound devices", lambda progress: _devices())
        except InputError as fault:
            show("bench_none.html", fault=str(fault))
            return
        if not known:
            show("bench_none.html", fault="The sound system knows no device. Connect one, see that its sound service runs, "
                 "and load this page again.")  # fmt: skip
            return
        show("bench_cautions.html", cautions=live.CAUTIONS)
        Bench(workshop, known)


def _devices() -> Sequence[Device]:
    from halfroll.measure.capture import devices

    return devices()


class Bench:
    """The bench of one open page."""

    def __init__(self, workshop: Workshop, known: Sequence[Device]) -> None:
        self.workshop = workshop
        self.sounding = Sounding()
        self.happened: queue.SimpleQueue[Callable[[], None]] = queue.SimpleQueue()
        self.confirmed_v = 0.0
        self.rig = RigRecord()
        self._answer: queue.SimpleQueue[live.Decision] = queue.SimpleQueue()
        self.fields = BenchFields(workshop, known, self._device_changed)
        with el("section", cls="block"):
            el("h2", "On the bench")
            self.fields.subject()
        self._card_section()
        with el("section", cls="block"):
            el("h2", "How loud")
            self.fields.loudness()
            with el("div", cls="actions"):
                button("Find the level", partial(self._begin, measure=False)).mark("find")
            self.found = el("p", role="status").mark("found")
        with el("section", cls="block"):
            el("h2", "Sweep and takes")
            self.fields.sweep()
            with el("div", cls="actions"):
                button("Measure", partial(self._begin, measure=True), main=True).mark("measure")
            self.panel = el("div", cls="block").mark("panel")
            self.results = el("ol", cls="plain results", aria_live="polite").mark("results")
            self.curve = el("figure")
        self.place = el("div")
        self.bar = StopBar(self.sounding.stop).mark("stop")
        ui.timer(LOOK_EVERY_S, self._look)
        client = ui.context.client
        client.on_disconnect(self.sounding.close)
        client.on_delete(self.sounding.close)

    def _card_section(self) -> None:
        with el("section", cls="block"):
            el("h2", "Sound card")
            self.fields.card()
            with el("div", cls="actions"):
                button("Show the levels", self._open).mark("listen")
                button("Keep this in the rig", self._keep_in_rig, cls="plain").mark("keep-rig")
            self.meters = Meters()
            el("p", "Decibels are re full scale. A peak between −20 and −6 dB uses an input well; OVER means that it clips.",
               cls="quiet small")  # fmt: skip

    # The card.

    def _device_changed(self) -> None:
        """Another device was chosen: the open one goes."""
        if self.sounding.card is not None and self.sounding.job is None:
            ui.timer(0, self.sounding.close, once=True)

    async def _open(self) -> None:
        errors: Errors = {}
        devices = devices_of(self.fields.typed, errors)
        limits = limits_of(self.fields.typed, errors)
        self.fields.say(errors)
        if errors or devices is None:
            return
        self.rig = self.workshop.rig(self.fields.typed["rig"]).record
        chosen = {key: getattr(devices, key) for key in type(devices).model_fields}
        setup = capture_setup(self.rig, v_max=None if limits is None else limits.v_max, **chosen)
        await self.sounding.open(setup)

    def _keep_in_rig(self) -> None:
        errors: Errors = {}
        devices, limits = devices_of(self.fields.typed, errors), limits_of(self.fields.typed, errors)
        self.fields.say(errors)
        if errors:
            return
        name = self.fields.typed["rig"]
        loaded = self.workshop.rig(name)
        self.workshop.save(loaded, loaded.record.changed(devices=devices, limits=limits))
        frame.say(f"The rig {name} holds the sound card and the limit now.")

    # Measuring.

    async def _begin(self, *, measure: bool) -> None:
        """Check what was typed; say once how loud it may get; then do it."""
        if self.sounding.job is not None:
            raise InputError("The sound card is busy", found=self.sounding.job.what, remedy="Stop that first")
        errors: Errors = {}
        wanted = wanted_of(self.workshop, self.fields.typed, errors)
        self.fields.say(errors)
        self.panel.clear()
        if wanted is None:
            return
        if wanted.drive.target_v > self.confirmed_v:
            self._confirm(wanted, measure)
            return
        await self._do(wanted, measure)

    def _confirm(self, wanted: Wanted, measure: bool) -> None:
        drive = wanted.drive

        def begin() -> None:
            self.confirmed_v = drive.target_v
            self.panel.clear()
            with (
                self.place
            ):  # the button that was pressed is gone, and with it the place it could say something from
                ui.timer(0, frame.telling(partial(self._do, wanted, measure)), once=True)

        with self.panel, el("div", cls="beware block"):
            el("p", f"Up to {format_value(drive.target_v, None, 'V')} will be at the terminals; the limit is "
               f"{format_value(drive.limit_v, None, 'V')}, {drive.limit_from}. Are your ears protected, and is the driver free to move?")  # fmt: skip
            with el("div", cls="actions"):
                begin_button = button("Begin", begin, main=True).mark("begin")
                button("Not yet", self.panel.clear).mark("not-yet")
        begin_button.run_method("focus")

    async def _do(self, wanted: Wanted, measure: bool) -> None:
        await self._open()
        if self.sounding.card is None:
            return
        self.results.clear()
        self.curve.clear()
        self.found.text = ""
        what = "The measurement" if measure else "Finding the level"
        try:
            kept = await self.sounding.run(
                what, lambda card, progress: self._in_thread(wanted, measure, card, progress)
            )
        except CancelledError:
            frame.say("Stopped. What was being recorded was not kept.")
            return
        finally:
            await self._look()
            self.panel.clear()
        if measure:
            with self.panel, el("p", f"{count(len(kept), 'take')} of {wanted.repeats} kept. "):
                el("a", "To the unit", href=address.of_unit(wanted.unit_id))
                el("span", " · ")
                el("a", "to the version and its figures", href=address.of_version(version_of(wanted.unit_id)))

    def _in_thread(
        self, wanted: Wanted, measure: bool, card: SoundCard, progress: Progress
    ) -> list[live.Kept]:
        """In the thread of the card; what the page is to show goes through `happened`."""
        share = 0.25 if measure else 1.0
        found = live.level_for(card, wanted.rig, wanted.roles, wanted.drive, settings=wanted.ramp,
                               progress=part(progress, 0.0, share))  # fmt: skip
        self.happened.put(lambda: setattr(self.found, "text", live.say_found(found)))
        if not measure:
            return []
        setup, _ = live.setup_at(wanted.setup, wanted.setup.sweep.sweep(), found)
        rest = part(progress, share, 1.0)

        def decide(heard: live.Heard) -> live.Decision:
            if not heard.bad:
                return "keep"
            self.happened.put(lambda: self._show_heard(heard, None))
            self.happened.put(self._ask)
            return self._wait_for_answer(rest)

        def told(kept: live.Kept) -> None:
            self.happened.put(lambda: self._show_heard(kept.heard, kept.take_id))

        return live.measure(self.workshop, card, wanted.unit_id, wanted.roles, setup, wanted.drive.label,
                            repeats=wanted.repeats, decide=decide, told=told, progress=rest)  # fmt: skip

    def _wait_for_answer(self, progress: Progress) -> live.Decision:
        while True:
            try:
                return self._answer.get(timeout=LOOK_EVERY_S)
            except queue.Empty:
                progress(1.0, "waiting for your answer")

    def _ask(self) -> None:
        """A bad repeat: again, keep, or stop."""

        def answer(decision: live.Decision) -> Callable[[], None]:
            def say() -> None:
                self.panel.clear()
                self._answer.put(decision)

            return say

        with self.panel, el("div", cls="beware block"):
            el(
                "p",
                "This recording would not count in the figures. Put right what its verdict says, then record it again.",
            )
            with el("div", cls="actions"):
                again = button("Again", answer("again"), main=True).mark("again")
                button("Keep it all the same", answer("keep")).mark("keep-bad")
                button("Throw it away and stop", answer("stop")).mark("end")
        again.run_method("focus")

    # What is shown.

    def _show_heard(self, heard: live.Heard, take_id: str | None) -> None:
        with self.results, el("li", cls="block bad" if heard.bad else "block"):
            show(
                "bench_heard.html",
                title=f"{heard.when:%H:%M:%S}",
                summary=heard.summary(),
                address=take_id and address.of_take(take_id),
                name=take_id and take_id.rpartition("/")[2],
                unit=take_id and "{} {}, unit {}".format(*take_id.split("/")),
                unit_href=take_id and address.of_unit(take_id.rpartition("/")[0]),
                verdicts=sorted(heard.verdicts, key=lambda verdict: -verdict.severity),
            )
        if heard.response is not None:
            self._draw(heard.response)

    def _draw(self, response: Response) -> None:
        from halfroll.publish.take import take_charts

        self.curve.clear()
        with self.curve:
            el("figcaption", "The latest recording", cls="quiet")
            Chart(
                lambda look, width_px: take_charts(response, theme=theme(look.name), width_px=width_px)[
                    "level"
                ]
            )

    async def _look(self) -> None:
        """Ten times a second: what happened meanwhile, levels, the bar."""
        while not self.happened.empty():
            self.happened.get()()
        if self.sounding.fault and self.sounding.job is None:
            fault, self.sounding.fault = self.sounding.fault, ""
            await self.sounding.close()
            frame.say(fault)
        self.meters.show(level_rows(self.sounding.levels, self.sounding.setup, self.rig))
        self.bar.follow(self.sounding.job)
