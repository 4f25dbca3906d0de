"""Shapes for the reference solver: what their meshes hold, how they radiate, what is refused and in which words."""

import math
from collections.abc import Callable, Sequence

import numpy as np
import pytest
from numpy.typing import NDArray

from forehear.ground.errors import SurfaceError
from forehear.radiation import (
    CapsulePiston,
    Cone,
    Dome,
    Face,
    Flange,
    Mesh,
    Piston,
    Solver,
    Waveguide,
    box_surface,
    cap_on_sphere,
    capsule_surface,
)

Floats = NDArray[np.float64]
C, DENSITY = 343.2, 1.2041
SIZE_M = (0.22, 0.3, 0.25)
RADIUS_M = 0.03
FLAT = Piston((0.02, 0.01), RADIUS_M)


def reliefs(place: tuple[float, float] = FLAT.centre_m, face: Face = Face.FRONT) -> list[Piston]:
    """One of every kind, of the same moving radius."""
    guide = Waveguide(0.06, 0.03, ((0.035, 0.02), (0.045, 0.007)))
    return [
        Piston(place, RADIUS_M, face, Dome(0.01)),
        Piston(place, RADIUS_M, face, Dome(-0.01)),
        Piston(place, RADIUS_M, face, Dome(RADIUS_M)),
        Piston(place, RADIUS_M, face, Cone(0.02)),
        Piston(place, RADIUS_M, face, Cone(0.02, 0.01, 0.004)),
        Piston(place, RADIUS_M, face, None, Flange(0.04, -0.003)),
        Piston(place, RADIUS_M, face, Dome(0.01), Flange(0.04, 0.005)),
        Piston(place, RADIUS_M, face, None, Waveguide(RADIUS_M, 0.004)),
        Piston(place, RADIUS_M, face, Dome(0.008), guide),
    ]


def told(piston: Piston) -> str:
    return f"{type(piston.shape).__name__}-{type(piston.around).__name__}"


def volume_m3(mesh: Mesh) -> float:
    corner = mesh.vertices_m[mesh.triangles]
    return float(np.einsum("ti,ti->", corner[:, 0], np.cross(corner[:, 1], corner[:, 2]))) / 6


def flow_m3_s(mesh: Mesh) -> Floats:
    """Volume velocity of every source at 1 m/s."""
    return np.asarray(mesh.surface.elements.area_m2 @ mesh.surface.velocity_m_s)


def front_fan() -> Floats:
    angle = np.radians(np.arange(-180.0, 180.0, 30.0))
    level = np.stack([np.cos(angle), np.sin(angle), 0 * angle], axis=1)
    return np.concatenate([level, level[:, [0, 2, 1]]])


def spread_db(first: NDArray[np.complex128], second: NDArray[np.complex128]) -> float:
    return float(np.max(np.abs(20 * np.log10(np.abs(first / second)))))


@pytest.mark.parametrize("face", [Face.FRONT, Face.LEFT, Face.BOTTOM])
@pytest.mark.parametrize("number", range(9))
def test_whatever_moves_along_its_axis_moves_its_own_area_of_air(number: int, face: Face) -> None:
    """Exactly pi a^2 for any dome, cone or recess, and the other driver's rim stays whole; held on three faces."""
    piston = reliefs(face=face)[number]
    for edges in ({}, {"edge_radius_m": 0.02}, {"chamfer_m": 0.015}):
        mesh = box_surface(SIZE_M, [piston, Piston((0.0, -0.1), 0.02, Face.REAR)], 0.05, **edges)
        np.testing.assert_allclose(flow_m3_s(mesh), [np.pi * RADIUS_M**2, np.pi * 0.02**2], rtol=1e-6)
        pushed = mesh.surface.elements.vector_area_m2[mesh.source_of_triangle == 0].sum(axis=0)
        axis, end = face.value
        assert pushed[axis] == pytest.approx(end * np.pi * RADIUS_M**2, rel=1e-6)


