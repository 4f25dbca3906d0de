"""Sums of very many arrivals on a linear grid of frequencies, by a Fourier transform of unevenly spaced times.

Every arrival has a complex amplitude at each node frequency, between nodes interpolated in log frequency: what
changes slowly is interpolated, the sum is not. Within a block of frequencies the arrivals are spread over a few
points of an even time grid and transformed at once.
"""

from dataclasses import dataclass
from functools import cache

import numpy as np
import scipy.fft
from numpy.typing import NDArray
from scipy.sparse import csr_array

from forehear.ground.arrays import ComplexArray, FloatArray
from forehear.ground.axes import FrequencyGrid

_REACH = 5  # points that an arrival is spread over
_SHARPNESS = 2.3 * _REACH
_FINER = 2  # points of the time grid a frequency


@dataclass(frozen=True)
class Block:
    """A stretch of frequencies between two nodes, evenly spaced."""

    first: int  # index of the node it begins at
    last: int  # and of the one it ends at
    step_hz: float

    def counts(self, nodes_hz: FloatArray) -> tuple[int, int]:
        """Return the first multiple of the step in the block and the first beyond it."""
        low, high = nodes_hz[self.first] / self.step_hz, nodes_hz[self.last] / self.step_hz
        return int(np.ceil(low)), int(np.ceil(high))


@dataclass(frozen=True, eq=False)
class LinearGrid:
    """Frequencies of sums: evenly spaced within blocks."""

    nodes: FrequencyGrid
    blocks: tuple[Block, ...]

    @property
    def frequency_hz(self) -> FloatArray:
        """All frequencies, rising."""
        return np.concatenate(
            [block.step_hz * np.arange(*block.counts(self.nodes.frequency_hz)) for block in self.blocks]
        )

    @property
    def edges_hz(self) -> FloatArray:
        """Edges of what each frequency stands for, halfway between neighbours, [frequency + 1]."""
        frequency_hz = self.frequency_hz
        inner = (frequency_hz[1:] + frequency_hz[:-1]) / 2
        outer = self.blocks[0].step_hz / 2, self.blocks[-1].step_hz / 2
        return np.concatenate([[frequency_hz[0] - outer[0]], inner, [frequency_hz[-1] + outer[1]]])


def arrivals_sum(
    amplitude_pa: NDArray[np.complex64], time_s: FloatArray, grid: LinearGrid
) -> NDArray[np.complex64]:
    r"""Sum arrivals on a linear grid of frequencies.

    .. math:: H(f) = \sum_p a_p(f) e^{-2 \pi \mathrm{j} f t_p}

    Parameters
    ----------
    amplitude_pa : array
        Of each arrival at each node, [arrival, node]. [Pa]
    time_s : array
        Of each arrival, at most half the inverse of the widest step, [arrival]. [s]
    grid : LinearGrid
        Where the sum is wanted. [Hz]

    Returns
    -------
    array
        [frequency of the grid]. [Pa]

    Source
    ------
    barnett-2019: the kernel exp(b sqrt(1 - z^2)); within 1e-4 of the direct sum's size.

    Examples
    --------
    >>> nodes = FrequencyGrid(np.array([100.0, 1000.0]))
    >>> one = np.ones((1, 2), dtype=np.complex64)
    >>> found = arrivals_sum(one, np.array([0.01]), LinearGrid(nodes, (Block(0, 1, 5.0),)))
    >>> print(found[:3].round(3))
    [1.   +0.j    0.951-0.309j 0.809-0.588j]
    """
    total: NDArray[np.complex64] = arrivals_sums(amplitude_pa[np.newaxis], time_s[np.newaxis], grid)[0]
    return total


