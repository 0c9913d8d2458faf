"""Files of models, read again by libraries that did not write them, and held against the rules of 3MF and STL."""

import io
import re
import struct
import time
import xml.etree.ElementTree as ET
import zipfile
from collections import Counter

import numpy as np
import pytest
import trimesh

from halfroll.core.errors import InputError
from halfroll.publish.printing import step
from halfroll.publish.printing.files import version_files, write_model
from halfroll.publish.printing.plate import places_on_plate
from halfroll.publish.printing.step import runs, write_step
from halfroll.publish.printing.stl import write_stl
from halfroll.publish.printing.threemf import CORE, write_3mf
from halfroll.suspension.models.build import model_of, models_of
from tests.suspension.models import parts

WITHIN = 0.002
NS = f"{{{CORE}}}"

# 3MF Core Specification: section 2.1.1 (parts), 3 (model), 3.4 (build), 4.1 (meshes); ST_Number of its schema.
NUMBER = re.compile(r"(\-|\+)?(([0-9]+(\.[0-9]+)?)|(\.[0-9]+))((e|E)(\-|\+)?[0-9]+)?")
METADATA = {"Title", "Designer", "Description", "Copyright", "LicenseTerms", "Rating", "CreationDate", "ModificationDate", "Application"}  # fmt: skip


@pytest.fixture(scope="module")
def models():
    """Everything of a driver."""
    return models_of(parts.moving(), jig=parts.jig())


@pytest.fixture(scope="module")
def packed(models):
    """The 3MF file of it all."""
    return write_3mf(models, title="dunlin/v1 & co", designer="Saltmarsh <Workshop>")


def document(packed: bytes) -> ET.Element:
    """The XML of the model part."""
    with zipfile.ZipFile(io.BytesIO(packed)) as archive:
        return ET.fromstring(archive.read("3D/3dmodel.model"))


VOLUMES = {
    "surround": parts.half_roll_volume(),
    "cone": parts.cone_volume(),
    "cap": parts.cap_volume(),
    "former": parts.former_volume(),
}


def test_3mf_reads_back_with_every_part_right(models, packed):
    """Trimesh's own reader: millimetres, closed, wound one way, volumes of the closed forms within 0.2 %, corners welded."""
    scene = trimesh.load(io.BytesIO(packed), file_type="3mf")
    assert scene.units == "millimeter"
    assert set(scene.geometry) == {model.title for model in models}
    for model in models:
        part = scene.geometry[model.title]
        assert part.is_watertight
        assert part.is_winding_consistent
        assert part.volume == pytest.approx(VOLUMES.get(model.name, model.volume_m3) * 1e9, rel=WITHIN)
        assert len(part.vertices) == len(model.mesh.corners_m)


def test_3mf_package_is_as_open_packaging_and_the_core_specification_want_it(packed):
    """Section 2.1: content types for both kinds of part, one start part, its relation from the package, nothing external."""
    with zipfile.ZipFile(io.BytesIO(packed)) as archive:
        assert archive.testzip() is None
        assert archive.namelist() == ["[Content_Types].xml", "_rels/.rels", "3D/3dmodel.model"]
        types = ET.fromstring(archive.read("[Content_Types].xml"))
        relations = ET.fromstring(archive.read("_rels/.rels"))
    assert {one.get("Extension"): one.get("ContentType") for one in types} == {
        "rels": "application/vnd.openxmlformats-package.relationships+xml",
        "model": "application/vnd.ms-package.3dmanufacturing-3dmodel+xml",
    }
    (start,) = relations
    assert start.get("Target") == "/3D/3dmodel.model"
    assert start.get("Type") == "http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"
    assert start.get("TargetMode", "Internal") == "Internal"


