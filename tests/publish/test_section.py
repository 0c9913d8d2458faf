"""The half-section of a motor: to scale, hatched by body, with the field where it belongs."""

from __future__ import annotations

import base64
import io
import math
import re
import xml.etree.ElementTree as ET
from dataclasses import replace

import numpy as np
import pytest
from PIL import Image
from scipy.spatial import Delaunay

from halfroll.materials.types import Conductor, MagnetGrade, Origin, Steel
from halfroll.motor.placing.polygons import distance
from halfroll.motor.results import FieldMap, ForceFactor, MotorResult
from halfroll.motor.types import Assembly, Body, Filler, Gap, Magnet, Matter, Ring, SoftSteel, Winding
from halfroll.publish.ramp import oklab, ramp, rgb_of
from halfroll.publish.section import section_svg, section_words
from halfroll.publish.section_dimensions import heights
from halfroll.publish.section_hatch import hatches
from halfroll.publish.theme import contrast, theme
from halfroll.publish.triangles import contour, pixels

SVG = "{http://www.w3.org/2000/svg}"
MINE = Origin(source="made up", support="own")
STEEL = SoftSteel(
    steel=Steel(
        key="s",
        title="S",
        h_a_m=(0, 1e3),
        b_t=(0, 1.5),
        conductivity_s_m=6e6,
        density_kg_m3=7850,
        origin=MINE,
    )
)
GRADE = MagnetGrade(
    key="m", title="M", family="ferrite", br_t=0.38, br_u_t=0.01, hcb_a_m=2.5e5, hcj_a_m=2.6e5, mu_rec=1.06, alpha_br_per_k=-0.002,
    beta_hcj_per_k=0.003, highest_c=200, lowest_c=-40, density_kg_m3=4900, conductivity_s_m=0, origin=MINE,
)  # fmt: skip
COPPER = Conductor(key="c", title="C", resistivity_ohm_m=1.7e-8, alpha_per_k=0.0039, density_kg_m3=8900, specific_heat_j_kg_k=385,
                   expansion_per_k=17e-6, origin=MINE)  # fmt: skip


def box(name: str, r0: float, r1: float, z0: float, z1: float, matter: Matter) -> Body:
    """A ring of rectangular section, in mm."""
    corners = ((r0, z0), (r1, z0), (r1, z1), (r0, z1))
    return Body(name=name, outline=tuple((1e-3 * r, 1e-3 * z) for r, z in corners), matter=matter)


def motor() -> Assembly:
    """A ring magnet between plates around a pole, with a copper ring and a printed spacer."""
    bodies = (
        box("pole", 0, 12.5, -16, 2, STEEL), box("back plate", 12.5, 30, -16, -12, STEEL),
        box("magnet", 16, 30, -12, -2, Magnet(grade=GRADE, direction=(0, -1))), box("top plate", 14, 25, -2, 2, STEEL),
        box("ring", 12.5, 14, -12, -10, Ring(conductor=COPPER)), box("spacer", 25, 30, -2, 2, Filler(title="PETG", density_kg_m3=1270)),
    )  # fmt: skip
    gap = Gap(inner="pole", outer="top plate", r_inner=12.5e-3, r_outer=14e-3, z_low=-2e-3, z_high=2e-3)
    return Assembly(
        bodies=bodies,
        gap=gap,
        winding=Winding(r_inner=12.9e-3, r_outer=13.5e-3, z_low=-4e-3, z_high=4e-3, turns=50),
    )


def uniform(b_t: float) -> MotorResult:
    """A field along the axis, the same everywhere: flux pi r² B through a circle of radius r."""
    r, z = (grid.ravel() for grid in np.meshgrid(np.linspace(0, 0.06, 241), np.linspace(-0.05, 0.05, 21)))
    points = np.column_stack([r, z])
    triangles = Delaunay(points).simplices
    field = FieldMap(
        points_m=points, triangles=triangles, body=np.zeros(len(triangles), dtype=int), flux_wb=math.pi * r**2 * b_t,
        b_t=np.column_stack([np.zeros_like(r), np.full_like(r, b_t)]),
    )  # fmt: skip
    x = np.linspace(-1e-3, 1e-3, 5)
    return MotorResult(
        field=field, gap_mean_t=b_t, gap_u_t=0.0, gap_z_m=x, gap_b_t=np.full(5, b_t), gap_flux_wb=0, magnet_flux_wb=0, leakage_share=0.3,
        force_factor=ForceFactor(x_m=x, bl=np.ones(5), u=np.zeros(5)), offset_best_m=0.0, steel=(), magnets=(), stray_t=0.0, error=0.0,
        unknowns=1,
    )  # fmt: skip


