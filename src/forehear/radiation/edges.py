r"""First-order diffraction at the edges of a front, as delays and weights.

The edge integral of the Biot-Tolstoy-Medwin form is, for a far receiver,

.. math:: F = -\frac{\nu}{4\pi} \int \beta(\eta) \, \frac{e^{-jk(m - \mathbf{d}\cdot\mathbf{x}_e)}}{m} \, dz

With :math:`\eta = \operatorname{asinh}((z - z_s)/r_s) - \operatorname{artanh}(d_z)` one has :math:`dz/m =
d\eta`, and the angular factor integrates in closed form,

.. math::

    \int \frac{\sin a}{\cosh\nu\eta - \cos a} \, d\eta
    = \frac{2}{\nu} \arctan(\tanh(\nu\eta/2) \cot(a/2)).

So each short element of edge has an exact weight, also where the plain integrand is 0/0 (the shadow boundary
at 90 degrees, directions along an edge), and only the delay is taken at its middle.
"""

from dataclasses import dataclass

import numpy as np

from forehear.ground.arrays import ComplexArray, FloatArray

BOX_EDGE_RAD = 1.5 * np.pi  # the open angle around a square edge; a thin plate has 2 pi
_ELEMENTS_PER_WAVELENGTH = 6
_FEWEST_ELEMENTS = 24
_SAMPLES_PER_PERIOD = 8  # right to 0.3 % of the edge wave at the highest frequency, 0.03 % an octave below
_SAMPLED_AT_LEAST_TO_HZ = 5000.0
_DISTANCES = 3
_ABOUT_THE_FOOT = np.array([-2, -1.2, -0.8, -0.5, -0.3, -0.15, -0.05, 0.05, 0.15, 0.3, 0.5, 0.8, 1.2, 2])
_NEAREST_M = 1e-5  # a source on the edge itself has no edge wave of finite strength
_PARALLEL = 1 - 1e-12


@dataclass(frozen=True, eq=False)
class _Elements:
    """What every element of edge does toward every direction."""

    flight_m: FloatArray  # [element] from the middle of the diaphragm to the element
    path_m: FloatArray  # [direction, element] flight less what the element lies nearer to the receiver
    weight: FloatArray  # [direction, element]


def edge_factor(
    radius_m: float,
    outline_m: FloatArray,
    unit: FloatArray,
    frequency_hz: FloatArray,
    sound_speed_m_s: float,
    *,
    exterior_angle_rad: float = BOX_EDGE_RAD,
) -> ComplexArray:
    r"""Far-field pressure of the edge waves of a front, re a free-field source of equal volume velocity.

    Each element of edge of :math:`\eta_1` to :math:`\eta_2` sends
    :math:`-\frac{1}{\pi} [\arctan(\tanh(\nu\eta/2)\cot(\nu(\pi\pm\theta)/2))]_1^2` after its own delay; all
    of them are laid into one time series per direction, which is transformed once.

    Parameters
    ----------
    radius_m
        Radius of the diaphragm; its size enters by the exact spread of flight times from a disc to a point
        in its plane, 0 is a point source. [m]
    outline_m
        Corners (y, z) of the convex front about the middle of the diaphragm, counter-clockwise seen from in
        front. [m]
    unit
        [direction, 3] unit vectors. Behind the front, edges that are out of sight keep their grazing value.
        [-]
    frequency_hz
        [frequency], zero allowed. [Hz]
    sound_speed_m_s
        Speed of sound. [m/s]
    exterior_angle_rad
        Open angle around the edges: 3/2 pi for a box, 2 pi for a thin plate. [rad]

    Returns
    -------
    array
        [direction, frequency] complex ratio, phase referred to the middle of the diaphragm, exp(+jwt). [-]

    Source
    ------
    svensson-1999: eqs. for first-order diffraction at a finite rigid wedge; holds in front of the box. Common
    practice is to leave out the order beyond the first above a few hundred hertz.

    Examples
    --------
    At zero frequency, on axis of a square front, first order alone gives 2 + this = 0.83 instead of 1:

    >>> corner = np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]])
    >>> ahead = np.array([[1.0, 0.0, 0.0]])
    >>> print(f"{2 + edge_factor(0.0, corner, ahead, np.array([0.0, 1.0]), 343.2)[0, 0].real:.2f}")
    0.83
    """
    highest_hz = max(float(np.max(frequency_hz)), _SAMPLED_AT_LEAST_TO_HZ)
    step_m = sound_speed_m_s / highest_hz / _ELEMENTS_PER_WAVELENGTH
    parts = [
        _one_edge(start, end, unit, step_m, exterior_angle_rad)
        for start, end in zip(outline_m, np.roll(outline_m, -1, axis=0), strict=True)
    ]
    elements = _Elements(
        np.concatenate([part.flight_m for part in parts]),
        np.concatenate([part.path_m for part in parts], axis=1),
        np.concatenate([part.weight for part in parts], axis=1),
    )
    wavenumber_1_m = 2 * np.pi * frequency_hz / sound_speed_m_s
    bin_m = sound_speed_m_s / highest_hz / _SAMPLES_PER_PERIOD
    return _transform(elements, radius_m, wavenumber_1_m, bin_m)


