"""The drawing of a rig: what the signal passes from the computer to the cone and back, each part with what it states.

Symbols after IEC 60617 as far as they are common: triangle for the amplifier, rectangle for a resistor, circle with a bar
for the microphone. A part whose calibration is missing is dashed; one that is out of date stands in the accent colour and
says so.
"""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from halfroll.core.text import THIN
from halfroll.workshop import RigRecord
from halfroll.workshop.rig_state import TableState

_LOOKS = {"valid": "", "due soon": "", "not dated": "", "out of date": " late", "not calibrated": " open"}
_LINE = 17.0


def signal_path(rig: RigRecord, tables: Sequence[TableState], name: str) -> str:
    """Markup of the drawing twice, for wide and for narrow windows; the style sheet shows one."""
    known = {state.table: state for state in tables}
    said = "; ".join(f"{s.name.lower()} {s.state}{f', {s.value}' if s.value else ''}" for s in tables)
    label = escape(
        f"Signal path of the rig {name}: computer and interface, amplifier, terminals and driver, microphone. {said}."
    )
    return _svg("wide", _wide(rig, known), (0, 0, 925, 330), label) + _svg(
        "narrow", _narrow(rig, known), (0, 0, 380, 560), label
    )


def _svg(kind: str, parts: list[str], box: tuple[float, float, float, float], label: str) -> str:
    size = " ".join(f"{v:g}" for v in box)
    return (
        f'<svg class="signal {kind}" viewBox="{size}" role="img" aria-label="{label}" '
        f'xmlns="http://www.w3.org/2000/svg">{"".join(parts)}</svg>'
    )


def _wide(rig: RigRecord, known: dict[str, TableState]) -> list[str]:
    """Out along the top from left to right, back below it."""
    output, voltage, current, microphone = (known[t] for t in ("output", "voltage", "current", "microphone"))
    resistor = rig.current is not None and rig.current.resistance_ohm is not None
    tap_v = 470.0 if rig.current is not None and rig.current.voltage_includes_shunt else 665.0
    parts = [
        _box(20, 30, 150, 290, ("Computer", "and interface"), known["latency"]),
        _wire("M170 80H300", output), _amplifier(300, 80, output), _wire(f"M350 80H{550 if resistor else 740}", output),
        *_words(325, 24, "Amplifier", output, "middle", one=True),
        _tap(tap_v, 80, f"M{tap_v} 80V220H170", voltage), *_words(186, 206, "Voltage", voltage, "start", one=True),
        _wire("M870 80H900V290H170", microphone), _microphone(852, 80, microphone),
        *_words(186, 276, "Microphone", microphone, "start", one=True),
        _wire("M740 80H760", None), _driver(760, 80), *_plain(775, 140, "Driver"),
    ]  # fmt: skip
    if rig.current is not None:
        divider = rig.current.method == "divider"
        at = 440.0 if divider else 575.0
        top = 80.0 if divider else 92.0
        parts += [
            _tap(at, top, f"M{at} {top}V150H170", current)
            if divider
            else _wire(f"M{at} {top}V150H170", current),
            *_words(186, 137, "Before the resistor" if divider else "Current", current, "start", one=True),
        ]
    if resistor:
        parts += [_resistor(550, 80, current), _wire("M600 80H740", output), *_ohms(rig, 575, 57)]
    return parts


def _narrow(rig: RigRecord, known: dict[str, TableState]) -> list[str]:
    """Out down the left side, back up beside it."""
    output, voltage, current, microphone = (known[t] for t in ("output", "voltage", "current", "microphone"))
    resistor = rig.current is not None and rig.current.resistance_ohm is not None
    parts = [
        _box(10, 10, 360, 60, ("Computer and interface",), known["latency"]),
        _wire("M60 70V150", output), _amplifier_down(60, 150, output), _wire(f"M60 200V{300 if resistor else 430}", output),
        *_words(92, 172, "Amplifier", output, "start"),
        _wire("M60 430V488", None), _driver(53, 500), *_plain(60, 552, "Driver", "middle"),
        _wire("M207 500H330V70", microphone), _microphone(190, 500, microphone), *_words(322, 440, "Microphone", microphone, "end"),
    ]  # fmt: skip
    tap_v = 250.0 if rig.current is not None and rig.current.voltage_includes_shunt else 390.0
    parts += [
        _tap(60, tap_v, f"M60 {tap_v}H264V70", voltage),
        *_words(84, tap_v + 19, "Voltage", voltage, "start"),
    ]
    if rig.current is not None:
        at = 230.0 if rig.current.method == "divider" else 325.0
        path = f"M{60 if at < 300 else 72} {at}H202V70"
        parts += [_tap(60, at, path, current) if at < 300 else _wire(path, current)]
    if resistor:
        parts += [_resistor_down(60, 300, current), _wire("M60 350V430", output), *_ohms(rig, 84, 344, "start"),
                  *_standing_of(current, 84, 361)]  # fmt: skip
    return parts


def _look(state: TableState | None) -> str:
    return "" if state is None else _LOOKS[state.state]


