"""Many frequencies from few solves: the fit against exact series, bands against solves of their own."""

import itertools

import numpy as np
import pytest
from numpy.typing import NDArray

from forehear.ground.air import Air
from forehear.ground.axes import Directions
from forehear.radiation import (
    Band,
    Fineness,
    Mesh,
    Piston,
    Solver,
    Sweep,
    box_surface,
    cap_on_sphere,
)
from forehear.radiation.rational import interpolate
from forehear.radiation.surface import Surface

UNIT = Directions.horizontal_orbit().unit[::4]
C = Air().sound_speed_m_s


def worst_db(found: NDArray[np.complex128], wanted: NDArray[np.complex128]) -> float:
    """Largest error where the level is within 25 dB of its maximum, [source, direction, frequency]."""
    level = np.abs(wanted)
    seen = level > level.max(axis=1, keepdims=True) * 10 ** (-25 / 20)
    return float(np.max(np.abs(20 * np.log10(np.abs(found / wanted)[seen]))))


@pytest.mark.parametrize(("highest_ka", "most_solves"), [(1.0, 12), (8.0, 30)])
def test_the_fit_finds_an_exact_series_from_some_of_its_frequencies(
    highest_ka: float, most_solves: int
) -> None:
    """Three caps on a sphere at once, 60 frequencies over four octaves; what was never solved is held."""
    ka = np.geomspace(highest_ka / 16, highest_ka, 60)
    axes = np.array([[1.0, 0.0, 0.0], [0.8, 0.6, 0.0], [0.0, 0.6, 0.8]])
    exact = np.stack(
        [cap_on_sphere(ka, UNIT @ axis, rim) for axis, rim in zip(axes, (0.5, 0.3, 0.1), strict=True)]
    )
    exact = exact * ka  # as pressure grows with frequency
    asked = []

    def solve(value: float) -> NDArray[np.complex128]:
        asked.append(value)
        return exact[:, :, int(np.argmin(np.abs(ka - value)))]

    found = interpolate(solve, ka, 3e-3)
    assert found.solved.sum() == len(asked) == len(set(asked)) <= most_solves
    assert worst_db(found.value, exact) < 0.02
    assert np.all(found.estimate <= 3e-3)


def test_few_frequencies_are_all_solved() -> None:
    hz = np.array([100.0, 200.0])
    found = interpolate(lambda f: np.array([[f * (1 + 1j)]]), hz, 1e-3)
    assert found.solved.all()
    np.testing.assert_allclose(found.value[0, 0], hz * (1 + 1j))


def cabinet(element_m: float) -> Mesh:
    return box_surface((0.2, 0.3, 0.2), [Piston((0.0, -0.05), 0.06), Piston((0.0, 0.08), 0.03)], element_m)


def test_bands_come_one_by_one_and_agree_with_solves_of_their_own() -> None:
    hz = np.geomspace(300.0, 1300.0, 33)
    told: list[float] = []
    sweep = Sweep(cabinet, hz, UNIT, fineness=Fineness(band_ratio=2.5))
    bands = list(sweep.bands(lambda share, _: told.append(share)))
    np.testing.assert_array_equal(np.concatenate([band.place for band in bands]), np.arange(hz.size))
    assert len(bands) == 2
    assert told == sorted(told)
    assert told[-1] == pytest.approx(1.0)
    top: Band = bands[-1]
    assert top.solved.sum() < 0.8 * top.place.size
    mesh = cabinet(C / hz[-1] / 6)
    solver = Solver(
        Surface(mesh.vertices_m, mesh.triangles, mesh.source_of_triangle, np.ones(len(mesh.triangles)))
    )
    fitted = np.flatnonzero(~top.solved)[:2]
    wanted = np.stack([solver.pressure(hz[top.place[i]], UNIT) for i in fitted], axis=2)
    wanted *= Air().density_kg_m3 / 1.2041
    assert worst_db(top.pressure[:, :, fitted], wanted) < 0.1


def test_a_stopped_sweep_keeps_its_finished_bands() -> None:
    hz = np.geomspace(300.0, 1300.0, 12)
    made: list[float] = []

    def counted(element_m: float) -> Mesh:
        made.append(element_m)
        return cabinet(element_m)

    bands = itertools.islice(Sweep(counted, hz, UNIT).bands(), 1)
    (first,) = list(bands)
    assert len(made) == 1
    assert np.isfinite(first.pressure).all()
    assert first.pressure.shape == (2, len(UNIT), first.place.size)
