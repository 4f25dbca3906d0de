"""What a head makes of sound from every direction: a rigid ball with two ears, by the exact series."""

from dataclasses import dataclass
from functools import cached_property
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from forehear.ground.arrays import ComplexArray, FloatArray, locked
from forehear.ground.axes import FrequencyGrid, sphere_directions
from forehear.listen.tables import at_frequencies, in_bands
from forehear.radiation import point_near_sphere
from forehear.spine.through import Receiver, Toward

RADIUS_M = 0.0875
EAR_RAD = np.radians(100.0)  # from straight ahead, level
SOUND_SPEED_M_S = 343.2
TABLE_HZ = np.linspace(0.0, 24_000.0, 1025)
TABLE_RAD = np.radians(np.arange(0.0, 181.0))
NEARNESS = np.array([0.0, 0.05, 0.1, 0.2, 0.3])  # radius over distance, down to 29 cm
DIFFUSE_HZ = np.linspace(0.0, 24_000.0, 257)
DIFFUSE_STEP_DEG = 5.0


class Head(Receiver, Protocol):
    """A head that tells what it is."""

    def transfer(self, unit: FloatArray, distance_m: FloatArray, frequency_hz: FloatArray) -> ComplexArray:
        """Pressure at each ear re the middle without a head, `delays_s` taken out, [ear, direction, frequency]."""
        ...

    @property
    def title(self) -> str:
        """Name."""
        ...

    @property
    def origin(self) -> str:
        """Where it comes from, in a sentence."""
        ...