def test_reliefs_add_and_take_their_volume() -> None:
    """Part of a ball, a cone, a ring, a tube: volumes of solid geometry, on triangles much smaller than they are."""
    a, b = RADIUS_M, 0.04
    wanted = [
        np.pi * 0.01 * (3 * a**2 + 0.01**2) / 6,
        -np.pi * 0.01 * (3 * a**2 + 0.01**2) / 6,
        2 / 3 * np.pi * a**3,
        -np.pi * a**2 * 0.02 / 3,
        -np.pi * 0.02 / 3 * (a**2 + a * 0.01 + 0.01**2) + np.pi * 0.004 * (3 * 0.01**2 + 0.004**2) / 6,
        -np.pi * b**2 * 0.003,
        np.pi * b**2 * 0.005 + np.pi * 0.01 * (3 * a**2 + 0.01**2) / 6,
        -np.pi * a**2 * 0.004,
    ]
    box = float(np.prod(SIZE_M))
    for piston, exact in zip(reliefs(), wanted, strict=False):
        mesh = box_surface(
            (0.1, 0.12, SIZE_M[2]), [Piston((0.0, 0.0), a, Face.FRONT, piston.shape, piston.around)], 0.006
        )
        assert volume_m3(mesh) - box / 0.22 / 0.3 * 0.012 == pytest.approx(exact, rel=0.03), told(piston)


@pytest.mark.parametrize("chamfer_m", [0.012, 0.1])
def test_chamfers_take_their_prisms_off_exactly(chamfer_m: float) -> None:
    """Three prisms meet in each corner: c^3/4 of its cube is left, by integrating min and max over it."""
    mesh = box_surface(SIZE_M, [], 0.05, chamfer_m=chamfer_m)
    free = 4 * sum(side - 2 * chamfer_m for side in SIZE_M)
    exact = math.prod(SIZE_M) - chamfer_m**2 / 2 * free - 8 * (1 - 1 / 4) * chamfer_m**3
    assert volume_m3(mesh) == pytest.approx(exact, rel=1e-9)


def test_large_round_edges_get_more_than_one_layer() -> None:
    """An 80 mm edge in 30 mm triangles is cut six times: a sixth of a quarter circle lacks 1.1 % of its area."""
    r, (width, height, depth) = 0.08, SIZE_M
    mesh = box_surface(SIZE_M, [], 0.03, edge_radius_m=r)
    w, h, d = width - 2 * r, height - 2 * r, depth - 2 * r
    exact = w * h * d + 2 * r * (w * h + h * d + d * w) + np.pi * r**2 * (w + h + d) + 4 / 3 * np.pi * r**3
    assert volume_m3(mesh) == pytest.approx(exact, rel=0.0115)
    assert volume_m3(box_surface(SIZE_M, [], 0.015, edge_radius_m=r)) == pytest.approx(exact, rel=0.003)


def test_symmetric_layouts_of_reliefs_are_their_own_image() -> None:
    """Also a pair beside the middle; a pair of unlike shapes is none."""
    pair = [Piston((x, -0.05), 0.03, shape=Cone(0.01)) for x in (-0.05, 0.05)]
    middle = Piston((0.0, 0.07), 0.0125, shape=Dome(0.004), around=Waveguide(0.04, 0.02))
    mesh = box_surface(SIZE_M, [*pair, middle], 0.04)
    assert Solver(mesh.surface, C, DENSITY).equations.part.axes == (1,)
    unlike = [pair[0], Piston((0.05, -0.05), 0.03, shape=Cone(0.02)), middle]
    assert Solver(box_surface(SIZE_M, unlike, 0.04).surface, C, DENSITY).equations.part.axes == ()


@pytest.mark.parametrize("piston", [*reliefs()[:5], *reliefs()[6:]], ids=told)
def test_at_low_frequency_a_shape_radiates_as_a_flat_piston(piston: Piston) -> None:
    """Only the volume velocity counts at 10 Hz, where no lump of a few centimetres is seen."""
    found, flat = (
        Solver(box_surface(SIZE_M, [each], 0.05).surface, C, DENSITY).pressure(10.0, front_fan())
        for each in (piston, FLAT)
    )
    assert spread_db(found, flat) < 0.03
    np.testing.assert_allclose(np.abs(flat), 10.0 * DENSITY * np.pi * RADIUS_M**2 / 2, rtol=0.01)


def test_a_finer_mesh_changes_a_cone_in_a_waveguide_little() -> None:
    piston = Piston((0.0, 0.05), RADIUS_M, shape=Cone(0.01, 0.008, 0.003), around=Waveguide(0.05, 0.015))
    coarse, fine = (
        Solver(box_surface(SIZE_M, [piston], size, edge_radius_m=0.012).surface, C, DENSITY).pressure(
            1200.0, front_fan()
        )
        for size in (0.045, 0.028)
    )
    seen = np.abs(fine) > np.abs(fine).max() * 10 ** (-25 / 20)
    assert spread_db(coarse[seen], fine[seen]) < 0.25