def _one_edge(
    start: FloatArray, end: FloatArray, unit: FloatArray, step_m: float, exterior_angle_rad: float
) -> _Elements:
    """Elements about `step_m` long of the edge from `start` to `end`, seen from a source at (0, 0)."""
    length_m = float(np.linalg.norm(end - start))
    along = (end - start) / length_m
    outward = np.array([along[1], -along[0]])
    foot_m = float(-start @ along)
    height_m = max(float(start @ outward), _NEAREST_M)
    count = max(_FEWEST_ELEMENTS, int(np.ceil(length_m / step_m)))
    closer = foot_m + height_m * _ABOUT_THE_FOOT
    z = np.concatenate([np.linspace(0.0, length_m, count + 1), closer[(closer > 0) & (closer < length_m)]])
    z.sort()
    middle = (z[1:] + z[:-1]) / 2
    place = start + middle[:, None] * along
    flight_m = np.hypot(height_m, middle - foot_m)
    path_m = flight_m - unit[:, 1:] @ place.T

    index = np.pi / exterior_angle_rad
    near = np.tanh(index / 2 * np.arcsinh((z - foot_m) / height_m))
    far = np.tanh(index / 2 * np.arctanh(np.clip(unit[:, 1:] @ along, -_PARALLEL, _PARALLEL)))[:, None]
    reach = (near - far) / (1 - near * far)  # tanh(index/2 eta) at the element ends, [direction, end]
    plus, minus, sign = _wedge_angles(unit, outward, index)
    running = np.arctan(reach / np.tan(plus / 2)[:, None])
    running += sign[:, None] * np.arctan2(reach * np.cos(minus / 2)[:, None], np.sin(minus / 2)[:, None])
    return _Elements(flight_m, path_m, np.diff(running, axis=1) * (-1 / np.pi))


