"""How wide the sound goes: beamwidth band by band, and coverage through the speech range."""

from dataclasses import dataclass

import numpy as np

from forehear.ground.arrays import FloatArray
from forehear.ground.axes import ORBIT_ANGLES_DEG, FrequencyGrid
from forehear.ground.levels import level_db
from forehear.judge.ear import EarSmoothing
from forehear.judge.holes import SPEECH_HZ

EDGE_DB = 6.0  # the beam ends where the level is this far below on axis


@dataclass(frozen=True, eq=False)
class Beamwidth:
    """Angles at which the level first falls 6 dB below on axis, [frequency]; 180 where it never does."""

    positive_deg: FloatArray  # horizontal orbit: toward the listener's right; vertical orbit: up
    negative_deg: FloatArray  # the other side, as a positive number

    @property
    def total_deg(self) -> FloatArray:
        """Full angle between the two sides [deg]."""
        return self.positive_deg + self.negative_deg


@dataclass(frozen=True)
class Coverage:
    """How far off axis every band of the speech range keeps within 6 dB of on axis, and which band ends it.

    The band is None on a side where no band ends it.
    """

    positive_deg: float  # horizontal orbit: toward the listener's right; vertical orbit: up
    negative_deg: float  # the other side, as a positive number
    positive_limit_hz: float | None
    negative_limit_hz: float | None


def beamwidth(energy: FloatArray) -> Beamwidth:
    """Find where the level first falls 6 dB below on axis on both sides, read between angles.

    Parameters
    ----------
    energy : array
        Mean square pressure on one orbit, [orbit angle, frequency] on `ORBIT_ANGLES_DEG`. [Pa2/V2]

    Returns
    -------
    Beamwidth
        Angle of each side for each band. [deg]

    Source
    ------
    iec-60268-5, from memory: angle between the directions 6 dB below on axis; level taken as straight between
    angles 5 degrees apart.

    Examples
    --------
    A cardioid of amplitude (1 + cos) / 2 is 6 dB down at 90 degrees:

    >>> cardioid = ((1 + np.cos(np.radians(ORBIT_ANGLES_DEG))) / 2)[:, None] ** 2
    >>> print(f"{beamwidth(cardioid).total_deg[0]:.0f}")
    180
    """
    if energy.shape[0] != ORBIT_ANGLES_DEG.size:
        raise ValueError(f"an orbit has {ORBIT_ANGLES_DEG.size} angles, not {energy.shape[0]}")
    level = level_db(energy)
    axis = int(np.searchsorted(ORBIT_ANGLES_DEG, 0.0))
    below = level - level[axis]
    positive = below[axis:]  # 0 to 180
    negative = np.concatenate([below[axis::-1], below[-1:]])  # 0 to -175, and 180 again
    return Beamwidth(_first_fall_deg(positive), _first_fall_deg(negative))


def coverage(energy: FloatArray, ear: EarSmoothing) -> Coverage:
    """Find the angles within which no band of the speech range, 200 Hz to 5 kHz, falls 6 dB below on axis.

    Parameters
    ----------
    energy : array
        Mean square pressure on one orbit, [orbit angle, frequency] on `ORBIT_ANGLES_DEG`. [Pa2/V2]
    ear : EarSmoothing
        The smoothing the levels are judged through. [-]

    Returns
    -------
    Coverage
        Angle of each side and the band that ends it. [deg], [Hz]

    Source
    ------
    own-definition: `beamwidth` of the ear-smoothed levels, its least value in the speech range.

    Examples
    --------
    >>> from forehear.judge.ear import ear_smoothing
    >>> cardioid = np.tile(((1 + np.cos(np.radians(ORBIT_ANGLES_DEG))) / 2)[:, None] ** 2, 240)
    >>> print(f"{coverage(cardioid, ear_smoothing(FrequencyGrid.standard())).positive_deg:.0f}")
    90
    """
    width = beamwidth(ear.smooth(energy))
    positive_deg, positive_hz = _narrowest(width.positive_deg, ear.heard)
    negative_deg, negative_hz = _narrowest(width.negative_deg, ear.heard)
    return Coverage(positive_deg, negative_deg, positive_hz, negative_hz)


def _narrowest(width_deg: FloatArray, grid: FrequencyGrid) -> tuple[float, float | None]:
    speech = np.flatnonzero((grid.frequency_hz >= SPEECH_HZ[0]) & (grid.frequency_hz <= SPEECH_HZ[1]))
    if speech.size == 0:
        raise ValueError("the grid holds no band of the speech range, 200 Hz to 5 kHz")
    band = speech[np.argmin(width_deg[speech])]
    least = float(width_deg[band])
    return least, float(grid.frequency_hz[band]) if least < 180.0 else None


def _first_fall_deg(below_db: FloatArray) -> FloatArray:
    """Angle of the first fall to the edge, from levels re on axis every 5 degrees, [angle, frequency]."""
    step = float(ORBIT_ANGLES_DEG[1] - ORBIT_ANGLES_DEG[0])
    fallen = below_db <= -EDGE_DB
    first = np.argmax(fallen, axis=0)  # 0 where none has fallen, for on axis never has
    columns = np.arange(below_db.shape[1])
    last_above, first_below = below_db[first - 1, columns], below_db[first, columns]
    drop = np.where(first > 0, last_above - first_below, 1.0)
    crossing = step * (first - 1 + (last_above + EDGE_DB) / drop)
    angle: FloatArray = np.where(first > 0, crossing, 180.0)
    return angle