def numbers(d: str) -> np.ndarray:
    """Points of path data made of M and L, (n, 2)."""
    return np.array([float(v) for v in re.findall(r"-?[\d.]+", d)]).reshape(-1, 2)


class Drawn:
    """A drawing read with a ruler."""

    def __init__(self, svg: str) -> None:
        self.root = ET.fromstring(svg)
        self.scale = float(self.root.get("data-px-per-mm", "nan"))
        self.axis, self.zero = (
            float(self.root.get("data-axis", "nan")),
            float(self.root.get("data-zero", "nan")),
        )

    def mm(self, d: str) -> np.ndarray:
        """Path data in mm (r, z)."""
        points = numbers(d)
        return np.column_stack(
            [(points[:, 0] - self.axis) / self.scale, (self.zero - points[:, 1]) / self.scale]
        )

    def bodies(self) -> dict[str, ET.Element]:
        """Bodies by name."""
        return {g.get("data-body", ""): g for g in self.root.iter(f"{SVG}g") if g.get("class") == "body"}

    def words(self) -> list[str]:
        """All words in it."""
        return ["".join(t.itertext()) for t in self.root.iter(f"{SVG}text")]


@pytest.mark.parametrize("width", [340, 820])
def test_outlines_lie_to_scale(width: int) -> None:
    """Every corner, measured in the drawing with its stated scale, is where the motor has it, to a hundredth of a pixel."""
    assembly = motor()
    drawn = Drawn(section_svg(assembly, theme=theme(), width_px=width))
    for body in assembly.bodies:
        outline = next(p for p in drawn.bodies()[body.name].iter(f"{SVG}path") if p.get("class") == "outline")
        assert drawn.mm(outline.get("d", "")) == pytest.approx(
            1e3 * np.array(body.outline), abs=0.011 / drawn.scale
        )
    assert float(drawn.root.get("width", "0")) == width


def test_dimensions_in_mm() -> None:
    """Width and height of the gap, height of winding and magnet, diameters of pole, magnet and all (ISO 129-1: no units)."""
    words = Drawn(section_svg(motor(), theme=theme(), width_px=800)).words()
    for number in ("1.5", "4", "8", "10", "⌀25", "⌀60"):
        assert number in words
    assert any(word.startswith("Dimensions in mm") for word in words)


def test_heights_that_follow_one_another_stand_in_a_chain() -> None:
    """Magnet on plate share one column of dimensions, the pole beside both has its own (ISO 129-1: chain dimensioning)."""
    column = {one.key: one.column for one in heights(motor())}
    assert column["height-magnet"] == column["height-back plate"]
    assert column["height-pole"] not in (column["height-magnet"], column["gap-height"], column["coil-height"])


def test_a_cap_on_the_pole_is_a_wall_to_the_coil() -> None:
    """In the enlarged gap the room is measured to the copper between pole and coil: 12.9 less 12.7 mm, and not from the pole's 12.5."""
    bare = motor()
    capped = replace(bare, bodies=(*bare.bodies, box("cap", 12.5, 12.7, -2, 2, Ring(conductor=COPPER))))
    for assembly, room in ((bare, "0.4"), (capped, "0.2")):
        svg = section_svg(assembly, theme=theme(), width_px=800, detail=True)
        (inside,) = (
            g for g in ET.fromstring(svg).iter(f"{SVG}g") if g.get("data-dimension") == "clearance-inside"
        )
        assert "".join(inside.itertext()) == room


