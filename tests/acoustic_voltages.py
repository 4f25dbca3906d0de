"""Ideal acoustic voltages of crossovers, textbook polynomials, given straight to the radiation."""

import math
from collections.abc import Callable, Mapping

import numpy as np
from numpy.typing import NDArray

Complexes = NDArray[np.complex128]

_DENOMINATOR: Mapping[str, tuple[int, Callable[[Complexes], Complexes]]] = {
    "BW1": (1, lambda s: s + 1),
    "BW2": (2, lambda s: s**2 + math.sqrt(2) * s + 1),
    "BW3": (3, lambda s: (s + 1) * (s**2 + s + 1)),
    "LR2": (2, lambda s: (s + 1) ** 2),
    "LR4": (4, lambda s: (s**2 + math.sqrt(2) * s + 1) ** 2),
}


def ideal_ways(family: str, x: NDArray[np.float64]) -> tuple[Complexes, Complexes]:
    """Low-pass and high-pass of a crossover at `x` times its corner, exp(+jwt)."""
    order, denominator = _DENOMINATOR[family]
    s = 1j * np.asarray(x, dtype=np.complex128)
    return 1 / denominator(s), s**order / denominator(s)
