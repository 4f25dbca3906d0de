"""How sound dies away at a seat: energy in bins of time for each octave of speech, and the tail after them."""

from dataclasses import dataclass

import numpy as np

from forehear.ground.arrays import FloatArray, locked
from forehear.judge.speech import SPEECH_OCTAVE_HZ

NEPERS_OF_60_DB = 6 * np.log(10.0)  # energy falls to a millionth in one decay time


@dataclass(frozen=True, eq=False)
class EnergyDecay:
    """Squared impulse response of each octave from 125 Hz to 8 kHz, in any unit that all octaves of a seat share.

    Within a bin the energy is spread evenly; a bin of no width holds what arrives at one instant, as the direct
    sound does at 0 s. After the last edge the energy falls exponentially and never ends.
    """

    edges_s: FloatArray  # [bin + 1], after the direct arrival, never falling
    energy: FloatArray  # [..., octave, bin]
    tail_energy: FloatArray  # [..., octave], all of it after the last edge
    decay_time_s: FloatArray  # [octave], time in which the tail falls by 60 dB

    def __post_init__(self) -> None:
        octaves, bins = len(SPEECH_OCTAVE_HZ), len(self.edges_s) - 1
        leading = (-1,) * max(np.ndim(self.energy) - 2, 0)
        locked(self, "edges_s", (bins + 1,), "bins and one")
        locked(self, "energy", (*leading, octaves, bins), "octaves from 125 Hz to 8 kHz x bins")
        locked(self, "tail_energy", self.energy.shape[:-1], "what the energy holds, less its bins,")
        locked(self, "decay_time_s", (octaves,), "octaves from 125 Hz to 8 kHz")
        rising = bins >= 0 and self.edges_s[0] >= 0 and np.all(np.diff(self.edges_s) >= 0)
        if not (rising and np.isfinite(self.edges_s[-1])):
            raise ValueError(f"edges of bins start at 0 s or later and never fall, not {self.edges_s}")
        if not np.all(np.isfinite(self.decay_time_s) & (self.decay_time_s > 0)):
            raise ValueError(f"every octave needs a decay time above 0 s, not {self.decay_time_s}")
        if not (np.all(self.energy >= 0) and np.all(self.tail_energy >= 0)):
            raise ValueError("energies are zero or more")
        if not np.all(np.isfinite(self.total) & (self.total > 0)):
            raise ValueError("every octave needs a finite energy above zero: silence has no clarity")

    @property
    def total(self) -> FloatArray:
        """All energy of each octave, [..., octave]."""
        binned: FloatArray = self.energy.sum(axis=-1)
        return binned + self.tail_energy

    def split(self, at_s: float) -> tuple[FloatArray, FloatArray]:
        r"""Part the energy into what arrives before and after a time; a bin that straddles it is shared linearly.

        What arrives at that very instant counts as before. Of the tail, which starts at the last edge
        :math:`t_e`, there is left

        .. math:: e^{-6 \ln(10) (t - t_e) / T}

        Parameters
        ----------
        at_s : float
            Time after the direct arrival. [s]

        Returns
        -------
        tuple of array
            Early and late energy, [..., octave] each. [unit of the energy]

        Source
        ------
        own-definition: sharing within a bin; the exponential is the definition of a decay time.

        Examples
        --------
        >>> tail = EnergyDecay(np.zeros(1), np.zeros((7, 0)), np.ones(7), np.full(7, 0.6))
        >>> early, late = tail.split(0.6)
        >>> print(f"{late[0]:.1e}")
        1.0e-06
        """
        start, width = self.edges_s[:-1], np.diff(self.edges_s)
        instant = width == 0
        before = np.where(
            instant, start <= at_s, np.clip(at_s - start, 0.0, width) / np.where(instant, 1.0, width)
        )
        left = np.exp(-NEPERS_OF_60_DB * max(at_s - self.edges_s[-1], 0.0) / self.decay_time_s)
        early: FloatArray = self.energy @ before + self.tail_energy * (1 - left)
        late: FloatArray = self.energy @ (1 - before) + self.tail_energy * left
        return early, late
