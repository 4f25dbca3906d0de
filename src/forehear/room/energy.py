"""Energy of arrivals at different times, averaged exactly over each band.

Bands of a fraction of an octave are too coarse to hold the phase between a direct sound and a late
reflection. So the cross term of two arrivals is averaged over the band in closed form: it keeps its phase at
the middle of the band and shrinks by sin(x)/x as band and delay grow. The ear's windows end within bands, so
energies that the ear will smooth are better given on bands split in two (`FrequencyGrid.split`), amplitudes
repeated.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from forehear.ground.air import Air
from forehear.ground.arrays import ComplexArray, FloatArray
from forehear.ground.axes import FrequencyGrid

_TOGETHER_S = (
    1e-5  # arrivals closer than this are handled one by one, where a difference of sines would lose digits
)


def band_energy(
    grid: FrequencyGrid,
    amplitude: ComplexArray,
    distance_m: FloatArray,
    reflection: FloatArray,
    air: Air,
) -> ComplexArray:
    r"""Mean square pressure of all arrivals in each band, as a Hermitian form in the driver voltages.

    .. math::
        F_{ij} = \sum_{pq} \overline{u_{ip}} u_{jq}
        \frac{\sin(\pi B (t_{jq} - t_{ip}))}{\pi B (t_{jq} - t_{ip})}, \quad
        u = a R e^{-2 \pi \mathrm{j} f t} / d, \quad t = d / c

    with f the arithmetic middle and B the width of the band; amplitude and reflection are taken as constant
    within it.

    Parameters
    ----------
    grid : FrequencyGrid
        The bands. [Hz]
    amplitude : array
        Pressure of each driver on each path, per volt, at 1 m from the driver's own position, without the
        time of flight, [driver, path, frequency]. [Pa/V]
    distance_m : array
        Length of each path from each driver, [driver, path]. [m]
    reflection : array
        Reflection factor of each path, 1 for the direct sound, [path, frequency]. [-]
    air : Air
        For the speed of sound. [m/s]

    Returns
    -------
    array
        Energy is ``sum_ij conj(v_i) F[f, i, j] v_j``, [frequency, driver, driver]. [Pa2/V2]

    Source
    ------
    own-definition: the mean of exp(-j 2 pi f t) over a band, integrated by hand.

    Examples
    --------
    One driver, one path of 2 m: a quarter of the energy at 1 m.

    >>> grid = FrequencyGrid.standard()
    >>> one = np.ones((1, 1, 240), dtype=complex)
    >>> print(band_energy(grid, one, np.array([[2.0]]), np.ones((1, 240)), Air())[0, 0, 0].real.round(9))
    0.25
    """
    _require_fit(grid, amplitude, distance_m, reflection)
    each = [arrived(grid, *own, reflection, air) for own in zip(amplitude, distance_m, strict=True)]
    form: ComplexArray = np.zeros((len(grid), len(each), len(each)), dtype=complex)
    for driver, one in enumerate(each):
        form[:, driver, driver:] = shared_energy(one, each[driver:]).T
        form[:, driver:, driver] = form[:, driver, driver:].conj()
    return form


@dataclass(frozen=True, eq=False)
class Arrived:
    """What one driver sends to one ear, ready to be held against what another one sends."""

    pressure: ComplexArray  # [path, frequency] at the middle of each band
    cosine: ComplexArray  # [path, frequency] times the cosine of half the band's turns until it arrives
    sine: ComplexArray
    time_s: FloatArray  # [path]
    width_hz: FloatArray  # [frequency]


def arrived(
    grid: FrequencyGrid, amplitude: ComplexArray, distance_m: FloatArray, reflection: FloatArray, air: Air
) -> Arrived:
    """Let one driver's sound arrive: as `band_energy`, but amplitude [path, frequency] and distance [path]."""
    pressure, time_s, width_hz = _flown(grid, amplitude, distance_m, reflection, air)
    angle = np.outer(time_s, np.pi * width_hz)
    return Arrived(pressure, pressure * np.cos(angle), pressure * np.sin(angle), time_s, width_hz)


