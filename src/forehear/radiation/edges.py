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
from numpy.polynomial.chebyshev import chebvander
from numpy.typing import NDArray

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
_BINS_BEFORE = 4  # room for the splines
_LOW = 1 / 7  # of the highest frequency: where fewer polynomials than bins are needed
_MORE_ORDERS = 32  # beyond k times half the longest path
_AT_ONCE = 28  # directions


@dataclass(frozen=True, eq=False)
class _Edges:
    """All edges cut into elements, one edge after the other, seen from the middle of the diaphragm."""

    along: FloatArray  # [edge, (y, z)] unit vector
    outward: FloatArray  # [edge, (y, z)] unit vector away from the front
    middle_m: FloatArray  # [element, (y, z)]
    flight_m: FloatArray  # [element] from the middle of the diaphragm
    near: FloatArray  # [element end] tanh(nu/2 asinh) of the source's part of eta
    edge_of_end: NDArray[np.intp]  # [element end]
    inside: NDArray[np.intp]  # [element] its first end


@dataclass(frozen=True, eq=False)
class _WaveTable:
    """exp(-jk path) at every bin: row by row for high frequencies, as a series of polynomials for low ones.

    Low frequencies change little from bin to bin, so a few Chebyshev polynomials of the path hold them to 1e-12.
    """

    polynomials: FloatArray  # [bin, order]
    low: FloatArray  # [order, real parts then imaginary parts]
    high: FloatArray  # [bin, real parts then imaginary parts]

    def transformed(self, series: FloatArray, first: int) -> ComplexArray:
        """Sum time series [..., bin] that begin at a bin into [..., frequency]."""
        bins = slice(first, first + series.shape[-1])
        parts = [(series @ self.polynomials[bins]) @ self.low, series @ self.high[bins]]
        few, all_of_them = self.low.shape[1] // 2, (self.low.shape[1] + self.high.shape[1]) // 2
        waves = np.empty((*series.shape[:-1], all_of_them), dtype=np.complex128)
        for part, place in zip(parts, (slice(None, few), slice(few, None)), strict=True):
            half = part.shape[-1] // 2
            waves.real[..., place], waves.imag[..., place] = part[..., :half], part[..., half:]
        return waves


@dataclass(frozen=True, eq=False)
class EdgeWaves:
    """All that the edge waves of one diaphragm on one front need before a direction is known."""

    edges: _Edges
    index: float  # nu
    share: FloatArray  # [node, element] of the distances at which the spread of a disc is worked out
    spread: ComplexArray  # [node, frequency] what the size of the disc does there
    still: FloatArray  # [element] the same at zero frequency
    bin_m: float
    table: "_WaveTable"

    def factor(self, unit: FloatArray) -> tuple[ComplexArray, FloatArray]:
        """Edge waves toward `unit` [direction, 3]: [direction, frequency], and [direction] at zero frequency."""
        some = [self._toward_some(unit[at : at + _AT_ONCE]) for at in range(0, max(len(unit), 1), _AT_ONCE)]
        total, still = zip(*some, strict=True)
        return np.concatenate(total), np.concatenate(still)

    def _toward_some(self, unit: FloatArray) -> tuple[ComplexArray, FloatArray]:
        """As `factor`, of so few directions that what lies between fits into the processor's own memory."""
        path_m, weight = _toward(self.edges, unit, self.index)
        series, first = self._laid_into_bins(path_m, weight)
        total: ComplexArray = np.einsum("ndf,nf->df", self.table.transformed(series, first), self.spread)
        return total, weight @ self.still

    def _laid_into_bins(self, path_m: FloatArray, weight: FloatArray) -> tuple[FloatArray, int]:
        """Lay delays and weights into bins by quadratic splines, [node, direction, bin], and the first bin."""
        directions = path_m.shape[0]
        position = path_m / self.bin_m + _BINS_BEFORE
        nearest = np.rint(position)
        first = int(nearest.min()) - 1
        bins = int(nearest.max()) + 2 - first
        offset = position - nearest
        slot = (nearest - first).astype(np.intp) + np.arange(directions)[:, None] * bins
        taps = ((-1, 0.5 * (0.5 - offset) ** 2), (0, 0.75 - offset**2), (1, 0.5 * (0.5 + offset) ** 2))
        series = np.zeros((len(self.share), directions * bins))
        for shift, tap in taps:
            place, part = (slot + shift).ravel(), weight * tap
            for row, share in zip(series, self.share, strict=True):
                row += np.bincount(place, (part * share).ravel(), directions * bins)
        return series.reshape(len(self.share), directions, bins), first


