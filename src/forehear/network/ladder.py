"""The exact solution of a passive network: each branch from its load back, then all side by side."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from types import MappingProxyType

import numpy as np

from forehear.ground.arrays import ComplexArray, FloatArray, locked
from forehear.ground.errors import OutsideValidity
from forehear.ground.flowing import DriverImpedance, DriveVoltage
from forehear.network.elements import Kind, Step, impedance_at

SHORT_OHM = 1e-6  # less than any joint of solder: nothing but a wire across the amplifier


class Wiring(StrEnum):
    """How several drivers of one branch are connected."""

    PARALLEL = "parallel"
    SERIES = "series"


@dataclass(frozen=True)
class Branch:
    """The drivers of one way and the steps between the terminals and them, amplifier first."""

    name: str
    drivers: tuple[str, ...]
    steps: tuple[Step, ...] = ()
    wiring: Wiring = Wiring.PARALLEL
    reversed: bool = False

    def __post_init__(self) -> None:
        if not self.drivers:
            raise OutsideValidity(
                f"branch {self.name} drives nothing", cure="name its drivers, or leave it out"
            )


@dataclass(frozen=True, eq=False)
class BranchSolution:
    """What the amplifier sees of one branch, and what arrives at its load; polarity left out."""

    input_impedance_ohm: ComplexArray  # [frequency]
    output_voltage_v: ComplexArray  # [frequency], per volt at the input

    def __post_init__(self) -> None:
        locked(self, "input_impedance_ohm", (-1,), "frequencies")
        locked(self, "output_voltage_v", self.input_impedance_ohm.shape, "frequencies")


@dataclass(frozen=True, eq=False)
class NetworkSolution:
    """Volts at every driver, the impedance of the whole speaker, and each branch by itself."""

    voltage: DriveVoltage
    impedance_ohm: ComplexArray  # [frequency]
    branches: Mapping[str, BranchSolution] = field(default_factory=dict)

    def __post_init__(self) -> None:
        locked(self, "impedance_ohm", (len(self.voltage.grid),), "frequencies")
        object.__setattr__(self, "branches", MappingProxyType(dict(self.branches)))


def solve_branch(steps: Sequence[Step], load: ComplexArray, frequency_hz: FloatArray) -> BranchSolution:
    r"""Input impedance and output voltage of a branch into its load.

    Walking from the load back to the amplifier, voltage V and current I there, up to one common factor:

    .. math::
        \text{series } Z: \; V \leftarrow V + Z I; \qquad
        \text{shunt } Z: \; V \leftarrow Z V, \; I \leftarrow Z I + V

    This is Z + Z_load for a series step and Z || Z_load for a shunt, without a division by a zero.

    Parameters
    ----------
    steps
        Steps from the amplifier toward the driver. [-]
    load
        Impedance of the load, [frequency]. [ohm]
    frequency_hz
        Frequency, [frequency]. [Hz]

    Returns
    -------
    BranchSolution
        Input impedance [ohm] and output voltage per input volt [V/V].

    Raises
    ------
    OutsideValidity
        When the branch is a short at some frequency: no amplifier drives that.

    Source
    ------
    desoer-kuh-1969, ch. 7: exact for linear parts without mutual inductance between coils.

    Examples
    --------
    A Butterworth low pass for 8 ohm and 2.5 kHz is 3 dB down there:

    >>> from forehear.network import Capacitor, Coil, Kind, Step
    >>> steps = (Step(Kind.SERIES, Coil(0.72025e-3)), Step(Kind.SHUNT, Capacitor(5.627e-6)))
    >>> found = solve_branch(steps, np.array([8.0 + 0j]), np.array([2500.0]))
    >>> print(f"{20 * np.log10(abs(found.output_voltage_v[0])):.2f} dB")
    -3.01 dB
    """
    jw: ComplexArray = np.asarray(2j * np.pi * frequency_hz, dtype=np.complex128)
    volts: ComplexArray = np.array(load, dtype=np.complex128)
    at_load = volts
    amperes: ComplexArray = np.ones_like(volts)
    for step in reversed(steps):
        impedance = impedance_at(step.element, jw)
        if step.kind is Kind.SERIES:
            volts = volts + impedance * amperes
        else:
            amperes = impedance * amperes + volts
            volts = impedance * volts
            at_load = impedance * at_load
    _refuse_short(volts, amperes, frequency_hz)
    return BranchSolution(input_impedance_ohm=volts / amperes, output_voltage_v=at_load / volts)


def wire_drivers(impedance_ohm: ComplexArray, wiring: Wiring) -> tuple[ComplexArray, ComplexArray]:
    r"""Load that several drivers make together, and the share of its voltage each one gets.

    .. math::
        \text{series: } Z = \mathbf{1}^T \mathbf{Z} \mathbf{1}, \; v = \mathbf{Z}\mathbf{1} / Z; \qquad
        \text{parallel: } Z = 1 / (\mathbf{1}^T \mathbf{Z}^{-1} \mathbf{1}), \; v = \mathbf{1}

    Parameters
    ----------
    impedance_ohm
        Volts at driver i per ampere in driver j, [driver, driver, frequency], shared air included.
        [ohm]
    wiring
        One after the other or side by side. [-]

    Returns
    -------
    load_ohm, share
        [frequency] [ohm], and [driver, frequency] volts at each driver per volt across them all [V/V].

    Source
    ------
    desoer-kuh-1969, ch. 17: multiport made one port, exact.

    Examples
    --------
    >>> two = np.zeros((2, 2, 1), dtype=complex)
    >>> two[0, 0], two[1, 1] = 8.0, 4.0
    >>> load, share = wire_drivers(two, Wiring.SERIES)
    >>> float(load[0].real), share[:, 0].real.round(3).tolist()
    (12.0, [0.667, 0.333])
    """
    drivers, _, frequencies = impedance_ohm.shape
    if drivers == 1:
        return impedance_ohm[0, 0], np.ones((1, frequencies), dtype=np.complex128)
    if wiring is Wiring.SERIES:
        volts: ComplexArray = impedance_ohm.sum(axis=1)
        load: ComplexArray = volts.sum(axis=0)
        return load, volts / load
    matrix = np.moveaxis(impedance_ohm, -1, 0)
    try:
        current = np.linalg.solve(matrix, np.ones((frequencies, drivers, 1)))[:, :, 0]
    except np.linalg.LinAlgError:
        raise OutsideValidity(
            "drivers wired in parallel short each other: one has no impedance at all",
            cure="state the true voice-coil resistance of every driver",
        ) from None
    return 1 / current.sum(axis=1), np.ones((drivers, frequencies), dtype=np.complex128)


def solve_network(branches: Sequence[Branch], impedance: DriverImpedance) -> NetworkSolution:
    r"""Volts at every driver per volt at the terminals, and the impedance of the speaker.

    All branches hang side by side on the terminals:

    .. math:: Z = 1 / \sum_b (1 / Z_b)

    Parameters
    ----------
    branches
        The ways; together they drive every driver once. [-]
    impedance
        Impedance matrix of all drivers; drivers of different branches must not share air. [ohm]

    Returns
    -------
    NetworkSolution
        Volts per volt [V/V], impedance [ohm], and every branch under its name.

    Raises
    ------
    OutsideValidity
        When a branch is a short, a driver is driven twice or never, or branches share air.

    Source
    ------
    desoer-kuh-1969, ch. 7: exact for linear parts without mutual inductance between coils.

    Examples
    --------
    >>> from forehear.ground.axes import FrequencyGrid
    >>> grid = FrequencyGrid(np.array([100.0, 1000.0]))
    >>> one = DriverImpedance(grid, ("woofer",), np.full((1, 1, 2), 8.0 + 0j))
    >>> found = solve_network([Branch("low", ("woofer",), reversed=True)], one)
    >>> found.voltage.volts_v[0].real.tolist(), found.impedance_ohm.real.tolist()
    ([-1.0, -1.0], [8.0, 8.0])
    """
    rows = _rows_of_branches(branches, impedance.drivers)
    _refuse_shared_air(rows, impedance.impedance_ohm)
    frequency_hz = impedance.grid.frequency_hz
    volts: ComplexArray = np.empty((len(impedance.drivers), frequency_hz.size), dtype=np.complex128)
    admittance: ComplexArray = np.zeros(frequency_hz.size, dtype=np.complex128)
    solutions: dict[str, BranchSolution] = {}
    for branch, row in zip(branches, rows, strict=True):
        load, share = wire_drivers(impedance.impedance_ohm[np.ix_(row, row)], branch.wiring)
        solution = solve_branch(branch.steps, load, frequency_hz)
        volts[row] = (-1.0 if branch.reversed else 1.0) * solution.output_voltage_v * share
        admittance += 1 / solution.input_impedance_ohm
        solutions[branch.name] = solution
    return NetworkSolution(
        voltage=DriveVoltage(impedance.grid, impedance.drivers, volts),
        impedance_ohm=1 / admittance,
        branches=solutions,
    )


def _rows_of_branches(branches: Sequence[Branch], drivers: tuple[str, ...]) -> list[list[int]]:
    row_of = {name: row for row, name in enumerate(drivers)}
    driven = Counter(name for branch in branches for name in branch.drivers)
    for name in [*driven, *drivers]:
        if name not in row_of:
            raise OutsideValidity(
                f"a branch drives {name}, which has no impedance", cure=f"add {name} to the drivers"
            )
        if driven[name] != 1:
            raise OutsideValidity(
                f"{name} hangs on {driven[name]} branches", cure=f"put {name} on just one branch"
            )
    if len({branch.name for branch in branches}) != len(branches):
        raise OutsideValidity("two branches have the same name", cure="give every branch its own name")
    return [[row_of[name] for name in branch.drivers] for branch in branches]


def _refuse_shared_air(rows: Sequence[Sequence[int]], impedance_ohm: ComplexArray) -> None:
    if len(rows) < 2:
        return
    other = np.ones(impedance_ohm.shape[:2], dtype=bool)
    for row in rows:
        other[np.ix_(row, row)] = False
    if np.any(impedance_ohm[other]):
        raise OutsideValidity(
            "drivers of different branches share air, which the branch-by-branch solution does not hold for",
            cure="give every way an enclosure of its own",
        )


def _refuse_short(volts: ComplexArray, amperes: ComplexArray, frequency_hz: FloatArray) -> None:
    shorted = np.abs(volts) <= SHORT_OHM * np.abs(amperes)
    if np.any(shorted):
        where_hz = float(frequency_hz[int(np.argmax(shorted))])
        raise OutsideValidity(
            f"the branch is a short at {where_hz:.5g} Hz: its impedance is under {SHORT_OHM:g} ohm",
            cure="put the part across the driver behind a series part, or give it its true resistance",
        )
