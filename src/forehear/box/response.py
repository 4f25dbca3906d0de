"""How the diaphragms of one enclosure move, and what impedance the drivers have there."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from forehear.box.constants import DriverConstants
from forehear.box.enclosures import Enclosure, Vented, air_admittance, port_admittance
from forehear.ground.air import Air
from forehear.ground.arrays import ComplexArray, FloatArray
from forehear.ground.axes import FrequencyGrid
from forehear.ground.errors import OutsideValidity
from forehear.ground.flowing import DriverImpedance, SourceMotion


@dataclass(frozen=True, eq=False)
class _Circuit:
    """Mechanics and motors of all drivers of one enclosure, with the air they share; [driver, frequency]."""

    blocked_ohm: ComplexArray
    mechanical_kg_s: ComplexArray
    bl_n_a: FloatArray  # [driver, 1]
    sd_m2: FloatArray  # [driver]
    air_m3_s_pa: ComplexArray | None  # [frequency], None where every driver is sealed by itself

    def moved(self, loss_kg_s: ComplexArray | float) -> ComplexArray:
        """Solve for motion per newton on each driver, [driver (then box pressure), driver, frequency]."""
        drivers, frequencies = self.mechanical_kg_s.shape
        size = drivers + (self.air_m3_s_pa is not None)
        matrix: ComplexArray = np.zeros((frequencies, size, size), dtype=np.complex128)
        each = np.arange(drivers)
        matrix[:, each, each] = (self.mechanical_kg_s + loss_kg_s).T
        if self.air_m3_s_pa is not None:
            matrix[:, :drivers, drivers] = -self.sd_m2  # pressure inside pushes a diaphragm forward
            matrix[:, drivers, :drivers] = self.sd_m2  # going forward takes air out of the box ...
            matrix[:, drivers, drivers] = self.air_m3_s_pa  # ... which spring, port and leak must give back
        forces = np.eye(size, drivers, dtype=np.complex128)
        return np.asarray(np.moveaxis(np.linalg.solve(matrix, forces), 0, -1), dtype=np.complex128)


def enclosure_response(
    constants: Sequence[DriverConstants],
    names: Sequence[str],
    enclosure: Enclosure | None,
    grid: FrequencyGrid,
    air: Air,
    *,
    way: str = "",
) -> tuple[SourceMotion, DriverImpedance]:
    r"""Motion of every diaphragm and port, and the impedance of every driver, in one shared enclosure.

    For driver i with velocity u_i forward, current I_i, and p the pressure in the box:

    .. math::
        V_i = Z_{b,i} I_i + (Bl)_i u_i, \quad
        (j\omega M_i + R_i + \tfrac{1}{j\omega C_i}) u_i = (Bl)_i I_i + S_i p, \quad
        \sum_i S_i u_i + Y p = 0

    where Y is the acoustic admittance of the air, the port and the leaks. A port moves with the mean velocity
    of what flows out of it; what leaks is counted with it.

    Parameters
    ----------
    constants
        The drivers. [SI]
    names
        Their names, in the same order. [-]
    enclosure
        Closed or vented [m3, Hz]; None where each driver is sealed by itself and its constants hold that.
    grid
        Frequencies. [Hz]
    air
        The air inside. [-]
    way
        Name of the way, for the name of its port. [-]

    Returns
    -------
    motion, impedance
        Mean axial velocity of each source per volt at each driver, the others shorted [m/s per V], and volts
        at driver i per ampere in driver j [ohm].

    Source
    ------
    small-1973-vented, sec. 2, and small-1972-closed, sec. 2: a rigid diaphragm, small signals, an enclosure
    small against the wavelength (inner dimensions under about a tenth: no standing waves, no resonance of the
    port). Mutual radiation in front is left out, and below about 10 Hz so is the creep of suspensions.

    Examples
    --------
    A driver in its own sealed can, at resonance: Re + Bl^2/Rms.

    >>> from forehear.box import BlockedImpedance, DriverConstants
    >>> grid = FrequencyGrid(np.array([40.7889, 1000.0]))
    >>> coil = BlockedImpedance.plain(6.2, 0.0, grid)
    >>> driver = DriverConstants(6.2, 6.5, 0.0145, 1.05e-3, 0.95, 0.0133, coil)
    >>> _, found = enclosure_response([driver], ["woofer"], None, grid, Air())
    >>> print(f"{abs(found.impedance_ohm[0, 0, 0]):.2f} ohm")
    50.67 ohm
    """
    _refuse_other_grids(constants, grid)
    jw: ComplexArray = np.asarray(2j * np.pi * grid.frequency_hz, dtype=np.complex128)
    circuit = _circuit(constants, enclosure, jw, air)
    bl, blocked = circuit.bl_n_a, circuit.blocked_ohm
    count = len(constants)
    per_newton = circuit.moved(bl**2 / blocked)  # terminals shorted: the motor brakes
    moved = per_newton * (bl / blocked)  # newton per volt, driver by driver
    sources, velocity = tuple(names), moved[:count]
    if isinstance(enclosure, Vented):
        port = moved[count:] * port_admittance(enclosure, jw, air) / enclosure.port_area_m2
        sources, velocity = (*sources, f"port of {way}" if way else "port"), np.concatenate([velocity, port])
    impedance = bl[:, None] * circuit.moved(0.0)[:count] * bl  # terminals open: volts that motion makes
    each = np.arange(count)
    impedance[each, each] += blocked
    return SourceMotion(grid, sources, tuple(names), velocity), DriverImpedance(grid, tuple(names), impedance)


def excursion_m_v(motion: SourceMotion) -> ComplexArray:
    """Displacement of each source per volt at each driver [m/V], [source, driver, frequency]."""
    return motion.velocity_m_s_v / (2j * np.pi * motion.grid.frequency_hz)


def small_source_pressure_pa(
    volume_velocity_m3_s: ComplexArray,
    frequency_hz: FloatArray,
    distance_m: float,
    air: Air,
    *,
    solid_angle_sr: float = 2 * math.pi,
) -> ComplexArray:
    r"""Pressure of a source small against the wavelength, flight time taken out.

    .. math:: p = j \omega \rho U / (\Omega r)

    Parameters
    ----------
    volume_velocity_m3_s
        Area times velocity of everything that moves air, [frequency]. [m3/s]
    frequency_hz
        Frequency, [frequency]. [Hz]
    distance_m
        Distance. [m]
    air
        The air outside. [-]
    solid_angle_sr
        Into what it radiates: 2 pi for half space, 4 pi for full space. [sr]

    Returns
    -------
    array
        Pressure, [frequency]. [Pa]

    Source
    ------
    small-1972-direct, sec. 3: ka well below 1.

    Examples
    --------
    >>> found = small_source_pressure_pa(np.array([0.01 + 0j]), np.array([50.0]), 1.0, Air())
    >>> print(f"{abs(found[0]):.3f} Pa")
    0.602 Pa
    """
    omega = 2 * np.pi * frequency_hz
    acceleration: ComplexArray = 1j * omega * volume_velocity_m3_s
    return acceleration * air.density_kg_m3 / (solid_angle_sr * distance_m)


def _circuit(
    constants: Sequence[DriverConstants], enclosure: Enclosure | None, jw: ComplexArray, air: Air
) -> _Circuit:
    shared: ComplexArray | None = None
    if enclosure is not None:
        shared = air_admittance(enclosure, jw, air)
        if isinstance(enclosure, Vented):
            shared = shared + port_admittance(enclosure, jw, air)
    return _Circuit(
        blocked_ohm=np.stack([driver.blocked.impedance_ohm for driver in constants]),
        mechanical_kg_s=np.stack(
            [jw * driver.mms_kg + driver.rms_kg_s + 1 / (jw * driver.cms_m_n) for driver in constants]
        ),
        bl_n_a=np.array([[driver.bl_n_a] for driver in constants]),
        sd_m2=np.array([driver.sd_m2 for driver in constants]),
        air_m3_s_pa=shared,
    )


def _refuse_other_grids(constants: Sequence[DriverConstants], grid: FrequencyGrid) -> None:
    if not constants:
        raise OutsideValidity("an enclosure holds no driver", cure="name the drivers of the way")
    for driver in constants:
        grid.require_same(driver.blocked.grid)
