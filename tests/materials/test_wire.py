"""Winding wire against published tables: gauge sizes, resistance and mass of a metre, limits, clad wire."""

import math
from dataclasses import replace

import pytest

from halfroll.core.errors import InputError
from halfroll.materials.catalogue import catalogue
from halfroll.materials.conductors import ALUMINIUM, COPPER, COPPER_WINDING
from halfroll.materials.wire import (
    ENAMELS,
    awg_diameter_m,
    diameter_tolerance_m,
    enamel_grams_per_m,
    grams_per_m,
    ohm_per_m,
    ohm_per_m_range,
    resistance_factor,
    resistance_u,
    specific_heat_j_kg_k,
    with_enamel,
)

INCH = 25.4e-3
FOOT, POUND = 0.3048, 0.45359237
WIRES = catalogue().wires

# AWG 24 to 40 in inches, the rounded diameters of ASTM B258 as a wire maker's table of clad wire prints them.
AWG_INCH = (
    0.0201, 0.0179, 0.0159, 0.0142, 0.0126, 0.0113, 0.0100, 0.0089, 0.0080, 0.0071, 0.0063, 0.0056, 0.0050, 0.0045, 0.0040,
    0.0035, 0.0031,
)  # fmt: skip


def test_gauge_sizes_are_those_of_astm_b258():
    """Every size to the last printed digit (0.1 mil); 36 is 5 mil by definition and the step the 39th root of 92."""
    for gauge, inches in zip(range(24, 41), AWG_INCH, strict=True):
        assert awg_diameter_m(gauge) / INCH == pytest.approx(inches, abs=0.51e-4)
        assert WIRES[f"cu-awg{gauge}-g1"].bare_m == pytest.approx(awg_diameter_m(gauge))
    assert awg_diameter_m(36) == pytest.approx(5e-3 * INCH)
    assert awg_diameter_m(35) / awg_diameter_m(36) == pytest.approx(1.1229322, rel=1e-7)


@pytest.mark.parametrize(("gauge", "ohm"), [(30, 0.3385), (34, 0.85575), (36, 1.3600)])
def test_resistance_of_gauge_sizes(gauge, ohm):
    """A public table of copper wire, within 0.1 %: it rounds, and has 1.724 µohm cm."""
    assert ohm_per_m(WIRES[f"cu-awg{gauge}-g1"]) == pytest.approx(ohm, rel=1e-3)


def test_copper_is_one_fifty_eighth():
    """1/58 ohm mm²/m (IEC 60028), and the nominal value of winding wire 0.86 % below it (IEC 60317-0-1)."""
    metre = replace(WIRES["cu-awg24-g1"], bare_m=math.sqrt(4e-6 / math.pi))  # 1 mm²
    assert ohm_per_m(metre) == pytest.approx(1 / 58)
    assert grams_per_m(metre) == pytest.approx(8.89)
    assert COPPER.resistivity_ohm_m / COPPER_WINDING.resistivity_ohm_m == pytest.approx(1.0086, abs=5e-5)


# IEC 60317-0-1: nominal, largest and smallest ohm/m at 20 °C as a South African wire maker's table of conductors prints them.
IEC_OHM = {
    0.250: (0.3482, 0.3628, 0.3345), 0.280: (0.2776, 0.2882, 0.2676), 0.315: (0.2193, 0.2270, 0.2121),
    0.400: (0.1360, 0.1407, 0.1316),
}  # fmt: skip


@pytest.mark.parametrize(("bare_mm", "ohms"), IEC_OHM.items())
def test_metric_wire_has_the_resistance_and_the_limits_of_iec(bare_mm, ohms):
    """All three to the last printed digit: 58.5, 58 and 59 MS/m, and the tolerance of the diameter."""
    wire = WIRES[f"cu-{bare_mm:.3f}-g1"]
    low, high = ohm_per_m_range(wire)
    assert (ohm_per_m(wire), high, low) == pytest.approx(ohms, abs=0.6e-4)
    assert low < ohm_per_m(wire) < high
    assert 0.015 < resistance_u(wire) < 0.03


# Overall diameters (mm) of grade 1 and 2 that makers print: metric sizes by IEC 60317-0-1, and gauge sizes.
OVERALL = {
    "0.100": (0.117, None), "0.200": (0.226, 0.239), "0.250": (0.281, 0.297), "0.280": (0.312, 0.329), "awg26": (0.443, 0.463),
    "awg28": (0.354, 0.373), "awg30": (0.285, 0.301), "awg32": (0.229, 0.242), "awg34": (0.182, 0.194), "awg36": (0.146, 0.156),
    "awg38": (0.119, 0.127), "awg40": (0.093, 0.100),
}  # fmt: skip