def test_3mf_model_is_in_order_and_named(models, packed):
    """Section 3: unit, metadata of the known names, then resources, then build; ids positive and one each; base materials before objects."""
    root = document(packed)
    assert root.tag == NS + "model"
    assert root.get("unit") == "millimeter"
    assert [child.tag.removeprefix(NS) for child in root] == [
        "metadata",
        "metadata",
        "metadata",
        "resources",
        "build",
    ]
    names = {one.get("name"): one.text for one in root.findall(NS + "metadata")}
    assert names == {"Title": "dunlin/v1 & co", "Designer": "Saltmarsh <Workshop>", "Application": "halfroll"}
    assert names.keys() <= METADATA
    resources = list(root.find(NS + "resources"))
    assert [one.tag.removeprefix(NS) for one in resources] == ["basematerials"] + ["object"] * len(models)
    ids = [int(one.get("id")) for one in resources]
    assert min(ids) > 0
    assert len(set(ids)) == len(ids)
    bases = list(resources[0])
    assert all(re.fullmatch(r"#[0-9A-Fa-f]{6}", base.get("displaycolor")) for base in bases)
    for one in resources[1:]:
        assert one.get("type") == "model"
        assert (one.get("pid"), int(one.get("pindex")) < len(bases)) == (str(ids[0]), True)
    items = root.findall(f"{NS}build/{NS}item")
    assert [int(item.get("objectid")) for item in items] == ids[1:]


def test_3mf_meshes_keep_the_rules_for_edges_and_faces(packed):
    """Section 4.1: each edge in exactly two triangles, run through once each way, outwards (positive volume); no triangle with a corner twice."""
    for one in document(packed).iter(NS + "object"):
        (mesh,) = one
        vertices, triangles = mesh
        assert (vertices.tag, triangles.tag) == (NS + "vertices", NS + "triangles")
        corners = [(vertex.get("x"), vertex.get("y"), vertex.get("z")) for vertex in vertices]
        assert all(NUMBER.fullmatch(number) for corner in corners for number in corner)
        assert len(set(corners)) == len(corners)
        faces = [tuple(int(face.get(v)) for v in ("v1", "v2", "v3")) for face in triangles]
        assert all(len(set(face)) == 3 for face in faces)
        assert {corner for face in faces for corner in face} == set(range(len(corners)))
        edges = Counter((face[k], face[(k + 1) % 3]) for face in faces for k in range(3))
        assert set(edges.values()) == {1}
        assert all((b, a) in edges for a, b in edges)
        at = np.array(corners, dtype=float)[np.array(faces)]
        assert np.einsum("ij,ij->", at[:, 0], np.cross(at[:, 1], at[:, 2])) > 0


def test_3mf_parts_lie_side_by_side_where_x_and_y_are_positive(models, packed):
    """Section 3.4: items in the positive octant; the boxes of no two parts overlap; rows are no wider than the plate."""
    scene = trimesh.load(io.BytesIO(packed), file_type="3mf")
    assert (scene.bounds[0] >= -1e-6).all()
    assert scene.bounds[1][0] <= 220.0
    boxes = [(place - 0.5 * model.mesh.size_m, place + 0.5 * model.mesh.size_m) for model, place in zip(models, places_on_plate(models), strict=True)]  # fmt: skip
    for n, (low, high) in enumerate(boxes):
        for other_low, other_high in boxes[:n]:
            apart = np.maximum(other_low - high, low - other_high)[:2]
            assert apart.max() >= 5e-3 - 1e-9


def test_equal_models_give_equal_bytes(models, packed):
    """No date anywhere: made a second time, every file is the same to the last byte."""
    again = models_of(parts.moving(), jig=parts.jig())
    assert write_3mf(again, title="dunlin/v1 & co", designer="Saltmarsh <Workshop>") == packed
    assert write_stl(again[0]) == write_stl(models[0])
    assert write_step(again[0]) == write_step(models[0])
    with zipfile.ZipFile(io.BytesIO(packed)) as archive:
        assert {entry.date_time for entry in archive.infolist()} == {(1980, 1, 1, 0, 0, 0)}


def test_nothing_to_print_is_refused():
    """No model and no known kind of file are said in words."""
    with pytest.raises(InputError, match="at least one model"):
        write_3mf([])
    with pytest.raises(InputError, match="kind of file"):
        write_model(model_of("cap", parts.cap()), "obj")


