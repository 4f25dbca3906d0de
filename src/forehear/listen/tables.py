"""Tables of complex numbers over evenly spaced frequencies: read between them, and in bands."""

import numpy as np

from forehear.ground.arrays import ComplexArray, FloatArray
from forehear.ground.axes import FrequencyGrid


def at_frequencies(table: ComplexArray, table_hz: FloatArray, frequency_hz: FloatArray) -> ComplexArray:
    """Read a table [..., frequency] at any frequencies, straight between its own, held beyond its end."""
    at = np.clip(frequency_hz / table_hz[1], 0.0, len(table_hz) - 1.0)
    lower = np.minimum(at.astype(int), len(table_hz) - 2)
    share = at - lower
    between: ComplexArray = table[..., lower] * (1 - share) + table[..., lower + 1] * share
    return between


def in_bands(table: ComplexArray, table_hz: FloatArray, grid: FrequencyGrid) -> ComplexArray:
    """Read a table in bands: as strong as its mean energy in each band, turned as in the middle of it.

    Parameters
    ----------
    table : array
        [..., frequency], from 0 Hz. [-]
    table_hz : array
        Evenly spaced. [Hz]
    grid : FrequencyGrid
        Bands; what is beyond the table is taken as at its end. [Hz]

    Returns
    -------
    array
        [..., band]. [-]

    Source
    ------
    own-definition: energy is kept where a head has dips narrower than a band.

    Examples
    --------
    Half of the table holds next to nothing:

    >>> hz = np.linspace(0.0, 24e3, 24_001)
    >>> comb = np.where(np.arange(24_001) % 10 < 5, 1j, 1e-6j)
    >>> print(in_bands(comb, hz, FrequencyGrid.standard())[200:202].round(2))
    [0.+0.71j 0.+0.71j]
    """
    energy = np.abs(table) ** 2
    summed = np.zeros(table.shape)
    np.cumsum((energy[..., 1:] + energy[..., :-1]) / 2, axis=-1, out=summed[..., 1:])
    edges = np.clip(grid.edges_hz / table_hz[1], 0.0, len(table_hz) - 1.0)
    lower = np.minimum(edges.astype(int), len(table_hz) - 2)
    share = edges - lower
    height = energy[..., lower] + (energy[..., lower + 1] - energy[..., lower]) * share / 2
    until = summed[..., lower] + height * share
    width = np.diff(edges)
    middle = at_frequencies(table, table_hz, grid.frequency_hz)
    inside = width > 0
    mean = np.where(inside, np.diff(until) / np.where(inside, width, 1.0), np.abs(middle) ** 2)
    size = np.abs(middle)
    turn = np.where(size > 0, middle / np.where(size > 0, size, 1.0), 1.0)
    banded: ComplexArray = np.sqrt(np.maximum(mean, 0.0)) * turn
    return banded