def test_round_edges_of_a_hair_are_sharp_ones() -> None:
    hair, sharp, round_ = (
        Solver(box_surface(SIZE_M, [FLAT], 0.045, **edges).surface, C, DENSITY).pressure(1100.0, front_fan())
        for edges in ({"edge_radius_m": 0.001}, {}, {"edge_radius_m": 0.06})
    )
    assert spread_db(hair, sharp) < 0.15 < spread_db(round_, sharp)


def test_a_velocity_profile_weighs_the_rings_of_a_piston() -> None:
    """A piston that stands still at its rim: velocity 1 - r/a moves a third of the air (a cone's volume)."""
    mesh = box_surface(SIZE_M, [Piston((0.0, 0.0), 0.05, velocity_profile=(1.0, 0.0))], 0.008)
    assert flow_m3_s(mesh)[0] == pytest.approx(np.pi * 0.05**2 / 3, rel=0.01)
    with_dome = Piston((0.0, 0.0), 0.05, shape=Dome(0.02), velocity_profile=(2.0, 2.0, 2.0))
    assert flow_m3_s(box_surface(SIZE_M, [with_dome], 0.03))[0] == pytest.approx(
        2 * np.pi * 0.05**2, rel=1e-6
    )


CAPSULE_RADIUS_M = 0.1


@pytest.mark.parametrize("ka", [0.5, 3.0])
def test_a_capsule_without_length_is_a_sphere(ka: float) -> None:
    """A cap moving along its axis on a rigid sphere, exact series (morse-ingard-1968)."""
    half, azimuth = math.radians(30.0), 0.7
    driver = CapsulePiston(0.0, azimuth, CAPSULE_RADIUS_M * math.sin(half))
    mesh = capsule_surface(CAPSULE_RADIUS_M, 0.0, [driver], min(0.03, 2 * np.pi / ka / 8 * CAPSULE_RADIUS_M))
    angle = np.radians(np.arange(0.0, 181.0, 20.0))
    unit = np.cos(angle)[:, None] * driver.axis + np.sin(angle)[:, None] * np.array([0.0, 0.0, 1.0])
    hz = ka * C / (2 * np.pi * CAPSULE_RADIUS_M)
    found = Solver(mesh.surface, C, DENSITY).pressure(hz, unit)[0] / (
        0.5j * hz * DENSITY * np.pi * driver.radius_m**2
    )
    wanted = cap_on_sphere(np.array([ka]), np.cos(angle), half)[:, 0]
    assert spread_db(found, wanted) < 0.1
    assert np.max(np.abs(found - wanted)) < 0.01 * np.max(np.abs(wanted))


@pytest.mark.parametrize(("length_m", "element_m"), [(0.1, 0.04), (0.3, 0.02), (0.8, 0.04)])
def test_a_capsule_holds_its_volume_and_good_triangles(length_m: float, element_m: float) -> None:
    drivers = [
        CapsulePiston(0.0, 0.0, 0.05),
        CapsulePiston(0.02, 2.5, 0.03),
        CapsulePiston(length_m / 2, 0.4, 0.03, math.pi / 2),
    ]
    mesh = capsule_surface(CAPSULE_RADIUS_M, length_m, drivers, element_m)
    exact = np.pi * CAPSULE_RADIUS_M**2 * (length_m + 4 / 3 * CAPSULE_RADIUS_M)
    assert volume_m3(mesh) == pytest.approx(exact, rel=1e-9)
    elements = mesh.surface.elements
    for number, driver in enumerate(drivers):
        assert flow_m3_s(mesh)[number] == pytest.approx(np.pi * driver.radius_m**2, rel=1e-9)
        pushed = elements.vector_area_m2[mesh.source_of_triangle == number].sum(axis=0)
        assert pushed @ driver.axis == pytest.approx(np.pi * driver.radius_m**2, rel=2e-3)
    assert elements.longest_m.max() < 1.7 * element_m
    assert np.min(elements.area_m2 / elements.longest_m**2) > 0.12


