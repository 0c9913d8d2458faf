"""The lumped fit against tables of ngspice, the worked driver, and the check values of the models."""

import json
import math
import time
from pathlib import Path

import numpy as np
import pytest

from halfroll.core.errors import CancelledError, InputError
from halfroll.core.progress import CancelToken, silent
from halfroll.measure.impedances.impedance import ImpedanceCurve
from halfroll.measure.lumped.impedance_model import ALL_MODELS, Model, creep_compliance
from halfroll.measure.lumped.impedance_start import find_peak
from halfroll.measure.lumped.parameter_types import FitSettings
from halfroll.measure.lumped.parameters import fit_impedance
from tests.measure.impedances import FREQUENCY, SMALL, W1, clean, impedance, measured

TABLES = Path(__file__).parents[1] / "references" / "driver_impedance" / "ac_impedance.json"
VALUES = {
    "re_ohm": 5.6, "fs_hz": 62.0, "qms": 4.1, "qes": 0.71, "creep_lambda": 0.12, "le_h": 2.5e-4, "l2_h": 3.5e-4,
    "r2_ohm": 6.0, "semi_k": 0.013, "semi_n": 0.68,
}  # fmt: skip


def table(case: str) -> ImpedanceCurve:
    """One of the stored tables."""
    raw = json.loads(TABLES.read_text())
    return clean(np.array(raw[case]["re"]) + 1j * np.array(raw[case]["im"]), np.array(raw["f_Hz"]))


@pytest.mark.parametrize("case", ["infinite_baffle", "closed"])
def test_clean_tables(case: str) -> None:
    """Against ngspice (references/driver_impedance) with what its netlist holds: all far inside Re 0.5 %, fs 0.3 %, Q 1.5 %, coil 5 %.

    The truth by hand from the netlist: K is 1150 N/m, on the box plus ρc²Sd²/Vb.
    """
    stiffness = 1150.0 + (1.2041 * 343.2**2 * 54e-4**2 / 1.5e-3 if case == "closed" else 0.0)
    omega = math.sqrt(stiffness / 5.2e-3)
    truth = {
        "re_ohm": 3.6, "fs_hz": omega / (2 * math.pi), "qms": omega * 5.2e-3 / 0.55, "qes": omega * 5.2e-3 * 3.6 / 2.6**2,
        "le_h": 1.1e-4, "l2_h": 9e-5, "r2_ohm": 1.6,
    }  # fmt: skip
    fit = fit_impedance(table(case))
    assert (fit.coil, fit.creep) == ("lr2", False)
    assert not fit.verdicts
    for name, value in truth.items():
        assert fit.estimates.value(name) == pytest.approx(value, rel=1e-6), name
    assert fit.estimates.value("qts") == pytest.approx(1 / (1 / truth["qms"] + 1 / truth["qes"]), rel=1e-6)


def test_tables_by_modulus_alone() -> None:
    """The same without phase."""
    curve = table("infinite_baffle")
    fit = fit_impedance(clean(curve.modulus_ohm + 0j, curve.frequency_hz, phase_known=False))
    assert fit.estimates.value("fs_hz") == pytest.approx(74.84579056, rel=1e-5)
    assert fit.estimates.value("r2_ohm") == pytest.approx(1.6, rel=1e-4)
    assert not fit.phase_known


def test_worked_driver() -> None:
    """Definitions of Thiele (1961) and Small (1972) worked by hand for round values (no inductance)."""
    fit = fit_impedance(clean(impedance(**W1)))
    assert fit.estimates.value("fs_hz") == pytest.approx(48.42931, rel=1e-6)
    assert fit.estimates.value("qms") == pytest.approx(3.651484, rel=1e-6)
    assert fit.estimates.value("qes") == pytest.approx(0.6085806, rel=1e-6)
    assert fit.estimates.value("qts") == pytest.approx(0.5216405, rel=1e-6)
    heavier = fit_impedance(clean(impedance(**W1 | {"mms": 18e-3})))
    assert heavier.estimates.value("fs_hz") == pytest.approx(39.542364, rel=1e-7)
    boxed = fit_impedance(clean(impedance(**W1, box_n_per_m=1.2 * 343.0**2 * 133e-4**2 / 5e-3)))
    assert boxed.estimates.value("fs_hz") == pytest.approx(113.52682, rel=1e-6)
    assert boxed.estimates.value("qts") == pytest.approx(1.222817, rel=1e-6)
    assert boxed.estimates.value("qes") == pytest.approx(1.426620, rel=1e-6)


