"""Voltage and current from shunt and divider: circuits worked by hand around an impedance computed by ngspice."""

from pathlib import Path

import numpy as np
import pytest
from scipy.interpolate import CubicSpline

from halfroll.core.conditions import Conditions, Space
from halfroll.core.errors import InputError
from halfroll.core.levels import db
from halfroll.core.verdicts import Severity
from halfroll.measure.analysis.analyse import AnalysisSettings, analyse
from halfroll.measure.recording import Recording, Role, Scale
from halfroll.measure.rig.current import CurrentWay, delayed, with_current
from halfroll.measure.rig.resistor_check import open_check, resistor_check, tenfold
from halfroll.measure.sweep import Sweep

SWEEP = Sweep(duration_s=4.0, silence_before_s=0.3, silence_after_s=0.7)
RATE = SWEEP.rate_hz
TABLE = np.loadtxt(
    Path(__file__).parents[1] / "references/rig_impedance/impedance.csv", delimiter=",", skiprows=1
)
"""Frequency, real and imaginary part of a driver's impedance (ngspice)."""
VOLTS = 20.0
OPEN = AnalysisSettings(gate="none")


def impedance(hertz):
    """The reference at any frequency, by a spline over lg f; held at the ends of the table."""
    x = np.log(np.clip(hertz, 5.0, 20_000.0))
    return CubicSpline(np.log(TABLE[:, 0]), TABLE[:, 1] + 1j * TABLE[:, 2])(x)


def through(signal, transfer):
    """A signal after a transfer function of frequency."""
    n = 2 ** int(np.ceil(np.log2(2 * signal.size)))
    f = np.fft.rfftfreq(n, 1 / RATE)
    gain = transfer(f)
    gain[-1] = gain[-1].real
    gain[0] = gain[0].real
    return np.fft.irfft(np.fft.rfft(signal, n) * gain, n)[: signal.size]


def late(signal, delay_s):
    """Later by a time, by the shift theorem."""
    return through(signal, lambda f: np.exp(-2j * np.pi * f * delay_s))


def shunt_bench(shunt=0.1, before=False, reverse=False):
    """Source, shunt, terminals: microphone, voltage (before the shunt or at the terminals), shunt voltage in amperes at 10 A
    full scale. By hand: I = E/(Z + R), U = E Z/(Z + R).
    """
    source = 4.0 * SWEEP.samples() / SWEEP.level
    current = through(source, lambda f: 1 / (impedance(f) + shunt))
    voltage = source if before else through(source, lambda f: impedance(f) / (impedance(f) + shunt))
    rows = np.array([0.1 * source / VOLTS, voltage / VOLTS, (-1 if reverse else 1) * current / 10.0])
    return Recording(samples=rows, rate_hz=RATE, roles=(Role.MICROPHONE, Role.VOLTAGE, Role.CURRENT), scales={
        Role.MICROPHONE: Scale(per_full_scale=1.0), Role.VOLTAGE: Scale(per_full_scale=VOLTS, u_db=0.1),
        Role.CURRENT: Scale(per_full_scale=10.0, u_db=0.05),
    })  # fmt: skip


def divider_bench(series=10.0, gain_db=0.0, delay_s=0.0, swap=False, load=impedance):
    """Source, series resistor, terminals; the source channel has a gain and a delay of its own. U = E Z/(Z + R)."""
    source = 4.0 * SWEEP.samples() / SWEEP.level
    voltage = through(source, lambda f: load(f) / (load(f) + series))
    before = late(source, delay_s) * 10 ** (gain_db / 20)
    rows = np.array([0.1 * source, before, voltage]) / VOLTS
    roles = (Role.MICROPHONE, Role.SOURCE, Role.VOLTAGE)
    return Recording(samples=rows, rate_hz=RATE, roles=(roles[0], roles[2], roles[1]) if swap else roles, scales={
        Role.MICROPHONE: Scale(per_full_scale=1.0), Role.VOLTAGE: Scale(per_full_scale=VOLTS, u_db=0.1),
    })  # fmt: skip


def found(recording, way, rated=4.0):
    """Response of a recording whose current was derived."""
    conditions = Conditions(drive_v=None, distance_m=0.3, space=Space.HALF, rated_impedance_ohm=rated)
    return analyse(with_current(recording, way), SWEEP, conditions, OPEN)


