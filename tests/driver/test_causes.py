"""Shares of distortion: artificial drivers with one cause, first-order theory for two, sums, and the symptoms of the literature."""

import math
from dataclasses import replace

import numpy as np
import pytest

from halfroll.core.errors import CancelledError, InputError
from halfroll.driver.causes import CAUSES, Causes, distortion_causes, present, switched
from halfroll.driver.causes_said import causes_said
from halfroll.driver.lumped import DriverModel
from halfroll.driver.steady.solve import steady_tones
from tests.driver.steady.test_tones import full, vented

F = np.geomspace(25.0, 800.0, 9)
BAND = (40.0, 150.0)


@pytest.fixture
def straight(reference_driver: DriverModel) -> DriverModel:
    """The reference driver with constant Bl, K and Le."""
    return replace(reference_driver, Bl=(2.6,), K=(1150.0,), Le=(1.1e-4,))


@pytest.mark.parametrize(
    ("curve", "parities"),
    [
        ({"Bl": (2.6, 60.0)}, ("even",)), ({"Bl": (2.6, 0.0, -6e4)}, ("odd",)), ({"K": (1150.0, -4e4)}, ("even",)),
        ({"K": (1150.0, 0.0, 2e7)}, ("odd",)), ({"Le_i": ((-4e-6,),)}, ("even",)), ({"Le_i": ((0.0,), (-4e-7,))}, ("odd",)),
    ],
)  # fmt: skip
def test_one_cause_is_all_of_it(
    curve: dict[str, tuple[float, ...]], parities: tuple[str, ...], straight: DriverModel
) -> None:
    """A driver with one nonlinearity: that one has 100 %, nothing is left together, and without it there is no distortion."""
    driver = replace(straight, **curve)  # type: ignore[arg-type]
    found = distortion_causes(driver, 1.0, F)
    assert len(found.causes) == 1
    for parity in parities:
        assert np.all(found.size(parity)[:6] > 1e-7)  # type: ignore[arg-type]
        np.testing.assert_allclose(
            found.shares(parity)[:, :6], np.repeat([[1.0], [0.0]], 6, axis=1), atol=1e-9
        )  # type: ignore[arg-type]
    assert np.all(found.thd_without == 0.0)
    np.testing.assert_allclose(found.thd_alone[0], found.thd)


def test_inductance_over_displacement_parts_into_current_and_pull(straight: DriverModel) -> None:
    """Of Le(x) alone the voltage's part and the reluctance force make all even distortion between them; far above resonance, where the cone hardly
    moves, most is the pull: p2/p1 = ½ Le' I²/2 over Bl I to first order (both forces on the same mass).
    """
    driver = replace(straight, Le=(1.1e-4, -0.011), L2=0.0, R2=0.0)
    found = distortion_causes(driver, 2.0, F)
    assert [cause.key for cause in found.causes] == ["le", "reluctance"]
    shares = found.shares("even")
    np.testing.assert_allclose(shares[-1], 0.0, atol=1e-9)
    assert shares[1, -1] > 0.8
    tones = steady_tones(driver, 2.0, F[-1:])
    current = abs(tones.current_a[1, 0])
    first_order = 0.5 * 0.011 * current**2 / 2 / (2.6 * current)
    assert found.thd_alone[1, -1] == pytest.approx(first_order, rel=0.03)


def test_contributions_are_those_of_perturbation(straight: DriverModel) -> None:
    """K(x) = k0 + k1 x and Bl(x) = b0 + b1 x, weak: of a motion X e^{jwt} the first makes the force -½ k1 X² at 2w, the second ½ b1 X I and, through the
    current of the voltage ½ b1 X V, another; driver-to-pressure is the same for both, so that shares follow from these phasors alone.
    """
    k1, b1, f = -2e4, 20.0, 45.0
    driver = replace(straight, K=(1150.0, k1), Bl=(2.6, b1))
    volts = 0.2
    found = distortion_causes(driver, volts, np.array([f]))
    tone = steady_tones(straight, volts, np.array([f]))
    x, i = tone.displacement_m[1, 0], tone.current_a[1, 0]
    w2 = 2j * math.pi * 2 * f
    coil = 3.6 + w2 * 1.1e-4 + w2 * 9e-5 * 1.6 / (1.6 + w2 * 9e-5)
    force_k = -0.5 * k1 * x * x
    force_b = 0.5 * b1 * x * i - 2.6 / coil * 0.5 * b1 * x * (0.5 * w2 * x)
    whole = force_k + force_b
    expected = [(one * np.conj(whole)).real / abs(whole) ** 2 for one in (force_b, force_k)]
    assert [cause.key for cause in found.causes] == ["bl", "k"]
    np.testing.assert_allclose(found.shares("even")[:2, 0], expected, rtol=0.01, atol=0.003)


