"""Laws that any radiating surface keeps, asked of the reference solver on coarse meshes."""

import math
from functools import lru_cache
from itertools import product

import numpy as np
import pytest
from numpy.typing import NDArray

from forehear.ground.axes import Directions
from forehear.radiation import Face, Mesh, Piston, Solver, box_surface, operators, solve_surface
from forehear.radiation.krylov import solve_columns
from forehear.radiation.surface import Surface

Floats = NDArray[np.float64]
C, DENSITY = 343.2, 1.2041
SIZE_M = (0.2, 0.3, 0.22)
ON_THE_MIDDLE = (Piston((0.0, -0.05), 0.06), Piston((0.0, 0.08), 0.03))
ASIDE = (Piston((0.03, -0.05), 0.05), Piston((-0.05, 0.1), 0.03), Piston((0.02, 0.0), 0.05, Face.RIGHT))


@lru_cache
def box(pistons: tuple[Piston, ...], element_m: float = 0.04) -> Mesh:
    return box_surface(SIZE_M, pistons, element_m)


def solver(mesh: Mesh, axes: tuple[int, ...] | None = None) -> Solver:
    surface = Surface(mesh.vertices_m, mesh.triangles, mesh.source_of_triangle, np.ones(len(mesh.triangles)))
    return Solver(surface, C, DENSITY, axes)


