"""What comes after the reflections that are counted one by one: the energy that all others bring on average.

Images fill space evenly, one in the room's own volume. So the energy beyond any distance is an integral over
directions, in which the sound of each direction falls off at its own rate; it joins the counted images without
anything to fit. What surfaces scatter leaves the images for a diffuse field, which falls off as Eyring's formula
says. Without scattering a room damped unevenly rings longer than any diffuse field, between its hardest walls.
"""

from dataclasses import dataclass

import numpy as np

from forehear.ground.arrays import ComplexArray, FloatArray
from forehear.ground.errors import OutsideValidity
from forehear.room.shoebox import SURFACES, Shoebox, scattered_share, specular_factor

_LEAST_FACTOR = 1e-9  # of an open side, so that its logarithm stays a number
LONGEST_DECAY_S = 120.0  # a cathedral rings for ten
_SLOWEST_1_M = 6 * np.log(10) / 343.0 / LONGEST_DECAY_S


@dataclass(frozen=True, eq=False)
class Losses:
    """Share of the energy lost on the way, as exponents per metre."""

    specular_1_m: FloatArray  # [direction, frequency] lost by images: swallowed or scattered
    scattered_1_m: FloatArray  # [direction, frequency] of it what goes into the diffuse field
    diffuse_1_m: FloatArray  # [frequency] lost by the diffuse field


@dataclass(frozen=True, eq=False)
class Counting:
    """How far images are counted one by one."""

    edges_m: FloatArray  # [part + 1] rising distances; the last may be infinite
    share_left: FloatArray  # [part] of the energy between them, what is not counted


