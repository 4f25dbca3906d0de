"""What an amplifier feels of an impedance: how low, how steep, and how hot it gets."""

from dataclasses import dataclass

import numpy as np

from forehear.ground.arrays import ComplexArray, FloatArray
from forehear.judge.words import frequency_words

ANGLES = np.linspace(0.0, 2 * np.pi, 721)[:-1]
RESISTIVE = 0.25  # peak of (1 - x) x
# Felt resistance down to which words hold; common practice, no source.
WORDS = (
    (3.5, "easy for any amplifier"),
    (1.8, "usual; an amplifier made for 4 ohm drives it"),
    (1.2, "hard: needs an amplifier made for 4 ohm that bears reactive loads"),
    (0.0, "very hard: needs an amplifier made for 2 ohm"),
)


@dataclass(frozen=True)
class Load:
    """What the amplifier sees."""

    lowest_ohm: float
    lowest_hz: float
    steepest_deg: float
    steepest_hz: float
    felt_ohm: float  # resistor that heats an amplifier as much, at the worst frequency
    words: str

    @property
    def sentence(self) -> str:
        """Say it in one line."""
        return (
            f"at least {self.lowest_ohm:.1f} ohm, at {frequency_words(self.lowest_hz)}; angle up to "
            f"{self.steepest_deg:.0f} degrees, at {frequency_words(self.steepest_hz)}; {self.words}"
        )


def load_of(impedance_ohm: ComplexArray, frequency_hz: FloatArray) -> Load:
    """Describe an impedance as an amplifier meets it.

    Parameters
    ----------
    impedance_ohm
        Of the speaker, [frequency]. [ohm]
    frequency_hz
        [frequency]. [Hz]

    Returns
    -------
    Load
        Magnitude [ohm], angle [deg], and words.

    Source
    ------
    own-definition: the words; `felt_resistance_ohm` for how hot.

    Examples
    --------
    >>> load_of(np.array([8.0 + 0j, 4.0 - 2j]), np.array([100.0, 1000.0])).words
    'usual; an amplifier made for 4 ohm drives it'
    """
    magnitude, angle = np.abs(impedance_ohm), np.degrees(np.angle(impedance_ohm))
    lowest, steepest = int(magnitude.argmin()), int(np.abs(angle).argmax())
    felt = float(felt_resistance_ohm(impedance_ohm).min())
    return Load(
        lowest_ohm=float(magnitude[lowest]),
        lowest_hz=float(frequency_hz[lowest]),
        steepest_deg=float(angle[steepest]),
        steepest_hz=float(frequency_hz[steepest]),
        felt_ohm=felt,
        words=next(words for least, words in WORDS if felt >= least),
    )


def felt_resistance_ohm(impedance_ohm: ComplexArray) -> FloatArray:
    r"""Resistor at which the output devices of a class-B amplifier have the same peak heat, driven to the rails.

    .. math:: R = |Z| \frac{1/4}{\max_\theta (1 - \sin\theta) \sin(\theta - \varphi)}

    over the half of the cycle in which one device conducts.

    Parameters
    ----------
    impedance_ohm
        Of the speaker, [frequency]. [ohm]

    Returns
    -------
    array
        [frequency]. [ohm]

    Source
    ------
    own derivation: voltage over a device times current through it, one frequency at a time.

    Examples
    --------
    >>> print(felt_resistance_ohm(np.array([8.0 + 0j, 8j])).round(2))
    [8.   1.54]
    """
    angle = np.angle(impedance_ohm)[:, np.newaxis]
    heat = (1 - np.sin(ANGLES)) * np.maximum(np.sin(ANGLES - angle), 0.0)
    found: FloatArray = np.abs(impedance_ohm) * RESISTIVE / np.maximum(heat.max(axis=1), RESISTIVE)
    return found
