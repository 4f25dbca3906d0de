"""All image sources of a shoebox, one by one: slow, and with nothing in common with sums over modes."""

from collections.abc import Iterator

import numpy as np

from forehear.ground.arrays import ComplexArray, FloatArray
from forehear.room import Shoebox


def images(
    shoebox: Shoebox, source_m: FloatArray, ear_m: FloatArray, farthest_m: float
) -> Iterator[tuple[FloatArray, FloatArray]]:
    """Distances and factors of all images within reach, after Allen and Berkley 1979, a slab of the room at a time.

    Absorption is that of the first octave: the rooms of these tests have one for all.
    """
    factor = np.sqrt(1 - shoebox.absorption[:, 0])
    lattice = []
    for axis, side in enumerate(shoebox.size_m):
        near, far = factor[2 * axis : 2 * axis + 2]
        reach = int(farthest_m / (2 * side)) + 1
        times = np.arange(-reach, reach + 1)
        even = 2 * times * side + source_m[axis]
        odd = 2 * times * side - source_m[axis]
        once = near ** np.abs(times - 1) * far ** np.abs(times)
        strength = np.concatenate([(near * far) ** np.abs(times), once])
        lattice.append((np.concatenate([even, odd]) - ear_m[axis], strength))
    (across, of_x), (aside, of_y), (up, of_z) = lattice
    for x, strength in zip(across, of_x, strict=True):
        distance = np.sqrt(x**2 + aside[:, None] ** 2 + up**2)
        near_enough = distance < farthest_m
        yield distance[near_enough], (strength * np.outer(of_y, of_z))[near_enough]


def summed(
    shoebox: Shoebox,
    source_m: FloatArray,
    ear_m: FloatArray,
    even_hz: FloatArray,
    farthest_m: float,
    speed_m_s: float,
) -> ComplexArray:
    """Pressure of all images within reach at evenly spaced frequencies."""
    total = np.zeros(even_hz.size, dtype=complex)
    first, step = -2j * np.pi * even_hz[0] / speed_m_s, -2j * np.pi * (even_hz[1] - even_hz[0]) / speed_m_s
    for distance, factor in images(shoebox, source_m, ear_m, farthest_m):
        arriving = factor / distance * np.exp(first * distance)
        turn = np.exp(step * distance)
        for at in range(even_hz.size):
            total[at] += arriving.sum()
            arriving *= turn
    return total
