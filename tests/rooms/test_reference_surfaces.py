"""Surfaces and meshes of the reference solver: what is refused and in which words, what meshes hold."""

import math

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.integrate import dblquad

from forehear.ground.errors import ForehearError, OutsideValidity, SurfaceError, TooLittleMemory
from forehear.radiation import Cap, Face, Mesh, Piston, box_surface, reference, solve_surface, sphere_surface
from forehear.radiation.kernels import sine_and_cosine
from forehear.radiation.surface import Surface
from forehear.radiation.touching import static_potentials

Floats = NDArray[np.float64]
AHEAD = np.array([[1.0, 0.0, 0.0]])
BOX = box_surface((0.2, 0.3, 0.2), [Piston((0.0, 0.05), 0.05)], 0.06)


def solve(
    mesh: Mesh = BOX,
    *,
    vertices_m: Floats | None = None,
    triangles: NDArray[np.int64] | None = None,
    source: NDArray[np.int64] | None = None,
    hz: float = 200.0,
) -> None:
    solve_surface(
        mesh.vertices_m if vertices_m is None else vertices_m,
        mesh.triangles if triangles is None else triangles,
        mesh.source_of_triangle if source is None else source,
        np.array([hz]),
        AHEAD,
    )


def refused(kind: type[ForehearError], words: str, **given: object) -> None:
    """Hold a refusal against its words; it must name a cure and be no traceback of ours."""
    with pytest.raises(kind, match=words) as caught:
        solve(**given)  # type: ignore[arg-type]
    assert caught.value.cure
    assert "\n" not in caught.value.what


def test_a_hole_is_refused() -> None:
    keep = np.arange(len(BOX.triangles)) != 7
    refused(SurfaceError, "open: 3 edges", triangles=BOX.triangles[keep], source=BOX.source_of_triangle[keep])


def test_inside_out_is_refused() -> None:
    refused(SurfaceError, "inside out: it holds -12 litres", triangles=BOX.triangles[:, ::-1])


def test_one_triangle_the_wrong_way_round_is_refused() -> None:
    turned = BOX.triangles.copy()
    turned[3] = turned[3, ::-1]
    refused(SurfaceError, "wound in different directions", triangles=turned)


def test_a_surface_that_crosses_itself_is_refused() -> None:
    count = len(BOX.vertices_m)
    both = np.concatenate([BOX.vertices_m, BOX.vertices_m + np.array([0.11, 0.013, 0.017])])
    triangles = np.concatenate([BOX.triangles, BOX.triangles + count])
    refused(
        SurfaceError,
        "crosses itself",
        vertices_m=both,
        triangles=triangles,
        source=np.tile(BOX.source_of_triangle, 2),
    )


def test_two_bodies_apart_are_taken() -> None:
    count = len(BOX.vertices_m)
    both = np.concatenate([BOX.vertices_m, BOX.vertices_m + np.array([0.5, 0.0, 0.0])])
    triangles = np.concatenate([BOX.triangles, BOX.triangles + count])
    source = np.concatenate([BOX.source_of_triangle, np.full(len(BOX.triangles), -1)])
    surface = Surface(both, triangles, source, np.ones(len(source)))
    assert surface.sources == 1


def test_a_flat_triangle_and_a_vertex_that_is_not_there_are_refused() -> None:
    flat = BOX.vertices_m.copy()
    flat[BOX.triangles[5, 2]] = flat[BOX.triangles[5, :2]].mean(axis=0)
    refused(SurfaceError, "triangle 5 near .* has no area", vertices_m=flat)
    refused(SurfaceError, "but there are", vertices_m=BOX.vertices_m[:-1])
    lost = BOX.vertices_m.copy()
    lost[0, 0] = np.nan
    refused(SurfaceError, "not a finite number", vertices_m=lost)


