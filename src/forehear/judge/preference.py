"""Olive's predicted preference of 2004: one published regression over one set of listening tests.

Coefficients, bands and definitions are from memory, not re-read. It was fitted to single speakers judged in
mono in one room with forward-radiating boxes; it knows nothing of this room, of level or of distortion. One
line in a table, never a headline.
"""

from dataclasses import dataclass

import numpy as np

from forehear.ground.arrays import FloatArray
from forehear.ground.axes import FrequencyGrid
from forehear.judge.curves import StandardCurves

POINTS_PER_OCTAVE = 20
DEVIATION_HZ = (100.0, 12_000.0)
SLOPE_HZ = (100.0, 16_000.0)
LEVEL_HZ = (300.0, 10_000.0)
EXTENSION_DB = 6.0


@dataclass(frozen=True)
class Preference:
    """The predicted preference and the four numbers it is made of."""

    rating: float
    on_axis_deviation_db: float
    in_room_deviation_db: float
    low_extension_hz: float
    in_room_smoothness: float  # 0 where the in-room curve is perfectly flat and r squared is 0 / 0


def preference_rating(curves: StandardCurves, grid: FrequencyGrid) -> Preference:
    """Predict how listeners would rate a speaker.

    Parameters
    ----------
    curves : StandardCurves
        The standard curves. [dB]
    grid : FrequencyGrid
        Their bands. [Hz]

    Returns
    -------
    Preference
        Rating, roughly 0 to 10, and its parts. [-], [dB], [Hz]

    Source
    ------
    olive-2004, from memory: forward-radiating speakers, mono, one room; good to about +-1 in its own data.

    Examples
    --------
    >>> flat = np.full(240, 85.0)
    >>> curves = StandardCurves(flat, flat, flat, flat, flat - flat, flat - flat, flat)
    >>> print(f"{preference_rating(curves, FrequencyGrid.standard()).low_extension_hz:.0f} Hz")
    20 Hz
    """
    on_axis = narrow_band_deviation_db(curves.on_axis_db, grid)
    in_room = narrow_band_deviation_db(curves.estimated_in_room_db, grid)
    extension = low_extension_hz(curves.sound_power_db, curves.listening_window_db, grid)
    smooth = smoothness(curves.estimated_in_room_db, grid)
    return Preference(
        preference_formula(on_axis, in_room, extension, smooth), on_axis, in_room, extension, smooth
    )


def preference_formula(
    on_axis_deviation_db: float,
    in_room_deviation_db: float,
    low_extension_hz: float,
    in_room_smoothness: float,
) -> float:
    r"""Rate from the four numbers of the generalised model.

    .. math:: PR = 12.69 - 2.49 NBD_{ON} - 2.99 NBD_{PIR} - 4.31 \log_{10} LFX + 2.32 SM_{PIR}

    Parameters
    ----------
    on_axis_deviation_db, in_room_deviation_db : float
        Narrow-band deviation on axis and of the estimated in-room response. [dB]
    low_extension_hz : float
        Low-frequency extension. [Hz]
    in_room_smoothness : float
        r squared of the in-room response against log frequency. [-]

    Returns
    -------
    float
        Rating. [-]

    Source
    ------
    olive-2004, from memory.

    Examples
    --------
    >>> print(f"{preference_formula(0.3, 0.25, 40.0, 0.8):.2f}")
    6.15
    """
    flatness = 2.49 * on_axis_deviation_db + 2.99 * in_room_deviation_db
    return float(12.69 - flatness - 4.31 * np.log10(low_extension_hz) + 2.32 * in_room_smoothness)