def worst_percent(response):
    """Largest deviation of the complex impedance from ngspice's, in percent of its modulus, 30 Hz to 15 kHz."""
    f = response.frequency_hz
    band = (f > 30) & (f < 15_000)
    return 100 * float(np.max(np.abs(response.impedance_ohm[band] / impedance(f[band]) - 1)))


@pytest.mark.parametrize("reverse", [False, True])
@pytest.mark.parametrize("before", [False, True])
def test_shunt_gives_the_drivers_impedance(before, reverse):
    """With the voltage taken before the shunt its drop is taken off, also when the shunt's leads are exchanged."""
    way = CurrentWay(method="shunt", resistance_ohm=0.5, voltage_includes_shunt=before)
    response = found(shunt_bench(0.5, before, reverse), way)
    assert worst_percent(response) < 0.3
    assert ("current-reversed" in {v.code for v in response.verdicts}) is reverse


def test_a_shunt_that_is_not_taken_off_shows():
    """The same recording read as if the voltage were at the terminals is wrong by the shunt: the check can fail."""
    assert (
        worst_percent(found(shunt_bench(0.5, before=True), CurrentWay(method="shunt", resistance_ohm=0.5)))
        > 10
    )


@pytest.mark.parametrize(("gain_db", "delay_s"), [(0.0, 0.0), (0.35, 0.0), (-0.2, 4.3e-6), (1.5, -11e-6)])
def test_divider_gives_the_drivers_impedance(gain_db, delay_s):
    """Gain and delay of the source channel, found with nothing connected, are taken out; left over is what the sweep's
    analysis leaves.
    """
    source = SWEEP.samples()
    check = open_check(source, late(source, delay_s) * 10 ** (gain_db / 20), RATE)
    assert check.gain_db == pytest.approx(gain_db, abs=1e-3)
    assert check.delay_s == pytest.approx(delay_s, abs=2e-8)
    assert check.residual_db < 2e-3
    assert check.verdicts == ()
    way = CurrentWay(method="divider", resistance_ohm=10.0, gain_db=check.gain_db, delay_s=check.delay_s)
    response = found(divider_bench(10.0, gain_db, delay_s), way)
    assert worst_percent(response) < 0.3
    assert response.voltage_recorded
    assert response.usable, "behind a series resistor a driver's voltage is not flat, and need not be"
    drive = np.sqrt(np.mean(response.voltage_v**2))
    assert response.conditions.drive_v == pytest.approx(drive)


def test_gain_and_delay_matter():
    """Without them the same divider is wrong by more than three percent."""
    assert (
        worst_percent(
            found(divider_bench(10.0, 0.35, 4e-6), CurrentWay(method="divider", resistance_ohm=10.0))
        )
        > 3
    )


def test_divider_by_hand():
    """Z = 8 + j3 ohm behind 10 ohm gives U/E = 0.459459 + j0.090090 and comes out as 8 + j3 (worked by hand)."""
    at = lambda f: 8 + 3j * np.sign(f)  # noqa: E731
    f = np.array([1000.0])
    assert (at(f) / (at(f) + 10))[0] == pytest.approx(0.459459 + 0.090090j, abs=1e-6)
    t = np.arange(RATE) / RATE
    source = 0.2 * np.exp(2j * np.pi * 1000 * t)
    rows = np.array([source.real, (source * (0.459459 + 0.090090j)).real])
    tone = Recording(
        samples=rows,
        rate_hz=RATE,
        roles=(Role.SOURCE, Role.VOLTAGE),
        scales={Role.VOLTAGE: Scale(per_full_scale=VOLTS)},
    )
    made = with_current(tone, CurrentWay(method="divider", resistance_ohm=10.0))
    u, i = (np.fft.rfft(made.physical(role))[1000] for role in (Role.VOLTAGE, Role.CURRENT))
    assert u / i == pytest.approx(8 + 3j, abs=1e-4)


def test_a_delay_is_the_shift_theorem():
    """A tone moved by a tenth of a sample keeps its level and turns by w d."""
    t = np.arange(RATE) / RATE
    tone = np.sin(2 * np.pi * 5000 * t) * np.hanning(RATE)
    expected = np.sin(2 * np.pi * 5000 * (t - 2.1e-6)) * np.hanning(RATE)
    assert delayed(tone, RATE, 2.1e-6) == pytest.approx(expected, abs=1e-5)


