"""Free profiles from files: tables, SVG and DXF, against the circles and lines that were drawn in them."""

from __future__ import annotations

import io
import math
from typing import Any

import ezdxf
import numpy as np
import pytest

from halfroll.core.errors import InputError
from halfroll.suspension.profile import check_strip, profile_of, read_points
from tests.suspension.designs import strip


def around(points: Any, centre: tuple[float, float] = (35.0, 0.0)) -> Any:
    """Distances (mm) from a centre, z taken as drawn."""
    at = 1e3 * np.asarray(points)
    return np.hypot(at[:, 0] - centre[0], at[:, 1] - centre[1])


def svg(inside: str, attributes: str = 'width="50mm" height="20mm" viewBox="0 0 50 20"') -> str:
    """A drawing in mm."""
    return f'<svg xmlns="http://www.w3.org/2000/svg" {attributes}>{inside}</svg>'


def dxf(unit: int = 4) -> tuple[Any, Any]:
    """A new drawing and its model space."""
    drawing = ezdxf.new("R2010")
    drawing.header["$INSUNITS"] = unit
    return drawing, drawing.modelspace()


def text(drawing: Any) -> str:
    """Its content as a file."""
    stream = io.StringIO()
    drawing.write(stream)
    return stream.getvalue()


HALF_CIRCLES = {
    "arc": svg('<path d="M30 15 A5 5 0 0 1 40 15"/>'),
    "relative arc": svg('<path d="m30 15a5 5 0 0 1 10 0"/>'),
    "two arcs": svg('<path d="M30,15 A5,5,0,0,1,35,10 A5,5,0,0,1,40,15"/>'),
    "drawn from outside": svg('<path d="M40 15 A5 5 0 0 0 30 15"/>'),
    "view box in half millimetres": svg('<path d="M60 30 A10 10 0 0 1 80 30"/>', 'width="50mm" height="20mm" viewBox="0 0 100 40"'),
    "pixels of css": svg('<path d="M30 15 A5 5 0 0 1 40 15" transform="scale(3.7795275590551185)"/>', ""),
    "inches": svg('<path d="M30 15 A5 5 0 0 1 40 15"/>', 'width="1in" height="1in" viewBox="0 0 25.4 25.4"'),
    "in a moved and turned group": svg('<g transform="translate(35 15) rotate(90)"><path d="M0 5 A5 5 0 0 0 0 -5" transform="scale(-1 1) rotate(0)"/></g>'),
    "cubic": svg('<path d="M30 15 C30 12.2385763 32.2385763 10 35 10 S40 12.2385763 40 15"/>'),
}  # fmt: skip


@pytest.mark.parametrize("name", HALF_CIRCLES)
def test_an_svg_path_is_read_where_a_viewer_shows_it(name: str) -> None:
    """A half circle of radius 5 about (35, -15) mm drawn in many ways; y points down, so up in the picture is up. The cubics are
    the usual ones of four to the circle, 0.027 % off (kappa 0.5523). The reading library rounds a millimetre in its seventh digit.
    """
    points = read_points(HALF_CIRCLES[name], ".svg")
    at = np.array(points)
    assert 1e3 * at[0] == pytest.approx([30, -15], abs=1e-4)
    assert 1e3 * at[-1] == pytest.approx([40, -15], abs=1e-4)
    assert around(points, (35, -15)) == pytest.approx(5.0, abs=2e-3 if name == "cubic" else 1e-4)
    assert 1e3 * at[:, 1].max() == pytest.approx(-10, abs=0.05)
    check_strip(strip("free", points=1e3 * at))


def test_every_path_command_is_followed() -> None:
    """H, V, L, Q, T, C, S, A and their relative forms end where the grammar says (SVG 2, 9.3)."""
    path = "M10 10 L12 10 h2 Q16 10 17 8 t1 -2 C18.5 5 20 5 21 5 s2 0 3 0 a3 3 0 0 1 3 3 V 9 v1"
    points = 1e3 * np.array(read_points(svg(f'<path d="{path}"/>'), "svg"))
    corners = [
        (10, -10),
        (12, -10),
        (14, -10),
        (17, -8),
        (18, -6),
        (21, -5),
        (24, -5),
        (27, -8),
        (27, -9),
        (27, -10),
    ]
    for corner in corners:
        assert np.hypot(*(points - corner).T).min() < 1e-4