def prepare_edges(
    radius_m: float,
    outline_m: FloatArray,
    frequency_hz: FloatArray,
    sound_speed_m_s: float,
    *,
    exterior_angle_rad: float = BOX_EDGE_RAD,
    sampled_to_hz: float = np.inf,
) -> EdgeWaves:
    """Do the part of `edge_factor` that no direction changes; above `sampled_to_hz` only roughly."""
    highest_hz = max(min(float(np.max(frequency_hz)), sampled_to_hz), _SAMPLED_AT_LEAST_TO_HZ)
    step_m = sound_speed_m_s / highest_hz / _ELEMENTS_PER_WAVELENGTH
    index = np.pi / exterior_angle_rad
    edges = _cut_all(outline_m, step_m, index)
    flight_m = edges.flight_m
    wavenumber_1_m = 2 * np.pi * frequency_hz / sound_speed_m_s
    nodes_m, share = _distance_nodes(flight_m, radius_m)
    spread = _disc_spread(np.append(wavenumber_1_m, 0.0), radius_m, nodes_m)
    bin_m = sound_speed_m_s / highest_hz / _SAMPLES_PER_PERIOD
    spread_of_bins = np.sinc(wavenumber_1_m * bin_m / (2 * np.pi)) ** 3  # what the splines take away
    return EdgeWaves(
        edges,
        index,
        share,
        spread[:, :-1] / spread_of_bins,
        spread[:, -1].real @ share,
        bin_m,
        _wave_table(wavenumber_1_m, bin_m, 2 * float(flight_m.max())),
    )


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
    prepared = prepare_edges(
        radius_m, outline_m, frequency_hz, sound_speed_m_s, exterior_angle_rad=exterior_angle_rad
    )
    return prepared.factor(unit)[0]


def _cut_all(outline_m: FloatArray, step_m: float, index: float) -> _Edges:
    """Cut the edges between corners into elements about `step_m` long, seen from a source at (0, 0)."""
    ends_m = np.roll(outline_m, -1, axis=0)
    length_m = np.linalg.norm(ends_m - outline_m, axis=1)
    along = (ends_m - outline_m) / length_m[:, None]
    outward = np.stack([along[:, 1], -along[:, 0]], axis=1)
    foot_m = -np.einsum("ec,ec->e", outline_m, along)
    height_m = np.maximum(np.einsum("ec,ec->e", outline_m, outward), _NEAREST_M)
    cuts = [_cut(*each, step_m) for each in zip(length_m, foot_m, height_m, strict=True)]
    edge_of_end = np.repeat(np.arange(len(cuts)), [cut.size for cut in cuts])
    z = np.concatenate(cuts)
    inside = np.flatnonzero(np.diff(edge_of_end) == 0)
    edge, middle = edge_of_end[inside], (z[inside + 1] + z[inside]) / 2
    return _Edges(
        along,
        outward,
        middle_m=outline_m[edge] + middle[:, None] * along[edge],
        flight_m=np.hypot(height_m[edge], middle - foot_m[edge]),
        near=np.tanh(index / 2 * np.arcsinh((z - foot_m[edge_of_end]) / height_m[edge_of_end])),
        edge_of_end=edge_of_end,
        inside=inside,
    )


def _cut(length_m: float, foot_m: float, height_m: float, step_m: float) -> FloatArray:
    """Where elements of one edge end, closer about the foot of the source."""
    count = max(_FEWEST_ELEMENTS, int(np.ceil(length_m / step_m)))
    closer = foot_m + height_m * _ABOUT_THE_FOOT
    z = np.concatenate([np.linspace(0.0, length_m, count + 1), closer[(closer > 0) & (closer < length_m)]])
    z.sort()
    return z


def _toward(edges: _Edges, unit: FloatArray, index: float) -> tuple[FloatArray, FloatArray]:
    """Path of every element, less what it lies nearer to the receiver, and its weight, [direction, element]."""
    path_m = edges.flight_m - unit[:, 1:] @ edges.middle_m.T
    cosine = np.clip(unit[:, 1:] @ edges.along.T, -_PARALLEL, _PARALLEL)
    plus, minus, sign = _wedge_angles(unit, edges.outward, index)
    of_edge = np.stack(
        [np.tanh(index / 2 * np.arctanh(cosine)), 1 / np.tan(plus / 2), np.tan(minus / 2), sign]
    )
    far, steep, flat, way = of_edge[:, :, edges.edge_of_end]  # each [direction, end]
    reach = (edges.near - far) / (1 - edges.near * far)  # tanh(index/2 eta) at the ends
    running = np.arctan(reach * steep)
    running += way * np.arctan2(reach, flat)
    weight = (running[:, edges.inside + 1] - running[:, edges.inside]) * (-1 / np.pi)
    return path_m, weight