@dataclass(frozen=True, eq=False)
class Averages:
    """What arrives between distances of what a source sends in each direction, re its squared pressure at 1 m."""

    specular: FloatArray  # [part, direction, frequency] by images
    diffuse: FloatArray  # [part, direction, frequency] by the diffuse field

    def driven(self, strength_pa2: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Energy that both bring, [part, frequency] each, of a source that is driven already [direction, frequency]."""
        specular: FloatArray = np.einsum("pdf,df->pf", self.specular, strength_pa2)
        diffuse: FloatArray = np.einsum("pdf,df->pf", self.diffuse, strength_pa2)
        return specular, diffuse


def losses(shoebox: Shoebox, unit: FloatArray, frequency_hz: FloatArray, air_loss_db_m: FloatArray) -> Losses:
    r"""Find how fast images in each direction and the diffuse field lose their energy.

    .. math::
        \gamma = m + \sum_i |n_i| a_i, \quad
        \kappa = m - \frac{S}{4 V} \ln(1 - \bar\alpha)

    with, for the surfaces of axis i, r and q their specular factors,

    .. math::
        a_i = \frac{1}{L_i} \left[ -r q \ln(r q)
        + (1 - r q) \frac{2 (1 - r^2 q^2)}{(1 + r^2)(1 + q^2)} \right]

    The logarithm is how fast a way decays that meets both surfaces many times. The fraction makes the sum over all
    images of the axis right; it differs only where so much is swallowed that few images are left, down to the
    side that is open, where the logarithm would leave none.

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
    Losses
        [1/m]

    Raises
    ------
    OutsideValidity
        When the room rings longer than `LONGEST_DECAY_S`.

    Source
    ------
    allen-berkley-1979: a way of length d along n meets surfaces of axis i d |n_i| / L_i times; eyring-1930 for
    the diffuse field.

    Examples
    --------
    >>> room = Shoebox.uniform((5.0, 4.0, 2.5), [0.19, 0.19, 0, 0, 0, 0])
    >>> found = losses(room, np.array([[1.0, 0, 0]]), np.array([1e3]), np.zeros(1))
    >>> print(found.specular_1_m.round(5), found.diffuse_1_m.round(5))
    [[0.04211]] [0.01944]
    """
    factor = np.array(
        [
            np.maximum(specular_factor(shoebox, surface, frequency_hz), _LEAST_FACTOR)
            for surface in range(len(SURFACES))
        ]
    )
    meetings_1_m = np.abs(unit) / np.array(shoebox.size_m)  # [direction, axis]
    meeting, counted = -np.log(factor[::2] * factor[1::2]), _lost_by_axis(factor[::2], factor[1::2])
    air_1_m = air_loss_db_m * (np.log(10) / 10)
    specular = air_1_m + meetings_1_m @ counted
    scattering = -np.log1p(-scattered_share(shoebox, frequency_hz))
    scattered = meetings_1_m @ (scattering * counted / np.maximum(meeting, _LEAST_FACTOR))
    areas = shoebox.areas_m2
    swallowed = 1 - factor**2 / (1 - scattered_share(shoebox, frequency_hz))
    mean = np.minimum(areas @ swallowed / areas.sum(), 1 - _LEAST_FACTOR)
    diffuse = air_1_m - np.log1p(-mean) * areas.sum() / (4 * shoebox.volume_m3)
    if min(diffuse.min(), specular.mean(axis=0).min()) < _SLOWEST_1_M:
        raise OutsideValidity(
            f"the room would ring for more than {LONGEST_DECAY_S:g} s: its surfaces swallow next to nothing",
            cure="give the surfaces some absorption, such as 0.02",
        )
    return Losses(np.maximum(specular, _SLOWEST_1_M), scattered, diffuse)


def _lost_by_axis(near: FloatArray, far: FloatArray) -> FloatArray:
    """Exponent of energy lost in each length of an axis, for the specular factors of its surfaces."""
    both = near * far
    counted = 2 * (1 - both**2) / ((1 + near**2) * (1 + far**2))
    lost: FloatArray = both * -np.log(both) + (1 - both) * counted
    return lost


def specular_between(
    pressure_pa: ComplexArray, weight: FloatArray, lost: Losses, volume_m3: float, edges_m: FloatArray
) -> ComplexArray:
    r"""Energy that images bring on average between distances, as a Hermitian form in the sources.

    .. math::
        F_{ij} = \frac{1}{V} \int \overline{p_i} p_j
        \frac{e^{-\gamma d_1} - e^{-\gamma d_2}}{\gamma} \, \mathrm{d}\Omega

    Parameters
    ----------
    pressure_pa : array
        Of each source at 1 m, phases about one point, [source, direction, frequency]. [Pa]
    weight : array
        Share of the sphere of each direction, [direction]. [-]
    lost : Losses
        In the same directions. [1/m]
    volume_m3 : float
        Of the room. [m3]
    edges_m : array
        Rising distances; the last may be infinite, [edge]. [m]

    Returns
    -------
    array
        [edge - 1, frequency, source, source]. [Pa2]

    Source
    ------
    own-definition: images counted by their mean density, one in each volume of the room.

    Examples
    --------
    A source of 1 Pa at 1 m in a room of 50 m3 whose every direction loses 0.1 of its energy a metre:

    >>> same, loss = np.ones((1, 2, 1), dtype=complex), np.full((2, 1), 0.1)
    >>> lost = Losses(loss, 0 * loss, loss[0])
    >>> form = specular_between(same, np.full(2, 0.5), lost, 50.0, np.array([0.0, np.inf]))
    >>> print(f"{form[0, 0, 0, 0].real:.4f} {4 * np.pi / 50 / 0.1:.4f}")
    2.5133 2.5133
    """
    return _form(pressure_pa, weight, _integrals(lost.specular_1_m, edges_m), volume_m3)


def diffuse_between(
    pressure_pa: ComplexArray, weight: FloatArray, lost: Losses, volume_m3: float, edges_m: FloatArray
) -> ComplexArray:
    r"""Energy that the diffuse field brings between distances, fed by what images lose by scattering.

    .. math::
        D(d) = \int_0^d \gamma_s e^{-\gamma x} e^{-\kappa (d - x)} \mathrm{d}x
        = \gamma_s \frac{e^{-\gamma d} - e^{-\kappa d}}{\kappa - \gamma}

    Parameters
    ----------
    pressure_pa, weight, lost, volume_m3, edges_m
        As for `specular_between`. [Pa], [-], [1/m], [m3], [m]

    Returns
    -------
    array
        [edge - 1, frequency, source, source]. [Pa2]

    Source
    ------
    own-definition: what is scattered is spread over the room at once.

    Examples
    --------
    Nothing is lost by scattering itself: where both fields fall off alike, the sum is as without it.

    >>> same, loss = np.ones((1, 2, 1), dtype=complex), np.full((2, 1), 0.1)
    >>> lost, everything = Losses(loss + 0.05, 0 * loss + 0.05, loss[0]), np.array([0.0, np.inf])
    >>> parts = [find(same, np.full(2, 0.5), lost, 50.0, everything) for find in (specular_between, diffuse_between)]
    >>> print(f"{(parts[0] + parts[1])[0, 0, 0, 0].real:.4f}")
    2.5133
    """
    return _form(pressure_pa, weight, _diffuse_integrals(lost, edges_m), volume_m3)


def energy_between(
    strength_pa2: FloatArray, weight: FloatArray, lost: Losses, volume_m3: float, edges_m: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Energy that images and the diffuse field bring between distances, of a source that is driven already.

    Parameters
    ----------
    strength_pa2 : array
        Squared pressure at 1 m, all sources together, [direction, frequency]. [Pa2]
    weight, lost, volume_m3, edges_m
        As for `specular_between`. [-], [1/m], [m3], [m]

    Returns
    -------
    specular, diffuse
        [edge - 1, frequency] each. [Pa2]

    Source
    ------
    own-definition: as `specular_between` and `diffuse_between`, both at once and for one source.

    Examples
    --------
    >>> loss = np.full((2, 1), 0.1)
    >>> lost = Losses(loss + 0.05, 0 * loss + 0.05, loss[0])
    >>> parts = energy_between(np.ones((2, 1)), np.full(2, 0.5), lost, 50.0, np.array([0.0, np.inf]))
    >>> print(f"{(parts[0] + parts[1])[0, 0]:.4f}")
    2.5133
    """
    spread = 4 * np.pi / volume_m3 * weight[:, np.newaxis] * strength_pa2
    images = _integrals(lost.specular_1_m, edges_m)
    share = lost.scattered_1_m / _gap(lost)
    specular: FloatArray = np.einsum("bdn,dn->bn", images, spread)
    fed = np.einsum("bdn,dn->bn", images, spread * share)
    left = _integrals(lost.diffuse_1_m[np.newaxis], edges_m)[:, 0]
    diffuse: FloatArray = fed - left * (spread * share).sum(axis=0)
    return specular, diffuse


def averages_between(weight: FloatArray, lost: Losses, volume_m3: float, edges_m: FloatArray) -> Averages:
    """Do the part of `energy_between` that no source changes, for driving several.

    Parameters
    ----------
    weight, lost, volume_m3, edges_m
        As for `specular_between`. [-], [1/m], [m3], [m]

    Returns
    -------
    Averages
        [-]

    Source
    ------
    own-definition: as `specular_between` and `diffuse_between`, direction by direction.

    Examples
    --------
    >>> loss = np.full((2, 1), 0.1)
    >>> lost = Losses(loss + 0.05, 0 * loss + 0.05, loss[0])
    >>> found = averages_between(np.full(2, 0.5), lost, 50.0, np.array([0.0, np.inf]))
    >>> print(f"{sum(found.driven(np.ones((2, 1))))[0, 0]:.4f}")
    2.5133
    """
    spread = 4 * np.pi / volume_m3 * weight[:, np.newaxis]
    specular = _integrals(lost.specular_1_m, edges_m)
    diffuse = specular - _integrals(lost.diffuse_1_m[np.newaxis], edges_m)
    diffuse *= spread * (lost.scattered_1_m / _gap(lost))
    specular *= spread
    return Averages(specular, diffuse)


def _gap(lost: Losses) -> FloatArray:
    """How much faster the diffuse field falls off than images do; never so little that it divides by nothing."""
    gap = lost.diffuse_1_m - lost.specular_1_m
    return np.where(np.abs(gap) < 1e-6 * lost.diffuse_1_m, 1e-6 * lost.diffuse_1_m, gap)


def _diffuse_integrals(lost: Losses, edges_m: FloatArray) -> FloatArray:
    """Integrals of the diffuse field between distances, [edge - 1, direction, frequency]."""
    ends = _integrals(lost.specular_1_m, edges_m) - _integrals(lost.diffuse_1_m[np.newaxis], edges_m)
    between: FloatArray = ends * lost.scattered_1_m / _gap(lost)
    return between


def uncounted(
    pressure_pa: ComplexArray, weight: FloatArray, lost: Losses, volume_m3: float, counted: Counting
) -> ComplexArray:
    """Energy of everything that is not counted one by one, as a Hermitian form in the sources.

    Parameters
    ----------
    pressure_pa, weight, lost, volume_m3
        As for `specular_between`. [Pa], [-], [1/m], [m3]
    counted : Counting
        How far images are counted. [-]

    Returns
    -------
    array
        [frequency, source, source]. [Pa2]

    Source
    ------
    own-definition: the sum of `specular_between`, as much of it as is not counted, and all of `diffuse_between`.

    Examples
    --------
    Where nothing is counted it is all the energy that images bring:

    >>> same, loss = np.ones((1, 2, 1), dtype=complex), np.full((2, 1), 0.1)
    >>> lost = Losses(loss, 0 * loss, loss[0])
    >>> nothing = Counting(np.array([0.0, np.inf]), np.ones(1))
    >>> print(f"{uncounted(same, np.full(2, 0.5), lost, 50.0, nothing)[0, 0, 0].real:.4f}")
    2.5133
    """
    specular = np.tensordot(counted.share_left, _integrals(lost.specular_1_m, counted.edges_m), axes=1)
    energy = specular + _diffuse_integrals(lost, np.array([0.0, np.inf]))[0]
    form: ComplexArray = _form(pressure_pa, weight, energy[np.newaxis], volume_m3)[0]
    return form


def _integrals(loss_1_m: FloatArray, edges_m: FloatArray) -> FloatArray:
    """Integrals of exp(-loss d) between distances, [edge - 1, direction, frequency]."""
    left = np.exp(-loss_1_m * edges_m[:, np.newaxis, np.newaxis]) / loss_1_m
    between: FloatArray = left[:-1] - left[1:]
    return between


def _form(
    pressure_pa: ComplexArray, weight: FloatArray, energy: FloatArray, volume_m3: float
) -> ComplexArray:
    """Sum energies [part, direction, frequency] over directions, [part, frequency, source, source]."""
    sources = len(pressure_pa)
    pairs = pressure_pa.conj()[:, np.newaxis] * pressure_pa  # [source, source, direction, frequency]
    by_frequency = np.ascontiguousarray(pairs.reshape(sources**2, *pairs.shape[2:]).transpose(2, 1, 0))
    weighted = energy * (4 * np.pi / volume_m3 * weight[:, np.newaxis])
    form: ComplexArray = np.ascontiguousarray(weighted.transpose(2, 0, 1)).astype(complex) @ by_frequency
    return form.transpose(1, 0, 2).reshape(len(energy), -1, sources, sources)
