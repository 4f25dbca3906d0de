"""What a seat loses: the trend a curve is judged against, the holes below it, and how uneven a seat hears.

Every level here is an ear-smoothed one (`forehear.judge.ear`).
"""

from dataclasses import dataclass

import numpy as np

from forehear.ground.arrays import FloatArray
from forehear.ground.axes import FrequencyGrid
from forehear.judge.ear import erb_weight

JUDGED_HZ = (200.0, 10_000.0)  # where holes and spread are looked for
SPEECH_HZ = (200.0, 5_000.0)
TREND_HZ = (300.0, 6_000.0)  # where the trend of the sound in the room is fitted
HOLE_DB = 3.0
HOLE_OCTAVES = 1 / 3
DEEPEST_DB = 20.0  # nobody hears the difference between 20 and 40 dB missing


@dataclass(frozen=True)
class Hole:
    """How deep a seat's hole is (positive), where it is deepest, and where it is deeper than 3 dB."""

    depth_db: float
    frequency_hz: float
    lower_hz: float
    upper_hz: float


def in_room_trend(
    level_db: FloatArray, grid: FrequencyGrid, slope_db_per_octave: float | None = None
) -> FloatArray:
    """Straight line in log frequency that the sound in the room is judged against.

    Fitted by least squares from 300 Hz to 6 kHz with equal weight per octave; a band that straddles an end
    counts with the part inside. Where a slope is given only the level of the line is fitted.

    Parameters
    ----------
    level_db : array
        Ear-smoothed level in the room. [dB]
    grid : FrequencyGrid
        Its bands. [Hz]
    slope_db_per_octave : float, optional
        The slope that the brief asks for. [dB/octave]

    Returns
    -------
    array
        The line on the whole grid. [dB]

    Source
    ------
    own-definition: the word "trend" of this house.

    Examples
    --------
    >>> grid = FrequencyGrid.standard()
    >>> line = 80.0 - 1.5 * np.log2(grid.frequency_hz / 1000)
    >>> bool(np.allclose(in_room_trend(line, grid), line))
    True
    """
    octaves = np.log2(grid.frequency_hz / 1000.0)
    weight = np.diff(np.log2(np.clip(grid.edges_hz, *TREND_HZ)))
    if weight.sum() <= 0:
        raise ValueError("the grid holds no band between 300 Hz and 6 kHz to fit a trend to")
    weight = weight / weight.sum()
    middle, mean = float(weight @ octaves), float(weight @ level_db)
    if slope_db_per_octave is None:
        about = octaves - middle
        slope_db_per_octave = float(weight @ (about * (level_db - mean)) / (weight @ about**2))
    return mean + slope_db_per_octave * (octaves - middle)


def spread_db(level_db: FloatArray, trend_db: FloatArray, grid: FrequencyGrid) -> float:
    """How unevenly a seat hears.

    Standard deviation of level minus trend from 200 Hz to 10 kHz, equal weight per ERB, clipped at -20 dB,
    its mean taken out.

    Parameters
    ----------
    level_db : array
        Ear-smoothed level at the seat. [dB]
    trend_db : array
        The trend: `in_room_trend`, or on axis in the same condition for the direct sound. [dB]
    grid : FrequencyGrid
        The bands of both. [Hz]

    Returns
    -------
    float
        Spread. [dB]

    Source
    ------
    own-definition: the word "spread" of this house; the ERB scale is glasberg-moore-1990.

    Examples
    --------
    >>> grid = FrequencyGrid.standard()
    >>> spread_db(np.full(240, 85.0), np.full(240, 80.0), grid)
    0.0
    """
    deviation = np.maximum(level_db - trend_db, -DEEPEST_DB)
    weight = erb_weight(grid, *JUDGED_HZ)
    about = deviation - weight @ deviation
    return float(np.sqrt(weight @ about**2))


