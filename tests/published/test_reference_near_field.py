"""Near fields and rigid planes of the reference solver against what is known exactly."""

import math
from typing import Any

import numpy as np
import pytest
from scipy.special import j1, spherical_jn, spherical_yn

from forehear.ground.errors import SurfaceError
from forehear.radiation import Cap, Dome, Mesh, Piston, Solver, Waveguide, box_surface, sphere_surface
from forehear.radiation.sphere import cap_means, legendre
from published.points import C, Complexes, Floats, named
from published.printed import Case, cases

DENSITY = 1.2041
RADIUS_M = 0.1
HALF_RAD = math.radians(30.0)
PISTONS = [case for name, case in cases("section1.yaml").items() if name.startswith("S1.piston.axial.")]
PISTON_M = 0.05
AHEAD = np.array([[1.0, 0.0, 0.0]])
WAFER_M = 0.001  # so little that the baffle's own rim does not count


def hz_of(ka: float, radius_m: float = RADIUS_M) -> float:
    return ka * C / (2 * np.pi * radius_m)


def around(axis: Floats, side: Floats, angle_deg: list[float]) -> Floats:
    angle = np.radians(angle_deg)[:, None]
    return np.asarray(np.cos(angle) * axis + np.sin(angle) * side)


def moving_cap(ka: float) -> Mesh:
    """A cap about x moving along it, its triangles with their own share of the motion."""
    mesh = sphere_surface(RADIUS_M, [Cap((1.0, 0.0, 0.0), HALF_RAD)], min(2 * np.pi / ka / 8, 0.3) * RADIUS_M)
    normal = mesh.surface.elements.vector_area_m2 / mesh.surface.elements.area_m2[:, None]
    return Mesh(mesh.vertices_m, mesh.triangles, mesh.source_of_triangle, normal[:, 0])


def series_near_cap(ka: float, radius_over_a: float, cosine: Floats) -> Complexes:
    """Pressure round a sphere: each term of the velocity over the slope of its Hankel function (morse-ingard-1968)."""
    order = np.arange(int(ka + 6 * np.cbrt(ka) + 14))
    velocity = (2 * order + 1) / 2 * cap_means(math.cos(HALF_RAD), order.size) * math.sin(HALF_RAD) ** 2 / 2
    slope = spherical_jn(order, ka, derivative=True) - 1j * spherical_yn(order, ka, derivative=True)
    there = spherical_jn(order, ka * radius_over_a) - 1j * spherical_yn(order, ka * radius_over_a)
    return np.asarray(
        legendre(cosine, order.size) @ (-1j * DENSITY * C * velocity * there / slope), dtype=np.complex128
    )


@pytest.mark.parametrize("ka", [0.5, 3.0])
@pytest.mark.parametrize(("radius_over_a", "allowed"), [(1.1, 0.012), (1.5, 0.008), (4.0, 0.006)])
def test_pressure_near_a_cap_on_a_sphere(ka: float, radius_over_a: float, allowed: float) -> None:
    angle = [0.0, 20.0, 45.0, 90.0, 135.0, 180.0]
    place = RADIUS_M * radius_over_a * around(np.eye(3)[0], np.eye(3)[1], angle)
    found = Solver(moving_cap(ka).surface, C, DENSITY).pressure_at(place, hz_of(ka))[0]
    wanted = series_near_cap(ka, radius_over_a, np.cos(np.radians(angle)))
    assert np.max(np.abs(found - wanted)) < allowed * np.max(np.abs(wanted))


def test_pressure_far_away_is_the_far_field_over_the_distance() -> None:
    ready, hz = Solver(moving_cap(2.0).surface, C, DENSITY), hz_of(2.0)
    unit = around(np.array([0.6, 0.0, 0.8]), np.eye(3)[1], [0.0, 50.0, 110.0, 180.0])
    away_m = 500.0
    near = ready.pressure_at(away_m * unit, hz) * away_m * np.exp(2j * np.pi * hz / C * away_m)
    far = ready.pressure(hz, unit)
    assert np.max(np.abs(near - far)) < 1e-3 * np.max(np.abs(far))


