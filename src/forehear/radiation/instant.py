"""The instant model of a cabinet: pistons, first-order edges in front, a ball of equal volume behind."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from forehear.ground.air import Air
from forehear.ground.arrays import ComplexArray, FloatArray
from forehear.ground.axes import Directions
from forehear.radiation.behind import CARRIED_TO_RAD, Ball, carried_share, prepare_ball
from forehear.radiation.edges import EdgeWaves, prepare_edges
from forehear.radiation.front import Diaphragm, Front
from forehear.radiation.piston import dome_directivity, piston_directivity

_FADE_WITH_EDGES_RAD = (np.radians(80.0), np.radians(100.0))
_FADE_OF_BAFFLE_RAD = (np.radians(90.0), np.radians(100.0))  # an infinite baffle is exact up to grazing
_STRAIGHT = 0.6  # of the fade: the straighter, the smaller its largest step, and the sharper its ends
_LATER_ORDERS_DELAY = 1.0  # of the radius of a disc as large as the front; see `_later_orders`


@dataclass(frozen=True, eq=False)
class Standing:
    """What a diaphragm sends in some directions wherever it stands on its front: all but the edge waves."""

    ahead: FloatArray  # [direction in front, then rim, 3]
    rim: int  # how many of these are directions of the rim
    place: NDArray[np.intp]  # [direction beside] which of the rim belongs to it
    direct: ComplexArray  # [ahead, frequency]
    rear: ComplexArray  # [direction beyond the fade, frequency] of the ball


@dataclass(frozen=True, eq=False)
class Prepared:
    """One diaphragm on one front, ready for any directions: all that directions do not change."""

    diaphragm: Diaphragm
    wavenumber_1_m: FloatArray  # [frequency]
    source: ComplexArray  # [frequency] pressure at 1 m of a free source of equal volume velocity [Pa s/m]
    ball: Ball
    waves: EdgeWaves | None  # None: an infinite baffle
    later_orders: ComplexArray  # [frequency]

    def pressure(self, directions: Directions, standing: Standing | None = None) -> ComplexArray:
        """Far-field pressure per mean axial velocity as `instant_pressure`, [direction, frequency] [Pa s/m].

        What `standing` made of these directions before need not be made again.
        """
        unit = directions.unit
        angle_rad = np.arccos(np.clip(unit[:, 0], -1.0, 1.0))
        if self.waves:
            factor = self._edges_and_ball(unit, angle_rad, standing or self.standing(directions))
        else:
            factor = self._baffle_and_ball(unit, angle_rad)
        if any(self.diaphragm.centre_m):
            offset_m = unit[:, 1:] @ np.asarray(self.diaphragm.centre_m)
            factor *= np.exp(1j * np.outer(offset_m, self.wavenumber_1_m))
        factor *= self.source
        return factor

    def standing(self, directions: Directions) -> Standing:
        """Do the part of `pressure` that stays as it is when the diaphragm moves on its front."""
        unit = directions.unit
        angle_rad = np.arccos(np.clip(unit[:, 0], -1.0, 1.0))
        rim, place = _rim(unit[_is_beside(angle_rad)])
        ahead = np.concatenate([unit[unit[:, 0] >= 0], rim])
        rear = self.ball.factor(unit[angle_rad > _FADE_WITH_EDGES_RAD[0], 0])
        return Standing(ahead, len(rim), place, self._direct(ahead), rear)

    def front_factor(self, unit: FloatArray) -> ComplexArray:
        """Return the front model alone, F of `instant_pressure`, toward `unit` [direction, 3] in front."""
        return self._with_edges(unit, self._direct(unit))

    def _direct(self, unit: FloatArray) -> ComplexArray:
        """Return the diaphragm in an infinite baffle, toward `unit` [direction, 3] in front."""
        if not len(unit):
            return np.zeros((0, self.wavenumber_1_m.size), dtype=np.complex128)
        direct: ComplexArray = 2 * _directivity(self.diaphragm, self.wavenumber_1_m, unit[:, 0])
        if self.diaphragm.set_back_m:
            later_m = self.diaphragm.set_back_m * np.maximum(unit[:, 0], 0.0)
            direct *= np.exp(-1j * np.outer(later_m, self.wavenumber_1_m))
        return direct

    def _with_edges(self, unit: FloatArray, direct: ComplexArray) -> ComplexArray:
        """Add edge waves and what comes after them."""
        if self.waves is None or not len(unit):
            return direct
        total, still = self.waves.factor(unit)
        total += direct
        total += np.outer(-1.0 - still, self.later_orders)  # at zero frequency 1, less 2 and the first order
        return total

    def _baffle_and_ball(self, unit: FloatArray, angle_rad: FloatArray) -> ComplexArray:
        """Infinite baffle in front, ball behind."""
        ahead = _share_of_front(angle_rad, _FADE_OF_BAFFLE_RAD)
        factor = np.zeros((len(unit), self.wavenumber_1_m.size), dtype=np.complex128)
        seen, unseen = ahead > 0, ahead < 1
        factor[seen] = ahead[seen, None] * self.front_factor(unit[seen])
        if unseen.any():
            rear = self.ball.gain * self.ball.factor(unit[unseen, 0])
            factor[unseen] += (1 - ahead[unseen, None]) * rear
        return factor

    def _edges_and_ball(self, unit: FloatArray, angle_rad: FloatArray, standing: Standing) -> ComplexArray:
        """Front model, ball behind, and the front model's level at the rim carried a little way behind."""
        first, last = _FADE_WITH_EDGES_RAD
        seen = unit[:, 0] >= 0
        beside = _is_beside(angle_rad)
        front = self._with_edges(standing.ahead, standing.direct)
        before_rim = len(front) - standing.rim
        factor = np.zeros((len(unit), self.wavenumber_1_m.size), dtype=np.complex128)
        factor[seen] = front[:before_rim]
        unseen = angle_rad > first
        if not unseen.any():
            return factor
        shape = standing.rear
        met = np.zeros_like(shape)  # the ball's shape at the front model's own level at the rim
        met[beside[unseen]] = front[before_rim:][standing.place]
        met *= shape / self.ball.grazing
        carried = carried_share(angle_rad[unseen, None])
        ahead = _share_of_front(angle_rad[unseen, None], (first, last))
        rear = self.ball.gain * shape * (1 - carried) + met * carried
        before = np.where(seen[unseen, None], factor[unseen], met)
        factor[unseen] = ahead * before + (1 - ahead) * rear
        return factor


