"""Ladders of coils and capacitors that make a filter of a resistor's voltage: textbook values, as starting values.

The transfer of a lossless ladder between a voltage source and a resistor R is 1/D(s) with D = A + B/R of its chain matrix, A even and
B odd in s. So its elements are the quotients of the continued fraction of the odd over the even part of D, or the other way round
(Cauer; for example Temes and LaPatra, "Circuit Synthesis and Design", 1977, from memory). Band-pass and high-pass follow by the usual
changes of frequency.

Denominators: Butterworth 1930; Bessel by the reverse Bessel polynomials (Thomson 1949), here with -3 dB at the frequency; Linkwitz-Riley
(Linkwitz 1976) of order 2n is a Butterworth of order n squared, -6 dB at the frequency.
"""

from __future__ import annotations

import math
from typing import Literal

import numpy as np

from halfroll.core.errors import InputError, choose
from halfroll.core.levels import ComplexArray, FloatArray

Alignment = Literal["butterworth", "bessel", "linkwitz-riley"]
ALIGNMENTS: tuple[Alignment, ...] = ("butterworth", "bessel", "linkwitz-riley")
ORDERS = (1, 2, 3, 4)


def denominator(alignment: str, order: int) -> FloatArray:
    """Coefficients of D(s), highest power first, last one 1, normalised to 1 rad/s (-3 dB; Linkwitz-Riley -6 dB).

    Raises
    ------
    InputError
        There is no such alignment or order; Linkwitz-Riley has even orders only.
    """
    choose(alignment, ALIGNMENTS, field="The alignment", key="alignment")
    if order not in ORDERS:
        raise InputError("The order of a crossover must be 1 to 4", key="order", found=str(order))
    if alignment == "linkwitz-riley":
        if order % 2:
            raise InputError("A Linkwitz-Riley crossover must be of second or fourth order", key="order", found=str(order),
                             remedy="Choose Butterworth for odd orders")  # fmt: skip
        half = _butterworth(order // 2)
        return np.asarray(np.polymul(half, half), dtype=np.float64)
    return _butterworth(order) if alignment == "butterworth" else _bessel(order)


def _butterworth(order: int) -> FloatArray:
    """Poles on the unit circle."""
    angles = math.pi * (2 * np.arange(1, order + 1) + order - 1) / (2 * order)
    return np.asarray(np.real(np.poly(np.exp(1j * angles))), dtype=np.float64)


def _bessel(order: int) -> FloatArray:
    """Reverse Bessel polynomial, its frequency scaled so that |D| is the square root of 2 at 1 rad/s."""
    powers = [
        math.factorial(2 * order - k) / (2 ** (order - k) * math.factorial(k) * math.factorial(order - k))
        for k in range(order, -1, -1)
    ]
    base = np.array(powers) / powers[-1]
    signs = (-1.0) ** np.arange(order, -1, -1)
    squared = np.polymul(base, base * signs)  # D(s) D(-s), even in s
    in_w2 = squared[::2] * (-1.0) ** np.arange(order, -1, -1)
    in_w2[-1] -= 2.0
    roots = np.roots(in_w2)
    corner = math.sqrt(min(float(r.real) for r in roots if abs(r.imag) < 1e-9 and r.real > 0.0))
    return np.asarray(base * corner ** np.arange(order, -1, -1), dtype=np.float64)


def ladder(alignment: str, order: int) -> tuple[float, ...]:
    """Normalised elements g1 ... gn of the low-pass (1 rad/s, 1 ohm), from the source on: coil in series, capacitor across, ..."""
    d = denominator(alignment, order)
    powers = np.arange(len(d) - 1, -1, -1)
    odd, even = np.where(powers % 2 == 1, d, 0.0), np.where(powers % 2 == 0, d, 0.0)
    top, bottom = (np.trim_zeros(p, "f") for p in ((odd, even) if order % 2 else (even, odd)))
    found: list[float] = []
    for _ in range(order):
        value = float(top[0] / bottom[0])
        found.append(value)
        rest = np.polysub(top, np.polymul([value, 0.0], bottom))
        top, bottom = bottom, np.trim_zeros(np.where(np.abs(rest) > 1e-12, rest, 0.0), "f")
    return tuple(reversed(found))


def transfer(
    alignment: str, order: int, kind: str, frequency_hz: FloatArray, corner_hz: tuple[float, ...]
) -> ComplexArray:
    """The voltage transfer aimed at: ``low-pass`` and ``high-pass`` with one corner (Hz), ``band-pass`` with two; shape (f,)."""
    s = 1j * np.asarray(frequency_hz, dtype=np.float64)
    if kind == "low-pass":
        p = s / corner_hz[0]
    elif kind == "high-pass":
        p = corner_hz[0] / s
    else:
        low, high = corner_hz
        p = (s**2 + low * high) / (s * (high - low))
    return np.asarray(1.0 / np.polyval(denominator(alignment, order), p), dtype=np.complex128)
