"""A driver in a vented box against a circuit solver, see references/vented_box."""

import json
from pathlib import Path

import numpy as np
import pytest

from halfroll.acoustics.air import Air
from halfroll.driver.lumped import DriverModel
from halfroll.driver.vented import VentedBox, vented_response

REFERENCE = json.loads(
    (Path(__file__).parents[1] / "references" / "vented_box" / "ac_vented.json").read_text(encoding="utf-8")
)


@pytest.mark.parametrize("what", ["cone", "port"])
def test_against_the_circuit_solver(what: str, reference_driver: DriverModel, reference_air: Air) -> None:
    """Pressures of cone and port at 1 m in half space, ngspice 39.3, to nine digits."""
    constants = REFERENCE["constants"]
    box = VentedBox(volume_m3=constants["Vb_m3"], tuning_hz=constants["fb_hz"], leak_q=constants["QL"])
    found = vented_response(reference_driver, box, np.array(REFERENCE["frequency_hz"]), reference_air)
    flow = found.cone_flow if what == "cone" else found.port_flow
    stored = REFERENCE[f"p_{what}_Pa_per_V"]
    expected = np.array(stored["re"]) + 1j * np.array(stored["im"])
    assert np.allclose(reference_air.density / (2.0 * np.pi) * flow, expected, rtol=1e-7, atol=0.0)
