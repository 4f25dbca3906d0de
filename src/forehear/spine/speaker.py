"""A design as the physics rooms take it: plain shapes, motions and branches in SI, nothing of the document."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from forehear.ground.air import Air
from forehear.ground.arrays import ComplexArray, FloatArray
from forehear.ground.axes import Directions, FrequencyGrid
from forehear.ground.flowing import DriverImpedance, DriverPressure, DriveVoltage, SourceField, SourceMotion
from forehear.ground.store import KeptResults, content_key
from forehear.network import Branch
from forehear.radiation import Diaphragm, Front, Prepared, prepare

_fields: KeptResults[ComplexArray] = KeptResults(most=96)
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

    def field(self, source: int, directions: Directions) -> ComplexArray:
        """Pressure of one source per m/s, [direction, frequency]; the same shape is never solved twice."""
        key = content_key(self.diaphragms[source], self.front, self.grid.frequency_hz, self.air, self.edges)
        return _fields.get(
            content_key(key, directions),
            lambda: _prepared.get(key, lambda: self._prepare(source)).pressure(directions),
        )

    def _prepare(self, source: int) -> Prepared:
        """Do for one source what no direction changes."""
        return prepare(
            self.diaphragms[source], self.front, self.grid.frequency_hz, self.air, edges=self.edges
        )

    def pressure(self, directions: Directions) -> DriverPressure:
        """Pressure of each driver per volt at its terminals, far away, brought back to 1 m."""
        field = SourceField(
            self.grid,
            directions,
            self.sources,
            np.stack([self.field(source, directions) for source in range(len(self.sources))]),
        )
        pressure: ComplexArray = np.einsum(
            "sdf,sif->idf", field.pressure_pa_s_m, self.motion.velocity_m_s_v, optimize=True
        )
        return DriverPressure(self.grid, directions, self.drivers, pressure)

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
        wave_number = 2 * np.pi * self.grid.frequency_hz / self.air.sound_speed_m_s
        rows = []
        for source in range(len(self.sources)):
            directions = Directions.towards(departure_m[source])
            advance_m = directions.unit @ self.position_m(source)
            rows.append(self.field(source, directions) * np.exp(-1j * np.outer(advance_m, wave_number)))
        return np.stack(rows)

    def source_velocity(self, voltage: DriveVoltage) -> ComplexArray:
        """Velocity of each source per volt at the terminals, [source, frequency]."""
        velocity: ComplexArray = np.einsum("sif,if->sf", self.motion.velocity_m_s_v, voltage.volts_v)
        return velocity