def in_a_wall(ka: float, half_width_m: float = 0.2) -> Solver:
    """A wafer on a rigid plane with a piston in its front: all but a piston in an infinite baffle."""
    element = min(0.02, 2 * np.pi * PISTON_M / ka / 8)
    mesh = box_surface((2 * half_width_m, 2 * half_width_m, WAFER_M), [Piston((0.0, 0.0), PISTON_M)], element)
    return Solver(mesh.surface, C, DENSITY, rigid_planes=((0, -WAFER_M),))


@pytest.mark.parametrize("case", PISTONS, ids=named)
def test_on_the_axis_of_a_piston_in_a_wall(case: Case) -> None:
    """Within 2 %: the wafer is a millimetre high and ends 15 cm beyond the rim."""
    ka, away = float(case.inputs["ka"]), float(case.inputs["r_over_a"]) * PISTON_M
    place = np.array([[max(away, 1e-4 * PISTON_M), 0.0, 0.0]])  # the pressure itself is that just before it
    found = abs(in_a_wall(ka, 0.2 if ka < 5 else 0.1).pressure_at(place, hz_of(ka, PISTON_M))[0, 0])
    printed: Any = case.expected  # a bare number
    assert found / (DENSITY * C) == pytest.approx(printed, rel=0.02)


def test_a_piston_in_a_wall_beams_as_the_closed_form_says() -> None:
    """2 J1(x)/x and the level of 6 dB over a free source (kinsler-2000); grazing directions see the wafer's rim."""
    ready, ka, angle = in_a_wall(2.0), 2.0, np.radians([0.0, 30.0, 60.0, 75.0])
    unit = np.stack([np.cos(angle), np.sin(angle), 0 * angle], axis=1)
    x = np.maximum(ka * np.sin(angle), 1e-9)
    wanted = hz_of(ka, PISTON_M) * DENSITY * np.pi * PISTON_M**2 * 2 * j1(x) / x
    found = np.abs(ready.pressure(hz_of(ka, PISTON_M), unit)[0])
    np.testing.assert_allclose(found, wanted, rtol=0.02)
    behind = around(-np.eye(3)[0], np.eye(3)[1], [0.0, 45.0])
    np.testing.assert_array_equal(ready.pressure(500.0, behind), 0.0)


def test_the_near_field_tells_the_far_field() -> None:
    """Just before the middle of a small piston in a wall p = 2 r/a of the far pressure at r (keele-1974)."""
    ready, hz = in_a_wall(0.3), hz_of(0.3, PISTON_M)
    near = abs(ready.pressure_at(np.array([[1e-5, 0.0, 0.0]]), hz)[0, 0])
    far = abs(ready.pressure(hz, np.array([[1.0, 0.0, 0.0]]))[0, 0])  # at 1 m
    assert near / far == pytest.approx(2 * 1.0 / PISTON_M, rel=0.02)


def test_a_half_ball_moving_out_of_a_wall() -> None:
    """A dome as high as its radius moves along its axis: with its image, even terms of |cos| on a sphere, exact."""
    ka, radius = 1.5, 0.04
    mesh = box_surface((0.3, 0.3, WAFER_M), [Piston((0.0, 0.0), radius, shape=Dome(radius))], 0.012)
    ready = Solver(mesh.surface, C, DENSITY, rigid_planes=((0, -WAFER_M),))
    order = np.arange(0, 20, 2)
    share = cap_means(0.0, 20)[order] / 2  # of cos P_n over the half ball
    slope = spherical_jn(order, ka, derivative=True) - 1j * spherical_yn(order, ka, derivative=True)
    unit = around(np.eye(3)[0], np.eye(3)[1], [0.0, 20.0, 40.0, 60.0])
    terms = -1j * DENSITY * C * (2 * order + 1) * share / slope * 1j ** (order + 1) * radius / ka
    wanted = np.abs(legendre(unit[:, 0], 20)[:, order] @ terms)
    np.testing.assert_allclose(np.abs(ready.pressure(hz_of(ka, radius), unit)[0]), wanted, rtol=0.03)
    flat = hz_of(ka, radius) * DENSITY * np.pi * radius**2  # on axis, any piston of that area in a wall
    assert abs(20 * np.log10(wanted[0] / flat)) > 1.0  # so the shape counts, and the check can tell