def prepare(
    diaphragm: Diaphragm,
    front: Front,
    frequency_hz: FloatArray,
    air: Air,
    *,
    edges_to_hz: float = np.inf,
    ball: Ball | None = None,
) -> Prepared:
    """Do the part of `instant_pressure` that no direction changes, for asking several times.

    Edge waves above `edges_to_hz` are only roughly right, and where it is 0 there are none, as in an infinite
    baffle. A `ball` made before for the same diaphragm and the same size of cabinet need not be made again.
    """
    frequency_hz = np.asarray(frequency_hz, dtype=np.float64)
    wavenumber_1_m = 2 * np.pi * frequency_hz / air.sound_speed_m_s
    source = np.asarray(0.5j * frequency_hz * air.density_kg_m3 * diaphragm.area_m2, dtype=np.complex128)
    waves = None
    if edges_to_hz > 0:
        outline_m = front.outline_m - np.asarray(diaphragm.centre_m)
        waves = prepare_edges(
            diaphragm.radius_m, outline_m, frequency_hz, air.sound_speed_m_s, sampled_to_hz=edges_to_hz
        )
    return Prepared(
        diaphragm,
        wavenumber_1_m,
        source,
        ball or prepare_ball(diaphragm, front, wavenumber_1_m),
        waves,
        _later_orders(front, wavenumber_1_m),
    )


