"""The numbers behind a chart, at the third-octave bands that people know."""

from collections.abc import Mapping

import numpy as np

from forehear.ground.arrays import FloatArray
from forehear.ground.axes import FrequencyGrid
from forehear.publish.markup import Markup, element, joined, table
from forehear.publish.words import frequency, number

BANDS_PER_OCTAVE = 3


def third_octaves(grid: FrequencyGrid) -> list[int]:
    """Bands nearest to the third-octave midbands inside the grid.

    Source
    ------
    iec-61260-1: base-ten exact midbands, 1 kHz among them.
    """
    first, last = grid.frequency_hz[0], grid.frequency_hz[-1]
    middles = 1000.0 * 10 ** (np.arange(-17, 14) / 10)
    inside = middles[(middles >= first * 0.97) & (middles <= last * 1.03)]
    return [int(np.argmin(np.abs(np.log(grid.frequency_hz / middle)))) for middle in inside]


def curve_table(grid: FrequencyGrid, curves: Mapping[str, FloatArray], unit: str, digits: int = 1) -> Markup:
    """Return several curves as a table, one row a third of an octave."""
    rows = [
        [
            frequency(float(grid.frequency_hz[band])),
            *(number(float(values[band]), digits) for values in curves.values()),
        ]
        for band in third_octaves(grid)
    ]
    note = element("p", "Every third of an octave; the nearest computed band.", class_="note")
    return joined([table(["frequency", *(f"{name}, {unit}" for name in curves)], rows), note])