def test_straight_lines_are_points_of_a_smooth_line() -> None:
    """A polyline gives its corners and no more."""
    points = read_points(svg('<polyline points="30,15 32,12 35,10 38,12 40,15"/>'), ".svg")
    np.testing.assert_allclose(
        1e3 * np.array(points), [(30, -15), (32, -12), (35, -10), (38, -12), (40, -15)], atol=1e-4
    )


def test_a_line_into_an_arc_stays_a_line() -> None:
    """The spline through a tangential line and arc follows both to 3 µm."""
    points = read_points(svg('<path d="M25 15 H30 A5 5 0 0 1 35 20"/>'), ".svg")
    profile = profile_of(strip("free", 25, 35, thickness=0.2, points=1e3 * np.array(points)))
    line = profile.curve(np.linspace(0, 1, 2001))
    r, z = 1e3 * line.r, 1e3 * line.z
    off = np.where(r < 30, np.abs(z), np.abs(np.hypot(r - 30, z + 5) - 5))
    assert off.max() < 3e-3


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (svg(""), "must hold one path; found no path. Allowed: one open path"),
        (svg('<path d="M30 15h5"/><path d="M30 10h5"/>'), "must hold one path; found 2 paths"),
        (svg('<path d="M30 15h5M30 10h5"/>'), "must hold one path; found 2 paths"),
        (svg('<path d="M30 15h5v5z" id="wall"/>'), "The path must be open: one line from the inner to the outer clamp; found a closed path (wall)"),
        (svg('<circle cx="5" cy="5" r="3"/>'), "found a closed circle"),
        (svg('<path d="M30 15 A5 5 0 0 1 40 15 L45 10"/>'), "The path has a corner of 135° at x = 40.000 mm, y = -15.000 mm"),
        ("<sag><path d='M0 0L1 1'/></sag>", "The file must be an SVG drawing; found XML of another kind, <sag>"),
        ("<svg", "The file must be an SVG drawing; found text that is no XML"),
        ("30,15", "The file must be an SVG drawing"),
        ("", "The file must hold a profile; found an empty file"),
    ],
    ids=["nothing", "two", "two in one", "closed", "circle", "corner", "no svg", "broken", "other", "empty"],
)  # fmt: skip
def test_an_svg_that_holds_no_profile_is_refused(content: str, message: str) -> None:
    """What was found, and what is allowed."""
    with pytest.raises(InputError) as refused:
        read_points(content, ".svg")
    assert message in str(refused.value)


def test_a_dxf_path_is_joined_from_its_pieces() -> None:
    """Lip, half circle and lip in any order and direction; the arc keeps its radius of 5 to rounding."""
    drawing, space = dxf()
    space.add_line((45, 0), (40, 0))
    space.add_arc((35, 0), 5, 0, 180)
    space.add_text("surround")
    drawing.layers.add("off").off()
    space.add_line((0, 0), (99, 99), dxfattribs={"layer": "off"})
    with pytest.raises(InputError, match=r"corner of 90° at x = 4?0?"):
        read_points(text(drawing), ".dxf")  # a roll that meets its lip at a right angle is no smooth line
    space.delete_entity(space.query("LINE")[0])
    points = read_points(text(drawing), ".DXF")
    assert 1e3 * np.array(points[0]) == pytest.approx([30, 0], abs=1e-9)
    assert 1e3 * np.array(points[-1]) == pytest.approx([40, 0], abs=1e-9)
    assert around(points) == pytest.approx(5.0, abs=1e-9)
    check_strip(strip("free", points=1e3 * np.array(points)))