def test_a_piston_at_the_bottom_of_a_tube() -> None:
    """What leaves the mouth is what a tube of its length makes of it: over cos kL + j Z/(rho c) sin kL, plane waves.

    The mouth's load Z is that of a flat piston of its size in the same front (kinsler-2000, pipes). Above the lowest
    resonance of a 60 mm tube the velocity has turned round.
    """
    radius, deep_m = 0.02, 0.06
    size, unit = (0.2, 0.3, 0.2), np.array([[1.0, 0.0, 0.0], [0.5, 0.0, np.sqrt(0.75)]])
    tube, flat = (
        Solver(box_surface(size, [Piston((0.0, 0.05), radius, around=each)], 0.04).surface, C, DENSITY)
        for each in (Waveguide(radius, deep_m), None)
    )
    for hz in (400.0, 1000.0, 1500.0):
        k = 2 * np.pi * hz / C
        load = flat.load(hz)[0, 0] / (DENSITY * C * np.pi * radius**2)
        wanted = np.cos(k * deep_m) + 1j * load * np.sin(k * deep_m)
        found = (flat.pressure(hz, unit) / tube.pressure(hz, unit))[0]
        assert np.max(np.abs(found - wanted)) < 0.03, hz  # a millimetre of length is 0.025


@pytest.mark.parametrize("gap_m", [0.1, 1.5])
def test_a_small_source_before_a_wall_is_two_sources(gap_m: float) -> None:
    """A breathing sphere and its image; at k times the radius 0.05 a sphere is in nobody's way."""
    shape = sphere_surface(0.05, [], 0.02)
    mesh = Mesh(shape.vertices_m, shape.triangles, np.zeros(len(shape.triangles), dtype=np.int64))
    hz, to_wall = 55.0, 0.05 + gap_m
    flow = mesh.surface.elements.area_m2 @ mesh.surface.velocity_m_s[:, 0]
    for axis in range(3):
        place = -to_wall * np.eye(3)[axis]
        ready = Solver(mesh.surface, C, DENSITY, rigid_planes=((axis, place[axis]),))
        unit = around(np.eye(3)[axis], np.eye(3)[axis - 1], [0.0, 45.0, 80.0])
        k = 2 * np.pi * hz / C
        both = 1 + np.exp(2j * k * unit @ place)
        wanted = 0.5j * hz * DENSITY * flow * both
        np.testing.assert_allclose(np.abs(ready.pressure(hz, unit)[0]), np.abs(wanted), rtol=0.01)