def _wedge_angles(
    unit: FloatArray, outward: FloatArray, index: float
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return index (pi + theta), index |pi - theta| and the sign of pi - theta, plus in front, [direction, edge]."""
    outside = unit[:, 1:] @ outward.T
    ahead = unit[:, :1]
    in_front = ahead >= 0
    theta = np.where(in_front, np.arctan2(np.abs(ahead), -outside), np.pi + np.arctan2(-ahead, outside))
    hidden = ~in_front & (outside < 0)
    theta = np.where(hidden, 0.0, theta)
    sign = np.where(in_front | hidden, 1.0, -1.0)
    return index * (np.pi + theta), index * np.abs(np.pi - theta), sign


def _wave_table(wavenumber_1_m: FloatArray, bin_m: float, longest_m: float) -> _WaveTable:
    """Make the waves of all paths from a little before zero to the longest."""
    rows = int(np.ceil(longest_m / bin_m)) + 2 * _BINS_BEFORE
    lowest = wavenumber_1_m <= _LOW * float(np.max(wavenumber_1_m))
    few = int(lowest.argmin()) if not lowest.all() else lowest.size  # as far as they come first
    half_m = bin_m * (rows - 1) / 2
    middle_m = half_m - _BINS_BEFORE * bin_m
    order = int(np.ceil(half_m * float(np.max(wavenumber_1_m[:few], initial=0.0)))) + _MORE_ORDERS
    at = np.cos(np.pi * (np.arange(order) + 0.5) / order)
    waves = np.exp(-1j * np.outer(middle_m + half_m * at, wavenumber_1_m[:few]))
    share = chebvander(at, order - 1).T * (2 / order)
    share[0] /= 2
    polynomials = np.asarray(chebvander(np.linspace(-1.0, 1.0, rows), order - 1), dtype=np.float64)
    return _WaveTable(
        polynomials,
        share @ np.concatenate([waves.real, waves.imag], axis=1),
        _waves_row_by_row(wavenumber_1_m[few:], bin_m, rows),
    )


def _waves_row_by_row(wavenumber_1_m: FloatArray, bin_m: float, rows: int) -> FloatArray:
    """exp(-jk path) at every bin, as products of a coarse and a fine step, real parts then imaginary ones."""
    side = int(np.ceil(np.sqrt(rows)))
    coarse = np.exp(-1j * np.outer((np.arange(side) * side - _BINS_BEFORE) * bin_m, wavenumber_1_m))
    fine = np.exp(-1j * np.outer(np.arange(side) * bin_m, wavenumber_1_m))
    table = (coarse[:, None, :] * fine).reshape(side * side, wavenumber_1_m.size)[:rows]
    return np.concatenate([table.real, table.imag], axis=1)


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
    spread: ComplexArray = _disc_spread(wavenumber_1_m, radius_m, np.array([distance_m]))[0]
    return spread


def _disc_spread(wavenumber_1_m: FloatArray, radius_m: float, distance_m: FloatArray) -> ComplexArray:
    """`disc_in_plane` at several distances, [distance, frequency]: the delays are the same at all of them."""
    if radius_m == 0:
        return np.ones((distance_m.size, wavenumber_1_m.size), dtype=np.complex128)
    count = 24 + int(float(np.max(wavenumber_1_m)) * radius_m)
    angle = np.pi * np.arange(1, count + 1) / (count + 1)
    offset_m = radius_m * np.cos(angle)
    centre_m = distance_m[:, None]
    m = centre_m + offset_m
    arc = np.arccos(np.clip((m**2 + centre_m**2 - radius_m**2) / (2 * m * centre_m), -1.0, 1.0))
    weight = np.pi / (count + 1) * np.sin(angle) * 2 * arc * centre_m / (np.pi * radius_m)
    half = (count + 1) // 2  # the offsets come in pairs of opposite sign, but for a zero in the middle
    phase = np.outer(offset_m[:half], wavenumber_1_m)
    other = weight[:, ::-1][:, :half].copy()
    if count % 2:
        other[:, -1] = 0.0
    even, odd = weight[:, :half] + other, weight[:, :half] - other
    return np.asarray(even @ np.cos(phase) - 1j * (odd @ np.sin(phase)), dtype=np.complex128)
