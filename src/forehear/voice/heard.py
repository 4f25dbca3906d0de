"""What listens to a network: energies of all judged curves as forms in the voltages, made once for a shape and place.

The energy of a curve is sum_ij conj(v_i) F_ij v_j. Written out in the n^2 real products |v_i|^2, Re conj(v_i) v_j and
Im conj(v_i) v_j it is a plain sum, the same for many networks at once and for the slopes of one.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from forehear.ground.arrays import ComplexArray, FloatArray, locked
from forehear.ground.axes import FrequencyGrid
from forehear.ground.levels import REFERENCE_PRESSURE_PA, REFERENCE_VOLTAGE_V
from forehear.judge import JUDGED_HZ, TREND_HZ, Smoothing, erb_weight

TO_DB = 10 / np.log(10)
LEVEL_HZ = (300.0, 3000.0)
SILENCE = 1e-30  # of an energy; no network is as silent


def pairs(count: int) -> list[tuple[int, int]]:
    """Places of the products that are no squares, in their order."""
    return [(i, j) for i in range(count) for j in range(i + 1, count)]


def products(volts: ComplexArray) -> FloatArray:
    """Real products of voltages [build, way, frequency], as [frequency, product, build]."""
    square = (volts.real**2 + volts.imag**2).transpose(2, 1, 0)
    if volts.shape[1] == 1:
        return square
    cross = np.stack([volts[:, i].conj() * volts[:, j] for i, j in pairs(volts.shape[1])]).transpose(2, 0, 1)
    found: FloatArray = np.concatenate([square, cross.real, cross.imag], axis=1)
    return found


def product_slopes(volts: ComplexArray, slopes: ComplexArray, way_of: NDArray[np.int_]) -> FloatArray:
    """Change of the same products with each part, which moves one way: [frequency, product, part].

    `volts` is [way, frequency], `slopes` [part, frequency].
    """
    count, parts = len(volts), len(slopes)
    moved: ComplexArray = np.zeros((count, parts, volts.shape[1]), dtype=complex)
    moved[way_of, np.arange(parts)] = slopes
    square = 2 * (volts.conj()[:, np.newaxis] * moved).real
    found = [square]
    if count > 1:
        cross = np.stack([volts[i].conj() * moved[j] + moved[i].conj() * volts[j] for i, j in pairs(count)])
        found += [cross.real, cross.imag]
    return np.concatenate(found).transpose(2, 0, 1)


def form_of_products(form: ComplexArray) -> FloatArray:
    """Turn Hermitian forms [..., way, way] into factors of the products, [..., product]."""
    count = form.shape[-1]
    square = np.stack([form[..., i, i].real for i in range(count)], axis=-1)
    if count == 1:
        return square
    cross = np.stack([2 * form[..., i, j] for i, j in pairs(count)], axis=-1)
    found: FloatArray = np.concatenate([square, cross.real, -cross.imag], axis=-1)
    return found


@dataclass(frozen=True, eq=False)
class Ear:
    """Curves that are heard through one smoothing.

    Bands outside what any window of the judged range reaches are left out.
    """

    factors: FloatArray  # [frequency, part of a band x curve, product]
    smoothing: FloatArray  # [heard, frequency x part of a band]
    within: slice  # of the whole bands
    curves: int

    def __post_init__(self) -> None:
        locked(self, "factors", (self.within.stop - self.within.start, -1, -1), "bands x rows x products")

    def energy(self, products: FloatArray) -> FloatArray:
        """Hear products [frequency, product, build], as energies [heard, curve, build]."""
        each = self.factors @ products[self.within]
        flat = each.reshape(self.smoothing.shape[1], -1)
        return (self.smoothing @ flat).reshape(len(self.smoothing), self.curves, -1)


def ear_of(form: ComplexArray, smoothing: Smoothing, grid: FrequencyGrid) -> Ear:
    """Make an ear for forms.

    Parameters
    ----------
    form
        [curve, part of a band, way, way] on the grid of the smoothing, whole bands of `grid` in equal parts. [Pa2/V2]
    smoothing
        From parts of bands to whole bands. [-]
    grid
        The whole bands. [Hz]
    """
    parts = len(smoothing.grid) // len(grid)
    judged = judged_bands(grid)
    weight = smoothing.weight[judged]
    reached = np.flatnonzero(weight.any(axis=0))
    within = slice(int(reached[0]) // parts, int(reached[-1]) // parts + 1)
    columns = slice(within.start * parts, within.stop * parts)
    factors = form_of_products(form[:, columns])  # [curve, part of a band, product]
    bands = within.stop - within.start
    rows = factors.transpose(1, 0, 2).reshape(bands, parts * len(form), -1)
    return Ear(rows, np.ascontiguousarray(weight[:, columns]), within, len(form))


def judged_bands(grid: FrequencyGrid) -> NDArray[np.int_]:
    """Bands that a spread counts, or a trend is fitted to."""
    counted = np.flatnonzero(erb_weight(grid, *JUDGED_HZ) > 0)
    return np.arange(counted[0], counted[-1] + 1)


def level(energy: FloatArray) -> FloatArray:
    """Level of energies per volt squared at the terminals, 2.83 V [dB re 20 uPa]."""
    found: FloatArray = TO_DB * np.log(
        np.maximum(energy, SILENCE) * (REFERENCE_VOLTAGE_V / REFERENCE_PRESSURE_PA) ** 2
    )
    return found


@dataclass(frozen=True, eq=False)
class Judged:
    """How a level becomes its unevenness: r = matrix L + offset, whose squares sum to the spread squared."""

    matrix: FloatArray  # [heard, heard]
    offset: FloatArray  # [heard]

    def of(self, level_db: FloatArray) -> FloatArray:
        """Unevenness of levels [heard, ...]."""
        shape = (-1,) + (1,) * (level_db.ndim - 1)
        found: FloatArray = np.tensordot(self.matrix, level_db, 1) + self.offset.reshape(shape)
        return found


def judged_against(grid: FrequencyGrid, slope_db_per_octave: float | None) -> Judged:
    """Make what `forehear.judge.spread_db` does about `in_room_trend`, its clipping at -20 dB left out."""
    bands = judged_bands(grid)
    octaves = np.log2(grid.frequency_hz[bands] / 1000.0)
    weight = erb_weight(grid, *JUDGED_HZ)[bands]
    about_mean = np.eye(len(bands)) - weight
    root = np.sqrt(weight)[:, np.newaxis]
    if slope_db_per_octave is not None:
        return Judged(root * about_mean, -root[:, 0] * (about_mean @ octaves) * slope_db_per_octave)
    fitted = np.diff(np.log2(np.clip(grid.edges_hz, *TREND_HZ)))[bands]
    fitted = fitted / fitted.sum()
    middle = fitted @ octaves
    about = octaves - middle
    # The trend is a line through the weighted mean; its level falls out with the mean of the spread.
    slope_of = fitted * about / (fitted @ about**2)
    return Judged(
        root * (about_mean @ (np.eye(len(bands)) - np.outer(about, slope_of))), np.zeros(len(bands))
    )


def mean_level_weight(grid: FrequencyGrid) -> FloatArray:
    """Weights of the mean level, 300 Hz to 3 kHz, over the judged bands."""
    return erb_weight(grid, *LEVEL_HZ)[judged_bands(grid)]