def half_ball(halvings: int = 3) -> Mesh:
    """The upper half of a ball with nodes on its equator, on a disc; its dome moves as the second order does."""
    steps = 2 ** (halvings + 1)
    place, ring = [np.array([[0.0, 0.0, 1.0]])], [0]
    for level in range(1, steps // 2 + 1):
        angle, turn = np.pi * level / steps, 2 * np.pi * np.arange(4 * level) / (4 * level)
        ring.append(sum(len(part) for part in place))
        place.append(
            np.stack(
                [np.sin(angle) * np.cos(turn), np.sin(angle) * np.sin(turn), 0 * turn + np.cos(angle)], 1
            )
        )
    whole = np.concatenate(place)
    whole[np.abs(whole[:, 2]) < 1e-12, 2] = 0.0
    triangle = []
    for level in range(1, steps // 2 + 1):
        many, fewer, out, inn = 4 * level, max(4 * (level - 1), 1), ring[level], ring[level - 1]
        for quarter in range(4):
            for k in range(level):
                a, b = quarter * level + k, (quarter * level + k + 1) % many
                c = (quarter * (level - 1) + k) % fewer
                triangle.append((out + a, out + b, inn + c))
                if k < level - 1:
                    triangle.append((out + b, inn + (c + 1) % fewer, inn + c))
    dome = np.array(triangle)
    floor = np.array([1.0, 1.0, 0.0])
    both = np.concatenate([whole, whole * floor])
    closed = np.concatenate([dome, dome[:, ::-1] + len(whole)])
    used = {tuple(np.round(point, 9)): number for number, point in reversed(list(enumerate(both)))}
    number = np.array([used[tuple(np.round(point, 9))] for point in both])
    cosine = both[dome].mean(axis=1)
    cosine = cosine[:, 2] / np.linalg.norm(cosine, axis=1)
    velocity = np.append((3 * cosine**2 - 1) / 2, np.zeros(len(dome)))
    source = np.append(np.zeros(len(dome), dtype=np.int64), np.full(len(dome), -1))
    corner = both[number[closed]]
    volume = np.einsum("ti,ti->", corner[:, 0], np.cross(corner[:, 1], corner[:, 2])) / 6
    return Mesh(RADIUS_M * (2 * np.pi / 3 / volume) ** (1 / 3) * both, number[closed], source, velocity)


@pytest.mark.parametrize("lifted_m", [0.0, 0.25])
def test_half_a_ball_on_a_floor_is_a_ball(lifted_m: float) -> None:
    """The second order moves both halves alike: one term of the series (morse-ingard-1968), on the floor itself."""
    mesh, ka = half_ball(), 1.5
    moved = Mesh(
        mesh.vertices_m + np.array([0.0, 0.0, lifted_m]),
        mesh.triangles,
        mesh.source_of_triangle,
        mesh.velocity_of_triangle,
    )
    ready = Solver(moved.surface, C, DENSITY, rigid_planes=((2, lifted_m),))
    unit = around(np.eye(3)[2], np.eye(3)[0], [0.0, 30.0, 70.0, 90.0])
    slope = spherical_jn(2, ka, derivative=True) - 1j * spherical_yn(2, ka, derivative=True)
    wanted = -DENSITY * C / slope * RADIUS_M / ka * (3 * unit[:, 2] ** 2 - 1) / 2
    wanted = wanted * np.exp(1j * ka / RADIUS_M * lifted_m * unit[:, 2])
    found = ready.pressure(hz_of(ka), unit)[0]
    assert np.max(np.abs(found - wanted)) < 0.03 * np.max(np.abs(wanted))
    height, weight = np.polynomial.legendre.leggauss(10)
    around_it = np.stack([np.sqrt(1 - height**2), 0 * height, height], axis=1)
    sent = 2 * np.pi * weight @ np.abs(ready.pressure(hz_of(ka), around_it)[0]) ** 2 / (2 * DENSITY * C)
    assert sent == pytest.approx(ready.load(hz_of(ka))[0, 0].real / 2, rel=0.01)


def test_planes_and_points_that_cannot_be_are_refused() -> None:
    mesh = box_surface((0.2, 0.3, 0.2), [Piston((0.0, 0.05), 0.05)], 0.06)

    def asked(planes: tuple[tuple[int, float], ...], place: Floats) -> None:
        Solver(mesh.surface, C, DENSITY, rigid_planes=planes).pressure_at(place, 200.0)

    def refused(words: str, planes: tuple[tuple[int, float], ...], place: Floats = AHEAD) -> None:
        with pytest.raises(SurfaceError, match=words) as caught:
            asked(planes, place)
        assert caught.value.cure
        assert "\n" not in caught.value.what

    refused(r"reaches 50.0 mm through the rigid plane at z = -100.0 mm", ((2, -0.1),))
    refused(
        r"stands 10.0 mm from the rigid plane at z = -160.0 mm, less than a quarter of its .*", ((2, -0.16),)
    )
    refused(r"source 0 lies in the rigid plane at x = 0.0 mm", ((0, 0.0),))
    refused(r"each of the axes 0, 1 and 2 may have one", ((1, -0.4), (1, 0.4)))
    refused(r"each of the axes 0, 1 and 2 may have one", ((3, -0.4),))
    refused(
        r"1 of 2 points lie on or in .* \(-50.0, 0.0, 0.0\)",
        (),
        np.array([[0.5, 0.0, 0.0], [-0.05, 0.0, 0.0]]),
    )
    refused(r"1 of 1 points .* behind a rigid plane", ((2, -0.2),), np.array([[0.5, 0.0, -0.3]]))
