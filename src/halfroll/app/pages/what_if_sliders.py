"""The sliders of the page of a changed design: one for each dimension, by part; what each does is said beside it once it is known."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from halfroll.app.dom import el
from halfroll.app.field import Control
from halfroll.app.frame import telling
from halfroll.core.text import THIN
from halfroll.study.dimensions import Dimension
from halfroll.study.sentences import OF, change_words, effects, of_dimension
from halfroll.study.surrogate import Surrogate

FIRST_PARTS = ("surround", "spider", "cone")
"""Open at the beginning; the rest is folded away."""

TOLD = 2
UNKNOWN = "not known yet"


class _Slider:
    """One dimension: its name, value, the control, and what a step of it does."""

    def __init__(
        self,
        one: Dimension,
        moved: Callable[[str, float], Any],
        released: Callable[[], Any],
        wanted: Callable[[str], Any],
        hold: Callable[[bool], Any],
    ) -> None:
        self.one = one
        with el("div", cls="field slider"):
            caption = el("label")
            with caption:
                el("span", one.label[0].upper() + one.label[1:])
                self.shown = el("output", cls="quiet")
            step = one.step if one.whole else one.step / 2.0
            low = one.value - step * int(
                (one.value - one.low) / step + 1e-9
            )  # so that the saved value is one of its steps
            self.control = Control(
                "input", f"{one.value:g}", type_="range", name=one.key, min=f"{low:g}", max=f"{one.high:g}", step=f"{step:g}"
            ).mark(one.key)  # fmt: skip
            self.note = el("p", UNKNOWN, cls="hint")
        caption.put(for_=self.control.html_id)
        self.control.props["aria-describedby"] = self.note.html_id
        self.control.on("entered", telling(lambda: self._entered(moved)))
        self.control.on("pointerdown", lambda: hold(True))
        self.control.on("pointerup", lambda: hold(False))
        self.control.on("change", telling(lambda: (hold(False), released())))
        self.control.on("keydown.enter", telling(lambda: released()))
        self.control.on("focus", lambda: wanted(one.key))
        self.say(one.value)

    def _entered(self, moved: Callable[[str, float], Any]) -> None:
        value = float(self.control.value)
        self.say(value)
        moved(self.one.key, value)

    def say(self, value: float) -> None:
        """The value in words, and what it was."""
        unit = "°" if self.one.unit == "deg" else f"{THIN}{self.one.unit}" if self.one.unit else ""
        was = "" if value == self.one.value else f", was {self.one.value:g}"
        self.shown.text = f"{value:g}{unit}{was}"


class Sliders:
    """All of them, in a part that can be folded for each part of the driver."""

    def __init__(
        self, known: tuple[Dimension, ...], moved: Callable[[str, float], Any], released: Callable[[], Any], wanted: Callable[[str], Any]
    ) -> None:  # fmt: skip
        self.known = known
        self.held = False
        """Whether a slider is held by the pointer: nothing is solved then."""
        self.first = ""
        """The dimension whose effect is to be learnt next."""
        self._sliders: dict[str, _Slider] = {}
        self.state = el("p", "", cls="quiet small", role="status").mark("learning")
        self.panel = el("div", cls="learning")
        for part in dict.fromkeys(one.part for one in known):
            with el("details", open="" if part in FIRST_PARTS else None):
                el("summary", part[0].upper() + part[1:])
                with el("div", cls="fields"):
                    for one in known:
                        if one.part == part:
                            self._sliders[one.key] = _Slider(one, moved, released, wanted, self._hold)

    def _hold(self, on: bool) -> None:
        self.held = on

    def set(self, key: str, value: float) -> None:
        """Move a slider from here."""
        slider = self._sliders[key]
        slider.control.set(f"{value:g}")
        slider.say(value)

    def next_unknown(self, known: Mapping[str, object]) -> Dimension | None:
        """The dimension to be learnt next: the one looked at, then in their order; None when all are known."""
        order = sorted(self.known, key=lambda one: one.key != self.first)
        found = next((one for one in order if one.key not in known), None)
        if found is None:
            self.state.text = ""
            self.panel.classes(remove="learning")
        else:
            self.state.text = f"Learning what each dimension does, once for each design: {len(known)} of {len(self.known)} are known."
        return found

    def learning(self, one: Dimension) -> None:
        """Say at a slider that what it does is being learnt."""
        self._sliders[one.key].note.text = "being learnt"

    def learnt(self, key: str, surrogate: Surrogate) -> None:
        """Say beside a slider what a step of it does."""
        slider, solved = self._sliders[key], surrogate.solved
        every = of_dimension(effects(solved), key)
        own = ([one for one in every if one.rule.key in OF] or list(every))[:TOLD]
        fault = solved.faults[solved.place(key)]
        step = (
            "one more"
            if slider.one.whole
            else f"{slider.one.step:g}{THIN}{slider.one.unit} more".replace(f"{THIN} more", " more")
        )
        if own:
            slider.note.text = f"{step}: {', '.join(change_words(one) for one in own)}"
        else:
            slider.note.text = f"not solved: {fault}" if fault else "a step changes next to nothing"

    def paused(self) -> None:
        """Learning was stopped for now."""
        for slider in self._sliders.values():
            if slider.note.text == "being learnt":
                slider.note.text = UNKNOWN
        self.state.text = "Learning what each dimension does was interrupted; it goes on after the next move."