def _wedge_angles(
    unit: FloatArray, outward: FloatArray, index: float
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return index (pi + theta), index |pi - theta| and the sign of pi - theta, plus in front."""
    outside = unit[:, 1:] @ outward
    in_front = unit[:, 0] >= 0
    theta = np.where(
        in_front, np.arctan2(np.abs(unit[:, 0]), -outside), np.pi + np.arctan2(-unit[:, 0], outside)
    )
    hidden = ~in_front & (outside < 0)
    theta = np.where(hidden, 0.0, theta)
    sign = np.where(in_front | hidden, 1.0, -1.0)
    return index * (np.pi + theta), index * np.abs(np.pi - theta), sign


def _transform(
    elements: _Elements, radius_m: float, wavenumber_1_m: FloatArray, bin_m: float
) -> ComplexArray:
    """Lay delays and weights into bins by quadratic splines and transform, at a few distances."""
    nodes_m, share = _distance_nodes(elements.flight_m, radius_m)
    directions = elements.path_m.shape[0]
    position = elements.path_m / bin_m
    first = int(np.floor(position.min())) - 2
    bins = int(np.ceil(position.max())) + 3 - first
    nearest = np.rint(position)
    offset = position - nearest
    slot = (nearest - first).astype(np.intp) + np.arange(directions)[:, None] * bins
    taps = (0.5 * (0.5 - offset) ** 2, 0.75 - offset**2, 0.5 * (0.5 + offset) ** 2)
    phase = np.outer((np.arange(bins) + first) * bin_m, wavenumber_1_m)
    waves = np.concatenate([np.cos(phase), -np.sin(phase)], axis=1)
    total = np.zeros((directions, wavenumber_1_m.size), dtype=np.complex128)
    for node_m, part in zip(nodes_m, share, strict=True):
        weight = elements.weight * part
        series = np.zeros(directions * bins)
        for shift, tap in zip((-1, 0, 1), taps, strict=True):
            series += np.bincount((slot + shift).ravel(), (weight * tap).ravel(), directions * bins)
        real, imaginary = np.split(series.reshape(directions, bins) @ waves, 2, axis=1)
        total += (real + 1j * imaginary) * disc_in_plane(wavenumber_1_m, radius_m, float(node_m))
    total /= np.sinc(wavenumber_1_m * bin_m / (2 * np.pi)) ** 3  # what the splines took away
    return total


def _distance_nodes(flight_m: FloatArray, radius_m: float) -> tuple[FloatArray, FloatArray]:
    """Distances at which the spread of a disc is worked out, and the share of each at every element.

    Chebyshev points of the root of 1 - radius/distance, in which the spread is smooth up to the rim: three
    of them are right to 0.002 for a disc well inside the front and to 0.015 for one that touches an edge.
    """
    if radius_m == 0:
        return flight_m[:1], np.ones((1, flight_m.size))
    measure = np.sqrt(1 - radius_m / np.maximum(flight_m, radius_m))
    low, high = float(measure.min()), max(float(measure.max()), float(measure.min()) + 1e-6)
    point = np.cos(np.pi * (np.arange(_DISTANCES) + 0.5) / _DISTANCES)
    nodes = (low + high) / 2 + (high - low) / 2 * point
    return radius_m / (1 - nodes**2), _lagrange(measure, nodes)


def _lagrange(at: FloatArray, nodes: FloatArray) -> FloatArray:
    """Lagrange interpolation weights, [node, at]."""
    weight = np.ones((nodes.size, at.size))
    for i, own in enumerate(nodes):
        for other in np.delete(nodes, i):
            weight[i] *= (at - other) / (own - other)
    return weight


def disc_in_plane(wavenumber_1_m: FloatArray, radius_m: float, distance_m: float) -> ComplexArray:
    r"""Wave from a disc at a point of its own plane, re that of an equal point source at its centre.

    The arc of radius m about the point inside the disc gives the share of the disc at distance m in closed
    form:

    .. math:: P = \frac{2 m_0}{\pi a^2} \int \arccos\frac{m^2 + m_0^2 - a^2}{2 m m_0} e^{-jk(m - m_0)} dm

    Parameters
    ----------
    wavenumber_1_m
        [frequency] k. [1/m]
    radius_m
        Radius of the disc, 0 for a point. [m]
    distance_m
        Distance of the point from the centre, at least the radius. [m]

    Returns
    -------
    array
        [frequency] complex ratio, exp(+jwt); far away it is the piston's directivity at 90 degrees. [-]

    Source
    ------
    common-practice: elementary geometry, no source; holds for a flat disc, any frequency.

    Examples
    --------
    The mean of 1/m over a disc seen from its rim is 4/pi of that from its centre to the rim:

    >>> print(f"{disc_in_plane(np.array([0.0]), 0.1, 0.1)[0].real:.2f}")
    1.27
    """
    if radius_m == 0:
        return np.ones(wavenumber_1_m.size, dtype=np.complex128)
    count = 24 + int(float(np.max(wavenumber_1_m)) * radius_m)
    angle = np.pi * np.arange(1, count + 1) / (count + 1)
    offset_m = radius_m * np.cos(angle)
    m = distance_m + offset_m
    arc = np.arccos(np.clip((m**2 + distance_m**2 - radius_m**2) / (2 * m * distance_m), -1.0, 1.0))
    weight = np.pi / (count + 1) * np.sin(angle) * 2 * arc * distance_m / (np.pi * radius_m)
    return np.asarray(np.exp(-1j * np.outer(wavenumber_1_m, offset_m)) @ weight, dtype=np.complex128)