# Uncertainty.


def test_coverage_of_the_impedances_uncertainty():
    """400 dividers whose resistor and gain err as stated: the impedance at one tone lies within 1.96 u of the truth in 92 to
    98 % of them; the voltage's scale, which errs by 1 dB, has no part in it.
    """
    rng = np.random.default_rng(12)
    t = np.arange(4800) / RATE
    load, series, u_resistor, u_gain, hits = 6.0, 10.0, 0.05, 0.03, 0
    for _ in range(400):
        source = 0.3 * np.sin(2 * np.pi * 200 * t)
        gain = 10 ** (u_gain * rng.standard_normal() / 20)
        true_series = series * 10 ** (u_resistor * rng.standard_normal() / 20)
        rows = np.array([gain * source, source * load / (load + true_series)])
        tone = Recording(samples=rows, rate_hz=RATE, roles=(Role.SOURCE, Role.VOLTAGE), scales={
            Role.VOLTAGE: Scale(per_full_scale=VOLTS * 10 ** (rng.standard_normal() / 20), u_db=1.0)})  # fmt: skip
        made = with_current(
            tone, CurrentWay(method="divider", resistance_ohm=series, u_db=u_resistor, gain_u_db=u_gain)
        )
        measured = np.std(made.physical(Role.VOLTAGE)) / np.std(made.physical(Role.CURRENT))
        hits += abs(db(measured / load)) <= 1.96 * made.impedance_u_db
    assert 368 <= hits <= 392


def test_shared_scales_cancel_and_others_do_not():
    """Shunt and voltage by one meter: the impedance has the shunt's uncertainty alone; by two, both (0.1 and 0.05 dB)."""
    way = CurrentWay(method="shunt", resistance_ohm=0.1, shares_voltage=True)
    assert with_current(shunt_bench(), way).impedance_u_db == pytest.approx(0.05)
    assert with_current(
        shunt_bench(), CurrentWay(method="shunt", resistance_ohm=0.1)
    ).impedance_u_db == pytest.approx(np.hypot(0.1, 0.05))


# Checks, and what is wrong.


def resistor_bench(known=8.0, series=10.0):
    """A resistor in place of the driver."""
    return divider_bench(series, load=lambda f: np.full_like(f, known, dtype=complex))


def test_a_known_resistor_refines_the_series_resistor():
    """Stated 10 ohm, really 10.3: the 8 ohm resistor comes out 3 % low, and the refined value is 10.3 (by hand)."""
    made = with_current(resistor_bench(8.0, 10.3), CurrentWay(method="divider", resistance_ohm=10.0))
    check = resistor_check(made, 8.0, tolerance_percent=1.0, resistance_ohm=10.0)
    assert check.measured_ohm == pytest.approx(8.0 * 10.0 / 10.3, rel=1e-4)
    assert check.refined_ohm == pytest.approx(10.3, rel=1e-4)
    assert check.phase_deg == pytest.approx(0.0, abs=0.02)
    assert check.u_db == pytest.approx(0.0868589 / np.sqrt(3), rel=0.01)
    assert check.verdicts == ()


@pytest.mark.parametrize(("stated", "word"), [(100.0, "large"), (1.0, "small")])
def test_a_resistor_entered_ten_times_off(stated, word):
    """10 ohm entered as 100 or as 1: said, graver than a caution, and nothing is refined."""
    made = with_current(resistor_bench(8.0, 10.0), CurrentWay(method="divider", resistance_ohm=stated))
    check = resistor_check(made, 8.0, resistance_ohm=stated)
    assert [(v.code, v.severity) for v in check.verdicts] == [("shunt-tenfold", Severity.BAD)]
    assert f"ten times too {word}" in check.verdicts[0].text
    assert check.refined_ohm is None


def test_a_take_with_a_shunt_ten_times_off_says_so():
    """Current ten times too small: the minimum of a 4 ohm driver comes out near 37 ohm."""
    bench = shunt_bench(0.1)
    wrong = Recording(samples=bench.samples, rate_hz=RATE, roles=bench.roles,
                      scales={**bench.scales, Role.CURRENT: Scale(per_full_scale=1.0)})  # fmt: skip
    codes = {v.code for v in found(wrong, CurrentWay(method="shunt", resistance_ohm=1.0)).verdicts}
    assert "shunt-tenfold" in codes
    right = {v.code for v in found(bench, CurrentWay(method="shunt", resistance_ohm=0.1)).verdicts}
    assert "shunt-tenfold" not in right


