"""Energies averaged in closed form over bands, and a sum every half hertz: both as the ear hears them."""

from collections.abc import Callable

import numpy as np
import pytest
from scipy.special import j1

from forehear.ground.air import Air
from forehear.ground.arrays import ComplexArray, FloatArray
from forehear.ground.axes import FrequencyGrid
from forehear.judge import ear_smoothing, erb_hz
from forehear.room import (
    Block,
    LinearGrid,
    Paths,
    Shoebox,
    band_means_of,
    few_arrivals_sum,
    first_order_paths,
    path_energy,
    reflection_factor,
)

AIR = Air()
GRID = FrequencyGrid.standard()
JUDGED = (GRID.frequency_hz >= 200.0) & (GRID.frequency_hz <= 10_000.0)
DENSE_HZ = np.arange(100.0, 11_000.0, 0.5)
ROOM = Shoebox.uniform((5.2, 3.9, 2.5), [0.08, 0.15, 0.1, 0.12, 0.3, 0.1])
DRIVERS_M = np.array([[0.6, 1.30, 0.9], [0.6, 1.52, 0.9], [0.6, 1.41, 0.93]])
SEATS_M = [(3.8, 2.0, 1.1), (3.3, 3.3, 1.15), (4.5, 1.0, 1.2), (2.5, 2.5, 1.0)]


def _constant(paths: list[Paths], frequency_hz: FloatArray) -> ComplexArray:
    one = np.array([1.0, 0.9, 0.7 + 0.3j])
    return np.broadcast_to(one[:, None, None], (len(paths), 7, frequency_hz.size)).astype(complex)


def _lifelike(paths: list[Paths], frequency_hz: FloatArray) -> ComplexArray:
    """Two woofers and a tweeter of a two-way: pistons toward each path, crossed at 2 kHz, one set back."""
    s = 1j * frequency_hz / 2000.0
    second_order = s**2 + np.sqrt(2) * s + 1
    filters = [1 / second_order**2, 1 / second_order**2, (s**2 / second_order) ** 2]
    behind_s = [0.0, 0.0, 0.00003]
    rows = []
    for path, radius, passed, late in zip(paths, (0.05, 0.05, 0.0125), filters, behind_s, strict=True):
        off_axis = np.sqrt(np.maximum(1 - (path.departure_m[:, 0] / path.distance_m) ** 2, 1e-12))
        x = np.maximum(2 * np.pi * frequency_hz / AIR.sound_speed_m_s * radius * off_axis[:, None], 1e-9)
        rows.append(2 * j1(x) / x * passed * np.exp(-2j * np.pi * frequency_hz * late))
    return np.array(rows)


def _reflections(paths: Paths, frequency_hz: FloatArray) -> FloatArray:
    return np.stack([reflection_factor(ROOM, surface, frequency_hz) for surface in paths.surface])


def _heard_dense(paths: list[Paths], amplitude: ComplexArray) -> FloatArray:
    """Mean power in a window one ERB wide around each judged band, every half hertz counted."""
    pressure = np.zeros(DENSE_HZ.size, dtype=complex)
    reflection = _reflections(paths[0], DENSE_HZ)
    for path, driver in zip(paths, amplitude, strict=True):
        flight = np.exp(-2j * np.pi * DENSE_HZ * path.distance_m[:, None] / AIR.sound_speed_m_s)
        pressure += (driver * reflection * flight / path.distance_m[:, None]).sum(axis=0)
    so_far = np.concatenate([[0.0], np.cumsum(np.abs(pressure) ** 2)])
    middle = GRID.frequency_hz[JUDGED]
    lower = np.searchsorted(DENSE_HZ, middle - erb_hz(middle) / 2)
    upper = np.searchsorted(DENSE_HZ, middle + erb_hz(middle) / 2)
    return (so_far[upper] - so_far[lower]) / (upper - lower)


def _apart_db(
    source: Callable[[list[Paths], FloatArray], ComplexArray], seat: tuple[float, float, float], parts: int
) -> FloatArray:
    """Closed form, with amplitudes known on 240 bands only, minus the dense sum."""
    paths = [first_order_paths(ROOM, driver, seat) for driver in DRIVERS_M]
    distance = np.array([path.distance_m for path in paths])
    amplitude = np.repeat(source(paths, GRID.frequency_hz), parts, axis=2)
    amplitude *= np.repeat(_reflections(paths[0], GRID.frequency_hz), parts, axis=1)
    narrow = GRID.split(parts)
    volts = np.ones((len(paths), len(narrow)), dtype=complex)
    energy = path_energy(narrow, amplitude, distance, AIR, volts).sum(axis=(1, 2))
    heard = ear_smoothing(narrow, GRID).smooth(energy)[JUDGED]
    return 10 * np.log10(heard / _heard_dense(paths, source(paths, DENSE_HZ)))


@pytest.mark.parametrize("source", [_constant, _lifelike])
@pytest.mark.parametrize(("parts", "rms_db", "most_db"), [(1, 0.3, 2.0), (2, 0.1, 0.5)])
def test_closed_form_agrees_with_a_dense_sum(
    source: Callable[[list[Paths], FloatArray], ComplexArray], parts: int, rms_db: float, most_db: float
) -> None:
    apart = np.concatenate([_apart_db(source, seat, parts) for seat in SEATS_M])
    assert np.sqrt(np.mean(apart**2)) < rms_db
    assert np.abs(apart).max() < most_db


def test_band_means_of_the_linear_grid_are_the_closed_form() -> None:
    """The same arrivals summed every half hertz, then averaged over thirds of an octave from 100 Hz to 10 kHz.

    Within 3e-3 of the energy, or of a tenth of the largest: at edges of bands the sum holds each frequency for
    half a hertz about it, which in the narrowest band of 46 frequencies is worth 1e-3.
    """
    bands = FrequencyGrid(1000.0 * 10 ** (np.arange(-10, 11) / 10))
    paths = [first_order_paths(ROOM, driver, SEATS_M[1]) for driver in DRIVERS_M]
    amplitude = _lifelike(paths, bands.frequency_hz) * _reflections(paths[0], bands.frequency_hz)
    distance = np.array([path.distance_m for path in paths])
    volts = np.exp(1j * np.outer([0.3, -1.0, 2.0], np.linspace(0.0, 3.0, len(bands))))
    closed = path_energy(bands, amplitude, distance, AIR, volts).sum(axis=(1, 2))

    grid = LinearGrid(FrequencyGrid(np.array([80.0, 13_000.0])), (Block(0, 1, 0.5),))
    driven = (amplitude * volts[:, None] / distance[..., None]).reshape(-1, len(bands))
    total = few_arrivals_sum(driven, distance.ravel() / AIR.sound_speed_m_s, bands, grid)
    counted = band_means_of(total.conj() * total, grid, bands.edges_hz).real
    apart = np.abs(counted - closed) / np.maximum(closed, 0.1 * closed.max())
    assert apart.max() < 3e-3