def wave(space: Any, kind: str) -> None:
    """A half circle of radius 5 about (35, 0), up, drawn in one of many ways."""
    quarter = math.tan(math.pi / 8)
    if kind == "lwpolyline":
        space.add_lwpolyline([(30, 0, -1.0), (40, 0, 0)], format="xyb")
    elif kind == "polyline":
        space.add_polyline2d([(40, 0, quarter), (35, 5, quarter), (30, 0, 0)], format="xyb")
    elif kind == "ellipse":
        space.add_ellipse((35, 0), major_axis=(5, 0), ratio=1.0, start_param=0, end_param=math.pi)
    elif kind == "spline":
        angles = np.linspace(math.pi, 0, 41)
        space.add_spline([(35 + 5 * math.cos(a), 5 * math.sin(a), 0) for a in angles])
    elif kind == "rational spline":
        root = math.sqrt(0.5)
        spline = space.add_spline(degree=2)
        spline.set_open_rational(
            [(30, 0), (30, 5), (35, 5), (40, 5), (40, 0)], [1, root, 1, root, 1], degree=2
        )
        spline.knots = [0, 0, 0, 1, 1, 2, 2, 2]
    elif kind == "mirrored arcs":
        for low, high in ((0, 90), (90, 180)):
            space.add_arc((-35, 0), 5, low, high, dxfattribs={"extrusion": (0, 0, -1)})
    elif kind == "block":
        block = space.doc.blocks.new("wall")
        block.add_arc((0, 0), 1, 0, 180)
        space.add_blockref("wall", (35, 0), dxfattribs={"xscale": 5, "yscale": 5})


@pytest.mark.parametrize(
    "kind", ["lwpolyline", "polyline", "ellipse", "spline", "rational spline", "mirrored arcs", "block"]
)
def test_every_curve_of_a_dxf_is_followed(kind: str) -> None:
    """The same half circle as bulges, ellipse, spline through points, rational spline (exact), in a mirrored plane, in a block."""
    drawing, space = dxf()
    wave(space, kind)
    points = read_points(text(drawing), ".dxf")
    assert 1e3 * np.array(points[0]) == pytest.approx([30, 0], abs=1e-6)
    assert 1e3 * np.array(points[-1]) == pytest.approx([40, 0], abs=1e-6)
    assert around(points) == pytest.approx(5.0, abs=5e-4 if kind == "spline" else 1e-9)
    assert 1e3 * max(z for _, z in points) == pytest.approx(5.0, abs=0.05)


@pytest.mark.parametrize(("unit", "size"), [(0, 1.0), (4, 1.0), (5, 0.1), (1, 1 / 25.4), (6, 1e-3)])
def test_the_unit_of_a_dxf_is_respected(unit: int, size: float) -> None:
    """The same arc in millimetres, centimetres, inches, metres, and in no stated unit (mm)."""
    drawing, space = dxf(unit)
    space.add_arc((35 * size, 0), 5 * size, 0, 180)
    assert around(read_points(text(drawing), ".dxf")) == pytest.approx(5.0)


def test_an_old_dxf_written_by_hand_is_read() -> None:
    """Release 12 with nothing but entities, as simple programs write it."""
    groups = ["0", "SECTION", "2", "ENTITIES", "0", "ARC", "8", "0", "10", "35.0", "20", "0.0", "40", "5.0", "50", "0.0", "51", "180.0",
              "0", "ENDSEC", "0", "EOF"]  # fmt: skip
    assert around(read_points("\r\n".join(groups).encode() + b"\r\n", ".dxf")) == pytest.approx(5.0)


def test_an_open_joint_of_a_dxf_is_said_where_and_how_wide() -> None:
    """Two quarter circles 0.12 mm apart."""
    drawing, space = dxf()
    space.add_arc((35, 0), 5, 90, 180)
    space.add_arc((35.12, 0), 5, 0, 90)
    with pytest.raises(
        InputError,
        match=r"open joint at x = 35\.\d+ mm, y = 5\.000 mm; found a gap of 0\.12 mm. Allowed: ends that meet to 0\.001 mm",
    ):
        read_points(text(drawing), ".dxf")