def test_drivers_off_the_surface_are_refused() -> None:
    source = BOX.source_of_triangle
    refused(SurfaceError, "source 0 of 2 has no triangle", source=np.where(source == 0, 1, source))
    refused(SurfaceError, "at least one must be 0", source=np.full(source.shape, -1))
    with pytest.raises(SurfaceError, match=r"piston 0 of 60.0 mm radius reaches 10.0 mm over"):
        box_surface((0.2, 0.3, 0.2), [Piston((0.05, 0.0), 0.06)], 0.05)
    with pytest.raises(SurfaceError, match="no room for edges"):
        box_surface((0.2, 0.3, 0.2), [], 0.05, edge_radius_m=0.1)
    with pytest.raises(SurfaceError, match="overlaps another by 10"):
        sphere_surface(
            0.1, [Cap((1.0, 0.0, 0.0), 0.9), Cap((0.0, 1.0, 0.0), math.pi / 2 - 0.9 + math.pi / 18)], 0.05
        )


def test_a_frequency_that_the_mesh_does_not_hold_is_refused_and_the_limit_named() -> None:
    surface = Surface(BOX.vertices_m, BOX.triangles, BOX.source_of_triangle, np.ones(len(BOX.triangles)))
    limit = surface.holds_to_hz(343.2)
    assert 0.3 * 343.2 / 0.1 < limit < 0.3 * 343.2 / 0.06
    refused(OutsideValidity, rf"hold to {limit:.0f} Hz, not to 5000 Hz", hz=5000.0)
    refused(OutsideValidity, "a frequency is 0 Hz, but must be above zero", hz=0.0)


def test_too_little_memory_is_told_before_the_solve(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(reference, "free_memory_bytes", lambda: 10_000)
    refused(TooLittleMemory, r"unknowns need 0.0 GiB of memory, more than the 0.0 GiB that are free")


def volume_m3(mesh: Mesh) -> float:
    corner = mesh.vertices_m[mesh.triangles]
    return float(np.einsum("ti,ti->", corner[:, 0], np.cross(corner[:, 1], corner[:, 2]))) / 6


def area_m2(mesh: Mesh, source: int) -> float:
    corner = mesh.vertices_m[mesh.triangles[mesh.source_of_triangle == source]]
    return (
        float(
            np.linalg.norm(np.cross(corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]), axis=1).sum()
        )
        / 2
    )


@pytest.mark.parametrize("edge_radius_m", [0.0, 0.015])
def test_a_box_holds_its_volume_and_its_pistons_their_area(edge_radius_m: float) -> None:
    pistons = [
        Piston((0.0, -0.08), 0.065),
        Piston((0.0, 0.11), 0.0125),
        Piston((0.02, 0.0), 0.05, Face.LEFT),
        Piston((0.01, -0.03), 0.04, Face.TOP),
        Piston((0.03, 0.1), 0.03, Face.REAR),
        Piston((0.0, 0.0), 0.02, Face.BOTTOM),
    ]
    width, height, depth, r = 0.22, 0.36, 0.25, edge_radius_m
    mesh = box_surface((width, height, depth), pistons, 0.03, edge_radius_m=r)
    surface = Surface(mesh.vertices_m, mesh.triangles, mesh.source_of_triangle, np.ones(len(mesh.triangles)))
    for number, piston in enumerate(pistons):
        assert area_m2(mesh, number) == pytest.approx(np.pi * piston.radius_m**2, rel=1e-6)
        out = surface.elements.vector_area_m2[mesh.source_of_triangle == number].sum(axis=0)
        axis, end = piston.face.value
        assert out[axis] * end == pytest.approx(np.pi * piston.radius_m**2, rel=1e-6)
    inner = np.array([width, height, depth]) - 2 * r
    shell = 2 * r * (inner[0] * inner[1] + inner[1] * inner[2] + inner[2] * inner[0])
    exact = inner.prod() + shell + np.pi * r**2 * inner.sum() + 4 / 3 * np.pi * r**3
    assert volume_m3(mesh) == pytest.approx(exact, rel=4e-3 if r else 1e-9)
    assert np.max(mesh.vertices_m[:, 0]) == pytest.approx(0.0, abs=1e-12)
    right = surface.elements.corner_m[mesh.source_of_triangle == 2].mean(axis=(0, 1))
    assert right[1] == pytest.approx(-width / 2)  # the listener's left is negative y