def shared_energy(one: Arrived, others: Sequence[Arrived]) -> ComplexArray:
    """Entries of the form of `band_energy` between one driver and others, itself perhaps among them.

    The sine of a difference is taken apart, so that what depends on both arrivals, one over their delay, does not
    depend on frequency: the sums become plain matrix products.

    Parameters
    ----------
    one : Arrived
        Of the row, conjugate. [Pa/V]
    others : sequence of Arrived
        Of the columns, to the same ear in the same bands. [Pa/V]

    Returns
    -------
    array
        [other, frequency]. [Pa2/V2]

    Source
    ------
    own-definition: one row of `band_energy`.

    Examples
    --------
    >>> grid = FrequencyGrid.standard()
    >>> there = arrived(grid, np.ones((1, 240), dtype=complex), np.array([2.0]), np.ones((1, 240)), Air())
    >>> print(shared_energy(there, [there])[0, 0].real.round(9))
    0.25
    """
    time_s = np.concatenate([other.time_s for other in others])
    delay = time_s[np.newaxis, :] - one.time_s[:, np.newaxis]
    near = np.abs(delay) < _TOGETHER_S
    over = np.ascontiguousarray(np.where(near, 0.0, 1 / np.where(near, 1.0, delay)).T)
    cosines = (over @ one.cosine.view(float)).view(complex)  # a real matrix: half the work of a complex one
    sines = (over @ one.sine.view(float)).view(complex)
    terms: ComplexArray = cosines.conj() * np.concatenate([other.sine for other in others])
    terms -= sines.conj() * np.concatenate([other.cosine for other in others])
    starts = np.cumsum([0, *(len(other.time_s) for other in others)])
    shared: ComplexArray = np.add.reduceat(terms, starts[:-1], axis=0)
    shared /= np.pi * one.width_hz
    for first, second in np.argwhere(near):
        column = int(np.searchsorted(starts, second, side="right")) - 1
        other = others[column].pressure[second - starts[column]]
        shared[column] += one.pressure[first].conj() * other * np.sinc(one.width_hz * delay[first, second])
    return shared


def path_energy(
    grid: FrequencyGrid,
    amplitude: ComplexArray,
    distance_m: FloatArray,
    reflection: FloatArray,
    air: Air,
    volts_v: ComplexArray,
) -> FloatArray:
    """Mean square pressure of every pair of paths, with the drivers driven as they are.

    The energy of any set of paths is the sum over its rows and columns: so reflections can be taken away or
    heard alone without computing anything again.

    Parameters
    ----------
    grid, amplitude, distance_m, reflection, air
        As for `band_energy`. [Hz], [Pa/V], [m], [-], [m/s]
    volts_v : array
        Volts at each driver per volt at the terminals, [driver, frequency]. [-]

    Returns
    -------
    array
        [frequency, path, path], symmetric; the sum over both paths is the whole energy. [Pa2/V2]

    Source
    ------
    own-definition: `band_energy` with the sums in the other order.

    Examples
    --------
    >>> grid = FrequencyGrid.standard()
    >>> one, volts = np.ones((1, 1, 240), dtype=complex), np.full((1, 240), 2.0 + 0j)
    >>> print(path_energy(grid, one, np.array([[2.0]]), np.ones((1, 240)), Air(), volts)[0, 0, 0].round(9))
    1.0
    """
    arriving = _arrivals(grid, amplitude * volts_v[:, None, :], distance_m, reflection, air)
    paths = distance_m.shape[1]
    energy = np.zeros((len(grid), paths, paths))
    for first in range(paths):
        for second in range(first, paths):
            shared = _cross_terms(arriving, first, second).sum(axis=(1, 2)).real
            energy[:, first, second] = energy[:, second, first] = shared
    return energy


@dataclass(frozen=True)
class Fill:
    """What one reflection does to a hole in the direct sound, at one band."""

    surface: int  # index into `SURFACES`
    alone_db: float  # what it adds to the direct sound when it is the only reflection
    missed_db: float  # what would be lost if it alone were taken away from everything