def test_start_is_the_r0_method() -> None:
    """r0 = 7, Zmax = 42 ohm, and the crossings at 33.964342 Hz and 69.054709 Hz of the worked driver (Thiele 1961, Small 1972)."""
    at = np.geomspace(10.0, 1000.0, 20_001)
    peak = find_peak(at, np.abs(impedance(**W1, at=at)))
    assert peak is not None
    assert peak.height_ohm == pytest.approx(42.0, rel=1e-5)
    assert (peak.lower_hz, peak.upper_hz) == pytest.approx((33.964342, 69.054709), rel=1e-3)
    assert peak.qms == pytest.approx(3.651484, rel=2e-3)


def test_coil_models() -> None:
    """Impedance at 1 kHz worked by hand from the formulas of Vanderkooy (1989), Leach (2002) and the LR-2 circuit."""
    still = {"re_ohm": 6.0, "fs_hz": 1e-3, "qms": 1.0, "qes": 1e9}  # no motion to speak of
    at = np.array([1000.0])

    def coil(model: Model, **values: float) -> complex:
        return complex(model.impedance(at, model.pack(still | values))[0])

    assert coil(Model("semi"), semi_k=0.05, semi_n=0.5) - 6.0 == pytest.approx(2.80250 + 2.80250j, abs=1e-5)
    assert coil(Model("semi"), semi_k=0.01, semi_n=0.7) - 6.0 == pytest.approx(2.06906 + 4.06076j, abs=1e-5)
    lossy = coil(Model("lr2"), le_h=0.3e-3, l2_h=0.5e-3, r2_ohm=8.0)
    assert lossy == pytest.approx(7.06887 + 4.60680j, abs=1e-5)


def test_creep_formula() -> None:
    """C/C0 at a tenth of the resonance with λ = 0.1 (Knudsen and Jensen 1993, formula from memory)."""
    assert creep_compliance(5.0, 50.0, 0.1).item() == pytest.approx(1.1 - 0.0682188j, abs=1e-7)


def test_creep_keeps_the_meaning_of_fs_and_q() -> None:
    """With creep fs is where the motional impedance is real, and Qms holds all loss there: both found by bisection apart."""
    from scipy.optimize import brentq

    mms, cms, rms, creep = 12e-3, 0.9e-3, 0.5, 0.12

    def mechanical(f: float) -> complex:
        s = 2j * math.pi * f
        return complex(rms + s * mms + 1.0 / (s * cms * (1.0 - creep * np.log10(s * math.sqrt(mms * cms)))))

    fs = brentq(lambda f: mechanical(f).imag, 30.0, 70.0)
    fit = fit_impedance(clean(impedance(**W1 | {"rms": rms}, creep=creep)))
    assert fit.creep
    assert fit.estimates.value("fs_hz") == pytest.approx(fs, rel=1e-7)
    assert fit.estimates.value("qms") == pytest.approx(2 * math.pi * fs * mms / mechanical(fs).real, rel=1e-6)
    assert fit.estimates.value("creep_lambda") == pytest.approx(creep, rel=1e-3)


@pytest.mark.parametrize("model", ALL_MODELS)
def test_derivatives(model: Model) -> None:
    """The closed derivatives against central differences."""
    theta = model.pack({n: VALUES[n] for n in model.names})
    _, slopes = model.evaluate(FREQUENCY, theta)
    values, jacobian = model.values(theta)
    assert values == pytest.approx([VALUES[n] for n in model.names], rel=1e-12)
    for i, step in enumerate(1e-6 * np.eye(model.size)):
        wanted = (model.impedance(FREQUENCY, theta + step) - model.impedance(FREQUENCY, theta - step)) / 2e-6
        assert np.abs(slopes[i] - wanted).max() < 1e-6 * np.abs(wanted).max()
        assert jacobian[:, i] == pytest.approx(
            (model.values(theta + step)[0] - model.values(theta - step)[0]) / 2e-6, rel=1e-6, abs=1e-12
        )


def test_narrow_band_refuses_rich_coils() -> None:
    """Up to 250 Hz the losses of a coil cannot be told, and the fit does not pretend to."""
    rng = np.random.default_rng(4)
    at = np.geomspace(10.0, 250.0, 120)
    curve = measured(impedance(**SMALL, at=at), rng, at=at)
    fit = fit_impedance(curve)
    assert not next(c for c in fit.candidates if c.coil == "lr2" and not c.creep).determined
    assert fit.coil != "lr2"
    assert "range-too-short" in [v.code for v in fit.verdicts]
    assert fit.estimates.value("fs_hz") == pytest.approx(74.846, abs=3 * fit.estimates.u("fs_hz"))


