"""Noise settled so that it brings, together with what is counted, the energy that it stands for and no other by chance.

One draw of noise has some decibels too much in one narrow band and too little in the next, and meets what is counted
there by chance in phase or against it. Both would be heard as a colour that no room has, another for every candidate.
"""

from dataclasses import dataclass
from functools import cache
from typing import Self

import numpy as np
import scipy.fft
from numpy.typing import NDArray
from scipy.ndimage import uniform_filter1d

from forehear.ground.arrays import ComplexArray, FloatArray, locked
from forehear.judge import erb_number
from forehear.room import NODES

LOWEST_HZ, HIGHEST_HZ = 20.0, 20_000.0
STEP_ERB = (
    0.125  # from one narrow band to the next; three together are settled, for what is narrower rings too long
)
MOST = 3.0  # that noise is made stronger or weaker in one go
ROUNDS = 3  # more would bring bands closer yet and let them ring into the time after


class _Bands:
    """Bands of frequencies every hertz from 0, and gains between their middles."""

    def __init__(self, edges_hz: FloatArray, count: int, *, beside: int = 1) -> None:
        self._beside = beside
        first = np.unique(np.ceil(edges_hz).astype(int))
        self._first = first[first < count]
        self._middle = np.log(np.sqrt(self._first[:-1] * self._first[1:].astype(float)))
        self._every = np.log(np.maximum(np.arange(count), 1.0))

    @classmethod
    @cache
    def narrow(cls, count: int) -> Self:
        """Eighths of the ear's bandwidths."""
        low, high = erb_number(np.array([LOWEST_HZ, HIGHEST_HZ]))
        numbers = np.arange(low, high + STEP_ERB, STEP_ERB)
        return cls((10 ** (numbers / 21.4) - 1) / 4.37e-3, count)

    @classmethod
    @cache
    def wide(cls, count: int) -> Self:
        """Thirds of octaves, wide enough to part the sound in time."""
        return cls(NODES.edges_hz, count, beside=0)

    def sums(self, energy: NDArray[np.floating]) -> FloatArray:
        """Add up energies [..., frequency] in each band and those beside it [..., band]."""
        own = np.add.reduceat(energy, self._first, axis=-1)[..., :-1].astype(np.float64)
        around: FloatArray = uniform_filter1d(own, 2 * self._beside + 1, axis=-1, mode="constant")
        return around

    def between(self, gain: FloatArray) -> NDArray[np.float32]:
        """Read gains [..., band] at every frequency [..., frequency]."""
        rows = [np.interp(self._every, self._middle, row) for row in gain.reshape(-1, gain.shape[-1])]
        read: NDArray[np.float32] = np.array(rows, dtype=np.float32).reshape(*gain.shape[:-1], -1)
        return read


@dataclass(frozen=True, eq=False)
class Wanted:
    """The energy that noise shall add to one or more channels together, in parts of the time and in all of it."""

    windows: NDArray[np.float32]  # [part, sample] of the parts, together 1 where there may be noise
    in_parts: NDArray[np.float32]  # [part, frequency] every hertz from 0, seen through the windows
    in_all: NDArray[np.float32]  # [frequency]

    def __post_init__(self) -> None:
        locked(self, "windows", (-1, -1), "parts x samples")
        count = self.windows.shape[1] // 2 + 1
        locked(self, "in_parts", (len(self.windows), count), "parts x frequencies")
        locked(self, "in_all", (count,), "frequencies")

    def through(self, power: FloatArray) -> "Wanted":
        """Return what channels want together that weaken or strengthen it by some power [frequency]."""
        share = power.astype(np.float32)
        return Wanted(self.windows, self.in_parts * share, self.in_all * share)


def settled(counted: ComplexArray, noise: ComplexArray, wanted: Wanted) -> NDArray[np.complex64]:
    r"""Make noise weaker and stronger, band by band and part by part of the time, until energies are as wanted.

    .. math:: g^2 \sum |N|^2 + 2 g \sum \Re (C N^*) = E

    All channels get the same gains: what they have in common stays.

    Parameters
    ----------
    counted : array
        Spectra of what the noise comes on top of, every hertz from 0, [channel, frequency]. [Pa]
    noise : array
        Spectra of one draw, [channel, frequency]. [Pa]
    wanted : Wanted
        What the noise shall add. [Pa2]

    Returns
    -------
    array
        Spectra of the same noise, settled, [channel, frequency]. [Pa]

    Source
    ------
    own-definition: thirds of octaves in each part, then three eighths of the ear's bandwidths (glasberg-moore-1990) in
    all of it, in turn.

    Examples
    --------
    White noise of a tenth of a second for which an energy of 2 is wanted at every frequency:

    >>> noise = np.zeros((1, 48_000))
    >>> noise[0, :4800] = np.random.default_rng(1).standard_normal(4800) / np.sqrt(4800)
    >>> wanted = Wanted(np.ones((1, 48_000)), np.full((1, 24_001), 2.0), np.full(24_001, 2.0))
    >>> found = settled(np.zeros((1, 24_001)), np.fft.rfft(noise), wanted)
    >>> print([round(float(np.mean(np.abs(found[0, low : 2 * low]) ** 2)), 1) for low in (300, 1000, 3000)])
    [2.0, 2.0, 2.0]
    """
    narrow, wide = _Bands.narrow(counted.shape[1]), _Bands.wide(counted.shape[1])
    beside = _in_parts(counted, wanted.windows)
    together = beside.sum(axis=1)
    in_parts, in_all = wide.sums(wanted.in_parts), narrow.sums(wanted.in_all)
    whole: NDArray[np.complex64] = noise.astype(np.complex64)
    for _ in range(ROUNDS):
        parts = _in_parts(whole, wanted.windows)
        parts *= wide.between(_gains(beside, parts, in_parts, wide))
        whole = parts.sum(axis=1)
        whole *= narrow.between(_gains(together, whole, in_all, narrow))
    return whole


def _energy(spectra: NDArray[np.complex64]) -> NDArray[np.float32]:
    squared: NDArray[np.float32] = np.square(spectra.real) + np.square(spectra.imag)
    return squared


def _in_parts(spectra: NDArray[np.complexfloating], windows: NDArray[np.float32]) -> NDArray[np.complex64]:
    """Spectra of what is seen through each window, [channel, part, frequency]."""
    sounds = scipy.fft.irfft(spectra.astype(np.complex64), n=windows.shape[1], axis=1)
    return np.asarray(scipy.fft.rfft(sounds[:, np.newaxis] * windows, axis=2), dtype=np.complex64)


def _gains(
    counted: NDArray[np.complex64], noise: NDArray[np.complex64], wanted: FloatArray, bands: _Bands
) -> FloatArray:
    """Solve for the gain of each band, [..., band], of channels [channel, ..., frequency]."""
    own = bands.sums(_energy(noise).sum(axis=0))
    shared = bands.sums((counted.real * noise.real + counted.imag * noise.imag).sum(axis=0))
    root = np.sqrt(shared**2 + own * wanted)
    least = np.finfo(float).tiny
    gain = np.where(
        shared > 0, wanted / np.maximum(root + shared, least), (root - shared) / np.maximum(own, least)
    )
    return np.clip(gain, 1 / MOST, MOST)
