"""Energy of a few arrivals at different times, averaged exactly over each band.

Bands of a fraction of an octave are too coarse to hold the phase between a direct sound and a late
reflection. So the cross term of two arrivals is averaged over the band in closed form: it keeps its phase at
the middle of the band and shrinks by sin(x)/x as band and delay grow. The ear's windows end within bands, so
energies that the ear will smooth are better given on bands split in two (`FrequencyGrid.split`), amplitudes
repeated.
"""

from dataclasses import dataclass

import numpy as np

from forehear.ground.air import Air
from forehear.ground.arrays import ComplexArray, FloatArray
from forehear.ground.axes import FrequencyGrid


def path_energy(
    grid: FrequencyGrid, amplitude: ComplexArray, distance_m: FloatArray, air: Air, volts_v: ComplexArray
) -> FloatArray:
    r"""Mean square pressure of every pair of paths, with the drivers driven as they are.

    .. math::
        E_{pq} = \mathrm{Re} \sum_{ij} \overline{u_{ip}} u_{jq}
        \frac{\sin(\pi B (t_{jq} - t_{ip}))}{\pi B (t_{jq} - t_{ip})}, \quad
        u = a v e^{-2 \pi \mathrm{j} f t} / d, \quad t = d / c

    with f the arithmetic middle and B the width of the band; amplitude and volts are taken as constant within it.
    The energy of any set of paths is the sum over its rows and columns: so reflections can be taken away or
    heard alone without computing anything again.

    Parameters
    ----------
    grid : FrequencyGrid
        The bands. [Hz]
    amplitude : array
        Pressure of each driver on each path, per volt, at 1 m from the driver's own position, what surfaces
        send back worked in, without the time of flight, [driver, path, frequency]. [Pa/V]
    distance_m : array
        Length of each path from each driver, [driver, path]. [m]
    air : Air
        For the speed of sound. [m/s]
    volts_v : array
        Volts at each driver per volt at the terminals, [driver, frequency]. [-]

    Returns
    -------
    array
        [frequency, path, path], symmetric; the sum over both paths is the whole energy. [Pa2/V2]

    Source
    ------
    own-definition: the mean of exp(-j 2 pi f t) over a band, integrated by hand.

    Examples
    --------
    One driver, one path of 2 m, 2 V: the energy at 1 m of 1 V.

    >>> grid = FrequencyGrid.standard()
    >>> one, volts = np.ones((1, 1, 240), dtype=complex), np.full((1, 240), 2.0 + 0j)
    >>> print(path_energy(grid, one, np.array([[2.0]]), Air(), volts)[0, 0, 0].round(9))
    1.0
    """
    arriving = _arrivals(grid, amplitude * volts_v[:, None, :], distance_m, air)
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

    path: int  # which of the reflections in the order they were given; one more: all later ones together
    alone_db: float  # what it adds to the direct sound when it is the only reflection
    missed_db: float  # what would be lost if it alone were taken away from everything


def explain_fill(energy_pa2_v2: FloatArray, later_pa2_v2: FloatArray, weight: FloatArray) -> tuple[Fill, ...]:
    """Tell which reflections fill a hole in the direct sound.

    Parameters
    ----------
    energy_pa2_v2 : array
        From `path_energy`, the direct path first, [frequency, path, path]. [Pa2/V2]
    later_pa2_v2 : array
        What all later reflections add to the sum over paths, [frequency]. [Pa2/V2]
    weight : array
        How much each band counts at the hole: the row of the ear's smoothing there, [frequency]. [-]

    Returns
    -------
    tuple of Fill
        One a reflection and one for the later ones, that which is missed most first. [dB]

    Source
    ------
    own-definition: levels with and without one reflection.

    Examples
    --------
    A reflection as strong as the direct sound, without any fixed phase to it, adds 3 dB:

    >>> fill = explain_fill(np.array([[[1.0, 0.0], [0.0, 1.0]]]), np.zeros(1), np.ones(1))
    >>> print(f"{fill[0].alone_db:.2f} {fill[0].missed_db:.2f}")
    3.01 3.01
    """
    heard = np.tensordot(weight, energy_pa2_v2, axes=1)  # [path, path]
    later, direct = float(weight @ later_pa2_v2), float(heard[0, 0])
    everything = float(heard.sum()) + later
    fills = [
        Fill(len(heard) - 1, _ratio_db(direct + later, direct), _ratio_db(everything, everything - later))
    ]
    for path in range(1, len(heard)):
        with_it = direct + 2 * float(heard[0, path]) + float(heard[path, path])
        without = everything - 2 * float(heard[path].sum()) + float(heard[path, path])
        fills.append(Fill(path - 1, _ratio_db(with_it, direct), _ratio_db(everything, without)))
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


def _arrivals(grid: FrequencyGrid, amplitude: ComplexArray, distance_m: FloatArray, air: Air) -> _Arriving:
    drivers, paths = distance_m.shape
    if amplitude.shape != (drivers, paths, len(grid)):
        raise ValueError(
            f"amplitude {amplitude.shape} does not fit {drivers} drivers, {paths} paths and {len(grid)} bands"
        )
    edges = grid.edges_hz
    time = distance_m / air.sound_speed_m_s
    middle = (edges[1:] + edges[:-1]) / 2
    flight = np.exp(-2j * np.pi * middle * time[..., None])
    pressure = amplitude / distance_m[..., None] * flight
    return _Arriving(pressure.transpose(1, 2, 0), time.T, np.diff(edges))


def _cross_terms(arriving: _Arriving, first: int, second: int) -> ComplexArray:
    """Products of all drivers on one path with all drivers on another, [frequency, driver, driver]."""
    delay = arriving.time_s[second][None, :] - arriving.time_s[first][:, None]
    kept = np.sinc(arriving.width_hz[:, None, None] * delay)
    product: ComplexArray = (
        arriving.pressure[first].conj()[:, :, None] * arriving.pressure[second][:, None, :]
    )
    held: ComplexArray = product * kept
    return held