def test_a_part_is_hatched_alike_on_both_sides() -> None:
    """ISO 128-3: all cut areas of one part have hatching of one direction and spacing, so it runs on through a solid pole; and on the
    axis, inside the part, there is no edge.
    """
    drawn = Drawn(section_svg(motor(), theme=None, width_px=600, dimensions=False, mirrored=True))
    for name in ("pole", "back plate", "top plate"):
        slopes, passed = set(), set()
        for path in drawn.bodies()[name].iter(f"{SVG}path"):
            if path.get("class") == "hatch":
                ends = drawn.mm(path.get("d", "").replace("M", " ").replace("L", " ")).reshape(-1, 2, 2)
                ends = ends[np.hypot(*(ends[:, 1] - ends[:, 0]).T) > 0.5]
                step = ends[:, 1] - ends[:, 0]
                slopes |= set(np.sign(step[:, 0] * step[:, 1]))
                across = (ends[:, 0, 1] - np.sign(step[:, 0] * step[:, 1]) * ends[:, 0, 0]) / 1e-1
                passed |= set(np.round(across).astype(int))
        assert len(slopes) == 1
        if name == "pole":  # solid: no gap where both halves meet
            apart = np.diff(sorted(passed))
            assert np.median(apart) == pytest.approx(np.max(apart), abs=2)
    for path in drawn.bodies()["pole"].iter(f"{SVG}path"):
        if path.get("class") == "outline":
            d = path.get("d", "")
            assert not d.endswith("Z")
            assert abs(drawn.mm(d)[[0, -1], 0]).max() < 0.01


def test_lines_of_the_standards() -> None:
    """Outlines twice as thick as narrow lines at least, the axis long-dashed dotted (ISO 128-2)."""
    drawn = Drawn(section_svg(motor(), theme=theme(), width_px=800))
    width = {
        p.get("class"): float(p.get("stroke-width", "0"))
        for p in drawn.root.iter(f"{SVG}path")
        if p.get("stroke-width")
    }
    assert width["outline"] >= 2 * width["hatch"]
    axis = next(p for p in drawn.root.iter(f"{SVG}path") if p.get("class") == "axis")
    long, _, dot, _ = (float(v) for v in axis.get("stroke-dasharray", "").split())
    assert long > 4 * dot
    assert set(drawn.mm(axis.get("d", "").replace("V", f"L{drawn.axis:.1f} "))[:, 0].round(2)) == {0.0}


def test_hatching_stays_in_its_body_at_45_degrees() -> None:
    """ISO 128-3: narrow lines at 45°, from face to face, none outside."""
    assembly = motor()
    drawn = Drawn(section_svg(assembly, theme=theme(), width_px=820))
    for body in assembly.bodies:
        r0, r1, z0, z1 = (1e3 * v for v in body.bounds)
        lines = [p for p in drawn.bodies()[body.name].iter(f"{SVG}path") if p.get("class") == "hatch"]
        points = np.concatenate([drawn.mm(p.get("d", "")) for p in lines]).reshape(-1, 2, 2)
        assert len(points) > 3
        along = points[:, 1] - points[:, 0]
        assert np.abs(np.abs(along[:, 0]) - np.abs(along[:, 1])).max() < 0.03 / drawn.scale
        inside = (points >= np.array([r0, z0]) - 0.01) & (points <= np.array([r1, z1]) + 0.01)
        assert inside.all()


def test_neighbours_are_hatched_differently() -> None:
    """ISO 128-3: adjacent parts by another direction or spacing; and every kind of matter has a pattern of its own."""
    assembly = motor()
    chosen = hatches(assembly.bodies)
    pairs = [
        (a, b) for a in range(len(chosen)) for b in range(a) if distance(assembly.bodies[a].outline, assembly.bodies[b].outline) < 1e-6
    ]  # fmt: skip
    assert len(pairs) >= 6
    assert all(chosen[a] != chosen[b] for a, b in pairs)
    drawn = Drawn(section_svg(assembly, theme=theme(), width_px=820))
    kinds = {g.get("data-kind") for g in drawn.bodies().values()}
    assert kinds == {"steel", "magnet", "metal", "print"}
    assert {"steel", "magnet", "conductor", "printed or other"} <= set(drawn.words())


def test_contour_of_a_plane_is_a_straight_line() -> None:
    """On scattered triangles the line 2x + 3y = 2.4 across the unit square is one piece from edge to edge, its length by Pythagoras."""
    rng = np.random.default_rng(4)
    points = np.vstack([rng.random((200, 2)), [[0, 0], [1, 0], [0, 1], [1, 1]]])
    lines = contour(points, Delaunay(points).simplices, points @ [2.0, 3.0], 2.4)
    assert len(lines) == 1
    assert lines[0] @ [2.0, 3.0] == pytest.approx(2.4, abs=1e-12)
    assert np.hypot(*np.diff(lines[0], axis=0).T).sum() == pytest.approx(
        math.hypot(1.0, 2.0 / 3.0), rel=1e-12
    )