def test_a_dxf_that_holds_no_profile_is_refused() -> None:
    """Nothing, several paths, a branch, a loop, a circle, an unknown unit, and what is no DXF."""
    for draw, message in (
        (lambda s: s.add_text("x"), "no line or curve in the model space"),
        (
            lambda s: (s.add_line((0, 0), (5, 0)), s.add_line((20, 9), (30, 9))),
            "must hold one path; found 2 paths of 2",
        ),
        (
            lambda s: [s.add_line((5, 0), p) for p in ((0, 0), (9, 0), (5, 5))],
            "Three or more lines meet at x = 5.000 mm, y = 0.000 mm",
        ),
        (lambda s: s.add_lwpolyline([(0, 0), (5, 0), (5, 5)], close=True), "found a closed loop"),
        (lambda s: s.add_circle((5, 5), 2), "found a closed CIRCLE"),
    ):
        drawing, space = dxf()
        draw(space)
        with pytest.raises(InputError) as refused:
            read_points(text(drawing), ".dxf")
        assert message in str(refused.value)
    drawing, space = dxf(20)
    with pytest.raises(InputError, match=r"\$INSUNITS: .*found 20"):
        read_points(text(drawing), ".dxf")
    for broken in ("hello", "0\nSECTION\n2\nENTITIES\n0\nLINE\n10\nwide\n"):
        with pytest.raises(InputError, match="must"):
            read_points(broken, ".dxf")


@pytest.mark.parametrize(
    "table",
    ["r_mm,z_mm\n30,0\n35,5\n40,0\n", "x,y\n30,0\n35,5\n40,0", "# a roll\nz_mm;r_mm\n0;30,0\n5;35,0\n0;40,0\n", "x_mm\ty_mm\n40\t0\n35\t5\n30\t0\n",
     "\ufeffR_mm, Z_mm, remark\n30, 0, foot\n35, 5, top\n\n40, 0,\n"],
    ids=["comma", "xy", "semicolon", "from outside", "remarks"],
)  # fmt: skip
def test_a_table_of_points_is_read(table: str) -> None:
    """Columns by name in any order, mm, decimal commas between semicolons, from the inner end whichever way they stand."""
    np.testing.assert_allclose(1e3 * np.array(read_points(table, ".csv")), [(30, 0), (35, 5), (40, 0)])


@pytest.mark.parametrize(
    ("table", "message"),
    [
        ("30,0\n40,0\n", "line 1|must name its columns; found 30,0. Allowed: a first line r_mm,z_mm"),
        ("r_mm,z_mm\n30,0\n35,five\n", "z of a point must be a number in mm; found five"),
        ("r_mm,z_mm\n30\n", "z of a point must be a number in mm; found nothing"),
        ("r_mm,z_mm\n30,nan\n", "found nan"),
        ("# nothing\n", "must hold points"),
    ],
)  # fmt: skip
def test_a_table_that_holds_no_points_is_refused(table: str, message: str) -> None:
    """With the line it is in."""
    with pytest.raises(InputError, match=message) as refused:
        read_points(table, ".csv")
    if "five" in table:
        assert refused.value.place.line == 3


def test_other_files_are_refused() -> None:
    """Only the three kinds are read."""
    with pytest.raises(InputError, match=r"found \.step\. Allowed: \.csv, \.svg, \.dxf"):
        read_points("x", ".step")


@pytest.mark.parametrize(
    ("suffix", "kind"), [(".csv", "CSV"), (".svg", "SVG drawing"), (".dxf", "ASCII DXF")]
)
def test_binary_and_endless_files_are_refused_at_once(suffix: str, kind: str) -> None:
    """Bytes that are no text are told with the kind that is wanted; so is a file a hundred times too long."""
    with pytest.raises(InputError, match=f"{kind}.*found binary data"):
        read_points(b"AutoCAD Binary\r\n\x1a\x00\x01\xfe", suffix)
    with pytest.raises(InputError, match=r"small one; found 24.0 MB. Allowed: up to 1 MB"):
        read_points(b"M0 0 L1 1 " * 2_400_000, suffix)


def test_a_table_in_utf_16() -> None:
    """As some spreadsheets save text."""
    points = read_points("r_mm,z_mm\n30,0\n35,3\n40,0\n".encode("utf-16"), ".csv")
    assert np.asarray(points) == pytest.approx(np.array([(0.03, 0.0), (0.035, 0.003), (0.04, 0.0)]))


def test_a_file_of_two_points_is_no_profile() -> None:
    """It is told of the file, not of the record that names it."""
    with pytest.raises(InputError, match="file of a profile must hold at least 3 points; found 2"):
        read_points("r_mm,z_mm\n30,0\n40,0\n", ".csv")
