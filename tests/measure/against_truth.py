"""Turns one row of the truth tables into what a response should hold."""

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class Row:
    """Truth at one frequency: r.m.s., phases re the terminal voltage, harmonics in the sense sin(n phi + theta)."""

    frequency_hz: float
    voltage_v: float
    fundamental_pa: complex
    harmonics_pa: dict[int, complex]
    impedance_ohm: float
    thd_percent: float


def rows(table, low_hz=30.0, high_hz=400.0):
    """Truth rows of a table between two frequencies."""
    return [_row(raw) for raw in table if low_hz <= raw["f_Hz"] <= high_hz]


def _row(raw):
    terminal = np.deg2rad(raw["U_term_H1_phase_deg"])

    def pressure(order):
        phase = np.deg2rad(raw[f"H{order}_phase_deg"])
        # cos(n w t + p) of an excitation cos(w t) is sin(n phi + p - (n - 1) pi/2) of an excitation sin(phi).
        turned = phase - order * terminal - (order - 1) * np.pi / 2
        return raw[f"H{order}_Pa_pk"] / np.sqrt(2) * np.exp(1j * turned)

    return Row(
        frequency_hz=raw["f_Hz"],
        voltage_v=raw["U_term_H1_V_pk"] / np.sqrt(2),
        fundamental_pa=pressure(1),
        harmonics_pa={n: pressure(n) for n in (2, 3, 4, 5)},
        impedance_ohm=raw["Z1_ohm_abs"],
        thd_percent=raw["THD_pct_H2_H5_over_H1"],
    )


def at(response, values, frequency_hz):
    """Values of a response at one frequency, linear over lg f on real and imaginary part."""
    x, grid = np.log(frequency_hz), np.log(response.frequency_hz)
    return np.interp(x, grid, np.real(values)) + 1j * np.interp(x, grid, np.imag(values))


def db(ratio):
    """20 lg of a magnitude."""
    return 20 * np.log10(np.abs(ratio))


def degrees(ratio):
    """Phase in degrees."""
    return np.rad2deg(np.angle(ratio))
