"""Two motors as designs, and the matter they are made of; the geometry is that of the reference motors A1 and A2."""

from __future__ import annotations

from halfroll.materials.types import Conductor, Filament, MagnetGrade, Origin, Steel, Wire
from halfroll.motor.coil.design import CoilDesign
from halfroll.motor.placing.design import Design, MotorDesign, PartDesign, Placement

MM = 1e-3
OF_TEST = Origin(source="made up for a test", support="own")


def grade(title: str = "N", **changes: float) -> MagnetGrade:
    """A magnet grade with round numbers."""
    values = {
        "br_t": 1.28, "br_u_t": 0.01, "hcb_a_m": 9e5, "hcj_a_m": 9.5e5, "mu_rec": 1.05, "alpha_br_per_k": -1.2e-3,
        "beta_hcj_per_k": -6e-3, "highest_c": 80.0, "lowest_c": -40.0, "density_kg_m3": 7500.0, "conductivity_s_m": 6e5,
    } | changes  # fmt: skip
    return MagnetGrade(key=title.lower(), title=title, family="neodymium", origin=OF_TEST, **values)


STEEL = Steel(
    key="iron", title="iron", h_a_m=(0.0, 1e3, 1e5), b_t=(0.0, 1.6, 2.2), conductivity_s_m=6e6, density_kg_m3=7850.0,
    origin=OF_TEST,
)  # fmt: skip
COPPER = Conductor(
    key="copper", title="copper", resistivity_ohm_m=1.724e-8, alpha_per_k=3.93e-3, density_kg_m3=8930.0,
    specific_heat_j_kg_k=385.0, expansion_per_k=17e-6, origin=OF_TEST,
)  # fmt: skip
PETG = Filament(
    key="petg", title="PETG", density_kg_m3=1270.0, density_u_kg_m3=20.0, modulus_pa=2e9, modulus_u_pa=2e8, glass_c=80.0,
    continuous_c=60.0, expansion_per_k=6e-5, origin=OF_TEST,
)  # fmt: skip
WIRE = Wire(
    key="w",
    title="0.25 mm",
    bare_m=0.25 * MM,
    overall_m=0.3 * MM,
    conductor=COPPER,
    class_c=155.0,
    origin=OF_TEST,
)


def disc(name: str, outer: float, height: float, **more: object) -> PartDesign:
    """A steel disc in mm unless another material is given."""
    return PartDesign(
        name=name, shape="disc", outer_m=outer * MM, height_m=height * MM, **({"material": STEEL} | more)
    )  # type: ignore[arg-type]


def ring(name: str, outer: float, inner: float, height: float, **more: object) -> PartDesign:
    """A steel ring in mm unless another material is given."""
    return PartDesign(
        name=name, shape="ring", outer_m=outer * MM, inner_m=inner * MM, height_m=height * MM, **({"material": STEEL} | more)
    )  # type: ignore[arg-type]  # fmt: skip


def on(name: str, glue: float = 0.0) -> Placement:
    """On another part, glue in mm."""
    return Placement(how="on", of=name, glue_m=glue * MM)


def coil(inner: float, **changes: object) -> CoilDesign:
    """Two layers of 0.3 mm on a former of 0.2 mm wall, inner diameter in mm."""
    values: dict[str, object] = {
        "wire": WIRE, "layers": 2, "turns": 40, "former_inner_m": inner * MM, "former_wall_m": 0.2 * MM, "former": PETG,
    }  # fmt: skip
    return CoilDesign(**(values | changes))  # type: ignore[arg-type]


FERRITE = grade("F", br_t=0.38, mu_rec=1.06, highest_c=250.0)


def a1() -> MotorDesign:
    """An outer ferrite ring between washers, with a solid pole: reference motor A1."""
    return MotorDesign(
        parts=(
            ring("back plate", 60, 25, 4),
            ring("magnet", 60, 32, 10, material=FERRITE, magnetised="down", placement=on("back plate")),
            ring("top plate", 50, 28, 4, placement=on("magnet")),
            disc("pole", 25, 18, placement=Placement(how="beside", of="back plate", align="bottom")),
        ),
        gap=("pole", "top plate"),
    )


def a2() -> MotorDesign:
    """A neodymium disc with its pole plate in a steel cup: reference motor A2."""
    return MotorDesign(
        parts=(
            disc("cup floor", 31, 4),
            ring("cup wall", 31, 23, 14, placement=on("cup floor")),
            disc("magnet", 20, 10, material=grade(), magnetised="up", placement=on("cup floor")),
            disc("pole plate", 20, 4, placement=on("magnet")),
        ),
        gap=("pole plate", "cup wall"),
    )


def a2_with_coil(**changes: object) -> Design:
    """A2 with a coil of 20.5 mm inner diameter: 0.25 mm of air inside, 0.45 mm outside."""
    return Design(motor=a2(), coil=coil(20.5, **changes))
