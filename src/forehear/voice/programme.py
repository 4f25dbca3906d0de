"""How the power of a programme is spread over frequency: the noise that loudspeakers are rated with."""

import numpy as np

from forehear.ground.arrays import FloatArray
from forehear.ground.axes import FrequencyGrid

CREST = 2.0  # peak over rms that the noise is clipped to: 6 dB (iec-60268-1, from memory)
THIRD_OCTAVE_HZ = 1000.0 * 10 ** (np.arange(-17, 14) / 10)
THIRD_OCTAVE_DB = np.array(
    [
        -13.5, -10.2, -7.4, -5.2, -3.3, -2.0, -1.1, -0.4, 0.0, 0.2, 0.3, 0.2, 0.1, 0.0, -0.3, -0.5,
        -0.7, -0.9, -1.2, -1.6, -2.1, -2.8, -3.6, -4.7, -5.9, -7.3, -8.8, -10.4, -12.2, -14.1, -16.1,
    ]
)  # fmt: skip


def programme_share(grid: FrequencyGrid) -> FloatArray:
    """Share of the squared voltage of programme noise in every band.

    Parameters
    ----------
    grid
        The bands. [Hz]

    Returns
    -------
    array
        Shares, [frequency]; their sum is 1. [-]

    Source
    ------
    iec-60268-1, from memory, within about a decibel: pink noise that falls below 60 Hz and above 2 kHz.

    Examples
    --------
    More than half of the power lies below 450 Hz:

    >>> grid = FrequencyGrid.standard()
    >>> share = programme_share(grid)
    >>> print(f"{share.sum():.3f}, {share[grid.frequency_hz < 450].sum():.2f}")
    1.000, 0.56
    """
    shape_db = np.interp(np.log(grid.frequency_hz), np.log(THIRD_OCTAVE_HZ), THIRD_OCTAVE_DB)
    share = 10 ** (shape_db / 10) * np.diff(np.log(grid.edges_hz))
    whole: FloatArray = share / share.sum()
    return whole