def test_stl_is_binary_and_reads_back(models):
    """80 bytes of head that do not begin with solid, a count, 50 bytes each; trimesh joins the corners again to a closed body."""
    for model in models:
        data = write_stl(model)
        (count,) = struct.unpack("<I", data[80:84])
        assert not data.startswith(b"solid")
        assert len(data) == 84 + 50 * count
        assert count == len(model.mesh.triangles)
        part = trimesh.load(io.BytesIO(data), file_type="stl")
        assert part.is_watertight
        assert part.is_winding_consistent
        assert part.volume == pytest.approx(VOLUMES.get(model.name, model.volume_m3) * 1e9, rel=WITHIN)
        stated = np.frombuffer(data[84:], dtype=[("n", "<f4", 3), ("c", "<f4", 9), ("a", "<u2")])["n"]
        assert np.linalg.norm(stated, axis=1) == pytest.approx(np.ones(count), abs=1e-5)


@pytest.fixture(scope="module")
def occ():
    """Open CASCADE inside Netgen, where it is built."""
    return pytest.importorskip("netgen.occ")


@pytest.mark.parametrize("name", ["surround", "spider", "cone", "cap", "former", "jig-inner", "jig-outer"])
def test_step_reads_back_as_a_solid_of_the_right_volume(models, name, occ, tmp_path):
    """Open CASCADE's own reader: solids, volume, centre of gravity; round faces are exact, so closed forms are met to 1e-6."""
    model = next(one for one in models if one.name == name)
    file = tmp_path / f"{name}.step"
    file.write_bytes(write_step(model))
    shape = occ.OCCGeometry(str(file)).shape
    assert len(shape.solids) == (3 if name == "jig-outer" else 1)
    if name in ("cone", "cap", "former"):
        assert shape.mass == pytest.approx(VOLUMES[name] * 1e9, rel=1e-6)
    else:
        assert shape.mass == pytest.approx(VOLUMES.get(name, model.volume_m3) * 1e9, rel=WITHIN)
    middle = trimesh.Trimesh(1e3 * model.mesh.corners_m, model.mesh.triangles).center_mass
    assert [shape.center.x, shape.center.y, shape.center.z] == pytest.approx(middle, abs=0.005)


def test_step_surround_is_made_of_arcs(models):
    """A half roll has circles in its section: its faces are tori, cylinders and planes, and no splines."""
    text = write_step(models[0])
    assert text.startswith(b"ISO-10303-21;")
    assert text.count(b"TOROIDAL_SURFACE") >= 2
    assert b"B_SPLINE_SURFACE" not in text
    assert b"1980-01-01T00:00:00" in text


def test_step_of_a_flexure_has_its_holes(occ, tmp_path):
    """The plate's faces keep their five outlines and the volume of the mesh."""
    model = model_of("spider", parts.spirals())
    file = tmp_path / "spider.step"
    file.write_bytes(write_step(model))
    shape = occ.OCCGeometry(str(file)).shape
    assert shape.mass == pytest.approx(model.volume_m3 * 1e9, rel=0.0005)
    assert (
        max(len(face.wires) for face in shape.faces) == 5
    )  # the rim, the hub's hole and three between the arms


def test_step_without_the_kernel_says_so(models, monkeypatch):
    """On a machine for which Netgen is not built there is a sentence, not a traceback."""
    monkeypatch.setitem(__import__("sys").modules, "netgen.occ", None)
    assert not step.can_write_step()
    with pytest.raises(InputError, match="not built for this machine"):
        write_step(models[0])


def test_outline_is_taken_apart_at_its_corners():
    """Four runs of a half ring: an arc, a line, an arc, a line."""
    angles = np.linspace(0, np.pi, 60)
    ring = np.vstack([radius * np.column_stack([np.cos(a), np.sin(a)]) + [10.0, 0.0] for radius, a in ((5.0, angles), (4.0, angles[::-1]))])  # fmt: skip
    assert sorted(len(run) for run in runs(ring)) == [2, 2, 60, 60]


def test_all_files_of_a_version_in_good_time(models):
    """One 3MF, and an STL for each part; under two seconds a part."""
    start = time.perf_counter()
    files = version_files(models, "dunlin-v1", title="dunlin/v1", step=False)
    assert time.perf_counter() - start < 2.0 * len(models)
    assert list(files) == ["dunlin-v1.3mf", *(f"{model.name}.stl" for model in models)]