def test_a_check_far_off():
    """A resistor 30 % off is no tolerance; 8 % is a caution; swapped voltage and current come out far off."""

    def far(known):
        made = with_current(resistor_bench(8.0), CurrentWay(method="divider", resistance_ohm=10.0))
        return resistor_check(made, known).verdicts

    assert [(v.code, v.severity) for v in far(12.0)] == [("resistor-check-far", Severity.BAD)]
    assert [(v.code, v.severity) for v in far(8.7)] == [("resistor-check-far", Severity.CAUTION)]


def test_swapped_channels():
    """Source and voltage exchanged is refused; voltage and current exchanged is said by the take (the voltage is flat)."""
    with pytest.raises(InputError, match="exchanged"):
        with_current(divider_bench(swap=True), CurrentWay(method="divider", resistance_ohm=10.0))
    bench = shunt_bench()
    swapped = Recording(
        samples=bench.samples,
        rate_hz=RATE,
        roles=(Role.MICROPHONE, Role.CURRENT, Role.VOLTAGE),
        scales=bench.scales,
    )
    verdicts = found(swapped, CurrentWay(method="shunt", resistance_ohm=0.1)).verdicts
    assert any(v.code == "swapped-channels" and v.severity is Severity.BAD for v in verdicts)


def test_what_an_open_check_must_not_be():
    """A driver left connected, a channel upside down, silence, other gains, too short, not a number, nothing audible."""
    bench = divider_bench()
    loaded = open_check(bench.channel(Role.VOLTAGE), bench.channel(Role.SOURCE), RATE)
    assert [v.code for v in loaded.verdicts] == ["open-check-loaded"]
    sweep = SWEEP.samples()
    assert [v.code for v in open_check(sweep, -sweep, RATE).verdicts] == ["open-check-inverted"]
    with pytest.raises(InputError, match="silent"):
        open_check(sweep, 0 * sweep, RATE)
    with pytest.raises(InputError, match="same voltage"):
        open_check(sweep, 30 * sweep, RATE)
    with pytest.raises(InputError, match="too short"):
        open_check(sweep[20_000:25_000], sweep[20_000:25_000], RATE)
    with pytest.raises(InputError, match="must be a number"):
        open_check(sweep, np.where(np.arange(sweep.size) == 7, np.nan, sweep), RATE)
    whistle = 0.1 * np.cos(np.pi * np.arange(sweep.size))  # at half the sample rate
    with pytest.raises(InputError, match="no tone and no sweep"):
        open_check(whistle, whistle, RATE)


def test_open_check_by_a_tone():
    """One tone is enough for gain; its phase gives the delay."""
    t = np.arange(2 * RATE) / RATE
    first, second = 0.3 * np.sin(2 * np.pi * 1000 * t), 0.31 * np.sin(2 * np.pi * 1000 * (t - 3e-6))
    check = open_check(first, second, RATE)
    assert check.gain_db == pytest.approx(20 * np.log10(0.31 / 0.3), abs=1e-5)
    assert check.delay_s == pytest.approx(3e-6, abs=1e-9)


def test_clipping_of_a_channel_that_is_worked_into_another_is_found():
    """The source channel clips; the current made of it is looked at as recorded."""
    bench = divider_bench()
    rows = bench.samples.copy()
    rows[1] = np.clip(8 * rows[1], -1, 1)
    rows[2] *= 8 * 0.12
    loud = Recording(samples=rows, rate_hz=RATE, roles=bench.roles, scales=bench.scales)
    codes = {v.code for v in with_current(loud, CurrentWay(method="divider", resistance_ohm=10.0)).verdicts}
    assert "clipped" in codes


@pytest.mark.parametrize(
    ("ratio", "word"), [(10.0, "large"), (0.1, "small"), (1.0, ""), (3.0, ""), (30.0, "")]
)
def test_tenfold(ratio, word):
    """About ten, either way."""
    assert tenfold(ratio) == word
