"""Numbers as people read them: a true minus sign, few digits, the unit beside."""

import re

import numpy as np

from forehear.ground.arrays import ComplexArray, FloatArray
from forehear.judge.words import frequency_words

MINUS = "\N{MINUS SIGN}"
NO_BREAK_SPACE = "\N{NO-BREAK SPACE}"


def number(value: float, digits: int = 0) -> str:
    """Write a number with a true minus sign and no minus zero.

    Examples
    --------
    >>> number(-3.14, 1), number(-0.2)
    ('−3.1', '0')
    """
    text = f"{value:.{digits}f}"
    if float(text) == 0.0:
        text = text.removeprefix("-")
    return text.replace("-", MINUS)


def quantity(value: float, unit: str, digits: int = 0) -> str:
    """Write a number and its unit, never parted at a line end."""
    return f"{number(value, digits)}{NO_BREAK_SPACE}{unit}"


def frequency(value_hz: float) -> str:
    r"""Write a frequency as the findings do, never parted at a line end.

    Examples
    --------
    >>> frequency(1433.0), frequency(84.2), frequency(12_400.0)
    ('1.4\xa0kHz', '84\xa0Hz', '12\xa0kHz')
    """
    return frequency_words(value_hz).replace(" ", NO_BREAK_SPACE)


def typeset(words: str) -> str:
    """Set the minus and times signs in words that were made for a terminal.

    Examples
    --------
    >>> typeset("-9 dB at 1.4 kHz; 210 x 340 mm; two-way, twin-2")
    '−9 dB at 1.4 kHz; 210 × 340 mm; two-way, twin-2'
    """
    words = re.sub(r"(?<![\w-])-(?=\d)", MINUS, words)
    return re.sub(r"(?<=\d) x (?=\d)", " \N{MULTIPLICATION SIGN} ", words)


def decibels_of(ratio: ComplexArray) -> FloatArray:
    """Level of a ratio [dB], with a floor far below any picture."""
    level: FloatArray = 20 * np.log10(np.maximum(np.abs(ratio), 1e-10))
    return level


def clipped(text: str, longest: int) -> str:
    """Cut a name to fit a picture; the whole of it stands in the text.

    Examples
    --------
    >>> clipped("a very long name", 9)
    'a very l…'
    """
    return text if len(text) <= longest else text[: longest - 1].rstrip() + "\N{HORIZONTAL ELLIPSIS}"