def spread_among_seats(levels_db: FloatArray, grid: FrequencyGrid) -> float:
    """How differently the seats hear.

    Each seat's mean level is taken out (equal weight per ERB); then the root mean square over ERBs, 200 Hz to
    10 kHz, of the standard deviation across the seats (the seats are all there are, so the divisor is their
    number).

    Parameters
    ----------
    levels_db : array
        Ear-smoothed level of each seat, [seat, frequency]. [dB]
    grid : FrequencyGrid
        Its bands. [Hz]

    Returns
    -------
    float
        Spread among seats; 0 for one seat. [dB]

    Source
    ------
    own-definition: the words "spread among seats" of this house.

    Examples
    --------
    >>> spread_among_seats(np.array([[80.0] * 240, [74.0] * 240]), FrequencyGrid.standard())
    0.0
    """
    weight = erb_weight(grid, *JUDGED_HZ)
    about = levels_db - (levels_db @ weight)[:, None]
    return float(np.sqrt(weight @ np.var(about, axis=0)))


def find_holes(level_db: FloatArray, trend_db: FloatArray, grid: FrequencyGrid) -> tuple[Hole, ...]:
    """Find where a seat misses part of the sound.

    A hole is a stretch, at least a third of an octave wide, where the level lies more than 3 dB below the
    trend. It is placed at its deepest local minimum from 200 Hz to 10 kHz; the stretch may reach beyond that
    range, and neighbours outside it count when a minimum is looked for, so a level that only falls away at an
    end is no hole.

    Parameters
    ----------
    level_db : array
        Ear-smoothed level at the seat. [dB]
    trend_db : array
        What it is judged against. [dB]
    grid : FrequencyGrid
        The bands of both. [Hz]

    Returns
    -------
    tuple of Hole
        Deepest first; depths are positive and capped at 20 dB.

    Source
    ------
    own-definition: the word "hole" of this house.

    Examples
    --------
    >>> grid = FrequencyGrid.standard()
    >>> dip = -8.0 * np.exp(-(np.log2(grid.frequency_hz / 1400) / 0.3) ** 2)
    >>> hole = find_holes(dip, np.zeros(240), grid)[0]
    >>> print(f"{hole.depth_db:.0f} dB deep at {hole.frequency_hz:.0f} Hz")
    8 dB deep at 1392 Hz
    """
    deviation = np.asarray(level_db - trend_db)
    frequency = grid.frequency_hz
    minima = np.flatnonzero((deviation[1:-1] < deviation[:-2]) & (deviation[1:-1] <= deviation[2:])) + 1
    judged = (frequency[minima] >= JUDGED_HZ[0]) & (frequency[minima] <= JUDGED_HZ[1])
    deep = minima[judged & (deviation[minima] < -HOLE_DB)]
    deepest_first = deep[np.argsort(deviation[deep], kind="stable")]
    holes: list[Hole] = []
    for at in deepest_first:
        lower, upper = _stretch_below(deviation, int(at), grid)
        taken = any(
            hole.lower_hz == lower for hole in holes
        )  # the same stretch, already placed at a deeper minimum
        if not taken and np.log2(upper / lower) >= HOLE_OCTAVES:
            depth = min(float(-deviation[at]), DEEPEST_DB)
            holes.append(Hole(depth, float(frequency[at]), lower, upper))
    return tuple(holes)


def _stretch_below(deviation: FloatArray, at: int, grid: FrequencyGrid) -> tuple[float, float]:
    """Find the ends of the stretch below the threshold around band `at`, read between bands."""
    shallow = np.flatnonzero(deviation >= -HOLE_DB)
    before, after = shallow[shallow < at], shallow[shallow > at]
    edges = grid.edges_hz
    lower = _crossing_hz(deviation, grid, before[-1], before[-1] + 1) if before.size else float(edges[0])
    upper = _crossing_hz(deviation, grid, after[0], after[0] - 1) if after.size else float(edges[-1])
    return lower, upper


def _crossing_hz(deviation: FloatArray, grid: FrequencyGrid, outside: int, inside: int) -> float:
    share = (deviation[outside] + HOLE_DB) / (deviation[outside] - deviation[inside])
    return float(
        grid.frequency_hz[outside] * (grid.frequency_hz[inside] / grid.frequency_hz[outside]) ** share
    )
