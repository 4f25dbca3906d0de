"""A head that was measured: responses of two ears in many directions, read between them."""

import hashlib
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
import scipy.fft
from numpy.typing import NDArray
from scipy.sparse import csr_array
from scipy.spatial import ConvexHull, KDTree

from forehear.ground.arrays import ComplexArray, FloatArray, locked
from forehear.ground.axes import FrequencyGrid, sphere_directions
from forehear.ground.minimum_phase import minimum_phase_rad
from forehear.listen.head import DIFFUSE_HZ, TABLE_HZ, SphereHead, diffuse_mixing
from forehear.listen.tables import at_frequencies, in_bands
from forehear.room import NODES
from forehear.spine.through import Toward

ONSET = 0.2  # of its highest value: there a response begins
FINER = 4  # than the samples, where beginnings are looked for
EVEN_STEP_DEG = 5.0  # between directions that the mean over all is taken of
BALL_BELOW_HZ = (100.0, 200.0)  # short responses end here; the ball takes over
NEAR = 8  # triangles that are tried for a direction


@dataclass(frozen=True, eq=False)
class MeasuredHead:
    """Responses of both ears; between directions they are read across triangles, beginnings and shapes apart."""

    title: str
    unit: FloatArray  # [direction, 3] that sound came from, in the axes of the head
    response: FloatArray  # [ear, direction, sample], left ear first
    rate_hz: float

    def __post_init__(self) -> None:
        locked(self, "unit", (-1, 3), "directions x (x, y, z)")
        locked(self, "response", (2, len(self.unit), -1), "ears x directions x samples")

    @cached_property
    def key(self) -> str:
        """Key of all that it is."""
        digest = hashlib.blake2b(digest_size=20)
        for array in (self.unit, self.response):
            digest.update(np.ascontiguousarray(array).tobytes())
        return f"measured {self.rate_hz} {digest.hexdigest()}"

    @property
    def origin(self) -> str:
        """Where it comes from."""
        low, high = BALL_BELOW_HZ
        return (
            f"measured, {self.title}, {len(self.unit)} directions; its mean over all directions made that of a rigid "
            f"ball, as headphones bring their own ear canal, and the ball taken from {high:.0f} to {low:.0f} Hz down"
        )

    def delays_s(self, unit: FloatArray, _distance_m: FloatArray) -> FloatArray:
        """Find how much later waves reach each ear than the middle, from any distance alike, [ear, direction]."""
        delays: FloatArray = (self._weights(unit) @ self._begins_s.T).T
        return delays

    def transfer(self, unit: FloatArray, _distance_m: FloatArray, frequency_hz: FloatArray) -> ComplexArray:
        """Pressure at each ear re the middle without the head, `delays_s` taken out, [ear, direction, frequency]."""
        return self._between(at_frequencies(self._table, TABLE_HZ, frequency_hz), unit)

    def in_bands(self, grid: FrequencyGrid) -> Toward:
        """Return what gives the same in bands."""
        table = in_bands(self._table, TABLE_HZ, grid)
        return lambda unit, _: self._between(table, unit)

    def mixing(self, frequency_hz: FloatArray) -> ComplexArray:
        """Find how two noises make a diffuse field at the ears, [ear, noise, frequency]."""
        return at_frequencies(self._mixing, DIFFUSE_HZ, frequency_hz)

    @cached_property
    def _mixing(self) -> ComplexArray:
        return diffuse_mixing(self)

    def _between(self, table: ComplexArray, unit: FloatArray) -> ComplexArray:
        """Read a table [ear, measured direction, frequency] in directions, [ear, direction, frequency]."""
        weights = self._weights(unit)
        between: ComplexArray = np.array([weights @ own for own in table])
        return between

    @property
    def _far_m(self) -> FloatArray:
        return np.full(len(self.unit), np.inf)

    @cached_property
    def _begins_s(self) -> FloatArray:
        """Where each response begins, less what all have in common, [ear, direction]."""
        begins_s = self._onsets_s
        ball = SphereHead().delays_s(self.unit, self._far_m)
        relative: FloatArray = begins_s - begins_s.mean() + ball.mean()
        return relative

    @cached_property
    def _onsets_s(self) -> FloatArray:
        """First time at which each response reaches a share of its highest value, [ear, direction]."""
        samples = self.response.shape[-1]
        spectrum = scipy.fft.rfft(self.response, axis=-1)
        finer = np.abs(scipy.fft.irfft(spectrum, n=FINER * samples, axis=-1))
        loud = finer >= ONSET * finer.max(axis=-1, keepdims=True)
        begins: FloatArray = loud.argmax(axis=-1) / (FINER * self.rate_hz)
        return begins

    @cached_property
    def _table(self) -> ComplexArray:
        """Pressure re the middle with beginnings taken out, [ear, direction, frequency]."""
        points = scipy.fft.next_fast_len(8 * self.response.shape[-1])
        hz = scipy.fft.rfftfreq(points, 1 / self.rate_hz)
        spectrum = scipy.fft.rfft(self.response, n=points, axis=-1)
        spectrum *= np.exp(2j * np.pi * self._onsets_s[..., np.newaxis] * hz)
        table = at_frequencies(spectrum, hz, TABLE_HZ)
        table *= self._equal(table)
        low, high = BALL_BELOW_HZ
        share = np.clip((TABLE_HZ - low) / (high - low), 0.0, 1.0)
        mixed: ComplexArray = share * table + (1 - share) * SphereHead().transfer(
            self.unit, self._far_m, TABLE_HZ
        )
        return mixed

    def _equal(self, table: ComplexArray) -> ComplexArray:
        """Find the filter [frequency] that makes the mean energy over all directions that of the ball."""
        directions, weight = sphere_directions(EVEN_STEP_DEG)
        grid = FrequencyGrid(NODES.frequency_hz[NODES.frequency_hz > BALL_BELOW_HZ[1]])
        own = self._between(in_bands(table, TABLE_HZ, grid), directions.unit)
        ball = SphereHead().in_bands(grid)(directions.unit, np.full(len(directions), np.inf))
        own_db, ball_db = (
            10 * np.log10(np.einsum("edf,d->f", np.abs(each) ** 2, weight)) for each in (own, ball)
        )
        level_db = np.interp(np.log(TABLE_HZ[1:]), np.log(grid.frequency_hz), ball_db - own_db)
        turned = minimum_phase_rad(
            grid.frequency_hz,
            ball_db - own_db,
            slope_below_db_per_octave=0.0,
            slope_above_db_per_octave=0.0,
            at_hz=TABLE_HZ[1:],
        )
        equal: ComplexArray = np.append(1.0, 10 ** (level_db / 20) * np.exp(1j * turned))
        return equal

    @cached_property
    def _triangles(self) -> tuple[NDArray[np.intp], FloatArray, Any]:
        """Corners of triangles between directions [triangle, 3], their inverse matrices, and where they are."""
        corners = ConvexHull(self.unit).simplices.astype(np.intp)
        points = self.unit[corners]  # [triangle, corner, 3]
        middles = points.mean(axis=1)
        middles /= np.linalg.norm(middles, axis=1, keepdims=True)
        return corners, np.asarray(np.linalg.inv(points), dtype=float), KDTree(middles)

    def _weights(self, unit: FloatArray) -> csr_array:
        """Share of each measured direction in others, [direction, measured direction]."""
        corners, inverse, middles = self._triangles
        _, near = middles.query(unit, k=min(NEAR, len(corners)))
        shares = np.einsum("dx,dtxc->dtc", unit, inverse[near])
        best = shares.min(axis=2).argmax(axis=1)
        rows = np.arange(len(unit))
        share = np.maximum(shares[rows, best], 0.0)
        share /= share.sum(axis=1, keepdims=True)
        places = corners[near[rows, best]]
        starts = np.arange(0, places.size + 1, 3)
        return csr_array((share.ravel(), places.ravel(), starts), shape=(len(unit), len(self.unit)))
