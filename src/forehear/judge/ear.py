"""How finely the ear hears: the ERB scale, and the smoothing of energies by it."""

from dataclasses import dataclass

import numpy as np

from forehear.ground.arrays import FloatArray, locked
from forehear.ground.axes import FrequencyGrid


def erb_hz(frequency_hz: FloatArray) -> FloatArray:
    r"""Equivalent rectangular bandwidth of the ear's filter centred on a frequency.

    .. math:: ERB = 24.7 (4.37 f / 1000 + 1)

    Parameters
    ----------
    frequency_hz : array
        Centre of the filter. [Hz]

    Returns
    -------
    array
        Bandwidth. [Hz]

    Source
    ------
    glasberg-moore-1990, abstract: young listeners at moderate levels, 100 Hz to 10 kHz.

    Examples
    --------
    >>> print(f"{erb_hz(np.array([1000.0]))[0]:.1f} Hz")
    132.6 Hz
    """
    return 24.7 * (4.37e-3 * np.asarray(frequency_hz, dtype=float) + 1.0)


def erb_number(frequency_hz: FloatArray) -> FloatArray:
    r"""Place on the ear's frequency scale, counted in bandwidths from zero frequency.

    .. math:: E = 21.4 \log_{10}(4.37 f / 1000 + 1)

    Parameters
    ----------
    frequency_hz : array
        Frequency. [Hz]

    Returns
    -------
    array
        ERB number. [-]

    Source
    ------
    glasberg-moore-1990, abstract: as `erb_hz`.

    Examples
    --------
    >>> print(f"{erb_number(np.array([1000.0]))[0]:.1f}")
    15.6
    """
    return 21.4 * np.log10(4.37e-3 * np.asarray(frequency_hz, dtype=float) + 1.0)


def erb_weight(grid: FrequencyGrid, lowest_hz: float, highest_hz: float) -> FloatArray:
    """Weights that count every ERB of a range once: the ERBs each band covers inside it, as shares.

    Parameters
    ----------
    grid : FrequencyGrid
        The bands. [Hz]
    lowest_hz, highest_hz : float
        The range; a band that straddles an end counts with the part inside. [Hz]

    Returns
    -------
    array
        Weight of each band, sums to 1. [-]

    Source
    ------
    glasberg-moore-1990: the scale; equal weight per ERB is our own choice.

    Examples
    --------
    >>> round(float(erb_weight(FrequencyGrid.standard(), 200.0, 10e3).sum()), 9)
    1.0
    """
    edges = np.clip(grid.edges_hz, lowest_hz, highest_hz)
    width = np.diff(erb_number(edges))
    total = float(width.sum())
    if total <= 0:
        raise ValueError(f"the grid holds no band between {lowest_hz:g} and {highest_hz:g} Hz")
    return width / total


@dataclass(frozen=True, eq=False)
class Smoothing:
    """A moving average for energies (mean square pressures) given band by band."""

    grid: FrequencyGrid  # bands of the energies
    heard: FrequencyGrid  # middles of the windows
    weight: FloatArray  # [heard, grid], rows sum to 1

    def __post_init__(self) -> None:
        locked(self, "weight", (len(self.heard), len(self.grid)), "windows x bands")

    def smooth(self, energy: FloatArray) -> FloatArray:
        """Average energies [..., grid] into windows [..., heard]."""
        if energy.shape[-1] != len(self.grid):
            raise ValueError(f"energy has {energy.shape[-1]} bands, but the smoothing needs {len(self.grid)}")
        smoothed: FloatArray = energy @ self.weight.T
        return smoothed


class EarSmoothing(Smoothing):
    """Smoothing as coarse as the ear's own filters."""


def ear_smoothing(grid: FrequencyGrid, heard: FrequencyGrid | None = None) -> EarSmoothing:
    """Make the ear's smoothing: the mean power per hertz in a window one ERB wide around each band.

    The window is rectangular; power is taken as constant within each band; at both ends of the grid the
    window is cut off and its weights divided by what is left. Reflections make power change fast within a
    band: give their energies on `FrequencyGrid.split` bands, and hear them on the whole ones.

    Parameters
    ----------
    grid : FrequencyGrid
        Bands of the energies to be smoothed. [Hz]
    heard : FrequencyGrid, optional
        Middles of the windows; those of the bands if left out. [Hz]

    Returns
    -------
    EarSmoothing
        The weights, ready for `smooth`. [-]

    Source
    ------
    glasberg-moore-1990: the width; the rectangular shape is the E and R of the name.

    Examples
    --------
    >>> ear = ear_smoothing(FrequencyGrid.standard())
    >>> print(f"{ear.smooth(np.ones(240)).max():.6f}")
    1.000000
    """
    middle = grid if heard is None else heard
    half = erb_hz(middle.frequency_hz) / 2
    lower, upper = middle.frequency_hz - half, middle.frequency_hz + half
    return EarSmoothing(grid, middle, _window_weight(grid.edges_hz, lower, upper))


def band_means(grid: FrequencyGrid, heard: FrequencyGrid) -> Smoothing:
    """Make the average that brings energies from `FrequencyGrid.split` bands back to whole ones, per hertz.

    Parameters
    ----------
    grid, heard : FrequencyGrid
        The narrow bands and the wide ones. [Hz]

    Returns
    -------
    Smoothing
        The weights, ready for `smooth`. [-]

    Source
    ------
    own-definition: the mean over a band.

    Examples
    --------
    >>> whole = FrequencyGrid.standard()
    >>> print(band_means(whole.split(2), whole).smooth(np.ones(480)).round(9).min())
    1.0
    """
    return Smoothing(grid, heard, _window_weight(grid.edges_hz, heard.edges_hz[:-1], heard.edges_hz[1:]))


def octave_smoothing(grid: FrequencyGrid, per_octave: float, *, per_hertz: bool = False) -> Smoothing:
    """Make the smoothing of drawn curves: the mean power over 1/n octave around each band.

    The window is rectangular and reaches from f / 2^(1/2n) to f 2^(1/2n), cut off and divided by what is left
    at both ends of the grid.

    Parameters
    ----------
    grid : FrequencyGrid
        Bands of the energies to be smoothed. [Hz]
    per_octave : float
        n: windows an octave. [-]
    per_hertz : bool
        Whether the mean is per hertz, as the ear's is, instead of per octave. [-]

    Returns
    -------
    Smoothing
        The weights, ready for `smooth`. [-]

    Source
    ------
    common-practice: power averaged in a rectangular window of constant relative width.

    Examples
    --------
    >>> third = octave_smoothing(FrequencyGrid.standard(), 3)
    >>> print(f"{third.smooth(np.ones(240)).min():.6f}")
    1.000000
    """
    reach = 2.0 ** (0.5 / per_octave)
    edges, lower, upper = grid.edges_hz, grid.frequency_hz / reach, grid.frequency_hz * reach
    if per_hertz:
        return Smoothing(grid, grid, _window_weight(edges, lower, upper))
    return Smoothing(grid, grid, _window_weight(np.log(edges), np.log(lower), np.log(upper)))


def _window_weight(edges: FloatArray, lower: FloatArray, upper: FloatArray) -> FloatArray:
    """Share of each band in each window, rows divided by their sum."""
    right = np.minimum(edges[None, 1:], upper[:, None])
    left = np.maximum(edges[None, :-1], lower[:, None])
    overlap = np.maximum(right - left, 0.0)
    weight: FloatArray = overlap / overlap.sum(axis=1, keepdims=True)
    return weight