@dataclass(frozen=True, eq=False)
class SphereHead:
    """A rigid ball with an ear on each side, both level."""

    radius_m: float = RADIUS_M
    ear_rad: float = EAR_RAD
    sound_speed_m_s: float = SOUND_SPEED_M_S

    @property
    def key(self) -> str:
        """Key of all that it is."""
        return f"ball {self.radius_m} {self.ear_rad} {self.sound_speed_m_s}"

    @property
    def title(self) -> str:
        """Name."""
        return "rigid ball"

    @property
    def origin(self) -> str:
        """Where it comes from."""
        return (
            f"a rigid ball of {200 * self.radius_m:.1f} cm with ears {np.degrees(self.ear_rad):.0f} degrees "
            "from straight ahead (Duda and Martens 1998), without outer ears, neck and shoulders"
        )

    @cached_property
    def ears(self) -> FloatArray:
        """Unit vectors to the left and the right ear, [ear, 3]."""
        ahead, aside = np.cos(self.ear_rad), np.sin(self.ear_rad)
        return np.array([[ahead, aside, 0.0], [ahead, -aside, 0.0]])

    def angles_rad(self, unit: FloatArray) -> FloatArray:
        """Angle between directions [direction, 3] and each ear, [ear, direction]."""
        angles: FloatArray = np.arccos(np.clip(self.ears @ unit.T, -1.0, 1.0))
        return angles

    def delays_s(self, unit: FloatArray, distance_m: FloatArray) -> FloatArray:
        r"""Find how much later a wavefront reaches each ear than it would reach the middle.

        .. math::
            \tau = \frac{1}{c} \left( \sqrt{r^2 + a^2 - 2 a r \cos\theta} - r \right)
            \quad (\cos\theta \ge a / r), \qquad
            \tau = \frac{1}{c} \left( \sqrt{r^2 - a^2} + a (\theta - \arccos(a/r)) - r \right)
            \quad \text{beyond}

        Parameters
        ----------
        unit : array
            Directions that sound comes from, [direction, 3]. [-]
        distance_m : array
            How far from, may be endless, [direction]. [m]

        Returns
        -------
        array
            [ear, direction], negative on the near side. [s]

        Source
        ------
        duda-martens-1998: the way straight to the ear or along the ball.

        Examples
        --------
        From far to the left, at an ear straight to the left and one straight to the right:

        >>> ball = SphereHead(ear_rad=np.pi / 2)
        >>> print((1e6 * ball.delays_s(np.array([[0.0, 1.0, 0.0]]), np.array([np.inf]))).round(1).T)
        [[-255.   400.5]]
        """
        return self._delay_s(self.angles_rad(unit), self._nearness(distance_m))

    def transfer(self, unit: FloatArray, distance_m: FloatArray, frequency_hz: FloatArray) -> ComplexArray:
        """Pressure at each ear re the middle without the ball, `delays_s` taken out, [ear, direction, frequency]."""
        return self._between(at_frequencies(self._table, TABLE_HZ, frequency_hz), unit, distance_m)

    def in_bands(self, grid: FrequencyGrid) -> Toward:
        """Return what gives the same in bands."""
        table = in_bands(self._table, TABLE_HZ, grid)
        return lambda unit, distance_m: self._between(table, unit, distance_m)

    def mixing(self, frequency_hz: FloatArray) -> ComplexArray:
        """Find how two noises make a diffuse field at the ears, [ear, noise, frequency]."""
        return at_frequencies(self._mixing, DIFFUSE_HZ, frequency_hz)

    def _between(self, table: ComplexArray, unit: FloatArray, distance_m: FloatArray) -> ComplexArray:
        """Read a table [nearness, angle, frequency] at directions and distances, [ear, direction, frequency]."""
        angle, beyond = _places(self.angles_rad(unit), TABLE_RAD)
        near, nearer = _places(self._nearness(distance_m), NEARNESS)
        total: ComplexArray = np.zeros((*angle.shape, table.shape[-1]), dtype=complex)
        for step in (0, 1):
            row = table[near + step, angle] * (1 - beyond) + table[near + step, angle + 1] * beyond
            total += row * np.abs(1 - step - nearer)
        return total

    def _nearness(self, distance_m: FloatArray) -> FloatArray:
        """Radius over distance; what is nearer than the table knows is taken as the nearest it knows."""
        nearness: FloatArray = np.minimum(self.radius_m / distance_m, NEARNESS[-1])
        return nearness

    @cached_property
    def _table(self) -> ComplexArray:
        """Pressure re the middle, delay taken out, [nearness, angle, frequency]."""
        wave = 2 * np.pi * TABLE_HZ[1:] / self.sound_speed_m_s
        tables = []
        for nearness in NEARNESS:
            delay_s = self._delay_s(TABLE_RAD, np.full(len(TABLE_RAD), nearness))
            table = np.exp(2j * np.pi * np.outer(delay_s, TABLE_HZ))
            distance = np.inf if nearness == 0 else 1 / float(nearness)
            table[:, 1:] *= point_near_sphere(wave * self.radius_m, np.cos(TABLE_RAD), distance)
            table[:, 0] = np.abs(table[:, 1])
            tables.append(table)
        return np.array(tables)

    @cached_property
    def _mixing(self) -> ComplexArray:
        return diffuse_mixing(self)

    def _delay_s(self, angle_rad: FloatArray, nearness: FloatArray) -> FloatArray:
        cosine = np.cos(angle_rad)
        straight = (nearness - 2 * cosine) / (np.sqrt(1 + nearness**2 - 2 * nearness * cosine) + 1)
        touching = np.arccos(nearness)
        around = angle_rad - touching - nearness / (np.sqrt(1 - nearness**2) + 1)
        delay: FloatArray = (
            self.radius_m / self.sound_speed_m_s * np.where(angle_rad < touching, straight, around)
        )
        return delay