def whole_sphere(degree: int) -> tuple[Floats, Floats]:
    """Directions and weights that sum polynomials up to the degree over the sphere exactly."""
    height, weight = np.polynomial.legendre.leggauss(degree // 2 + 1)
    around = 2 * np.pi * np.arange(degree + 1) / (degree + 1)
    level = np.sqrt(1 - height**2)[:, None]
    unit = np.stack(
        np.broadcast_arrays(level * np.cos(around), level * np.sin(around), height[:, None]), axis=-1
    )
    return unit.reshape(-1, 3), np.repeat(weight, around.size) * 2 * np.pi / around.size


def decibels_apart(first: Floats, second: Floats) -> float:
    return float(np.max(np.abs(20 * np.log10(np.abs(first) / np.abs(second)))))


@pytest.mark.parametrize("hz", [300.0, 900.0, 1500.0])
def test_what_one_piston_does_to_another_the_other_does_to_it(hz: float) -> None:
    load = solver(box(ASIDE)).load(hz)
    scale = np.sqrt(np.abs(np.outer(np.diag(load), np.diag(load))))
    np.testing.assert_allclose(load / scale, load.T / scale, atol=2e-3)


@pytest.mark.parametrize("hz", [350.0, 900.0, 1500.0])
def test_power_in_the_distance_is_the_power_at_the_pistons(hz: float) -> None:
    """For every sum of two sources too: the power is a Hermitian form. k times the radius starts at 0.3."""
    ready = solver(box(ASIDE))
    unit, weight = whole_sphere(24)
    far = ready.pressure(hz, unit)
    away = (far * weight) @ far.conj().T / (2 * DENSITY * C)
    load = ready.load(hz)
    spent = (load + load.conj().T) / 4
    assert decibels_apart(np.diag(away).real, np.diag(spent).real) / 2 < 0.05
    scale = np.sqrt(np.outer(np.diag(away), np.diag(away)).real)
    np.testing.assert_allclose(away.T.real / scale, spent.real / scale, atol=0.01)


def test_at_low_frequency_only_the_volume_velocity_counts() -> None:
    pressure = solver(box(ASIDE)).pressure(5.0, whole_sphere(4)[0])
    area = np.pi * np.array([piston.radius_m**2 for piston in ASIDE])
    free = 5.0 * DENSITY * area / 2
    assert decibels_apart(pressure, np.repeat(free[:, None], pressure.shape[1], axis=1)) < 0.1
    np.testing.assert_allclose(np.angle(pressure), np.pi / 2, atol=0.05)


@pytest.mark.parametrize("hz", [400.0, 1500.0])
def test_a_mirror_plane_changes_only_the_cost(hz: float) -> None:
    """Sources on the plane are even about it; one of a pair beside it is even and odd."""
    for pistons in (ON_THE_MIDDLE, (Piston((-0.05, 0.0), 0.03), Piston((0.05, 0.0), 0.03))):
        unit = whole_sphere(6)[0]
        halved, whole = solver(box(pistons)), solver(box(pistons), ())
        assert halved.equations.part.axes == (1,)
        assert whole.equations.part.axes == ()
        found, wanted = halved.pressure(hz, unit), whole.pressure(hz, unit)
        assert np.max(np.abs(found - wanted)) < 1e-3 * np.max(np.abs(wanted))
        np.testing.assert_allclose(halved.load(hz), whole.load(hz), rtol=2e-3, atol=1e-4)


def ball_of_an_octahedron(radius_m: float, halvings: int) -> tuple[Floats, NDArray[np.int64]]:
    """A ball with three mirror planes: every face of an octahedron cut in four again and again."""
    corner = np.array([[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]])
    faces = corner[None]
    for _ in range(halvings):
        middle = faces[:, [1, 2, 0]] + faces[:, [2, 0, 1]]
        middle /= np.linalg.norm(middle, axis=2, keepdims=True)
        around = [
            np.stack([faces[:, i], middle[:, (i + 2) % 3], middle[:, (i + 1) % 3]], axis=1) for i in range(3)
        ]
        faces = np.concatenate([*around, middle])
    signs = np.array([[a, b, c] for a in (1, -1) for b in (1, -1) for c in (1, -1)])
    whole = np.concatenate([(faces * s)[:, :: int(s.prod())] for s in signs])
    place, number = np.unique(np.round(whole.reshape(-1, 3), 12), axis=0, return_inverse=True)
    return radius_m * place, number.reshape(-1, 3)


def test_three_mirror_planes_are_found_and_agree_with_none() -> None:
    place, triangle = ball_of_an_octahedron(0.1, 3)
    centre = place[triangle].mean(axis=1)
    source = np.where(centre @ [0.8, 0.5, 0.33] > 0.085, 0, np.where(centre[:, 2] < -0.08, 1, -1))
    surface = Surface(place, triangle, source, np.ones(len(source)))
    ready, plain = Solver(surface, C, DENSITY), Solver(surface, C, DENSITY, ())
    assert ready.equations.part.axes == (0, 1, 2)
    unit = whole_sphere(6)[0]
    found, wanted = ready.pressure(900.0, unit), plain.pressure(900.0, unit)
    assert np.max(np.abs(found - wanted)) < 1e-3 * np.max(np.abs(wanted))
    np.testing.assert_allclose(ready.load(900.0), plain.load(900.0), rtol=2e-3, atol=1e-5)


def test_a_moved_surface_only_turns_phases() -> None:
    mesh, hz, unit = box(ASIDE), np.array([800.0]), whole_sphere(6)[0]
    step = np.array([0.3, -0.2, 0.1])
    still = solve_surface(mesh.vertices_m, mesh.triangles, mesh.source_of_triangle, hz, unit)
    moved = solve_surface(mesh.vertices_m + step, mesh.triangles, mesh.source_of_triangle, hz, unit)
    turned = still * np.exp(2j * np.pi * hz / C * (unit @ step)[:, None])
    assert np.max(np.abs(moved - turned)) < 1e-3 * np.max(np.abs(still))


def test_sources_add_and_scale() -> None:
    mesh, hz, unit = box(ASIDE), np.array([1200.0]), whole_sphere(6)[0]
    given = (mesh.vertices_m, mesh.triangles)
    alone = solve_surface(*given, mesh.source_of_triangle, hz, unit)
    both = np.where(mesh.source_of_triangle == 1, 0, np.minimum(mesh.source_of_triangle, 0))
    velocity = np.where(mesh.source_of_triangle == 1, -2.0, 1.0)
    together = solve_surface(*given, both, hz, unit, velocity_of_triangle=velocity)
    assert np.max(np.abs(together[0] - alone[0] + 2 * alone[1] - alone[2])) < 1e-3 * np.max(np.abs(alone))


def test_a_finer_mesh_changes_little() -> None:
    unit = Directions.horizontal_orbit().unit[::3]
    coarse, fine = (solver(box(ON_THE_MIDDLE, size)).pressure(1200.0, unit) for size in (0.045, 0.025))
    seen = np.abs(fine) > np.max(np.abs(fine), axis=1, keepdims=True) * 10 ** (-25 / 20)
    assert decibels_apart(coarse[seen], fine[seen]) < 0.25


def test_the_coupling_has_the_sign_that_is_solved_in_fewer_steps(monkeypatch: pytest.MonkeyPatch) -> None:
    """With the other sign the answer is nearly as good, but the equations are worse: k times the size is 11."""
    steps = []
    for coupling in (0.5, -0.5):
        monkeypatch.setattr(operators, "_COUPLING", coupling)
        equations = solver(box(ON_THE_MIDDLE)).equations
        even = equations.part.parities[0]
        share = equations.part.share(solver(box(ON_THE_MIDDLE)).surface.velocity_m_s, even)
        wavenumber = 2 * math.pi * 2000.0 / C
        right = equations.right_side(wavenumber, even, share)
        (operator,) = equations.dense(wavenumber, even[None])
        steps.append(solve_columns(operator, right, 1e-4)[1])
    assert steps[0] < 0.8 * steps[1]


def test_progress_is_told_and_air_can_be_given() -> None:
    mesh, told = box(ON_THE_MIDDLE), []
    hz = np.array([600.0, 300.0])
    given = (mesh.vertices_m, mesh.triangles, mesh.source_of_triangle)
    ahead = np.array([[1.0, 0.0, 0.0]])
    plain = solve_surface(*given, hz, ahead, progress=lambda share, doing: told.append((share, doing)))
    assert [share for share, _ in told] == [0.0, 0.5, 1.0]
    assert told[1][1] == "solved 300 Hz"
    quick = solve_surface(*given, 1.1 * hz, ahead, sound_speed_m_s=1.1 * C, density_kg_m3=2 * DENSITY)
    np.testing.assert_allclose(quick, 2.2 * plain, rtol=1e-4)


def octahedron() -> Mesh:
    """An octahedron of three mirror planes, every side cut in four; its front moves."""
    corners = [(i, j) for i in range(5) for j in range(5 - i)]
    part = np.array([(i, j, 4 - i - j) for i, j in corners]) * 0.04
    low = [[(i, j), (i + 1, j), (i, j + 1)] for i, j in corners if i + j < 4]
    high = [[(i + 1, j), (i + 1, j + 1), (i, j + 1)] for i, j in corners if i + j < 3]
    face = np.array([[corners.index(corner) for corner in three] for three in low + high])
    vertices, triangles = [], []
    for signs in product((1, -1), repeat=3):
        triangles.append((face if math.prod(signs) > 0 else face[:, ::-1]) + len(part) * len(vertices))
        vertices.append(part * signs)
    whole, number = np.unique(np.concatenate(vertices), axis=0, return_inverse=True)
    triangle = number[np.concatenate(triangles)]
    return Mesh(whole, triangle, np.where(whole[triangle, 0].min(axis=1) >= 0, 0, -1))


@pytest.mark.parametrize("walls", [(), ((0, -0.4),)], ids=["free", "before a wall"])
def test_parities_made_together_are_those_made_alone(walls: tuple[tuple[int, float], ...]) -> None:
    """Single precision, over the largest entry."""
    equations = Solver(octahedron().surface, C, rigid_planes=walls).equations
    parities = equations.part.parities
    assert len(equations.part.axes) == 3
    for chosen in (parities, parities[1:], parities[[0, -1]]):
        together = equations.dense(20.0, chosen)
        for parity, operator in zip(chosen, together, strict=True):
            (alone,) = equations.dense(20.0, parity[None])
            apart = np.abs(operator.transposed - alone.transposed).max()
            assert apart < 1e-6 * np.abs(alone.transposed).max()