def arrivals_sums(
    amplitude_pa: NDArray[np.complex64], time_s: FloatArray, grid: LinearGrid
) -> NDArray[np.complex64]:
    """Sum several sets of as many arrivals each, in one go.

    Parameters
    ----------
    amplitude_pa : array
        As for `arrivals_sum`, [set, arrival, node]. [Pa]
    time_s : array
        [set, arrival]. [s]
    grid : LinearGrid
        Where the sums are wanted. [Hz]

    Returns
    -------
    array
        [set, frequency of the grid]. [Pa]

    Source
    ------
    barnett-2019: as `arrivals_sum`, set by set.

    Examples
    --------
    >>> nodes = FrequencyGrid(np.array([100.0, 1000.0]))
    >>> two = np.array([[[1, 1]], [[2, 2]]], dtype=np.complex64)
    >>> found = arrivals_sums(two, np.array([[0.01], [0.02]]), LinearGrid(nodes, (Block(0, 1, 5.0),)))
    >>> print(found[:, 1].round(2))
    [0.95-0.31j 1.62-1.18j]
    """
    return np.concatenate(
        [_block_sum(amplitude_pa, time_s, block, grid.nodes) for block in grid.blocks], axis=1
    )


def _block_sum(
    amplitude_pa: NDArray[np.complex64], time_s: FloatArray, block: Block, nodes: FrequencyGrid
) -> NDArray[np.complex64]:
    low, high = block.counts(nodes.frequency_hz)
    middle, points = (low + high) // 2, scipy.fft.next_fast_len(_FINER * (high - low))
    turns = middle * block.step_hz * time_s
    angle = (2 * np.pi * (turns - np.rint(turns))).astype(np.float32)
    turned = np.empty(angle.shape, dtype=np.complex64)
    turned.real, turned.imag = (
        np.cos(angle),
        -np.sin(angle),
    )  # several times faster than a complex exponential
    rows = amplitude_pa[..., block.first : block.last + 1] * turned[..., None]
    spread = _spread(time_s * (block.step_hz * points), points)
    even = (spread.T @ rows.reshape(-1, rows.shape[-1]).view(np.float32)).view(np.complex64)
    rings = even.reshape(len(time_s), points, -1).transpose(0, 2, 1)  # [set, node, point]
    transformed = scipy.fft.fft(np.ascontiguousarray(rings), axis=-1)
    place = (np.arange(low, high) - middle) % points
    total = np.empty((len(time_s), high - low), dtype=np.complex64)
    for node, (start, share) in enumerate(_between_nodes(block, nodes)):
        part = slice(start, start + share.size)
        lower = transformed[:, node, place[part]]
        total[:, part] = lower + share * (transformed[:, node + 1, place[part]] - lower)
    total /= _kernel_transform(low - middle, high - middle, points)
    return total


@cache
def _between_nodes(block: Block, nodes: FrequencyGrid) -> tuple[tuple[int, NDArray[np.float32]], ...]:
    """For each pair of neighbouring nodes: where its frequencies begin in the block, and the upper node's share."""
    nodes_hz = nodes.frequency_hz
    low, high = block.counts(nodes_hz)
    frequency_hz = block.step_hz * np.arange(low, high)
    starts = np.searchsorted(frequency_hz, nodes_hz[block.first : block.last])
    found = []
    for node, (start, end) in enumerate(zip(starts, [*starts[1:], high - low], strict=True), block.first):
        octaves = np.log(nodes_hz[node + 1] / nodes_hz[node])
        share = np.log(frequency_hz[start:end] / nodes_hz[node]) / octaves
        found.append((int(start), share.astype(np.float32)))
    return tuple(found)


def _spread(place: FloatArray, points: int) -> csr_array:
    """Weights that spread arrivals [set, arrival] over points of a ring each, [set and arrival, set and point]."""
    sets, arrivals = place.shape
    first = np.ceil(place - _REACH / 2).astype(np.int32)
    points_on: NDArray[np.float32] = np.arange(_REACH, dtype=np.float32)
    weight = _kernel((first - place).astype(np.float32)[..., None] + points_on)
    column = first[..., None] + np.arange(_REACH, dtype=np.int32)
    column %= points
    column += points * np.arange(sets, dtype=np.int32)[:, None, None]
    starts = np.arange(0, column.size + 1, _REACH, dtype=np.int32)
    return csr_array((weight.ravel(), column.ravel(), starts), shape=(sets * arrivals, sets * points))