def test_a_turned_capsule_radiates_in_turned_directions() -> None:
    """The mesh is another one each time, so this also says how exact it is."""
    unit, hz = front_fan(), 900.0
    turn = 1.1
    turned = unit @ np.array(
        [[math.cos(turn), math.sin(turn), 0.0], [-math.sin(turn), math.cos(turn), 0.0], [0.0, 0.0, 1.0]]
    )
    found, wanted = (
        Solver(
            capsule_surface(0.08, 0.2, [CapsulePiston(0.05, azimuth, 0.05)], 0.035).surface, C, DENSITY
        ).pressure(hz, seen)[0]
        for azimuth, seen in ((turn, turned), (0.0, unit))
    )
    assert np.max(np.abs(found - wanted)) < 0.01 * np.max(np.abs(wanted))


def one(piston: Piston) -> Callable[[], Mesh]:
    return lambda: box_surface(SIZE_M, [piston], 0.05)


def capsule(*pistons: CapsulePiston, length_m: float = 0.2) -> Callable[[], Mesh]:
    return lambda: capsule_surface(0.1, length_m, pistons, 0.05)


REFUSED: Sequence[tuple[Callable[[], Mesh], str]] = [
    (one(Piston((0.0, 0.0), 0.03, shape=Dome(0.04))), r"piston 0 of 30.0 mm radius has a dome 40.0 mm high"),
    (
        one(Piston((0.0, 0.0), 0.03, shape=Cone(0.02, 0.03))),
        r"a cone 20.0 mm deep with a cap of 30.0 mm radius",
    ),
    (one(Piston((0.0, 0.0), 0.03, shape=Cone(-0.02))), r"a cone -20.0 mm deep"),
    (
        one(Piston((0.0, 0.0), 0.03, shape=Cone(0.02, 0.01, 0.02))),
        r"a dust cap 20.0 mm high over a radius of 10.0 mm",
    ),
    (one(Piston((0.0, 0.0), 0.03, around=Flange(0.02, 0.001))), r"a flange of 20.0 mm radius"),
    (
        one(Piston((0.0, 0.0), 0.03, around=Waveguide(0.02, 0.01))),
        r"mouth of 20.0 mm radius that does not widen",
    ),
    (one(Piston((0.0, 0.0), 0.03, around=Waveguide(0.05, 0.0))), r"a waveguide 0.0 mm deep"),
    (
        one(Piston((0.0, 0.0), 0.03, around=Waveguide(0.05, 0.02, ((0.04, 0.03),)))),
        "does not widen all the way",
    ),
    (one(Piston((0.06, 0.0), 0.03, around=Flange(0.06, 0.001))), r"of 60.0 mm radius reaches 10.0 mm over"),
    (
        one(Piston((0.0, 0.0), 0.03, shape=Cone(0.25))),
        r"reaches 250.0 mm behind the front, through a box 250.0 mm",
    ),
    (
        lambda: box_surface(SIZE_M, [], 0.05, edge_radius_m=0.01, chamfer_m=0.01),
        "a radius of 10.0 mm and a chamfer",
    ),
    (lambda: box_surface(SIZE_M, [], 0.05, chamfer_m=0.11), "no room for edges of 0.110 m chamfer"),
    (lambda: box_surface(SIZE_M, [], 0.05, edge_radius_m=-0.01), "no room for edges"),
    (capsule(CapsulePiston(0.16, 0.0, 0.06)), r"driver 0 of 60.0 mm radius at a height of 160.0 mm lies off"),
    (capsule(CapsulePiston(0.0, 0.0, 0.1)), r"driver 0 of 100.0 mm radius .* lies off the surface"),
    (capsule(CapsulePiston(0.0, 0.0, 0.05), CapsulePiston(0.0, 0.5, 0.05)), r"driver 1 .* overlaps driver 0"),
    (capsule(length_m=1.3), "a straight part of 1.300 m"),
]


@pytest.mark.parametrize(("make", "words"), REFUSED, ids=[words for _, words in REFUSED])
def test_what_cannot_be_made_is_said_in_one_sentence(make: Callable[[], Mesh], words: str) -> None:
    with pytest.raises(SurfaceError, match=words) as caught:
        make()
    assert caught.value.cure
    assert "\n" not in caught.value.what


def test_reliefs_that_meet_inside_the_box_are_found_when_the_surface_is_checked() -> None:
    facing = [Piston((0.0, 0.0), 0.06, face, Cone(0.14)) for face in (Face.FRONT, Face.REAR)]
    with pytest.raises(SurfaceError, match="crosses itself"):
        _ = box_surface(SIZE_M, facing, 0.05).surface
