r"""Modes of the room: the same sound as all image sources together, summed the other way round.

The images of one axis of a shoebox form a lattice whose strength falls with distance x as exp(-g |x|), where
g = -ln(R_a R_b) / 2L for walls with reflection factors R_a and R_b at a distance L. Along that axis the room
therefore does not answer at the wave number n pi / L alone but on a Lorentzian of half width g about it. Taken
through the free field's response 1 / (k'^2 - k^2), with k' over all three axes:

* an axis with n > 0 makes the wave number complex, n pi / L + j g, in the mode's shape too: the mode decays by
  the share of its direction, c g k_x / k, as rays do that strike those walls k_x c / 2 k L times a second;
* an axis with n = 0, along whose walls the mode travels, has no first-order loss. Its Lorentzian stands where
  k' does not depend on it to first order; the mode decays like an error function of the root of time, for the
  images off to the sides are few. Left out, this costs 1 to 3 dB at axial modes.

Held against direct sums of image sources from 20 to 100 Hz, at 1.6 to 4.3 m: at every frequency that is not 20 dB
below the strongest, as in third octaves, within 0.4 dB where all surfaces absorb alike, up to 0.3, and within 1 dB
where one takes 0.05 and another 0.35. Plain damped modes without the widths are up to 3 dB off.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray

from forehear.ground.air import Air
from forehear.ground.arrays import ComplexArray, FloatArray, locked
from forehear.ground.errors import OutsideValidity
from forehear.room.shoebox import SURFACES, Shoebox, reflection_factor

_SUMMED_TO_HZ = 1000.0  # and to six times the highest frequency asked for; what lies above hardly counts
_SUMMED_TO = 6.0
_AT_ONCE = 16  # frequencies: what lies between stays near the processor
_LEAST_LOSS = 1e-6  # of a pair of walls, so that a rigid one rings long, not for ever
_LEAST_RETURN = (
    0.4  # product of the reflection factors of opposite walls: below, the widths are no longer small
)
_NODES = 60  # across half a Lorentzian


@dataclass(frozen=True, eq=False)
class Modes:
    """Modes of a rigid shoebox, the lowest first; the mode of equal pressure everywhere is left out."""

    order: NDArray[np.int64]  # [mode, 3] half waves along x, y and z
    frequency_hz: FloatArray  # [mode]

    def __post_init__(self) -> None:
        locked(self, "order", (len(self.frequency_hz), 3), "mode x (x, y, z)")
        locked(self, "frequency_hz", (len(self.order),), "modes")


def mode_frequencies(size_m: tuple[float, float, float], highest_hz: float, sound_speed_m_s: float) -> Modes:
    r"""Find the modes of a rigid shoebox.

    .. math:: f = \frac{c}{2} \sqrt{(n_x/L_x)^2 + (n_y/L_y)^2 + (n_z/L_z)^2}

    Parameters
    ----------
    size_m : tuple of float
        Length, width and height. [m]
    highest_hz : float
        Modes up to this frequency. [Hz]
    sound_speed_m_s : float
        Speed of sound. [m/s]

    Returns
    -------
    Modes
        Orders and frequencies in rising order. [Hz]

    Source
    ------
    rayleigh-1896, a room with rigid walls.

    Examples
    --------
    >>> modes = mode_frequencies((5.1, 3.9, 2.4), 60.0, 343.2)
    >>> print(modes.frequency_hz.round(2), modes.order[2])
    [33.65 44.   55.39] [1 1 0]
    """
    order = _orders(size_m, highest_hz, sound_speed_m_s)
    frequency = sound_speed_m_s / 2 * np.linalg.norm(order / np.asarray(size_m), axis=1)
    rising = np.argsort(frequency, kind="stable")[1:]
    return Modes(order[rising], frequency[rising])


def modal_transfer(
    shoebox: Shoebox,
    source_m: Sequence[float] | FloatArray,
    ears_m: FloatArray,
    frequency_hz: FloatArray,
    air: Air,
) -> ComplexArray:
    r"""Pressure of a point source at every ear, all reflections included, as a sum of damped modes.

    .. math:: p = \frac{4 \pi}{V} \sum_n \epsilon_n \frac{\psi_n(x_0) \psi_n(x)}{k_n^2 - k^2}

    with the complex wave numbers and shapes, and the widened tangential and axial modes, that the head of this
    file tells of. The source is such that in free field it gives exp(-jkr)/r. Absorption is read at each
    frequency as image sources read it; what the air swallows, under 0.5 dB a kilometre below 125 Hz, is left out.

    Parameters
    ----------
    shoebox : Shoebox
        The room. [m]
    source_m : array
        Where the source is, room axes. [m]
    ears_m : array
        Ears in room axes, [ear, 3]. [m]
    frequency_hz : array
        Frequencies above zero. [Hz]
    air : Air
        For the speed of sound. [m/s]

    Returns
    -------
    array
        Complex pressure re that of the free source at 1 m, [ear, frequency]. [1/m]

    Source
    ------
    morse-ingard-1968, sound in a rectangular room, for the sum; the damping and the widths are derived from the
    image sources of allen-berkley-1979 so that both agree. Refused where a pair of opposite walls sends back less
    than 0.4 of the pressure; farther than 1 m from the source.

    Examples
    --------
    On the first mode of this room, far from its node:

    >>> room = Shoebox.uniform((5.2, 4.1, 2.5), [0.1] * 6)
    >>> heard = modal_transfer(room, (0.6, 1.3, 0.9), np.array([[4.4, 3.3, 1.15]]), np.array([33.0]), Air())
    >>> print(np.round(20 * np.log10(np.abs(heard)), 1))
    [[28.3]]
    """
    ears = np.atleast_2d(np.asarray(ears_m, dtype=float))
    source = np.asarray(source_m, dtype=float)
    for place in (source, *ears):
        if not shoebox.is_inside(place):
            raise ValueError(f"{tuple(place)} m is not inside the room of {shoebox.size_m} m")
    highest_hz = max(_SUMMED_TO_HZ, _SUMMED_TO * float(np.max(frequency_hz)))
    order = _orders(shoebox.size_m, highest_hz, air.sound_speed_m_s)
    parts = [
        _transfer(_walls(shoebox, part, air), order, source, ears)
        for part in np.array_split(frequency_hz, -(-len(frequency_hz) // _AT_ONCE))
    ]
    return np.concatenate(parts, axis=1)


@dataclass(frozen=True, eq=False)
class _Walls:
    """The three pairs of walls at some frequencies."""

    size_m: FloatArray  # [axis]
    wavenumber_1_m: FloatArray  # [frequency]
    width_1_m: FloatArray  # [axis, frequency] of the Lorentzians
    turn: ComplexArray  # [axis, frequency] imaginary, of the shape at the first wall


def _orders(size_m: Sequence[float], highest_hz: float, sound_speed_m_s: float) -> NDArray[np.int64]:
    """All triples of half waves up to a frequency, [mode, 3]."""
    across = 2 * np.asarray(size_m) * highest_hz / sound_speed_m_s
    axes = [np.arange(int(most) + 1) for most in across]
    order = np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, 3)
    below: NDArray[np.int64] = order[np.linalg.norm(order / across, axis=1) <= 1.0]
    return below


def _walls(shoebox: Shoebox, frequency_hz: FloatArray, air: Air) -> _Walls:
    size = np.asarray(shoebox.size_m)
    factor = np.stack([reflection_factor(shoebox, surface, frequency_hz) for surface in range(len(SURFACES))])
    returned = factor[0::2] * factor[1::2]
    weakest = np.unravel_index(np.argmin(returned), returned.shape)
    if returned[weakest] < _LEAST_RETURN:
        axis = int(weakest[0])
        raise OutsideValidity(
            f"the {SURFACES[2 * axis]} and the {SURFACES[2 * axis + 1]} together send back "
            f"{returned[weakest]:.2f} of the pressure at {frequency_hz[weakest[1]]:.0f} Hz; modes need "
            f"{_LEAST_RETURN:g} or more",
            cure="sum image sources there: in so dead a room few are needed",
        )
    lost = np.maximum(-np.log(returned), _LEAST_LOSS)
    return _Walls(
        size,
        2 * np.pi * frequency_hz / air.sound_speed_m_s,
        lost / (2 * size[:, None]),
        0.5j * np.log(factor[0::2]),
    )


def _transfer(walls: _Walls, order: NDArray[np.int64], source: FloatArray, ears: FloatArray) -> ComplexArray:
    """Sum all modes, those with the same axes at rest together: [ear, frequency]."""
    at_source = _shapes(walls, order, source)
    at_ears = [_shapes(walls, order, ear) for ear in ears]
    rigid_1_m = np.linalg.norm(order * np.pi / walls.size_m, axis=1)
    faded = (
        1.0 - (rigid_1_m / rigid_1_m.max()) ** 2
    )  # where a sum breaks off, it settles sooner if it fades out
    pressure = np.zeros((len(ears), walls.wavenumber_1_m.size), dtype=complex)
    for moving in product((False, True), repeat=3):
        chosen = np.all((order > 0) == moving, axis=1)
        modes = order[chosen]
        axes = np.flatnonzero(moving)
        complex_k = modes[:, axes, None] * np.pi / walls.size_m[axes, None] + 1j * walls.width_1_m[axes]
        own = np.sqrt(np.sum(complex_k**2, axis=1))  # [mode, frequency]
        late = walls.wavenumber_1_m - 1j * own.imag
        gap = own.real**2 - late**2
        answer = 2.0**axes.size * _widened(gap, walls.width_1_m[[not moves for moves in moving]])
        answer *= faded[chosen, None]
        here = _product(at_source, modes)
        for heard, at_ear in zip(pressure, at_ears, strict=True):
            shape = here * _product(at_ear, modes)
            heard += np.sum(answer * (late * shape.real + 1j * own.real * shape.imag), axis=0)
    pressure *= 4 * np.pi / np.prod(walls.size_m) / walls.wavenumber_1_m
    return pressure


def _shapes(walls: _Walls, order: NDArray[np.int64], place: FloatArray) -> list[ComplexArray]:
    """Shape of each axis at a place, [half waves, frequency] an axis."""
    shapes = []
    for axis in range(3):
        half_waves = np.arange(order[:, axis].max() + 1)
        along = half_waves[:, None] * np.pi / walls.size_m[axis] + 1j * walls.width_1_m[axis]
        shapes.append(np.cos(along * place[axis] + walls.turn[axis]))
    return shapes


def _product(shapes: list[ComplexArray], modes: NDArray[np.int64]) -> ComplexArray:
    """Shape of each mode, [mode, frequency]."""
    along, aside, up = (own[half_waves] for own, half_waves in zip(shapes, modes.T, strict=True))
    shape: ComplexArray = along * aside * up
    return shape


def _widened(gap: ComplexArray, width: FloatArray) -> ComplexArray:
    r"""Mean of 1 / (gap + x^2 + ...) over the Lorentzians of the axes at rest, [mode, frequency].

    One axis has a closed form, 1 / (s (s + g)) with s the root of the gap and g the width. Each further one is a sum
    along a path turned by 45 degrees, where the integrand has no pole.
    """
    if not len(width):
        return 1.0 / gap
    if len(width) == 1:
        root = np.sqrt(gap)
        closed: ComplexArray = 1.0 / (root * (root + width[0]))
        return closed
    angle = (np.arange(_NODES) + 0.5) * np.pi / (2 * _NODES)
    weight = np.exp(0.25j * np.pi) / _NODES / (np.cos(angle) ** 2 + 1j * np.sin(angle) ** 2)
    turned = 1j * (np.tan(angle)[:, np.newaxis] * width[-1]) ** 2
    mean: ComplexArray = weight @ _widened(gap[..., np.newaxis, :] + turned, width[:-1])
    return mean
