"""Surfaces from files: three formats read alike, what is mended, what is refused and in which words."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from forehear.ground.errors import DataError, ForehearError, SurfaceError
from forehear.radiation import (
    Cone,
    Dome,
    Flange,
    ImportedShape,
    Mesh,
    Patch,
    Piston,
    Solver,
    box_surface,
    capsule_surface,
    imported_surface,
    read_surface,
)
from forehear.radiation.mesh_repair import repaired
from rooms.solid_files import FORMS, MODEL, SIZE_M, Floats, Wholes, bare_box, ply, stl, threemf

C, DENSITY = 343.2, 1.2041
DRIVERS = (Piston((0.02, 0.05), 0.05), Piston((-0.03, -0.08), 0.02))
PATCHES = (Patch((0.0, 0.02, 0.05), 0.05), Patch((0.0, -0.03, -0.08), 0.02))


def volume_m3(shape: ImportedShape | Mesh) -> float:
    corner = shape.vertices_m[shape.triangles]
    return float(np.einsum("ti,ti->", corner[:, 0], np.cross(corner[:, 1], corner[:, 2]))) / 6


def shape_of(place: Floats, triangle: Wholes) -> ImportedShape:
    return ImportedShape(*repaired(place, triangle))


@pytest.mark.parametrize("name", FORMS)
def test_every_form_gives_the_box_back(name: str, tmp_path: Path) -> None:
    (tmp_path / name).write_bytes(FORMS[name](*bare_box()))
    shape = read_surface(tmp_path / name)
    assert shape.repairs == ()
    assert shape.vertices_m.shape == (8, 3)
    assert shape.triangles.shape == (12, 3)
    np.testing.assert_allclose(shape.vertices_m.min(axis=0), [-0.25, -0.11, -0.15], atol=1e-7)
    np.testing.assert_allclose(shape.vertices_m.max(axis=0), [0.0, 0.11, 0.15], atol=1e-7)
    assert volume_m3(shape) == pytest.approx(0.22 * 0.3 * 0.25, rel=1e-6)


def test_units_and_mirrored_parts(tmp_path: Path) -> None:
    """STL and PLY count in what one says; a mirrored part of a 3MF is still wound outward."""
    (tmp_path / "inch.stl").write_bytes(stl(*bare_box()))
    assert volume_m3(read_surface(tmp_path / "inch.stl", 0.0254)) == pytest.approx(0.0165 * 25.4**3, rel=1e-6)
    (tmp_path / "mirror.3mf").write_bytes(threemf(*bare_box(), turn="-1 0 0 0 1 0 0 0 1 0 0 0"))
    mirrored = read_surface(tmp_path / "mirror.3mf")
    assert mirrored.repairs == ()
    assert volume_m3(mirrored) == pytest.approx(0.0165, rel=1e-6)


def test_faces_of_more_corners_become_fans(tmp_path: Path) -> None:
    place, _ = bare_box()
    faces = [(0, 1, 3, 2), (4, 6, 7, 5), (0, 4, 5, 1), (2, 3, 7, 6), (0, 2, 6, 4), (1, 5, 7, 3)]
    head = ply(place, np.zeros((6, 3), dtype=np.int64)).decode().split("3 0 0 0")[0]
    rows = "\n".join("4 " + " ".join(map(str, face)) for face in faces)
    (tmp_path / "quads.ply").write_text(head.rstrip() + "\n" + rows, encoding="ascii")
    assert volume_m3(read_surface(tmp_path / "quads.ply")) == pytest.approx(0.0165, rel=1e-6)


def test_an_imported_box_radiates_as_the_box_does() -> None:
    """Two unlike meshes of one shape and its drivers: levels within 25 dB of the largest, 0.15 dB rms allowed."""
    angle = np.radians(np.arange(-180.0, 180.0, 30.0))
    level = np.stack([np.cos(angle), np.sin(angle), 0 * angle], axis=1)
    unit = np.concatenate([level, level[:, [0, 2, 1]]])
    place, triangle = bare_box()
    found, wanted = (
        Solver(mesh.surface, C, DENSITY).pressure(1300.0, unit)
        for mesh in (
            imported_surface(shape_of(place, triangle), PATCHES, 0.032),
            box_surface(SIZE_M, DRIVERS, 0.025),
        )
    )
    apart = 20 * np.log10(np.abs(found / wanted))
    seen = np.abs(wanted) > np.abs(wanted).max(axis=1, keepdims=True) * 10 ** (-25 / 20)
    assert np.sqrt(np.mean(apart[seen] ** 2)) < 0.05
    assert np.max(np.abs(apart[seen])) < 0.2


@pytest.mark.parametrize("element_m", [0.05, 0.02])
def test_triangles_are_refined_and_follow_the_rims(element_m: float) -> None:
    mesh = imported_surface(shape_of(*bare_box()), PATCHES, element_m)
    elements = mesh.surface.elements
    assert volume_m3(mesh) == pytest.approx(0.0165, rel=1e-9)
    assert elements.longest_m.max() < 1.4 * element_m
    for number, patch in enumerate(PATCHES):
        mine = mesh.source_of_triangle == number
        exact = np.pi * patch.radius_m**2
        assert elements.area_m2[mine].sum() == pytest.approx(exact, rel=0.02)
        assert (elements.area_m2 * mesh.velocity_of_triangle)[mine].sum() == pytest.approx(exact, rel=1e-9)
        away = np.linalg.norm(elements.corner_m - np.array(patch.centre_m), axis=2)
        assert away[mine].max() < 1.01 * patch.radius_m
        assert away[~mine].min() > 0.93 * patch.radius_m  # middles of a rim's sides are no corners
    assert np.min(elements.area_m2 / elements.longest_m**2) > 0.03


def test_a_driver_with_depth_is_found_as_one() -> None:
    """A cone with its cap behind a flange, drawn as a solid: its patch moves whole, walls of the flange do not."""
    drawn = box_surface(
        SIZE_M, [Piston((0.0, 0.05), 0.06, shape=Cone(0.02, 0.02, 0.005), around=Flange(0.07, -0.003))], 0.03
    )
    mesh = imported_surface(
        shape_of(drawn.vertices_m, drawn.triangles), [Patch((-0.018, 0.0, 0.05), 0.06, (2.0, 0.0, 0.0))], 0.03
    )
    found, wanted = ((m.vertices_m[m.triangles])[m.source_of_triangle == 0] for m in (mesh, drawn))
    for end in (np.min, np.max):
        np.testing.assert_allclose(end(found, axis=(0, 1)), end(wanted, axis=(0, 1)), atol=1e-3)
    assert (
        mesh.velocity_of_triangle[mesh.source_of_triangle == 0].min() > 0.87
    )  # the cone's slope is 27 degrees


def test_a_capsule_by_way_of_a_file(tmp_path: Path) -> None:
    drawn = capsule_surface(0.1, 0.2, [], 0.025)
    (tmp_path / "capsule.stl").write_bytes(stl(drawn.vertices_m, drawn.triangles))
    shape = read_surface(tmp_path / "capsule.stl")
    mesh = imported_surface(
        shape, [Patch((0.1, 0.0, 0.03), 0.04, (1.0, 0.0, 0.0)), Patch((0, 0, 0.2), 0.02)], 0.04
    )
    flow = mesh.surface.elements.area_m2 @ mesh.surface.velocity_m_s
    np.testing.assert_allclose(flow, [np.pi * 0.04**2, np.pi * 0.02**2], rtol=1e-9)


def test_triangles_turned_doubled_and_without_area_are_mended() -> None:
    place, triangle = bare_box()
    loose = place[triangle].reshape(-1, 3) + 1e-9 * np.random.default_rng(1).standard_normal((36, 3))
    some = np.arange(36).reshape(-1, 3)
    some[[1, 4, 7]] = some[[1, 4, 7], ::-1]
    both = np.concatenate([some, some[:2], [[0, 1, 0]]])
    shape = shape_of(loose, both)
    assert volume_m3(shape) == pytest.approx(0.0165, rel=1e-6)
    told = " | ".join(shape.repairs)
    assert "left out 1 triangles without area" in told
    assert "left out 2 triangles that stood twice" in told
    assert "turned 3 triangles to face outward" in told
    inside_out = shape_of(place, triangle[:, ::-1])
    assert inside_out.repairs == ("turned 12 triangles to face outward",)
    assert volume_m3(inside_out) == pytest.approx(0.0165, rel=1e-9)


@pytest.mark.parametrize("turned", [False, True])
def test_a_flat_triangle_between_two_gives_its_corner_to_the_one_beside(*, turned: bool) -> None:
    """A corner in the middle of a side on one face only, and a triangle without area that fills the gap."""
    place, triangle = bare_box()
    middle = len(place)
    a, b, c = (int(corner) for corner in triangle[0])
    place = np.concatenate([place, [(place[a] + place[b]) / 2]])
    filler = [[a, middle, b]] if turned else [[a, b, middle]]
    new = np.concatenate([[[a, middle, c], [middle, b, c]], filler, triangle[1:]])
    shape = shape_of(place, new)
    assert shape.repairs[0] == "split 1 triangles beside flat ones"
    assert volume_m3(shape) == pytest.approx(0.0165, rel=1e-9)
    assert len(shape.triangles) == 14


def test_the_inside_of_a_shell_is_left_out() -> None:
    """A box drawn with walls: its inner surface, turned inward, is no second body."""
    place, triangle = bare_box()
    inner = 0.9 * (place - place.mean(axis=0)) + place.mean(axis=0)
    shape = shape_of(
        np.concatenate([place, inner]), np.concatenate([triangle, triangle[:, ::-1] + len(place)])
    )
    assert volume_m3(shape) == pytest.approx(0.0165, rel=1e-9)
    assert shape.repairs[-1] == "left out 1 inner surfaces: only the outside radiates"
    apart = shape_of(
        np.concatenate([place, place + np.array([1.0, 0, 0])]),
        np.concatenate([triangle, triangle + len(place)]),
    )
    assert volume_m3(apart) == pytest.approx(0.033, rel=1e-9)


def refused(kind: type[ForehearError], words: str, act: Callable[[], object]) -> None:
    with pytest.raises(kind, match=words) as caught:
        act()
    assert caught.value.cure
    assert "\n" not in caught.value.what


def twisted_band() -> tuple[Floats, Wholes]:
    """The smallest closed surface with one side only: six corners, each two of them neighbours."""
    place = np.array([[0, 0, 0], [1, 0, 0.1], [0.5, 1, 0], [0.4, 0.3, 1], [0.7, 0.6, 0.9], [0.2, 0.7, 0.7]])
    faces = [
        (0, 1, 2),
        (0, 2, 3),
        (0, 3, 4),
        (0, 4, 5),
        (0, 1, 5),
        (1, 2, 4),
        (2, 4, 5),
        (2, 3, 5),
        (1, 3, 5),
        (1, 3, 4),
    ]
    return place, np.array(faces)


def test_surfaces_that_cannot_be_mended_are_refused() -> None:
    place, triangle = bare_box()
    refused(
        SurfaceError,
        "open: 3 edges belong to one triangle only, the first near",
        lambda: repaired(place, triangle[1:]),
    )
    fin = np.concatenate([place, [[0.1, 0.0, 0.0]]])
    edge = np.concatenate([triangle, [[4, 6, 8], [6, 4, 8]]])
    refused(SurfaceError, "open|more than two", lambda: repaired(fin, edge))
    twice = np.concatenate([place, place * [-1, 1, 1]])
    joined = np.concatenate([triangle, triangle[:, ::-1] + 8])
    refused(SurfaceError, r"edges join more than two triangles", lambda: repaired(twice, joined))
    refused(SurfaceError, "has one side only", lambda: repaired(*twisted_band()))
    refused(SurfaceError, "no triangle of the mesh has an area", lambda: repaired(0 * place, triangle))
    refused(SurfaceError, "has no triangles", lambda: repaired(place, triangle[:0]))
    refused(SurfaceError, "vertices 0 to 7, but there are 7", lambda: repaired(place[:7], triangle))
    lost = place.copy()
    lost[2, 1] = np.inf
    refused(SurfaceError, "not a number below 1000 m", lambda: repaired(lost, triangle))


def test_a_file_with_bodies_that_cross_is_refused_by_name(tmp_path: Path) -> None:
    place, triangle = bare_box()
    both = np.concatenate([place, place + np.array([0.11, 0.013, 0.017])])
    (tmp_path / "two.stl").write_bytes(stl(both, np.concatenate([triangle, triangle + 8])))
    with pytest.raises(SurfaceError, match="crosses itself near") as caught:
        read_surface(tmp_path / "two.stl")
    assert caught.value.where == "two.stl"


BROKEN: dict[str, tuple[bytes, str]] = {
    "short.stl": (stl(*bare_box())[:-30], r"announces 12 triangles, but 11.4 follow"),
    "text.stl": (b"hello", "holds 5 bytes, which are no STL, PLY or 3MF"),
    "odd.stl": (b"solid x\nvertex 0 0 0\nvertex 1 0 0\n", "has 2 vertices, but three a triangle are needed"),
    "word.stl": (b"solid x\n vertex 0 0 0\n vertex 1 zero 0\n vertex 0 1 0", "not three numbers"),
    "head.ply": (b"ply\nformat ascii 1.0\n", "has no end of its PLY header"),
    "form.ply": (b"ply\nformat ebcdic 1.0\nend_header\n", "unknown line: format ebcdic 1.0"),
    "kind.ply": (
        b"ply\nformat ascii 1.0\nelement vertex 1\nproperty quad x\nend_header\n",
        "unknown line: property quad x",
    ),
    "none.ply": (b"ply\nformat ascii 1.0\nend_header\n", "lacks vertices"),
    "ends.ply": (ply(*bare_box(), "binary_little_endian")[:-3], "ends before all"),
    "less.ply": (ply(*bare_box())[:-9], "ends before all"),
    "zip.3mf": (b"PK\x03\x04 and no more", "is damaged"),
    "xml.3mf": (threemf(*bare_box(), model="<model>"), "is damaged"),
    "unit.3mf": (
        threemf(*bare_box(), model=MODEL.replace("inch", "cubit")),
        "counts in the unit 'cubit'",
    ),
    "item.3mf": (
        threemf(*bare_box(), model=MODEL.replace('item objectid="2"', 'item objectid="9"')),
        "not there",
    ),
    "self.3mf": (
        threemf(*bare_box(), model=MODEL.replace('component objectid="1"', 'component objectid="2"')),
        "objects that hold themselves",
    ),
    "word.3mf": (threemf(*bare_box(), turn="1 0 zero"), "no number"),
    "bomb.3mf": (
        threemf(*bare_box(), model='<!DOCTYPE model [<!ENTITY a "aaa">]>' + MODEL.partition("?>")[2]),
        "declares entities",
    ),
}


@pytest.mark.parametrize("name", BROKEN)
def test_broken_files_are_named_with_the_reason(name: str, tmp_path: Path) -> None:
    data, words = BROKEN[name]
    (tmp_path / name).write_bytes(data)
    with pytest.raises(DataError, match=words) as caught:
        read_surface(tmp_path / name)
    assert caught.value.where.startswith(name)
    assert caught.value.cure
    assert "\n" not in caught.value.what


def test_the_line_of_a_wrong_vertex_is_told_and_a_missing_file(tmp_path: Path) -> None:
    (tmp_path / "word.stl").write_bytes(BROKEN["word.stl"][0])
    with pytest.raises(DataError) as caught:
        read_surface(tmp_path / "word.stl")
    assert caught.value.where == "word.stl:3"
    refused(DataError, "cannot be read: No such file", lambda: read_surface(tmp_path / "none.stl"))


def test_drivers_that_do_not_lie_on_the_surface_are_refused() -> None:
    shape = shape_of(*bare_box())

    def put(*patches: Patch, element_m: float = 0.05) -> Callable[[], Mesh]:
        return lambda: imported_surface(shape, patches, element_m)

    refused(
        SurfaceError, r"driver 0 of 50.0 mm .* lies 30.0 mm off the surface", put(Patch((0.03, 0, 0), 0.05))
    )
    refused(SurfaceError, "driver 0 of 0.0 mm", put(Patch((0.0, 0, 0), 0.0)))
    refused(SurfaceError, r"fills [5-7]\d % of the circle of driver 0", put(Patch((0.0, 0.1, 0), 0.05)))
    refused(SurfaceError, r"fills -\d+ % of the circle", put(Patch((0.0, 0, 0), 0.05, (-1.0, 0, 0))))
    refused(SurfaceError, "has the axis", put(Patch((0.0, 0, 0), 0.05, (0.0, 0, 0))))
    refused(
        SurfaceError, "driver 1 overlaps driver 0", put(Patch((0.0, 0, 0), 0.05), Patch((0.0, 0.03, 0), 0.05))
    )
    refused(SurfaceError, "triangles of 0.000 m are wanted", put(Patch((0.0, 0, 0), 0.05), element_m=0.0))
    refused(SurfaceError, "needs more than 400000 triangles", put(Patch((0.0, 0, 0), 0.05), element_m=0.0004))


def test_a_dome_drawn_as_a_solid_moves_its_own_area_of_air() -> None:
    drawn = box_surface((0.1, 0.12, 0.1), [Piston((0.0, 0.0), 0.03, shape=Dome(0.012))], 0.02)
    mesh = imported_surface(
        shape_of(drawn.vertices_m, drawn.triangles), [Patch((0.012, 0.0, 0.0), 0.03, (1.0, 0, 0))], 0.02
    )
    found = mesh.surface.elements.area_m2 @ mesh.surface.velocity_m_s[:, 0]
    assert found == pytest.approx(np.pi * 0.03**2, rel=1e-9)
