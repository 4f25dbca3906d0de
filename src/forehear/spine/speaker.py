"""A design as the physics rooms take it: plain shapes, motions and branches in SI, nothing of the document."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from forehear.ground.air import Air
from forehear.ground.arrays import ComplexArray, FloatArray
from forehear.ground.axes import Directions, FrequencyGrid
from forehear.ground.flowing import DriverImpedance, DriverPressure, DriveVoltage, SourceMotion
from forehear.ground.store import KeptResults, content_key
from forehear.network import Branch
from forehear.radiation import Ball, Diaphragm, Front, Prepared, Standing, prepare, prepare_ball
from forehear.spine.refined import Refined

ROUGHLY_TO_HZ = 10_000.0  # edge waves above: weak in what comes over many surfaces, and while a hand moves
SAME_DIGITS = 9  # places closer than a nanometre are the same, whatever sums they came out of
_along: KeptResults[ComplexArray] = KeptResults(most=240)  # some tens of kilobytes each
_fields: KeptResults[ComplexArray] = KeptResults(most=16)  # half a megabyte each
_of_drivers: KeptResults[ComplexArray] = KeptResults(most=16)  # as large
_prepared: KeptResults[Prepared] = KeptResults(most=12)  # a megabyte each
_balls: KeptResults[Ball] = KeptResults(most=24)  # a tenth of a megabyte each at most
_standing: KeptResults[Standing] = KeptResults(most=12)  # a megabyte each at most


@dataclass(frozen=True, eq=False)
class Speaker:
    """Everything physics needs to know of one design. Positions are about the design's reference point."""

    air: Air
    grid: FrequencyGrid
    front: Front
    middle_m: tuple[float, float]  # (y, z) of the middle of the front
    drivers: tuple[str, ...]
    sources: tuple[str, ...]  # the drivers' diaphragms, then the ports
    diaphragms: tuple[Diaphragm, ...]  # [source]
    motion: SourceMotion  # measured responses already worked in
    impedance: DriverImpedance
    branches: tuple[Branch, ...]
    edges_to_hz: float = np.inf  # edge waves above are only roughly right; 0: there are none
    refined: Refined | None = None  # a reference solution of this very shape; None: the instant model alone

    def with_shape(self, diaphragms: tuple[Diaphragm, ...], *, edges: bool) -> "Speaker":
        """Return the same speaker with other diaphragms, with or without its cabinet edges, by the instant model."""
        edges_to_hz = self.edges_to_hz if edges else 0.0
        return replace(self, diaphragms=diaphragms, edges_to_hz=edges_to_hz, refined=None)

    def with_moved(self, moves_m: Mapping[str, FloatArray]) -> "Speaker":
        """Return the same speaker with some sources moved on the front by (y, z), by the instant model.

        Nothing checks that they fit.
        """
        shape = dict(zip(self.sources, self.diaphragms, strict=True))
        for name, move_m in moves_m.items():
            y, z = shape[name].centre_m
            shape[name] = replace(shape[name], centre_m=(y + float(move_m[0]), z + float(move_m[1])))
        return replace(self, diaphragms=tuple(shape.values()), refined=None)

    def position_m(self, source: int) -> FloatArray:
        """Acoustic centre of a source, (x, y, z) about the reference point."""
        shape = self.diaphragms[source]
        return np.array([-shape.set_back_m, *shape.centre_m])

    @cached_property
    def _alone(self) -> tuple[tuple[str, Diaphragm, Front], ...]:
        """Each source with its middle at the origin, on its front, and the key of both."""
        found = []
        for shape in self.diaphragms:
            outline_m = np.round(self.front.outline_m - np.asarray(shape.centre_m), SAME_DIGITS)
            own, front = replace(shape, centre_m=(0.0, 0.0)), Front(outline_m, self.front.depth_m)
            solved = self.refined.key if self.refined else ""
            key = content_key(own, front, self.grid.frequency_hz, self.air, solved)
            found.append((key, own, front))
        return tuple(found)

    def key_of(self, source: int) -> str:
        """Key of all that decides what one source sends around itself, wherever the reference point is."""
        return f"{self._alone[source][0]} {self.edges_to_hz}"

    def _prepared(self, source: int) -> Prepared:
        """All of one source that no direction changes; its ball stays when it moves on the front."""
        return _prepared.get(self.key_of(source), lambda: self._prepared_on(source, self.grid))

    def _prepared_on(self, source: int, grid: FrequencyGrid) -> Prepared:
        _, own, front = self._alone[source]
        wave_number = 2 * np.pi * grid.frequency_hz / self.air.sound_speed_m_s
        ball = _balls.get(self._size_key(source, grid), lambda: prepare_ball(own, front, wave_number))
        return prepare(own, front, grid.frequency_hz, self.air, edges_to_hz=self.edges_to_hz, ball=ball)

    def _size_key(self, source: int, grid: FrequencyGrid) -> str:
        """Key of all that decides what a source sends wherever it stands on the front."""
        _, own, front = self._alone[source]
        sizes = round(front.area_m2, 2 * SAME_DIGITS), front.depth_m
        return content_key(own, sizes, grid.frequency_hz, self.air)

    def _own_field(self, source: int, directions: Directions) -> ComplexArray:
        """Pressure of one source per m/s as if its middle were the origin, [direction, frequency]."""
        return self._refined(source, directions, self.grid, self._prepared(source).pressure(directions))

    def _own_field_around(self, source: int, directions: Directions) -> ComplexArray:
        """As `_own_field`, in directions that are asked for again when the source has moved."""
        return self._around(source, directions, self.grid, self._prepared(source))

    def field_on(self, source: int, directions: Directions, grid: FrequencyGrid) -> ComplexArray:
        """As `_own_field`, at frequencies of any grid."""
        return self._around(source, directions, grid, self._prepared_on(source, grid))

    def _around(
        self, source: int, directions: Directions, grid: FrequencyGrid, prepared: Prepared
    ) -> ComplexArray:
        key = content_key(self._size_key(source, grid), directions)
        standing = _standing.get(key, lambda: prepared.standing(directions))
        return self._refined(source, directions, grid, prepared.pressure(directions, standing))

    def _refined(
        self, source: int, directions: Directions, grid: FrequencyGrid, instant: ComplexArray
    ) -> ComplexArray:
        """Let the reference solution, where there is one, take the place of what the instant model says."""
        if self.refined is None:
            return instant
        across_m, up_m = self._from_middle_m(source).tolist()
        place_m = across_m, up_m, self.diaphragms[source].set_back_m
        return self.refined.joined(source, place_m, directions, grid.frequency_hz, instant)

    def _advance(self, path_m: FloatArray) -> ComplexArray:
        """Turn phases forward by paths, [path, frequency]."""
        wave_number = 2 * np.pi * self.grid.frequency_hz / self.air.sound_speed_m_s
        turned: ComplexArray = np.exp(1j * np.outer(path_m, wave_number))
        return turned

    def field(self, source: int, directions: Directions) -> ComplexArray:
        """Pressure of one source per m/s, phases about the middle of the front, [direction, frequency].

        So nothing changes with the reference point, and nothing of one source when another one moves.
        """
        from_middle_m = self._from_middle_m(source)
        return _fields.get(
            content_key(self.key_of(source), from_middle_m, directions),
            lambda: (
                self._own_field_around(source, directions)
                * self._advance(directions.unit[:, 1:] @ from_middle_m)
            ),
        )

    def _from_middle_m(self, source: int) -> FloatArray:
        return np.round(self.diaphragms[source].centre_m - np.array(self.middle_m), SAME_DIGITS)

    def about_middle(self, directions: Directions) -> list[ComplexArray]:
        """Pressure of each driver as `pressure` gives it, but phases about the middle of the front."""
        return [self._of_driver(driver, directions) for driver in range(len(self.drivers))]

    def _of_driver(self, driver: int, directions: Directions) -> ComplexArray:
        motion = self.motion.velocity_m_s_v[:, driver]
        moved: list[int] = np.flatnonzero(
            motion.any(axis=1)
        ).tolist()  # by this driver: most often itself alone
        places = [self._from_middle_m(source) for source in moved]

        def pressure() -> ComplexArray:
            total: ComplexArray = np.zeros((len(directions), len(self.grid)), dtype=complex)
            for source in moved:
                total += self.field(source, directions) * motion[source]
            return total

        keys = [self.key_of(source) for source in moved]
        return _of_drivers.get(content_key(keys, places, motion[moved], directions), pressure)

    def to_reference(self, directions: Directions) -> ComplexArray:
        """Turn phases about the middle of the front to phases about the reference point, [direction, frequency]."""
        return self._advance(directions.unit[:, 1:] @ np.array(self.middle_m))

    def pressure(self, directions: Directions) -> DriverPressure:
        """Pressure of each driver per volt at its terminals, far away, brought back to 1 m."""
        pressure = np.stack(self.about_middle(directions))
        pressure *= self.to_reference(directions)
        return DriverPressure(self.grid, directions, self.drivers, pressure)

    @cached_property
    def acoustics(self) -> str:
        """Key of everything but the network: speakers with the same one radiate alike per volt."""
        motion = self.motion
        return content_key(
            self.air,
            self.front,
            self.middle_m,
            self.drivers,
            self.sources,
            self.diaphragms,
            self.edges_to_hz,
            self.refined.key if self.refined else "",
            motion,
        )

    def own_pressures(self, departures_m: Sequence[FloatArray]) -> list[ComplexArray]:
        """Pressure of each source per m/s along its own departures, as if it stood at the origin.

        Each set of departures is kept by itself; what is new is solved together.

        Parameters
        ----------
        departures_m
            Sets of vectors away from each source, speaker axes, each [source, path, 3]. [m]

        Returns
        -------
        list
            Each [source, path, frequency], brought back to 1 m from the source itself. [Pa s/m]
        """
        sources = range(len(self.sources))
        each = [self._along(source, [rows[source] for rows in departures_m]) for source in sources]
        return [np.stack(rows) for rows in zip(*each, strict=True)]

    def _along(self, source: int, departures_m: Sequence[FloatArray]) -> list[ComplexArray]:
        """Pressure of one source along sets of departures, [path, frequency] each, its set-back taken out."""
        every = [np.round(rows, SAME_DIGITS) for rows in departures_m]
        set_back_m = self.diaphragms[source].set_back_m

        def solved(missing: list[int]) -> list[ComplexArray]:
            wanted = [every[place] for place in missing]
            joined = Directions.towards(np.concatenate(wanted))
            found = self._own_field(source, joined)
            if set_back_m:
                found *= self._advance(joined.unit[:, 0] * set_back_m)
            ends = np.cumsum([len(rows) for rows in wanted])
            return [part.copy() for part in np.split(found, ends[:-1])]

        return _along.get_all([content_key(self.key_of(source), rows) for rows in every], solved)

    def source_velocity(self, voltage: DriveVoltage) -> ComplexArray:
        """Velocity of each source per volt at the terminals, [source, frequency]."""
        velocity: ComplexArray = np.einsum("sif,if->sf", self.motion.velocity_m_s_v, voltage.volts_v)
        return velocity


def roughly(speaker: Speaker) -> Speaker:
    """Return the same speaker with edge waves that are right only as far as a moving hand needs them."""
    return replace(speaker, edges_to_hz=min(speaker.edges_to_hz, ROUGHLY_TO_HZ))