def _kernel(away: NDArray[np.floating]) -> NDArray[np.float32]:
    inside = np.maximum(1 - np.square(away * np.float32(2 / _REACH)), 0)
    weight: NDArray[np.float32] = np.exp(np.float32(_SHARPNESS) * (np.sqrt(inside) - np.float32(1)))
    return weight


@cache
def _kernel_transform(first: int, last: int, points: int) -> NDArray[np.float32]:
    """Fourier transform of the kernel at multiples of the inverse of the ring."""
    place, weight = np.polynomial.legendre.leggauss(40)
    shape = np.exp(_SHARPNESS * (np.sqrt(1 - place**2) - 1)) * weight * _REACH / 2
    across = np.arange(first, last) / points
    transform: NDArray[np.float32] = (np.cos(np.outer(across, np.pi * _REACH * place)) @ shape).astype(
        np.float32
    )
    return transform


def few_arrivals_sum(
    amplitude_pa: ComplexArray, time_s: FloatArray, bands: FrequencyGrid, grid: LinearGrid
) -> NDArray[np.complex64]:
    """Sum a few arrivals whose amplitudes are known band by band, constant within each.

    Parameters
    ----------
    amplitude_pa : array
        [..., arrival, band]. [Pa]
    time_s : array
        [..., arrival]. [s]
    bands : FrequencyGrid
        Of the amplitudes; frequencies beyond them take the nearest. [Hz]
    grid : LinearGrid
        Where the sum is wanted. [Hz]

    Returns
    -------
    array
        [..., frequency of the grid]. [Pa]

    Source
    ------
    own-definition: as `arrivals_sum`, term by term.

    Examples
    --------
    >>> grid = LinearGrid(FrequencyGrid(np.array([100.0, 200.0])), (Block(0, 1, 50.0),))
    >>> one = np.ones((1, 240), dtype=complex)
    >>> print(few_arrivals_sum(one, np.array([0.0025]), FrequencyGrid.standard(), grid).round(6) + 0)
    [ 0.      -1.j       -0.707107-0.707107j]
    """
    amplitude, total = amplitude_pa.astype(np.complex64), []
    for block in grid.blocks:
        low, high = block.counts(grid.nodes.frequency_hz)
        frequency_hz = block.step_hz * np.arange(low, high)
        band = np.clip(np.searchsorted(bands.edges_hz, frequency_hz) - 1, 0, len(bands) - 1)
        terms = _turning(time_s, block.step_hz, low, high)
        terms *= amplitude[..., band]
        total.append(terms.sum(axis=-2))
    return np.concatenate(total, axis=-1)


def _turning(time_s: FloatArray, step_hz: float, low: int, high: int) -> NDArray[np.complex64]:
    """exp(-j 2 pi f t) at multiples of a step, [..., arrival, frequency]: a coarse turn times a fine one."""
    fine = np.arange(64)
    coarse = np.arange(low, high, len(fine))
    turns = np.multiply.outer(time_s * step_hz, coarse)
    far = np.exp(-2j * np.pi * (turns - np.rint(turns))).astype(np.complex64)
    near = np.exp(-2j * np.pi * np.multiply.outer(time_s * step_hz, fine)).astype(np.complex64)
    turned: NDArray[np.complex64] = (far[..., :, None] * near[..., None, :]).reshape(*time_s.shape, -1)
    return turned[..., : high - low]