@pytest.mark.parametrize(("name", "overall_mm"), OVERALL.items())
def test_overall_diameters_are_those_makers_print(name, overall_mm):
    """Metric ones exactly; gauge sizes, whose enamel is that of the next larger metric size, within 1.5 %."""
    for grade, stated in enumerate(overall_mm, 1):
        if stated is not None:
            ours = 1e3 * WIRES[f"cu-{name}-g{grade}"].overall_m
            assert ours == pytest.approx(stated, rel=1e-9 if name[0] == "0" else 0.015)


# Copper-clad aluminium by ASTM B566, AWG 14, as two pages of a wire maker print it: lb and ohm per 1000 ft.
CLAD = {"cca10": (0.10, 4.64, 3.91, 0.120, 62.9), "cca15": (0.15, 5.06, 3.79, 0.131, 64.4)}


@pytest.mark.parametrize(("name", "stated"), CLAD.items())
def test_clad_wire_conducts_and_weighs_as_its_metals_together(name, stated):
    """Density to its last digit (lb/in³), mass and resistance within 0.6 %, conductivity above the standard's least."""
    share, pounds, ohms, density, least_iacs = stated
    thick = replace(WIRES[f"{name}-awg24-g1"], bare_m=awg_diameter_m(14))
    assert thick.clad_share == share
    assert grams_per_m(thick) * FOOT / POUND == pytest.approx(pounds, rel=6e-3)
    assert 1e3 * FOOT * ohm_per_m(thick) == pytest.approx(ohms, rel=6e-3)
    area = math.pi / 4 * thick.bare_m**2
    assert 1e-3 * grams_per_m(thick) / area * INCH**3 / POUND == pytest.approx(density, abs=6e-4)
    assert 100 / (58e6 * ohm_per_m(thick) * area) > least_iacs
    assert ohm_per_m_range(thick)[1] > ohm_per_m(thick)


def test_a_worked_coil():
    """60 turns of 0.160 mm on 20.8 mm mean diameter: 3.92071 m, 3.36207 ohm with 1/58, 0.70080 g of copper."""
    wire = replace(WIRES["cu-0.160-g1"], conductor=COPPER)
    length = 60 * math.pi * 20.8e-3
    assert length == pytest.approx(3.92071, abs=5e-6)
    assert ohm_per_m(wire) * length == pytest.approx(3.36207, abs=5e-6)
    assert grams_per_m(wire) * length == pytest.approx(0.70080, abs=5e-6)
    assert 30 * wire.overall_m == pytest.approx(5.46e-3)


def test_warm_wire():
    """Copper +100 K: 1.393; a clad wire lies between its metals; enamel weighs a few percent of copper."""
    copper, clad = WIRES["cu-0.200-g1"], WIRES["cca10-0.200-g1"]
    assert resistance_factor(copper, 120.0) == pytest.approx(1.393)
    assert 1 + 100 * COPPER.alpha_per_k < resistance_factor(clad, 120.0) < 1 + 100 * ALUMINIUM.alpha_per_k
    assert 0.03 < enamel_grams_per_m(copper) / grams_per_m(copper) < 0.06
    assert COPPER.specific_heat_j_kg_k < specific_heat_j_kg_k(clad) < ALUMINIUM.specific_heat_j_kg_k


def test_enamels_and_tolerances():
    """The enamel is the maker's choice; fine wires have limits of resistance, about 9 % each way."""
    assert WIRES["cu-0.200-g1"].class_c == 155.0
    assert with_enamel(WIRES["cu-0.200-g1"], "polyamide-imide-220").class_c == 220.0
    assert ENAMELS["polyester-imide-180"].class_c == 180.0
    assert diameter_tolerance_m(0.2e-3) == pytest.approx(3e-6)
    _, high = ohm_per_m_range(WIRES["cu-0.050-g1"])
    assert 0.07 < high / ohm_per_m(WIRES["cu-0.050-g1"]) - 1 < 0.11


@pytest.mark.parametrize(("call", "words"), [
    (lambda: awg_diameter_m(60), "0 to 50"),
    (lambda: with_enamel(WIRES["cu-0.200-g1"], "varnish"), "polyurethane-155"),
    (lambda: ohm_per_m(WIRES["cu-0.200-g1"], math.nan), "found nan"),
    (lambda: resistance_factor(WIRES["cu-0.200-g1"], 900.0), "-60 to 400"),
])  # fmt: skip
def test_what_cannot_be_is_refused(call, words):
    """The message says what is allowed."""
    with pytest.raises(InputError, match=words):
        call()


@pytest.mark.parametrize(("name", "iacs"), [("cca10", 0.629), ("cca15", 0.644)])
def test_clad_wire_resists_no_more_than_astm_b566_allows(name, iacs):
    """Least conductivity of classes 10A and 15A, 62.9 and 64.4 % IACS (ASTM B566), in the thinnest wire of its tolerance."""
    wire = catalogue().wires[f"{name}-0.200-g1"]
    thinnest = math.pi / 4 * (0.200 - 0.003) ** 2
    assert ohm_per_m_range(wire)[1] == pytest.approx(1 / (58 * iacs * thinnest))