def instant_pressure(
    diaphragm: Diaphragm,
    front: Front,
    directions: Directions,
    frequency_hz: FloatArray,
    air: Air,
    *,
    edges: bool = True,
) -> ComplexArray:
    r"""Far-field pressure of one diaphragm in the front of a cabinet, brought back to 1 m from the origin.

    .. math:: p = \frac{j\omega\rho S}{4\pi} \, F \, e^{+jk\,\mathbf{d}\cdot\mathbf{x}}

    In front, F is twice the directivity of the diaphragm plus the first-order edge waves plus a low-pass
    remainder that brings F to 1 (a free monopole) at low frequency. Behind, F is that of a rigid cap of the
    diaphragm's area on a rigid ball of the cabinet's volume, fitted to the front model at the rim and to the
    power over all directions: an estimate (see `forehear.radiation.behind`). Both are referred to the
    diaphragm and cross-faded over 80-100 degrees off axis.

    Parameters
    ----------
    diaphragm
        The moving surface, about the origin. A set-back delays the direct sound by its path along x; toward
        the edges and behind it delays nothing. [-]
    front
        Outline and depth of the cabinet. [-]
    directions
        Any directions. [-]
    frequency_hz
        [frequency], above zero. [Hz]
    air
        The air. [-]
    edges
        False: an infinite baffle in front, exact up to 90 degrees, then faded into the ball until 100. [-]

    Returns
    -------
    array
        [direction, frequency] pressure per mean axial velocity, exp(+jwt). [Pa s/m]

    Source
    ------
    svensson-1999: first-order edges; kinsler-2000: piston; morse-ingard-1968: sphere. On five boxes within
    0.5 dB rms of boundary elements up to 75 degrees off axis, k sqrt(S/pi) of the front up to 3; behind, within
    0.8 dB up to 1.3 and within 5 dB above, where the limit on the power costs 2 to 4 dB. Edges are sharp.

    Examples
    --------
    At 10 Hz a cabinet radiates as a free source of equal volume velocity does:

    >>> speaker, front = Diaphragm((0.0, 0.0), 0.05, 0.00785), Front.rectangle(0.2, 0.3, 0.25)
    >>> ahead = Directions(np.array([[1.0, 0.0, 0.0]]))
    >>> p = instant_pressure(speaker, front, ahead, np.array([10.0]), Air())
    >>> print(f"{abs(p[0, 0]) / (10 * Air().density_kg_m3 * 0.00785 / 2):.3f}")
    1.000
    """
    edges_to_hz = np.inf if edges else 0.0
    return prepare(diaphragm, front, frequency_hz, air, edges_to_hz=edges_to_hz).pressure(directions)


def _share_of_front(angle_rad: FloatArray, fade_rad: tuple[float, float]) -> FloatArray:
    """Weight of the front model, 1 in front and 0 behind: between a straight and a smooth step."""
    first, last = fade_rad
    through = np.clip((angle_rad - first) / (last - first), 0.0, 1.0)
    share: FloatArray = 1.0 - through * (_STRAIGHT + (1 - _STRAIGHT) * through * (3 - 2 * through))
    return share


def _is_beside(angle_rad: FloatArray) -> NDArray[np.bool_]:
    """Tell which directions take part of the level at the rim."""
    beside: NDArray[np.bool_] = (angle_rad > _FADE_WITH_EDGES_RAD[0]) & (angle_rad < CARRIED_TO_RAD)
    return beside


def _rim(unit: FloatArray) -> tuple[FloatArray, NDArray[np.intp]]:
    """Directions square to the axis in the planes of `unit` and the axis, each once, and which belongs to which."""
    around = np.round(np.arctan2(unit[:, 2], unit[:, 1]), 12)
    _, one, place = np.unique(around, return_index=True, return_inverse=True)
    rim = unit[one] * np.array([0.0, 1.0, 1.0])
    return rim / np.linalg.norm(rim, axis=1, keepdims=True), place


def _directivity(diaphragm: Diaphragm, wavenumber_1_m: FloatArray, cosine: FloatArray) -> ComplexArray:
    """Directivity of the diaphragm in front, [direction, frequency]."""
    rounded, place = np.unique(np.round(np.clip(cosine, 0.0, 1.0), 12), return_inverse=True)
    angle_rad = np.arccos(rounded)[:, None]
    radius_m, height_m = diaphragm.radius_m, diaphragm.dome_height_m
    sounding = wavenumber_1_m / (2 * np.pi)  # frequency at a speed of sound of 1 m/s
    ratio: ComplexArray
    if height_m > 0:
        ratio = dome_directivity(sounding, angle_rad, radius_m, height_m, sound_speed_m_s=1.0)
    else:
        flat = piston_directivity(sounding, angle_rad, radius_m, sound_speed_m_s=1.0)
        ratio = flat.astype(np.complex128)
    return ratio[place]


def _later_orders(front: Front, wavenumber_1_m: FloatArray) -> ComplexArray:
    """Low-pass of what first-order edges leave out, 1 at zero frequency.

    Waves that cross the front and meet a second edge come after the first ones by about the size of the
    front and spread over as much time again; the delay was chosen on boundary elements of three boxes.
    """
    delay_m = _LATER_ORDERS_DELAY * float(np.sqrt(front.area_m2 / np.pi))
    low_pass: ComplexArray = np.square(1 / (1 + 1j * wavenumber_1_m * delay_m))
    return low_pass