def band_means_of(density: NDArray[np.complex64], grid: LinearGrid, edges_hz: FloatArray) -> ComplexArray:
    """Average values given on a linear grid over bands.

    Parameters
    ----------
    density : array
        [..., frequency of the grid], taken as constant around each frequency. [-]
    grid : LinearGrid
        Where the values are. [Hz]
    edges_hz : array
        Edges of the bands, [band + 1]; what is beyond the grid is taken as at its end. [Hz]

    Returns
    -------
    array
        [..., band]. [-]

    Source
    ------
    own-definition: the mean over a band of a function made of steps.

    Examples
    --------
    >>> grid = LinearGrid(FrequencyGrid(np.array([100.0, 200.0])), (Block(0, 1, 1.0),))
    >>> values = grid.frequency_hz.astype(np.complex64)[np.newaxis]
    >>> print(band_means_of(values, grid, np.array([109.5, 120.5])).real.round(3))
    [[115.]]
    """
    cells = grid.edges_hz
    held = np.clip(edges_hz, cells[0], cells[-1])
    cell = np.clip(np.searchsorted(cells, held, side="right") - 1, 0, density.shape[-1] - 1)
    summed = np.zeros((*density.shape[:-1], density.shape[-1] + 1), dtype=complex)
    np.cumsum(density * np.diff(cells), axis=-1, out=summed[..., 1:])
    until = summed[..., cell] + density[..., cell] * (held - cells[cell])
    mean: ComplexArray = np.diff(until) / np.maximum(np.diff(held), np.finfo(float).tiny)
    return mean


def driven_band_means_of(
    response: NDArray[np.complex64],
    velocity_m_s: ComplexArray,
    bands: tuple[FrequencyGrid, FrequencyGrid],
    grid: LinearGrid,
) -> FloatArray:
    """Drive several sources together and average the energy over bands.

    Parameters
    ----------
    response : array
        Of each source on a linear grid, taken as constant around each frequency, [..., source, frequency of the
        grid]. [Pa s/m]
    velocity_m_s : array
        Of each source, constant within each band of the first of `bands`, [source, band]. [m/s]
    bands : two of FrequencyGrid
        Those of the velocity, and those that are wanted: parts of them, as many of each. [Hz]
    grid : LinearGrid
        Where the responses are. [Hz]

    Returns
    -------
    array
        [..., wanted band]. [Pa2]

    Source
    ------
    own-definition: as `band_means_of` the products of all pairs of sources, those then driven and summed.

    Examples
    --------
    >>> grid = LinearGrid(FrequencyGrid(np.array([100.0, 200.0])), (Block(0, 1, 1.0),))
    >>> band, alike = FrequencyGrid(np.array([120.0, 140.0])), np.ones((2, 100), dtype=np.complex64)
    >>> velocity = np.array([[1.0, 1.0], [2.0, -1.0]])
    >>> print(driven_band_means_of(alike, velocity, (band, band), grid).round(6))
    [9. 0.]
    """
    driven, wanted = bands
    cells = grid.edges_hz
    held = np.clip(wanted.edges_hz, cells[0], cells[-1])
    edges_hz = np.union1d(cells, held)  # between neighbours neither a response nor a velocity changes
    middle_hz = (edges_hz[1:] + edges_hz[:-1]) / 2
    cell = np.searchsorted(cells, middle_hz) - 1
    band = np.clip(np.searchsorted(driven.edges_hz, middle_hz) - 1, 0, len(driven) - 1)
    pressure = (response[..., cell] * velocity_m_s.astype(np.complex64)[:, band]).sum(axis=-2)
    energy = np.square(pressure.real) + np.square(pressure.imag)
    summed = np.zeros((*energy.shape[:-1], energy.shape[-1] + 1))
    np.cumsum(energy * np.diff(edges_hz), axis=-1, out=summed[..., 1:])
    until = summed[..., np.searchsorted(edges_hz, held)]
    mean: FloatArray = np.diff(until) / np.maximum(np.diff(held), np.finfo(float).tiny)
    return mean