def test_shares_add_up_and_cancelling_ones_are_negative(straight: DriverModel) -> None:
    """A suspension that is softer outwards against a motor weaker outwards: whatever they do, rows add up to one; where one cancels the other its
    share is below zero, and switching it off makes more distortion.
    """
    driver = replace(straight, K=(1150.0, -4e4), Bl=(2.6, -40.0), Le=(1.1e-4, -0.011))
    found = distortion_causes(driver, 1.0, F)
    for parity in ("even", "odd"):
        np.testing.assert_allclose(found.shares(parity).sum(axis=0), 1.0)  # type: ignore[arg-type]
        assert found.over_band(parity, BAND).sum() == pytest.approx(1.0)  # type: ignore[arg-type]
    shares = found.shares("even")
    cancelling = np.argwhere(shares[:-1] < -0.3)
    assert cancelling.size
    for cause, tone in cancelling:
        second = abs(found.harmonics[0, tone])
        assert found.thd_without[cause, tone] > second


def test_all_causes_of_the_whole_model(reference_driver: DriverModel) -> None:
    """Every nonlinearity, in a vented box: five causes, little left together at 1 W; the symptoms of Klippel 2006 (from memory, reference table D-05): stiffness
    leads in the bass, inductance and its pull at mid frequencies.
    """
    found = distortion_causes(full(reference_driver), 2.0, F, load=vented())
    assert found.causes == CAUSES
    assert np.all(found.ways == 2)
    even, odd = found.shares("even"), found.shares("odd")
    keys = [cause.key for cause in found.causes]
    assert keys[int(np.argmax(odd[:-1, 0]))] == "k"
    assert (
        even[keys.index("le"), -1] + even[keys.index("reluctance"), -1] + even[keys.index("le_i"), -1] > 0.9
    )
    assert np.abs(even[-1]).max() < 0.1


def test_switched_off_means_constant(reference_driver: DriverModel) -> None:
    """Each cause alone leaves the values at rest of all others, and the small-signal driver is the same."""
    driver = full(reference_driver)
    assert present(driver) == CAUSES
    for cause in CAUSES:
        one, acting = switched(driver, frozenset({cause.key}))
        assert (one.Bl[0], one.K[0], one.Le[0]) == (driver.Bl[0], driver.K[0], driver.Le[0])
        assert (len(one.Bl) > 1) == (cause.key == "bl")
        assert (len(one.K) > 1) == (cause.key == "k")
        assert (len(one.Le) > 1) == (cause.key in ("le", "reluctance"))
        assert bool(one.Le_i) == (cause.key == "le_i")
        assert acting == {"le": "voltage", "reluctance": "force"}.get(cause.key, "both")


def said(found: Causes) -> list[str]:
    """Codes of what is said."""
    return [one.code for one in causes_said(found, BAND)]


def test_what_cannot_be_told_is_said(straight: DriverModel) -> None:
    """Out of the travel nothing is told; where the cone leaves it only without a cause, the other comparison is used, and that is said."""
    stiffening = replace(straight, K=(1150.0, 0.0, 1e8), Bl=(2.6, 0.0, -3e4), x_range=(-2.2e-3, 2.2e-3))
    found = distortion_causes(stiffening, 2.3, F)
    assert set(found.standing) == {"steady"}
    keys = [cause.key for cause in found.causes]
    assert found.ways[keys.index("k")].min() < 2
    assert "cause-half-told" in said(found)
    np.testing.assert_allclose(found.shares("odd").sum(axis=0), 1.0)
    beyond = distortion_causes(stiffening, 12.0, F)
    assert "causes-not-told" in said(beyond)
    assert np.isnan(beyond.shares("odd")[:, 0]).all()


def test_causes_that_oppose_each_other_are_said(reference_driver: DriverModel, straight: DriverModel) -> None:
    """A suspension that stiffens outwards hides a motor that grows stronger outwards: that is told, and the motor made perfect alone makes more
    distortion over the band. Of ordinary drivers nothing is spoken of.
    """
    assert said(distortion_causes(reference_driver, 2.0, F)) == []
    opposing = replace(straight, K=(1150.0, 0.0, 1e7), Bl=(2.6, 0.0, 2e4))
    found = distortion_causes(opposing, 1.0, np.geomspace(*BAND, 9))
    assert [cause.key for cause in found.causes] == ["bl", "k"]
    assert said(found) == ["causes-cancel"]
    assert found.over_band("odd", BAND)[0] < -0.25
    assert np.sum(found.thd_without[0] ** 2) > np.sum(found.thd**2)


def test_a_straight_driver_has_no_causes(straight: DriverModel) -> None:
    """Nothing to look for is said; work can be cancelled."""
    with pytest.raises(InputError, match="no distortion"):
        distortion_causes(straight, 1.0, F)

    def stop(share: float, what: str) -> None:
        raise CancelledError

    with pytest.raises(CancelledError):
        distortion_causes(replace(straight, Bl=(2.6, 30.0)), 1.0, F, progress=stop)
