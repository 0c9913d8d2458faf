"""The impedance runs of the demonstration give back the physics that made them."""

from pathlib import Path

import pytest

from halfroll.core.verdicts import Severity
from halfroll.driver.demo.scenario import DRIVERS, RIGS, SEED, units_of
from halfroll.driver.lumped import small_signal
from halfroll.workshop import Workshop
from halfroll.workshop.demo import _add_records, _rig_record
from halfroll.workshop.demo_impedance import add_impedance
from halfroll.workshop.parameters import unit_parameters


def test_parameters_are_those_of_the_model(tmp_path: Path) -> None:
    """fs, Re, Mms, Bl of each unit within three standard uncertainties and 3 % of the driver that was played; tables with
    points and commas and a recording alike; the methods agree; nothing speaks against a curve.
    """
    shop = Workshop.init(tmp_path / "shop", "Saltmarsh Workshop", durable=False)
    for rig in RIGS:
        shop.create_rig(rig.name, _rig_record(rig))
    _add_records(shop, SEED)
    add_impedance(shop, SEED)
    avocet = DRIVERS[0]
    v7 = next(v for v in avocet.versions if v.name == "v7")
    methods = set()
    for unit in units_of(avocet, v7, SEED):
        found = unit_parameters(shop, f"avocet/v7/{unit.name}")
        assert [v.code for run in found.runs for v in run.verdicts if v.severity >= Severity.CAUTION] == []
        assert found.parameters is not None, found.missing
        assert all(pair.agrees for pair in found.parameters.agreement)
        methods |= {m.method for m in found.parameters.methods}
        truth, values = small_signal(unit.model), found.parameters.estimates
        for name, expected in (
            ("re_ohm", unit.model.Re),
            ("mms_kg", unit.model.Mms),
            ("bl_n_per_a", unit.model.Bl[0]),
            ("fs_hz", truth.fs),
        ):
            assert values.value(name) == pytest.approx(expected, rel=0.03), name
            if name != "fs_hz":  # creep moves the dynamic stiffness at fs a little
                assert abs(values.value(name) - expected) < 3.0 * values.u(name), name
    assert methods == {"added mass", "known volume", "weighed mass"}