@dataclass(frozen=True, eq=False)
class NoHead:
    """Two ears in the middle of where the head would be, and nothing else."""

    @property
    def key(self) -> str:
        """Key of all that it is."""
        return "no head"

    @property
    def title(self) -> str:
        """Name."""
        return "no head"

    @property
    def origin(self) -> str:
        """Where it comes from."""
        return "both ears hear what a small microphone hears in the middle of the head"

    def delays_s(self, unit: FloatArray, distance_m: FloatArray) -> FloatArray:
        """No delay at all, [ear, direction]."""
        return np.zeros((2, *np.broadcast_shapes(distance_m.shape, unit.shape[:1])))

    def transfer(self, unit: FloatArray, distance_m: FloatArray, frequency_hz: FloatArray) -> ComplexArray:
        """Pass everything as it is, [ear, direction, frequency]."""
        return np.ones((*self.delays_s(unit, distance_m).shape, len(frequency_hz)), dtype=complex)

    def in_bands(self, grid: FrequencyGrid) -> Toward:
        """Return what passes everything as it is."""
        return lambda unit, distance_m: self.transfer(unit, distance_m, grid.frequency_hz)

    def mixing(self, frequency_hz: FloatArray) -> ComplexArray:
        """Give both ears the same noise, [ear, noise, frequency]."""
        mixing = np.zeros((2, 2, len(frequency_hz)), dtype=complex)
        mixing[:, 0] = 1.0
        return mixing


@dataclass(frozen=True, eq=False)
class DiffuseField:
    """What two ears have of a diffuse field of energy 1 in the middle without the head."""

    frequency_hz: FloatArray
    energy: FloatArray  # [ear, frequency]
    shared: ComplexArray  # [frequency], mean of left times conjugate of right

    def __post_init__(self) -> None:
        locked(self, "frequency_hz", (-1,), "frequencies")
        locked(self, "energy", (2, len(self.frequency_hz)), "ears x frequencies")
        locked(self, "shared", (len(self.frequency_hz),), "frequencies")

    @property
    def coherence(self) -> ComplexArray:
        """Coherence of the ears, complex, 1 where they hear the same, [frequency]."""
        coherence: ComplexArray = self.shared / np.sqrt(self.energy[0] * self.energy[1])
        return coherence


def diffuse_field(head: Head, frequency_hz: FloatArray = DIFFUSE_HZ) -> DiffuseField:
    r"""Average what reaches both ears over all directions.

    .. math:: E_i = \overline{|H_i|^2}, \quad S = \overline{H_l H_r^*}

    Parameters
    ----------
    head
        The head. [-]
    frequency_hz : array
        [frequency]. [Hz]

    Returns
    -------
    DiffuseField
        Re the energy in the middle without the head. [-]

    Source
    ------
    cook-1955: equal waves without anything in common from everywhere.

    Examples
    --------
    >>> found = diffuse_field(SphereHead(), np.array([0.0, 200.0, 2000.0]))
    >>> print(found.coherence.real.round(2))
    [ 1.    0.85 -0.03]
    """
    directions, weight = sphere_directions(DIFFUSE_STEP_DEG)
    far_m = np.full(len(directions), np.inf)
    turn = np.exp(-2j * np.pi * head.delays_s(directions.unit, far_m)[..., np.newaxis] * frequency_hz)
    pressure = head.transfer(directions.unit, far_m, frequency_hz) * turn
    energy = np.einsum("edf,d->ef", np.abs(pressure) ** 2, weight)
    shared = np.einsum("df,df,d->f", pressure[0], pressure[1].conj(), weight)
    return DiffuseField(frequency_hz, energy, shared)


def _places(values: FloatArray, points: FloatArray) -> tuple[NDArray[np.intp], FloatArray]:
    """Which point lies below each value, and what share of the way to the next it goes, one axis more."""
    at = np.interp(values, points, np.arange(len(points)))
    lower = np.minimum(at.astype(np.intp), len(points) - 2)
    return lower, (at - lower)[..., np.newaxis]


def diffuse_mixing(head: Head) -> ComplexArray:
    """Find factors [ear, noise, frequency of `DIFFUSE_HZ`] with which two noises make the head's diffuse field."""
    field = diffuse_field(head)
    mixing = np.zeros((2, 2, len(DIFFUSE_HZ)), dtype=complex)
    mixing[0, 0] = np.sqrt(field.energy[0])
    mixing[1, 0] = field.shared.conj() / mixing[0, 0]
    mixing[1, 1] = np.sqrt(np.maximum(field.energy[1] - np.abs(mixing[1, 0]) ** 2, 0.0))
    return mixing
