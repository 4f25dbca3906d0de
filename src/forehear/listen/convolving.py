"""Sound through many responses: the spectra of its blocks are made once and shared."""

from dataclasses import dataclass

import numpy as np
import scipy.fft
from numpy.typing import NDArray

from forehear.ground.arrays import locked


@dataclass(frozen=True, eq=False)
class Blocks:
    """Spectra of blocks of a sound, ready for responses of up to some length."""

    samples: int  # of the sound
    longest: int  # samples of a response
    spectra: NDArray[np.complex64]  # [channel, block, frequency]

    def __post_init__(self) -> None:
        locked(self, "spectra", (-1, -1, self.points // 2 + 1), "channels x blocks x frequencies")

    @property
    def points(self) -> int:
        """Points of a transform; a block holds what a response leaves of them."""
        return _points(self.longest)

    @property
    def step(self) -> int:
        """Samples of a block."""
        return self.points - self.longest + 1

    def through(self, responses: NDArray[np.float32]) -> NDArray[np.float32]:
        """Send every channel through its own response [channel, sample] and add them up, [sample]."""
        if responses.shape[-1] > self.longest or len(responses) != len(self.spectra):
            raise ValueError(
                f"responses of shape {responses.shape}, but {len(self.spectra)} channels of up to "
                f"{self.longest} samples were prepared for"
            )
        turned = scipy.fft.rfft(responses.astype(np.float32), n=self.points, axis=-1)
        out = np.zeros(self.step * (self.spectra.shape[1] - 1) + self.points, dtype=np.float32)
        for block in range(self.spectra.shape[1]):
            product = (self.spectra[:, block] * turned).sum(axis=0)
            start = block * self.step
            out[start : start + self.points] += scipy.fft.irfft(product, n=self.points)
        return out[: self.samples + self.longest - 1]


def prepared(sound: NDArray[np.float32], longest: int) -> Blocks:
    r"""Cut a sound into blocks and transform them, for the convolution by overlap and add.

    .. math:: y = \sum_b \mathcal{F}^{-1} \{ X_b H \} (t - b\,T)

    Parameters
    ----------
    sound : array
        [channel, sample]. [any unit]
    longest : int
        Samples of the longest response. [-]

    Returns
    -------
    Blocks
        Ready for `Blocks.through`. [any unit]

    Source
    ------
    common-practice: fast convolution; held against the direct sum.

    Examples
    --------
    >>> once = prepared(np.array([[1.0, 2.0, 3.0]], dtype=np.float32), 2)
    >>> print(once.through(np.array([[1.0, -1.0]], dtype=np.float32)).round(4))
    [ 1.  1.  1. -3.]
    """
    points = _points(longest)
    step = points - longest + 1
    channels, samples = sound.shape
    blocks = max(1, -(-samples // step))
    padded = np.zeros((channels, blocks * step), dtype=np.float32)
    padded[:, :samples] = sound
    spectra = scipy.fft.rfft(padded.reshape(channels, blocks, step), n=points, axis=-1)
    return Blocks(samples, longest, spectra.astype(np.complex64))


def _points(longest: int) -> int:
    return 1 << int(np.ceil(np.log2(2.5 * longest)))
