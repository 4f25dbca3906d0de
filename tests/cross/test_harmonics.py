"""Far fields kept as spherical harmonics against a library's harmonics, and against fields solved directly."""

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.special import sph_harm_y

from forehear.ground.axes import Directions
from forehear.radiation import Piston, Solver, box_surface
from forehear.radiation.harmonics import Expansion, degree_for, expand, harmonics, quadrature
from forehear.radiation.surface import Surface

C = 343.2
SIZE_M = (0.2, 0.3, 0.2)  # width, height, depth
TO_MIDDLE_M = np.array([-0.1, 0.0, 0.0])


def anywhere(count: int) -> NDArray[np.float64]:
    """Directions all over the sphere, both ends of the axis among them: what lies on axis is asked for most."""
    drawn = np.random.default_rng(7).normal(size=(count, 3))
    ends = np.array([[1.0, 0.0, 0.0], [-1.0, 0.0, 0.0]])
    return np.concatenate([ends, drawn / np.linalg.norm(drawn, axis=1, keepdims=True)])


def test_harmonics_are_those_of_a_library() -> None:
    """scipy's complex ones about the x axis, real and imaginary parts times the square root of two."""
    unit, degree = anywhere(40), 9
    from_axis, around = np.arccos(np.clip(unit[:, 0], -1, 1)), np.arctan2(unit[:, 2], unit[:, 1])
    found, column = harmonics(unit, degree), 0
    for own in range(degree + 1):
        every = [sph_harm_y(own, order, from_axis, around) * (-1) ** order for order in range(own + 1)]
        wanted = [every[0].real]
        wanted += [np.sqrt(2) * one.real for one in every[1:]]
        wanted += [np.sqrt(2) * one.imag for one in every[1:]]
        np.testing.assert_allclose(
            found[:, column : column + 2 * own + 1], np.stack(wanted, axis=1), atol=1e-12
        )
        column += 2 * own + 1
    assert column == found.shape[1]


@pytest.mark.parametrize("degree", [4, 31])
def test_the_quadrature_tells_every_harmonic_from_every_other(degree: int) -> None:
    unit, weight = quadrature(degree)
    found = harmonics(unit, degree)
    np.testing.assert_allclose(found.T @ (weight[:, None] * found), np.eye(found.shape[1]), atol=1e-12)


def test_a_far_point_off_the_middle_is_held() -> None:
    """exp(jka cos) has the closed expansion of plane waves; its far tail is what the degree must reach."""
    for ka in (0.02, 1.0, 12.0, 30.0):
        degree = degree_for(ka)
        towards = np.array([0.48, 0.6, 0.64])
        sent = np.exp(1j * ka * quadrature(degree)[0] @ towards)
        band = expand(sent[None, :, None], np.array([1.0]), degree)
        unit = anywhere(200)
        held = band.pressure(0, harmonics(unit, degree))[:, 0]
        assert np.abs(held - np.exp(1j * ka * unit @ towards)).max() < 2e-3


@pytest.mark.parametrize("hz", [200.0, 1200.0])
def test_any_direction_is_that_of_a_solve_of_its_own(hz: float) -> None:
    """Within 0.02 dB where the level is within 25 dB of its maximum; a driver aside, so nothing is symmetric."""
    mesh = box_surface(
        SIZE_M, [Piston((0.02, -0.05), 0.06), Piston((-0.03, 0.09), 0.0125)], 0.05, edge_radius_m=0.012
    )
    moving = np.ones(len(mesh.triangles))
    solver = Solver(Surface(mesh.vertices_m - TO_MIDDLE_M, mesh.triangles, mesh.source_of_triangle, moving))
    degree = degree_for(2 * np.pi * hz / C * float(np.linalg.norm(SIZE_M)) / 2)
    band = expand(solver.pressure(hz, quadrature(degree)[0])[:, :, None], np.array([hz]), degree)
    assert (band.degree, Expansion(band.frequency_hz, band.coefficient_pa).degree) == (degree, degree)
    unit = Directions(anywhere(300)).unit
    wanted, of_directions = solver.pressure(hz, unit), harmonics(unit, degree + 3)
    for source, direct in enumerate(wanted):
        level = np.abs(direct)
        seen = level > level.max() * 10 ** (-25 / 20)
        apart_db = 20 * np.log10(np.abs(band.pressure(source, of_directions)[:, 0] / direct)[seen])
        assert np.abs(apart_db).max() < 0.02
        assert np.abs(np.angle(band.pressure(source, of_directions)[seen, 0] / direct[seen])).max() < 2e-3