def explain_fill(energy_pa2_v2: FloatArray, surfaces: Sequence[int], weight: FloatArray) -> tuple[Fill, ...]:
    """Tell which reflections fill a hole in the direct sound.

    Parameters
    ----------
    energy_pa2_v2 : array
        From `path_energy`, the direct path first, [frequency, path, path]. [Pa2/V2]
    surfaces : sequence of int
        Surface of each reflection, the paths after the first. [-]
    weight : array
        How much each band counts at the hole: the row of the ear's smoothing there, [frequency]. [-]

    Returns
    -------
    tuple of Fill
        One a reflection, the one that is missed most first. [dB]

    Source
    ------
    own-definition: levels with and without one reflection.

    Examples
    --------
    A reflection as strong as the direct sound, without any fixed phase to it, adds 3 dB:

    >>> fill = explain_fill(np.array([[[1.0, 0.0], [0.0, 1.0]]]), [4], np.ones(1))
    >>> print(f"{fill[0].alone_db:.2f} {fill[0].missed_db:.2f}")
    3.01 3.01
    """
    heard = np.tensordot(weight, energy_pa2_v2, axes=1)  # [path, path]
    everything, direct = float(heard.sum()), float(heard[0, 0])
    fills = []
    for path, surface in enumerate(surfaces, start=1):
        with_it = direct + 2 * float(heard[0, path]) + float(heard[path, path])
        without = everything - 2 * float(heard[path].sum()) + float(heard[path, path])
        fills.append(Fill(surface, _ratio_db(with_it, direct), _ratio_db(everything, without)))
    return tuple(sorted(fills, key=lambda fill: -fill.missed_db))


def _ratio_db(above: float, below: float) -> float:
    """Level difference of two energies; both are held above nothing so that silence stays a number."""
    least = max(abs(above), abs(below), np.finfo(float).tiny) * 1e-12
    return float(10 * np.log10(max(above, least) / max(below, least)))


@dataclass(frozen=True, eq=False)
class _Arriving:
    """Arrivals at the middle of each band, and the times that decide how they hold together across it."""

    pressure: ComplexArray  # [path, frequency, driver]
    time_s: FloatArray  # [path, driver]
    width_hz: FloatArray  # [frequency]


def _require_fit(
    grid: FrequencyGrid, amplitude: ComplexArray, distance_m: FloatArray, reflection: FloatArray
) -> None:
    drivers, paths = distance_m.shape
    if amplitude.shape != (drivers, paths, len(grid)) or reflection.shape != (paths, len(grid)):
        raise ValueError(
            f"amplitude {amplitude.shape} and reflection {reflection.shape} do not fit {drivers} drivers, "
            f"{paths} paths and {len(grid)} bands"
        )


def _arrivals(
    grid: FrequencyGrid, amplitude: ComplexArray, distance_m: FloatArray, reflection: FloatArray, air: Air
) -> _Arriving:
    _require_fit(grid, amplitude, distance_m, reflection)
    pressure, time_s, width_hz = _flown(grid, amplitude, distance_m, reflection, air)
    return _Arriving(pressure.transpose(1, 2, 0), time_s.T, width_hz)


def _flown(
    grid: FrequencyGrid, amplitude: ComplexArray, distance_m: FloatArray, reflection: FloatArray, air: Air
) -> tuple[ComplexArray, FloatArray, FloatArray]:
    """Pressure at the middle of each band [..., path, frequency], times of flight [..., path] and band widths."""
    edges = grid.edges_hz
    time = distance_m / air.sound_speed_m_s
    middle = (edges[1:] + edges[:-1]) / 2
    flight = np.exp(-2j * np.pi * middle * time[..., None])
    return amplitude * (reflection / distance_m[..., None]) * flight, time, np.diff(edges)


def _cross_terms(arriving: _Arriving, first: int, second: int) -> ComplexArray:
    """Products of all drivers on one path with all drivers on another, [frequency, driver, driver]."""
    delay = arriving.time_s[second][None, :] - arriving.time_s[first][:, None]
    kept = np.sinc(arriving.width_hz[:, None, None] * delay)
    product: ComplexArray = (
        arriving.pressure[first].conj()[:, :, None] * arriving.pressure[second][:, None, :]
    )
    held: ComplexArray = product * kept
    return held