def test_layouts_drawn_at_random_follow_their_rims_with_no_long_sides() -> None:
    """A pair near the mirror line, and two pistons anywhere; gaps go down to 2 mm."""
    draw = np.random.default_rng(3)
    for _ in range(12):
        radius, size = draw.uniform(0.01, 0.045), draw.uniform(0.015, 0.05)
        across, up = draw.uniform(radius + 0.002, 0.098 - radius), draw.uniform(-0.1, 0.1)
        pair = [Piston((across, up), radius), Piston((-across, up), radius)]
        for pistons in (pair, [pair[0], Piston((-0.05, 0.05), 0.04)]):
            mesh = box_surface((0.22, 0.32, 0.25), pistons, size)
            corner = mesh.vertices_m[mesh.triangles]
            assert np.linalg.norm(corner - np.roll(corner, 1, axis=1), axis=2).max() < 1.7 * size
            for number, piston in enumerate(pistons):
                assert area_m2(mesh, number) == pytest.approx(np.pi * piston.radius_m**2, rel=1e-6)


def test_small_rims_are_graded() -> None:
    """The smallest piston has twelve sides or more, and triangles grow smoothly away from it."""
    mesh = box_surface((0.22, 0.36, 0.25), [Piston((0.0, 0.1), 0.0125)], 0.05)
    small = mesh.triangles[mesh.source_of_triangle == 0]
    assert len(small) > 24
    corner = mesh.vertices_m[mesh.triangles]
    side = np.linalg.norm(corner - np.roll(corner, 1, axis=1), axis=2)
    assert side.max() < 0.08
    assert np.sin(np.radians(8)) < np.min(
        np.linalg.norm(np.cross(corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]), axis=1)
        / np.sort(side, axis=1)[:, 1:].prod(axis=1)
    )


def test_a_sphere_holds_its_volume_and_its_caps_their_projected_area() -> None:
    caps = [Cap((1.0, 0.0, 0.0), 0.5), Cap((0.0, 0.0, -1.0), 0.2), Cap((-0.6, 0.8, 0.0), 1.0)]
    mesh = sphere_surface(0.1, caps, 0.015)
    assert volume_m3(mesh) == pytest.approx(4 / 3 * np.pi * 0.1**3, rel=1e-9)
    corner = mesh.vertices_m[mesh.triangles]
    area = np.cross(corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]) / 2
    for number, cap in enumerate(caps):
        projected = area[mesh.source_of_triangle == number].sum(axis=0) @ cap.axis
        assert projected == pytest.approx(np.pi * (0.1 * math.sin(cap.half_angle_rad)) ** 2, rel=2e-3)


@pytest.mark.parametrize("at", [(0.1, 0.05, 0.1), (0.3, 0.2, -0.4), (-0.5, 0.4, 0.0)])
def test_closed_forms_over_a_triangle_are_the_integrals(at: tuple[float, float, float]) -> None:
    """Single and double layer at zero frequency against adaptive quadrature in one coordinate after the other."""
    corner = np.array([[0.0, 0.0, 0.0], [0.4, 0.0, 0.0], [0.1, 0.3, 0.0]])
    found = static_potentials(corner, np.array([0.0, 0.0, 1.0]), np.array(at)[:, None]).reshape(2, 3)

    def over(layer: int, b: int) -> float:
        def value(v: float, u: float) -> float:
            share = (1 - u - v, u, v)[b]
            x, y = (corner[1] * u + corner[2] * v)[:2]
            r = math.sqrt((x - at[0]) ** 2 + (y - at[1]) ** 2 + at[2] ** 2)
            return share * 0.12 / (4 * math.pi) * (at[2] / r**3 if layer else 1 / r)

        return float(dblquad(value, 0, 1, 0, lambda u: 1 - u, epsabs=1e-7)[0])

    wanted = [[over(layer, b) for b in range(3)] for layer in range(2)]
    np.testing.assert_allclose(found, wanted, atol=1e-5)


def test_sine_and_cosine_are_good_to_single_precision() -> None:
    x = np.linspace(0.0, 300.0, 20_001, dtype=np.float32)
    told = np.array([sine_and_cosine(value) for value in x])
    wanted = np.stack([np.sin(x.astype(np.float64)), np.cos(x.astype(np.float64))], axis=1)
    assert np.all(np.abs(told - wanted) < 1e-6 * (1 + x[:, None] / 30))
