"""What comes after the images that are counted one by one: the energy that all farther ones bring on average.

Images fill space evenly, one in the room's own volume. So the energy beyond any distance is an integral over
directions, in which the sound of each direction falls off at its own rate; it joins the counted images without
anything to fit. In a room damped unevenly it lasts longer than a diffuse field would, as the images themselves do.
"""

import numpy as np

from forehear.ground.arrays import ComplexArray, FloatArray
from forehear.ground.errors import OutsideValidity
from forehear.room.shoebox import SURFACES, Shoebox, reflection_factor

_LEAST_FACTOR = 1e-9  # of an open side, so that its logarithm stays a number
LONGEST_DECAY_S = 20.0  # nothing that is meant as a room rings longer


def loss_per_metre(
    shoebox: Shoebox, unit: FloatArray, frequency_hz: FloatArray, air_loss_db_m: FloatArray
) -> FloatArray:
    r"""Energy lost on the way by all images in a direction, as an exponent per metre.

    .. math:: \gamma = -\sum_i \frac{|n_i|}{L_i} \ln(R_{i1} R_{i2}) + m

    Parameters
    ----------
    shoebox : Shoebox
        The room. [-]
    unit : array
        Directions in room axes, [direction, 3]. [-]
    frequency_hz : array
        [frequency]. [Hz]
    air_loss_db_m : array
        What the air swallows, [frequency]. [dB/m]

    Returns
    -------
    array
        [direction, frequency]. [1/m]

    Source
    ------
    allen-berkley-1979: a way of length d along n meets the surfaces of axis i d |n_i| / L_i times.

    Examples
    --------
    >>> room = Shoebox.uniform((5.0, 4.0, 2.5), [0.19, 0.19, 0, 0, 0, 0])
    >>> print(loss_per_metre(room, np.array([[1.0, 0, 0]]), np.array([1e3]), np.zeros(1)).round(5))
    [[0.04214]]
    """
    factor = [
        np.maximum(reflection_factor(shoebox, surface, frequency_hz), _LEAST_FACTOR)
        for surface in range(len(SURFACES))
    ]
    both = np.array(
        [np.log(factor[2 * axis] * factor[2 * axis + 1]) / shoebox.size_m[axis] for axis in range(3)]
    )
    loss: FloatArray = air_loss_db_m * (np.log(10) / 10) - np.abs(unit) @ both
    return loss


def energy_beyond(
    pressure_pa: ComplexArray,
    unit: FloatArray,
    weight: FloatArray,
    loss_1_m: FloatArray,
    volume_m3: float,
    edges_m: FloatArray,
) -> ComplexArray:
    r"""Energy that images bring on average between distances, as a Hermitian form in the sources.

    .. math::
        F_{ij} = \frac{1}{V} \int \overline{p_i} p_j
        \frac{e^{-\gamma d_1} - e^{-\gamma d_2}}{\gamma} \, \mathrm{d}\Omega

    Parameters
    ----------
    pressure_pa : array
        Of each source at 1 m, phases about one point, [source, direction, frequency]. [Pa]
    unit : array
        The directions in room axes; the loss was asked there, [direction, 3]. [-]
    weight : array
        Share of the sphere of each direction, [direction]. [-]
    loss_1_m : array
        Of `loss_per_metre`, [direction, frequency]. [1/m]
    volume_m3 : float
        Of the room. [m3]
    edges_m : array
        Rising distances; the last may be infinite, [edge]. [m]

    Returns
    -------
    array
        [edge - 1, frequency, source, source]. [Pa2]

    Raises
    ------
    OutsideValidity
        When the room rings longer than `LONGEST_DECAY_S`.

    Source
    ------
    own-definition: images counted by their mean density, one in each volume of the room.

    Examples
    --------
    A source of 1 Pa at 1 m in a room of 50 m3 whose every direction loses 0.1 of its energy a metre:

    >>> unit = np.array([[1.0, 0, 0], [-1.0, 0, 0]])
    >>> same, loss = np.ones((1, 2, 1), dtype=complex), np.full((2, 1), 0.1)
    >>> form = energy_beyond(same, unit, np.full(2, 0.5), loss, 50.0, np.array([0.0, np.inf]))
    >>> print(f"{form[0, 0, 0, 0].real:.4f} {4 * np.pi / 50 / 0.1:.4f}")
    2.5133 2.5133
    """
    if len(unit) != len(weight):
        raise ValueError(f"{len(unit)} directions have {len(weight)} weights")
    slowest = 6 * np.log(10) / 343.0 / LONGEST_DECAY_S
    if loss_1_m.min(axis=1).mean() < slowest:
        raise OutsideValidity(
            f"the room would ring for more than {LONGEST_DECAY_S:g} s: its surfaces swallow next to nothing",
            cure="give every pair of facing surfaces some absorption, such as 0.02",
        )
    held = np.maximum(loss_1_m, slowest)
    left = np.exp(-held[None] * edges_m[:, None, None]) / held  # [edge, direction, frequency]
    lost = (left[:-1] - left[1:]) * (4 * np.pi / volume_m3 * weight[:, None])
    sources = len(pressure_pa)
    pairs = pressure_pa.conj()[:, None] * pressure_pa[None]  # [source, source, direction, frequency]
    by_frequency = np.ascontiguousarray(pairs.reshape(sources**2, *pairs.shape[2:]).transpose(2, 1, 0))
    form: ComplexArray = np.ascontiguousarray(lost.transpose(2, 0, 1)).astype(complex) @ by_frequency
    return form.transpose(1, 0, 2).reshape(len(edges_m) - 1, -1, sources, sources)