def test_contour_of_a_bowl_closes_and_comes_near_a_circle() -> None:
    """The line x² + y² = 0.49 closes; with half the mesh its error falls to about a quarter, as straight pieces promise."""
    errors = []
    for n in (20, 40):
        x, y = (g.ravel() for g in np.meshgrid(np.linspace(-1, 1, n + 1), np.linspace(-1, 1, n + 1)))
        points = np.column_stack([x, y])
        lines = contour(points, Delaunay(points).simplices, x**2 + y**2, 0.49)
        assert len(lines) == 1
        assert np.array_equal(lines[0][0], lines[0][-1])
        errors.append(np.abs(np.hypot(*lines[0].T) - 0.7).max())
    assert errors[0] / errors[1] == pytest.approx(4.0, rel=0.35)


def test_a_line_goes_on_where_two_bodies_meet() -> None:
    """Nodes on a border occur once for each body: a line across it is still one."""
    points = np.array([[0, 0], [1, 0], [1, 1], [0, 1], [1, 0], [2, 0], [2, 1], [1, 1]], dtype=float)
    triangles = np.array([[0, 1, 2], [0, 2, 3], [4, 5, 6], [4, 6, 7]])
    lines = contour(points, triangles, points[:, 1], 0.5)
    assert len(lines) == 1
    assert np.ptp(lines[0][:, 0]) == pytest.approx(2.0)


def test_pixels_of_a_plane() -> None:
    """Colours run straight between corners: a plane is given back exactly, and beyond the triangles there is nothing."""
    rng = np.random.default_rng(5)
    points = np.vstack([rng.random((60, 2)), [[0, 0], [1, 0], [0, 1], [1, 1]]])
    grid = pixels(
        points, Delaunay(points).simplices, (points @ [2.0, 3.0])[:, None], (-0.5, 1.0, 0.0, 1.0), (40, 60)
    )[..., 0]
    x, y = np.meshgrid((np.arange(60) + 0.5) / 40 - 0.5, 1 - (np.arange(40) + 0.5) / 40)
    assert np.isnan(grid[x < 0]).all()
    assert grid[x > 0] == pytest.approx((2 * x + 3 * y)[x > 0], abs=1e-9)


def test_flux_lines_of_a_uniform_field() -> None:
    """In a field B everywhere the line of n steps of flux F runs straight at r = sqrt(n F/(pi B)) (F = pi r² B)."""
    svg = section_svg(motor(), result=uniform(0.8), theme=theme(), width_px=820)
    drawn = Drawn(svg)
    said = next(word for word in drawn.words() if "µWb between flux lines" in word)
    step = float(re.search(r"([\d.]+)\u202fµWb", said)[1]) * 1e-6  # type: ignore[index]
    lines = next(p for p in drawn.root.iter(f"{SVG}path") if p.get("class") == "flux-line").get("d", "")
    radii = sorted({round(float(np.mean(drawn.mm(piece)[:, 0])), 1) for piece in lines.split("M")[1:]})
    expected = [1e3 * math.sqrt(n * step / (math.pi * 0.8)) for n in range(1, len(radii) + 1)]
    assert len(radii) >= 4
    assert radii == pytest.approx(expected, abs=0.12)


def test_colour_is_even_and_reads_in_grey() -> None:
    """Equal steps in OKLab (Ottosson 2020), lightness always the same way, ink of hatching still readable at the end (WCAG 3:1)."""
    assert oklab(np.ones(3)) == pytest.approx([1.0, 0.0, 0.0], abs=2e-4)
    assert oklab(np.array([1.0, 0.0, 0.0])) == pytest.approx(
        [0.62796, 0.22486, 0.12585], abs=2e-4
    )  # red, CSS Color 4, clause 9
    for name in ("light", "dark", "print"):
        look = theme(name).palette
        colours = ramp(look.paper, 32)
        lab = oklab(colours / 255.0)
        steps = np.linalg.norm(np.diff(lab, axis=0), axis=1)
        assert steps.max() / steps.min() < 1.7  # eight bits a channel
        light = np.diff(lab[:, 0])
        assert (light < 0).all() if lab[0, 0] > 0.5 else (light > 0).all()
        assert abs(lab[-1, 0] - lab[0, 0]) > 0.3
        end = "#" + "".join(f"{v:02x}" for v in colours[-1])
        assert contrast(look.ink, end) >= 3.0
        assert colours[0] / 255.0 == pytest.approx(rgb_of(look.paper), abs=0.005)


