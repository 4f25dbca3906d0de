"""The instant model of a cabinet: pistons, first-order edges in front, a ball of equal volume behind."""

from dataclasses import dataclass

import numpy as np

from forehear.ground.air import Air
from forehear.ground.arrays import ComplexArray, FloatArray
from forehear.ground.axes import Directions
from forehear.radiation.edges import edge_factor
from forehear.radiation.front import Diaphragm, Front, equal_volume_sphere_radius_m
from forehear.radiation.piston import dome_directivity, piston_directivity
from forehear.radiation.sphere import point_on_sphere

_FADE_WITH_EDGES_RAD = (np.radians(80.0), np.radians(100.0))
_FADE_OF_BAFFLE_RAD = (np.radians(90.0), np.radians(100.0))  # an infinite baffle is exact up to grazing
_LATER_ORDERS_DELAY = 1.0  # of the radius of a disc as large as the front; see `_later_orders`


@dataclass(frozen=True, eq=False)
class _Scene:
    """One diaphragm on one front, seen from the middle of the diaphragm."""

    diaphragm: Diaphragm
    front: Front
    frequency_hz: FloatArray
    sound_speed_m_s: float

    @property
    def wavenumber_1_m(self) -> FloatArray:
        wavenumber_1_m: FloatArray = 2 * np.pi * self.frequency_hz / self.sound_speed_m_s
        return wavenumber_1_m


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
    remainder that brings F to 1 (a free monopole) at low frequency. Behind, F is that of a rigid ball of the
    cabinet's volume times the diaphragm's directivity at 90 degrees: an estimate. Both are referred to the
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
    svensson-1999: first-order edges; kinsler-2000: piston; morse-ingard-1968: sphere. On three boxes within
    0.6 dB rms of boundary elements up to 60 degrees off axis (50 Hz to 1.4 kHz), and within 2.5 dB rms behind.
    Edges are sharp.

    Examples
    --------
    At 10 Hz a cabinet radiates as a free source of equal volume velocity does:

    >>> speaker, front = Diaphragm((0.0, 0.0), 0.05, 0.00785), Front.rectangle(0.2, 0.3, 0.25)
    >>> ahead = Directions(np.array([[1.0, 0.0, 0.0]]))
    >>> p = instant_pressure(speaker, front, ahead, np.array([10.0]), Air())
    >>> print(f"{abs(p[0, 0]) / (10 * Air().density_kg_m3 * 0.00785 / 2):.3f}")
    1.000
    """
    scene = _Scene(diaphragm, front, np.asarray(frequency_hz, dtype=np.float64), air.sound_speed_m_s)
    unit = directions.unit
    ahead = _share_of_front(unit[:, 0], edges=edges)
    directivity = _directivity(scene, unit[:, 0])
    factor = np.zeros((len(directions), scene.frequency_hz.size), dtype=np.complex128)
    seen, unseen = ahead > 0, ahead < 1
    if seen.any():
        front_factor = _with_edges if edges else _in_baffle
        factor[seen] += ahead[seen, None] * front_factor(scene, unit[seen], directivity[seen])
    if unseen.any():
        factor[unseen] += (1 - ahead[unseen, None]) * directivity[unseen] * _ball(scene, unit[unseen, 0])
    offset_m = unit[:, 1:] @ np.asarray(diaphragm.centre_m)
    factor *= np.exp(1j * np.outer(offset_m, scene.wavenumber_1_m))
    strength = 0.5j * scene.frequency_hz * air.density_kg_m3 * diaphragm.area_m2
    pressure: ComplexArray = factor * strength
    return pressure


def _share_of_front(cosine: FloatArray, *, edges: bool) -> FloatArray:
    """Weight of the front model, 1 in front and 0 behind, smooth between."""
    first, last = _FADE_WITH_EDGES_RAD if edges else _FADE_OF_BAFFLE_RAD
    through = np.clip((np.arccos(np.clip(cosine, -1.0, 1.0)) - first) / (last - first), 0.0, 1.0)
    share: FloatArray = 1.0 - through**2 * (3 - 2 * through)
    return share


def _directivity(scene: _Scene, cosine: FloatArray) -> ComplexArray:
    """Directivity of the diaphragm, [direction, frequency]; behind it keeps its value at 90 degrees."""
    rounded, place = np.unique(np.round(np.clip(cosine, 0.0, 1.0), 12), return_inverse=True)
    angle_rad = np.arccos(rounded)[:, None]
    radius_m, height_m = scene.diaphragm.radius_m, scene.diaphragm.dome_height_m
    ratio: ComplexArray
    if height_m > 0:
        ratio = dome_directivity(
            scene.frequency_hz, angle_rad, radius_m, height_m, sound_speed_m_s=scene.sound_speed_m_s
        )
    else:
        flat = piston_directivity(
            scene.frequency_hz, angle_rad, radius_m, sound_speed_m_s=scene.sound_speed_m_s
        )
        ratio = flat.astype(np.complex128)
    return ratio[place]


def _in_baffle(scene: _Scene, unit: FloatArray, directivity: ComplexArray) -> ComplexArray:
    """Twice the free source, times the directivity, later by the set-back."""
    later_m = scene.diaphragm.set_back_m * np.maximum(unit[:, 0], 0.0)
    if scene.diaphragm.set_back_m == 0:
        return 2 * directivity
    direct: ComplexArray = 2 * directivity * np.exp(-1j * np.outer(later_m, scene.wavenumber_1_m))
    return direct


def _with_edges(scene: _Scene, unit: FloatArray, directivity: ComplexArray) -> ComplexArray:
    """Direct sound where the front does not hide it, edge waves, and what later orders add."""
    lit = (unit[:, 0] >= 0)[:, None]
    waves = edge_factor(
        scene.diaphragm.radius_m,
        scene.front.outline_m - np.asarray(scene.diaphragm.centre_m),
        unit,
        np.concatenate([[0.0], scene.frequency_hz]),
        scene.sound_speed_m_s,
    )
    missing = 1.0 - (np.where(lit, 2.0, 0.0) + waves[:, :1].real)
    direct = np.where(lit, _in_baffle(scene, unit, directivity), 0.0)
    total: ComplexArray = direct + waves[:, 1:] + missing * _later_orders(scene)
    return total


def _later_orders(scene: _Scene) -> ComplexArray:
    """Low-pass of what first-order edges leave out, 1 at zero frequency.

    Waves that cross the front and meet a second edge come after the first ones by about the size of the
    front and spread over as much time again; the delay was chosen on boundary elements of three boxes.
    """
    delay_m = _LATER_ORDERS_DELAY * float(np.sqrt(scene.front.area_m2 / np.pi))
    low_pass: ComplexArray = np.square(1 / (1 + 1j * scene.wavenumber_1_m * delay_m))
    return low_pass


def _ball(scene: _Scene, cosine: FloatArray) -> ComplexArray:
    """Place a point on a rigid ball of the cabinet's volume and refer to that point."""
    wavenumber_radius = scene.wavenumber_1_m * equal_volume_sphere_radius_m(scene.front)
    rounded, place = np.unique(np.round(cosine, 12), return_inverse=True)
    ratio = point_on_sphere(wavenumber_radius, rounded) * np.exp(-1j * np.outer(rounded, wavenumber_radius))
    behind: ComplexArray = ratio[place]
    return behind
