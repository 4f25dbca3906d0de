"""A network whose part values are free: its solution for many sets of values at once, and its exact slopes.

All branches hang side by side on the amplifier, so a part moves the voltage of its own branch only. Slopes are in the
logarithm of the values, for parts are bought by ratio.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import TypeAlias

import numpy as np

from forehear.ground.arrays import ComplexArray, FloatArray, locked
from forehear.ground.errors import OutsideValidity
from forehear.network import Bank, Branch, Capacitor, Chain, Coil, Element, Kind, Resistor

COIL_LOSS_POWER = 0.6  # of one wire, wound as a Brooks coil: length of wire over inductance
CAPACITOR_LOSS_POWER = -1.0  # the loss angle stays
OPEN_S = 1e-15  # of a lossless tank met exactly at its resonance


class Sort(StrEnum):
    """What a part is."""

    COIL = "coil"
    CAPACITOR = "capacitor"
    RESISTOR = "resistor"


@dataclass(frozen=True)
class Slot:
    """A place for a part in a tree of parts."""

    part: int


@dataclass(frozen=True)
class Joined:
    """Places one after the other, or side by side."""

    inner: tuple["Tree", ...]
    side_by_side: bool


Tree: TypeAlias = Slot | Joined


@dataclass(frozen=True)
class Rung:
    """One step of a branch on its way from the amplifier."""

    kind: Kind
    tree: Tree


@dataclass(frozen=True, eq=False)
class Answer:
    """What many networks do."""

    volts: ComplexArray  # [build, way, frequency] at each way's load per volt at the terminals
    admittance_s: ComplexArray  # [build, frequency]


@dataclass(frozen=True, eq=False)
class Slopes:
    """How one network changes with the logarithm of each value; a part moves the volts of its own way."""

    volts: ComplexArray  # [part, frequency]
    admittance_s: ComplexArray  # [part, frequency]


@dataclass(frozen=True, eq=False)
class Circuit:
    """Branches with places for parts, and what they are loaded with."""

    frequency_hz: FloatArray  # [frequency]
    sorts: tuple[Sort, ...]  # [part]
    ways: tuple[tuple[Rung, ...], ...]
    way_of: tuple[int, ...]  # [part]
    load_ohm: ComplexArray  # [way, frequency]
    polarity: FloatArray  # [way] 1 or -1

    def __post_init__(self) -> None:
        locked(self, "load_ohm", (len(self.ways), len(self.frequency_hz)), "way x frequency")
        locked(self, "polarity", (len(self.ways),), "ways")

    @property
    def loss_power(self) -> FloatArray:
        """Power of the value with which the loss of each part goes, [part]."""
        powers = {Sort.COIL: COIL_LOSS_POWER, Sort.CAPACITOR: CAPACITOR_LOSS_POWER, Sort.RESISTOR: 0.0}
        return np.array([powers[sort] for sort in self.sorts])

    def is_a(self, sort: Sort) -> FloatArray:
        """Tell which parts are of one sort, 1 or 0, [part]."""
        return np.array([float(own is sort) for own in self.sorts])

    def impedances(self, values: FloatArray, losses_ohm: FloatArray) -> ComplexArray:
        """Impedance of every part, [..., part, frequency], for values and losses [..., part]."""
        real, henry, per_farad = self._split(values)
        jw = self._jw
        found: ComplexArray = (
            (real + losses_ohm)[..., np.newaxis]
            + henry[..., np.newaxis] * jw
            + per_farad[..., np.newaxis] / jw
        )
        return found

    def impedance_slopes(self, values: FloatArray, losses_ohm: FloatArray) -> ComplexArray:
        """Change of each part's impedance with the logarithm of its value, its loss going along, [part, frequency]."""
        real, henry, per_farad = self._split(values)
        jw = self._jw
        found: ComplexArray = (
            (real + self.loss_power * losses_ohm)[:, np.newaxis]
            + henry[:, np.newaxis] * jw
            - per_farad[:, np.newaxis] / jw
        )
        return found

    @property
    def _jw(self) -> ComplexArray:
        return np.asarray(2j * np.pi * self.frequency_hz, dtype=np.complex128)

    def _split(self, values: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        return (
            values * self.is_a(Sort.RESISTOR),
            values * self.is_a(Sort.COIL),
            self.is_a(Sort.CAPACITOR) / values,
        )

    def solve(
        self, values: FloatArray, losses_ohm: FloatArray, load_ohm: ComplexArray | None = None
    ) -> Answer:
        """Solve many networks.

        Parameters
        ----------
        values
            Of every part, [build, part]. [H, F or ohm]
        losses_ohm
            In series with every coil and capacitor, [build, part]. [ohm]
        load_ohm
            Loads of each build, [build, way, frequency]; the own ones where left out. [ohm]
        """
        impedances = self.impedances(values, losses_ohm)
        volts, admittance = [], np.zeros(impedances.shape[::2], dtype=complex)
        for way, rungs in enumerate(self.ways):
            load = self.load_ohm[way] if load_ohm is None else load_ohm[:, way]
            v: ComplexArray = np.ones_like(admittance)
            i: ComplexArray = v / load
            for rung in reversed(rungs):
                z = tree_impedance(rung.tree, impedances)
                if rung.kind is Kind.SERIES:
                    v = v + z * i
                else:
                    i = i + v / z
            volts.append(self.polarity[way] / v)
            admittance += i / v
        return Answer(np.stack(volts, axis=1), admittance)

    def solve_with_slopes(self, values: FloatArray, losses_ohm: FloatArray) -> tuple[Answer, Slopes]:
        r"""Solve one network and how it changes with the logarithm of every value.

        With 1 V at the load, the voltage needed at the terminals changes by a I dZ for a series step and by b V dY for
        a shunt, where (a, b) is the first row of the chain matrix before the step. The admittance changes by
        -(I/V_in)^2 dZ and (V/V_in)^2 dY, for the network is reciprocal.

        Parameters
        ----------
        values
            Of every part, [part]. [H, F or ohm]
        losses_ohm
            In series with each, [part]. [ohm]
        """
        impedances = self.impedances(values, losses_ohm)
        own = self.impedance_slopes(values, losses_ohm)
        volts: ComplexArray = np.empty_like(self.load_ohm)
        admittance: ComplexArray = np.zeros(len(self.frequency_hz), dtype=complex)
        dvolts, dadmittance = np.zeros_like(impedances), np.zeros_like(impedances)
        for way, rungs in enumerate(self.ways):
            steps = [tree_impedance(rung.tree, impedances) for rung in rungs]
            states = rung_states(rungs, steps, self.load_ohm[way])
            needed, drawn = states[0]
            volts[way] = self.polarity[way] / needed
            admittance += drawn / needed
            for rung, dneeded, dy in _step_slopes(rungs, steps, states):
                for part, share in _shares(rung.tree, impedances):
                    change = share * own[part]
                    dvolts[part] = -dneeded * change * volts[way] / needed
                    dadmittance[part] = dy * change
        return Answer(volts[np.newaxis], admittance[np.newaxis]), Slopes(dvolts, dadmittance)


def circuit_of(
    branches: Sequence[Branch], load_ohm: ComplexArray, frequency_hz: FloatArray
) -> tuple[Circuit, FloatArray, FloatArray]:
    """Make places of the parts of some branches.

    Parameters
    ----------
    branches
        The ways; a part of no ohm at all is left as it is. [-]
    load_ohm
        What the drivers of each way are together, [way, frequency]. [ohm]
    frequency_hz
        [frequency]. [Hz]

    Returns
    -------
    circuit, values, losses
        With the values [H, F or ohm] and losses [ohm] that the branches have, [part] in their order.
    """
    found: list[tuple[Sort, float, float]] = []
    way_of: list[int] = []
    ways = []
    for way, branch in enumerate(branches):
        rungs = tuple(Rung(step.kind, _tree(step.element, found)) for step in branch.steps)
        way_of += [way] * (len(found) - len(way_of))
        ways.append(rungs)
    values = np.array([value for _, value, _ in found])
    losses = np.array([loss for _, _, loss in found])
    if np.any(values <= 0):
        raise OutsideValidity(
            "a part of value zero has no neighbours to choose among", cure="leave the part out, or bypass it"
        )
    polarity = np.array([-1.0 if branch.reversed else 1.0 for branch in branches])
    sorts = tuple(sort for sort, _, _ in found)
    return Circuit(frequency_hz, sorts, tuple(ways), tuple(way_of), load_ohm, polarity), values, losses


def _tree(element: Element, found: list[tuple[Sort, float, float]]) -> Tree:
    if isinstance(element, Chain | Bank):
        return Joined(tuple(_tree(one, found) for one in element.elements), isinstance(element, Bank))
    if isinstance(element, Coil):
        found.append((Sort.COIL, element.henry, element.dcr_ohm))
    elif isinstance(element, Capacitor):
        found.append((Sort.CAPACITOR, element.farad, element.esr_ohm))
    else:
        assert isinstance(element, Resistor)
        found.append((Sort.RESISTOR, element.ohm, 0.0))
    return Slot(len(found) - 1)


def tree_impedance(tree: Tree, impedances: ComplexArray) -> ComplexArray:
    """Impedance of a tree, [..., frequency]."""
    if isinstance(tree, Slot):
        own: ComplexArray = impedances[..., tree.part, :]
        return own
    inner = [tree_impedance(one, impedances) for one in tree.inner]
    total = inner[0]
    if not tree.side_by_side:
        for one in inner[1:]:
            total = total + one
        return total
    total = 1 / total
    for one in inner[1:]:
        total = total + 1 / one
    return 1 / (total + OPEN_S)


def _shares(
    tree: Tree, impedances: ComplexArray, outer: ComplexArray | float = 1.0
) -> list[tuple[int, ComplexArray | float]]:
    """Give every part of a tree and how much its impedance changes that of the tree."""
    if isinstance(tree, Slot):
        return [(tree.part, outer)]
    found: list[tuple[int, ComplexArray | float]] = []
    whole = tree_impedance(tree, impedances) if tree.side_by_side else None
    for one in tree.inner:
        share = outer if whole is None else outer * (whole / tree_impedance(one, impedances)) ** 2
        found += _shares(one, impedances, share)
    return found


States: TypeAlias = list[tuple[ComplexArray, ComplexArray]]


def rung_states(rungs: Sequence[Rung], steps: Sequence[ComplexArray], load_ohm: ComplexArray) -> States:
    """Voltage and current before every step and at the load, where there is 1 V."""
    v: ComplexArray = np.ones_like(load_ohm)
    i: ComplexArray = v / load_ohm
    states = [(v, i)]
    for rung, z in zip(reversed(rungs), reversed(steps), strict=True):
        if rung.kind is Kind.SERIES:
            v = v + z * i
        else:
            i = i + v / z
        states.append((v, i))
    return states[::-1]


def _step_slopes(
    rungs: Sequence[Rung], steps: Sequence[ComplexArray], states: States
) -> list[tuple[Rung, ComplexArray, ComplexArray]]:
    """Change of the voltage needed at the terminals, and of the admittance there, per ohm of every step."""
    needed = states[0][0]
    a: ComplexArray = np.ones_like(needed)
    b: ComplexArray = np.zeros_like(needed)
    found = []
    for rung, z, (v, i) in zip(rungs, steps, states[1:], strict=True):
        if rung.kind is Kind.SERIES:
            found.append((rung, a * i, -((i / needed) ** 2)))
            b = b + a * z
        else:
            per_ohm = -1 / (z * z)  # of the admittance of the step
            found.append((rung, b * v * per_ohm, (v / needed) ** 2 * per_ohm))
            a = a + b / z
    return found