def narrow_band_deviation_db(
    level_db: FloatArray, grid: FrequencyGrid, points_per_octave: int = POINTS_PER_OCTAVE
) -> float:
    """Mean absolute deviation from the mean of each half octave from 100 Hz to 12 kHz.

    The half octaves start at 100 Hz; the last one ends at 12 kHz, short of its full width.

    Parameters
    ----------
    level_db : array
        A curve. [dB]
    grid : FrequencyGrid
        Its bands. [Hz]
    points_per_octave : int
        How densely the curve is read; the model uses 20. [-]

    Returns
    -------
    float
        Deviation, the mean over half octaves. [dB]

    Source
    ------
    olive-2004, from memory.

    Examples
    --------
    >>> narrow_band_deviation_db(np.full(240, 85.0), FrequencyGrid.standard())
    0.0
    """
    frequency, level = _read(level_db, grid, DEVIATION_HZ, points_per_octave)
    half_octave = np.floor(2 * np.log2(frequency / DEVIATION_HZ[0]) + 1e-9)
    deviations = []
    for band in np.unique(half_octave):
        inside = level[half_octave == band]
        deviations.append(np.mean(np.abs(inside - inside.mean())))
    return float(np.mean(deviations))


def low_extension_hz(
    sound_power_db: FloatArray, listening_window_db: FloatArray, grid: FrequencyGrid
) -> float:
    """Lowest frequency where the sound power is within 6 dB of the mean listening window.

    The mean is taken from 300 Hz to 10 kHz over bands of equal width in log frequency. A curve that never
    falls so far gives the first frequency of the grid, one that never rises so far the highest of the range.

    Parameters
    ----------
    sound_power_db, listening_window_db : array
        Curves. [dB]
    grid : FrequencyGrid
        Their bands. [Hz]

    Returns
    -------
    float
        Low-frequency extension. [Hz]

    Source
    ------
    olive-2004, from memory.

    Examples
    --------
    >>> grid = FrequencyGrid.standard()
    >>> falling = np.minimum(0.0, 12 * np.log2(grid.frequency_hz / 80.0))
    >>> print(f"{low_extension_hz(falling, np.zeros(240), grid):.1f}")
    56.6
    """
    reference = (
        float(np.mean(_read(listening_window_db, grid, LEVEL_HZ, POINTS_PER_OCTAVE)[1])) - EXTENSION_DB
    )
    enough = np.flatnonzero(sound_power_db >= reference)
    if enough.size == 0:
        return LEVEL_HZ[1]
    first = int(enough[0])
    if first == 0:
        return float(grid.frequency_hz[0])
    below, above = sound_power_db[first - 1], sound_power_db[first]
    pair = np.log(grid.frequency_hz[first - 1 : first + 1])
    return float(np.exp(pair[0] + (reference - below) / (above - below) * (pair[1] - pair[0])))


def smoothness(level_db: FloatArray, grid: FrequencyGrid) -> float:
    """Share of a curve's variance that a straight line in log frequency explains, 100 Hz to 16 kHz.

    A perfectly flat curve has nothing to explain: 0 / 0. It is given 0, the least the number can be.

    Parameters
    ----------
    level_db : array
        A curve. [dB]
    grid : FrequencyGrid
        Its bands. [Hz]

    Returns
    -------
    float
        r squared. [-]

    Source
    ------
    olive-2004, from memory.

    Examples
    --------
    >>> grid = FrequencyGrid.standard()
    >>> print(f"{smoothness(-1.5 * np.log2(grid.frequency_hz), grid):.3f}")
    1.000
    """
    frequency, level = _read(level_db, grid, SLOPE_HZ, POINTS_PER_OCTAVE)
    octaves = np.log2(frequency) - np.mean(np.log2(frequency))
    about = level - level.mean()
    variance = float(about @ about)
    if variance < 1e-12 * level.size:  # flatter than any rounding of levels
        return 0.0
    return float((octaves @ about) ** 2 / ((octaves @ octaves) * variance))


def _read(
    level_db: FloatArray, grid: FrequencyGrid, between_hz: tuple[float, float], points_per_octave: int
) -> tuple[FloatArray, FloatArray]:
    """Read a curve at even steps of log frequency, straight between bands."""
    lowest, highest = between_hz
    if grid.edges_hz[0] > lowest or grid.edges_hz[-1] < highest:
        raise ValueError(f"the curve must reach from {lowest:g} to {highest:g} Hz")
    count = int(np.floor(np.log2(highest / lowest) * points_per_octave + 1e-9)) + 1
    frequency = lowest * 2.0 ** (np.arange(count) / points_per_octave)
    return frequency, np.interp(np.log(frequency), np.log(grid.frequency_hz), level_db)
