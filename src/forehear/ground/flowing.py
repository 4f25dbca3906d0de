"""The types that flow from room to room: frozen, arrays read-only, shapes checked at birth.

Time goes as exp(+jwt) everywhere. Levels, where they appear, follow `forehear.ground.levels`.
"""

from dataclasses import dataclass

import numpy as np

from forehear.ground.arrays import ComplexArray, FloatArray, locked
from forehear.ground.axes import Directions, FrequencyGrid


@dataclass(frozen=True, eq=False)
class SourceField:
    """Far-field pressure of each moving surface (diaphragm, port) alone, brought back to 1 m from the origin."""

    grid: FrequencyGrid
    directions: Directions
    sources: tuple[str, ...]
    pressure_pa_s_m: ComplexArray  # [source, direction, frequency], Pa per m/s of mean normal velocity

    def __post_init__(self) -> None:
        shape = (len(self.sources), len(self.directions), len(self.grid))
        locked(self, "pressure_pa_s_m", shape, "source x direction x frequency")


@dataclass(frozen=True, eq=False)
class SourceMotion:
    """Velocity of each moving surface per volt at each driver's terminals.

    Off-diagonal entries appear where drivers share air.
    """

    grid: FrequencyGrid
    sources: tuple[str, ...]
    drivers: tuple[str, ...]
    velocity_m_s_v: ComplexArray  # [source, driver, frequency]

    def __post_init__(self) -> None:
        shape = (len(self.sources), len(self.drivers), len(self.grid))
        locked(self, "velocity_m_s_v", shape, "source x driver x frequency")


@dataclass(frozen=True, eq=False)
class DriverPressure:
    """Far-field pressure of each driver alone per volt at its terminals, brought back to 1 m from the origin."""

    grid: FrequencyGrid
    directions: Directions
    drivers: tuple[str, ...]
    pressure_pa_v: ComplexArray  # [driver, direction, frequency]

    def __post_init__(self) -> None:
        shape = (len(self.drivers), len(self.directions), len(self.grid))
        locked(self, "pressure_pa_v", shape, "driver x direction x frequency")

    def driven(self, voltage: "DriveVoltage") -> ComplexArray:
        """Sum the drivers as the network drives them: Pa per volt at the terminals, [direction, frequency]."""
        self.grid.require_same(voltage.grid)
        total: ComplexArray = np.einsum("idf,if->df", self.pressure_pa_v, voltage.volts_v)
        return total


@dataclass(frozen=True, eq=False)
class DriverImpedance:
    """Electrical impedance of drivers as a matrix: volts at driver i per ampere in driver j.

    Off-diagonal entries appear where drivers share air.
    """

    grid: FrequencyGrid
    drivers: tuple[str, ...]
    impedance_ohm: ComplexArray  # [driver, driver, frequency]

    def __post_init__(self) -> None:
        shape = (len(self.drivers), len(self.drivers), len(self.grid))
        locked(self, "impedance_ohm", shape, "driver x driver x frequency")


@dataclass(frozen=True, eq=False)
class DriveVoltage:
    """Volts at each driver per volt at the speaker's terminals; polarity is part of it."""

    grid: FrequencyGrid
    drivers: tuple[str, ...]
    volts_v: ComplexArray  # [driver, frequency]

    def __post_init__(self) -> None:
        locked(self, "volts_v", (len(self.drivers), len(self.grid)), "driver x frequency")


@dataclass(frozen=True, eq=False)
class EnergyForm:
    """Energies as Hermitian forms in the driver voltages, made once per shape.

    The mean square pressure of curve c in band f is ``sum_ij conj(v_i) form[c, f, i, j] v_j``; so a changed network
    never solves acoustics again.
    """

    grid: FrequencyGrid
    curves: tuple[str, ...]
    drivers: tuple[str, ...]
    form_pa2_v2: ComplexArray  # [curve, frequency, driver, driver]

    def __post_init__(self) -> None:
        shape = (len(self.curves), len(self.grid), len(self.drivers), len(self.drivers))
        locked(self, "form_pa2_v2", shape, "curve x frequency x driver x driver")

    def driven(self, voltage: DriveVoltage) -> FloatArray:
        """Mean square pressure per volt squared at the terminals, [curve, frequency]."""
        self.grid.require_same(voltage.grid)
        volts = voltage.volts_v.T  # [frequency, driver]
        energy: ComplexArray = np.einsum(
            "fi,cfij,fj->cf", volts.conj(), self.form_pa2_v2, volts, optimize=True
        )
        return np.maximum(energy.real, 0.0)
