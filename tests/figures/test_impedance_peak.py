"""The principal peak of the impedance against `scipy.signal.find_peaks` (SciPy, BSD licence)."""

from __future__ import annotations

import numpy as np
from scipy.signal import find_peaks

from halfroll.figures.impedance import LEAST_PEAK, _principal_peak


def test_principal_peak_is_the_most_prominent() -> None:
    """On random walks."""
    random = np.random.default_rng(6)
    none = 0
    for _ in range(500):
        steps = random.normal(size=random.integers(3, 80))
        modulus = np.abs(np.cumsum(steps)) + random.uniform(0.5, 20.0)
        peaks, shape = find_peaks(modulus, prominence=LEAST_PEAK * modulus.min())
        wanted = int(peaks[np.argmax(shape["prominences"])]) if len(peaks) else None
        none += wanted is None
        assert _principal_peak(modulus) == wanted
    assert 0 < none < 250