def _wire(path: str, state: TableState | None) -> str:
    return f'<path class="wire{_look(state)}" d="{path}"/>'


def _tap(x: float, y: float, path: str, state: TableState) -> str:
    return f'{_wire(path, state)}<circle class="dot{_look(state)}" cx="{x}" cy="{y}" r="3.5"/>'


def _box(x: float, y: float, w: float, h: float, words: tuple[str, ...], state: TableState) -> str:
    lines = "".join(
        f'<text x="{x + w / 2}" y="{y + h / 2 + _LINE * (k - (len(words) - 1) / 2) - (8 if state.value else -4)}" '
        f'text-anchor="middle">{word}</text>' for k, word in enumerate(words)
    )  # fmt: skip
    delay = ""
    if state.value:
        at = y + h / 2 + _LINE * (len(words) + 1) / 2 - 8
        delay = f'<text class="small" x="{x + w / 2}" y="{at}" text-anchor="middle">delay {state.value.rpartition(", ")[2]}</text>'
    return f'<rect class="part" x="{x}" y="{y}" width="{w}" height="{h}"/>{lines}{delay}'


def _amplifier(x: float, y: float, state: TableState) -> str:
    return f'<path class="part{_look(state)}" d="M{x} {y - 30}L{x + 50} {y}L{x} {y + 30}Z"/>'


def _amplifier_down(x: float, y: float, state: TableState) -> str:
    return f'<path class="part{_look(state)}" d="M{x - 28} {y}L{x} {y + 50}L{x + 28} {y}Z"/>'


def _resistor(x: float, y: float, state: TableState) -> str:
    return f'<rect class="part{_look(state)}" x="{x}" y="{y - 12}" width="50" height="24"/>'


def _resistor_down(x: float, y: float, state: TableState) -> str:
    return f'<rect class="part{_look(state)}" x="{x - 12}" y="{y}" width="24" height="50"/>'


def _driver(x: float, y: float) -> str:
    """A loudspeaker seen from the side, with the sound that leaves it."""
    waves = "".join(f"M{x + 42 + 11 * k} {y - 14 - 6 * k}A{30 + 12 * k} {30 + 12 * k} 0 0 1 {x + 42 + 11 * k} {y + 14 + 6 * k}"
                    for k in range(3))  # fmt: skip
    return (
        f'<path class="part" d="M{x} {y - 12}H{x + 14}V{y + 12}H{x}ZM{x + 14} {y - 12}L{x + 32} {y - 32}V{y + 32}L{x + 14} {y + 12}"/>'
        f'<path class="sound" d="{waves}"/>'
    )


def _microphone(x: float, y: float, state: TableState) -> str:
    return (
        f'<circle class="part{_look(state)}" cx="{x}" cy="{y}" r="17"/>'
        f'<path class="part{_look(state)}" d="M{x - 17} {y - 20}V{y + 20}"/>'
    )


def _standing_of(state: TableState, x: float, y: float) -> list[str]:
    """The uncertainty of a part and, unless it is valid, its state, on one small line."""
    u = f"u {float(f'{state.u_db:.2g}'):g}{THIN}dB" if state.u_db else ""
    told = ", ".join(filter(None, (u, "" if state.state == "valid" else state.state)))
    return [f'<text class="small{_look(state)}" x="{x}" y="{y}">{escape(told)}</text>'] if told else []


def _plain(x: float, y: float, word: str, anchor: str = "middle") -> list[str]:
    return [f'<text x="{x}" y="{y}" text-anchor="{anchor}">{word}</text>']


def _ohms(rig: RigRecord, x: float, y: float, anchor: str = "middle") -> list[str]:
    assert rig.current is not None
    kind = "Series resistor" if rig.current.method == "divider" else "Shunt"
    ohms = f"{kind} {float(f'{rig.current.resistance_ohm:.4g}'):g}{THIN}Ω"
    return [f'<text class="small" x="{x}" y="{y}" text-anchor="{anchor}">{ohms}</text>']


def _words(x: float, y: float, name: str, state: TableState, anchor: str, *, one: bool = False) -> list[str]:
    """Name, value and standing of a part, under each other or on one line."""
    value = state.value.partition(", a sine")[0].replace(" at full scale", "")
    u = f"u {float(f'{state.u_db:.2g}'):g}{THIN}dB" if state.u_db else ""
    told = [
        word
        for word in (", ".join(filter(None, (value, u))), "" if state.state == "valid" else state.state)
        if word
    ]
    if one:
        text = escape(", ".join(told))
        return [
            f'<text x="{x}" y="{y}" text-anchor="{anchor}">{name} <tspan class="small{_look(state)}">{text}</tspan></text>'
        ]
    lines = [f'<text x="{x}" y="{y}" text-anchor="{anchor}">{name}</text>']
    lines += [
        f'<text class="small{_look(state)}" x="{x}" y="{y + _LINE * (k + 1)}" text-anchor="{anchor}">{escape(word)}</text>'
        for k, word in enumerate(told)
    ]
    return lines