def test_the_picture_shows_the_field_where_it_is() -> None:
    """The colours, decoded by Pillow: a uniform field of 1 T is one colour, two thirds along the scale to 1.5 T; file stays light."""
    svg = section_svg(motor(), result=uniform(1.0), theme=theme(), width_px=820)
    assert len(svg) < 400_000
    image = next(Drawn(svg).root.iter(f"{SVG}image"))
    data = base64.b64decode(image.get("href", "").partition(",")[2])
    picture = np.asarray(Image.open(io.BytesIO(data)).convert("RGBA"))
    seen = picture[picture[..., 3] == 255][:, :3]
    assert len(np.unique(seen, axis=0)) == 1
    top = max(float(w.split("\u202f")[0]) for w in Drawn(svg).words() if re.fullmatch(r"[\d.]+\u202fT", w))
    assert seen[0] == pytest.approx(ramp(theme().palette.paper, 301)[round(300 / top)], abs=3)


def test_field_and_lines_can_be_left_out() -> None:
    """Without a field there is neither; and each can be left out by itself."""
    result = uniform(0.5)
    assert "<image" not in section_svg(motor(), theme=theme(), width_px=400)
    both = section_svg(motor(), result=result, theme=theme(), width_px=400)
    assert "<image" in both
    assert "flux-line" in both
    only = section_svg(motor(), result=result, show=("flux lines",), theme=theme(), width_px=400)
    assert "<image" not in only
    assert 'class="hatch"' not in only.partition("swatch")[0].partition('class="coil"')[0]


def test_the_field_of_earlier_dimensions_is_pale_and_said() -> None:
    """A result of another motor is not passed off as one of this."""
    before, now = motor(), motor()
    shifted = Assembly(bodies=now.bodies[:5], gap=now.gap, winding=now.winding)
    svg = section_svg(shifted, result=uniform(0.5), theme=theme(), width_px=500, solved=before)
    assert 'class="earlier"' in svg
    assert any("earlier dimensions" in word for word in Drawn(svg).words())
    assert 'class="earlier"' not in section_svg(
        before, result=uniform(0.5), theme=theme(), width_px=500, solved=before
    )


def test_the_gap_enlarged_shows_the_clearances() -> None:
    """Nothing but the gap, to a scale of its own: widths between the coil and both walls stand over it, and all lies in the picture."""
    svg = section_svg(motor(), theme=theme(), width_px=600, detail=True)
    drawn = Drawn(svg)
    words = {
        g.get("data-dimension"): "".join(g.itertext())
        for g in drawn.root.iter(f"{SVG}g")
        if g.get("data-dimension")
    }
    assert words == {
        "gap-width": "1.5",
        "clearance-inside": "0.4",
        "clearance-outside": "0.5",
        "gap-height": "4",
        "coil-height": "8",
    }
    assert drawn.scale > 3 * Drawn(section_svg(motor(), theme=theme(), width_px=600)).scale
    pole = next(p for p in drawn.bodies()["pole"].iter(f"{SVG}path") if p.get("class") == "outline")
    assert drawn.mm(pole.get("d", ""))[:, 0].max() == pytest.approx(12.5, abs=0.01)


def test_a_thumbnail_has_both_halves_and_the_page_s_colours() -> None:
    """Mirrored about the axis, colours as variables of the style sheet, so that one drawing serves light and dark."""
    svg = section_svg(motor(), theme=None, width_px=300, dimensions=False, mirrored=True)
    drawn = Drawn(svg)
    outlines = [
        drawn.mm(p.get("d", ""))
        for p in drawn.bodies()["magnet"].iter(f"{SVG}path")
        if p.get("class") == "outline"
    ]
    assert outlines[0] == pytest.approx(outlines[1] * [-1, 1], abs=0.05)
    assert "var(--ink)" in svg
    assert not re.search(r"#[0-9a-f]{6}", svg)
    assert len(svg) < 60_000


def test_it_speaks() -> None:
    """Who listens is told the parts, the gap and the field."""
    words = section_words(motor(), uniform(0.5), "Knot v1")
    assert words.startswith("Knot v1: half-section of a motor of 6 parts: pole (steel)")
    assert "Gap 1.5 mm wide and 4 mm high, winding 8 mm high" in words
    assert "0.5 T" in words