def test_band_and_model_asked_for() -> None:
    """A range and a model that are asked for are used."""
    curve = clean(impedance(**SMALL))
    fit = fit_impedance(curve, FitSettings(coil="semi", creep=False, band_hz=(20.0, 2000.0)))
    assert (fit.coil, fit.creep, len(fit.candidates)) == ("semi", False, 1)
    assert fit.frequency_hz[0] >= 20.0
    assert fit.frequency_hz[-1] <= 2000.0


def test_typed_resistance_is_taken_in() -> None:
    """A sure DC resistance takes away the doubt that the scale leaves in Re, and in all that hangs on it."""
    rng = np.random.default_rng(7)
    curve = measured(1.01 * impedance(**SMALL), rng)  # a scale 1 % too large
    curve = ImpedanceCurve(frequency_hz=curve.frequency_hz, impedance_ohm=curve.impedance_ohm, scale_u=0.01)
    free = fit_impedance(curve)
    typed = fit_impedance(curve, FitSettings(re_ohm=3.6, re_u_ohm=0.004))
    assert free.estimates.value("re_ohm") == pytest.approx(3.636, abs=0.002)
    assert free.estimates.u("re_ohm") == pytest.approx(0.036, rel=0.05)
    assert typed.estimates.value("re_ohm") == pytest.approx(3.6, abs=0.008)
    assert typed.estimates.u("re_ohm") == pytest.approx(0.004, rel=0.1)
    assert typed.estimates.value("r2_ohm") == pytest.approx(1.6, rel=0.005)
    assert typed.estimates.value("fs_hz") == pytest.approx(free.estimates.value("fs_hz"), rel=1e-6)
    assert not typed.verdicts


def test_typed_resistance_that_cannot_be() -> None:
    """One that the curve contradicts is said and not used; 0.5 % is taken as its uncertainty when none is typed."""
    fit = fit_impedance(clean(impedance(**SMALL)), FitSettings(re_ohm=3.2))
    verdict = next(v for v in fit.verdicts if v.code == "resistance-differs")
    assert fit.estimates.value("re_ohm") == pytest.approx(3.6, rel=1e-6)
    # 3.6/3.2 is 12.5 %, at 0.393 % per kelvin (IEC 60028) 31.8 K
    assert verdict.data["copper_k"] == pytest.approx(31.8, abs=0.1)
    assert "32 K warmer or 0.4 ohm of leads" in verdict.text


def test_shared_scale_is_in_the_resistances_only() -> None:
    """An unsure shunt makes Re and the coil unsure, and neither fs nor the Qs; Re and R2 then move together."""
    curve = clean(impedance(**SMALL), scale_u=0.02)
    fit = fit_impedance(curve)
    assert fit.estimates.u("re_ohm") == pytest.approx(0.02 * 3.6, rel=1e-3)
    assert fit.estimates.u("fs_hz") < 1e-6
    pair = fit.estimates.pair("re_ohm", "r2_ohm")
    assert pair[0, 1] / math.sqrt(pair[0, 0] * pair[1, 1]) == pytest.approx(1.0, abs=1e-3)


def test_too_few_points() -> None:
    """Six points are refused with what was found and what to do."""
    with pytest.raises(InputError, match="needs 8 points of impedance in its range at least; found 6"):
        fit_impedance(clean(impedance(**W1)), FitSettings(band_hz=(40.0, 50.5)))


def test_fast_and_can_be_stopped() -> None:
    """Six models on 500 points within 0.3 s (the best of three), with progress, and cancelled when asked."""
    at = np.geomspace(5.0, 20_000.0, 500)
    curve = measured(impedance(**SMALL, at=at), np.random.default_rng(1), at=at)
    steps: list[float] = []
    durations = []
    for _ in range(3):
        begin = time.perf_counter()
        fit_impedance(curve, progress=lambda done, what: steps.append(done))
        durations.append(time.perf_counter() - begin)
    assert min(durations) < 0.3
    assert steps[-1] == 1.0
    token = CancelToken()
    token.cancel()
    with pytest.raises(CancelledError):
        fit_impedance(curve, progress=token.wrap(silent))
