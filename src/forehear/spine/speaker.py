"""A design as the physics rooms take it: plain shapes, motions and branches in SI, nothing of the document."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from forehear.ground.air import Air
from forehear.ground.arrays import ComplexArray, FloatArray
from forehear.ground.axes import Directions, FrequencyGrid
from forehear.ground.flowing import DriverImpedance, DriverPressure, DriveVoltage, SourceMotion
from forehear.ground.store import KeptResults, content_key
from forehear.network import Branch
from forehear.radiation import Diaphragm, Front, Prepared, prepare

SAME_DIGITS = 9  # places closer than a nanometre are the same, whatever sums they came out of
_fields: KeptResults[ComplexArray] = KeptResults(most=80)
_turned: KeptResults[ComplexArray] = KeptResults(most=40)
_prepared: KeptResults[Prepared] = KeptResults(most=12)  # a few megabytes each


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
    edges: bool = True

    def with_shape(self, diaphragms: tuple[Diaphragm, ...], *, edges: bool) -> "Speaker":
        """Return the same speaker with other diaphragms, with or without its cabinet edges."""
        return replace(self, diaphragms=diaphragms, edges=edges)

    def with_moved(self, moves_m: Mapping[str, FloatArray]) -> "Speaker":
        """Return the same speaker with some sources moved on the front by (y, z); nothing checks that they fit."""
        shape = dict(zip(self.sources, self.diaphragms, strict=True))
        for name, move_m in moves_m.items():
            y, z = shape[name].centre_m
            shape[name] = replace(shape[name], centre_m=(y + float(move_m[0]), z + float(move_m[1])))
        return replace(self, diaphragms=tuple(shape.values()))

    def position_m(self, source: int) -> FloatArray:
        """Acoustic centre of a source, (x, y, z) about the reference point."""
        shape = self.diaphragms[source]
        return np.array([-shape.set_back_m, *shape.centre_m])

    def own_field(self, source: int, directions: Directions) -> ComplexArray:
        """Pressure of one source per m/s as if its middle were the origin, [direction, frequency].

        The same shape is never solved twice, nor again when only the reference point moves.
        """
        key, own, front = self._alone[source]

        def prepared() -> Prepared:  # what no direction changes
            return prepare(own, front, self.grid.frequency_hz, self.air, edges=self.edges)

        return _fields.get(
            content_key(key, directions), lambda: _prepared.get(key, prepared).pressure(directions)
        )

    @cached_property
    def _alone(self) -> tuple[tuple[str, Diaphragm, Front], ...]:
        """Each source with its middle at the origin, on its front, and the key of both."""
        found = []
        for shape in self.diaphragms:
            outline_m = np.round(self.front.outline_m - np.asarray(shape.centre_m), SAME_DIGITS)
            own, front = replace(shape, centre_m=(0.0, 0.0)), Front(outline_m, self.front.depth_m)
            key = content_key(own, front, self.grid.frequency_hz, self.air, self.edges)
            found.append((key, own, front))
        return tuple(found)

    def field(self, source: int, directions: Directions) -> ComplexArray:
        """Pressure of one source per m/s, [direction, frequency]."""
        centre_m = np.round(self.diaphragms[source].centre_m, SAME_DIGITS)

        def turned() -> ComplexArray:
            wave_number = 2 * np.pi * self.grid.frequency_hz / self.air.sound_speed_m_s
            advance = np.exp(1j * np.outer(directions.unit[:, 1:] @ centre_m, wave_number))
            return self.own_field(source, directions) * advance

        return _turned.get(content_key(self._alone[source][0], centre_m, directions), turned)

    def pressure(self, directions: Directions) -> DriverPressure:
        """Pressure of each driver per volt at its terminals, far away, brought back to 1 m."""
        shape = (len(self.drivers), len(directions), len(self.grid))
        pressure: ComplexArray = np.zeros(shape, dtype=complex)
        motion = self.motion.velocity_m_s_v
        for source in range(len(self.sources)):
            field = self.field(source, directions)
            for driver in np.flatnonzero(motion[source].any(axis=1)):  # those that move it: most do not
                pressure[driver] += field * motion[source, driver]
        return DriverPressure(self.grid, directions, self.drivers, pressure)

    @property
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
            self.edges,
            motion,
        )

    def own_pressure(self, departure_m: FloatArray) -> ComplexArray:
        """Pressure of each source per m/s along its own departures, as if it stood at the origin.

        Parameters
        ----------
        departure_m
            Vectors away from each source, speaker axes, [source, path, 3]. [m]

        Returns
        -------
        array
            [source, path, frequency], brought back to 1 m from the source itself. [Pa s/m]
        """
        return np.stack([self._at_itself(source, rows) for source, rows in enumerate(departure_m)])

    def _at_itself(self, source: int, departure_m: FloatArray) -> ComplexArray:
        """Pressure of one source along its departures, [path, frequency], its set-back taken out."""
        directions = Directions.towards(np.round(departure_m, SAME_DIGITS))
        set_back_m = self.diaphragms[source].set_back_m
        if not set_back_m:
            return self.own_field(source, directions)

        def brought() -> ComplexArray:
            wave_number = 2 * np.pi * self.grid.frequency_hz / self.air.sound_speed_m_s
            advance = np.exp(1j * np.outer(directions.unit[:, 0] * set_back_m, wave_number))
            forward: ComplexArray = self.own_field(source, directions) * advance
            return forward

        return _turned.get(content_key(self._alone[source][0], "at itself", directions), brought)

    def source_velocity(self, voltage: DriveVoltage) -> ComplexArray:
        """Velocity of each source per volt at the terminals, [source, frequency]."""
        velocity: ComplexArray = np.einsum("sif,if->sf", self.motion.velocity_m_s_v, voltage.volts_v)
        return velocity
