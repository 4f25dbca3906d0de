"""The parts of a passive network and their impedance; parts may be nested to any depth."""

import math
from dataclasses import dataclass
from enum import StrEnum
from typing import TypeAlias

import numpy as np

from forehear.ground.arrays import ComplexArray, FloatArray
from forehear.ground.errors import OutsideValidity

OPEN_OHM = 1e15  # stands for no connection at all: a lossless tank met exactly at its resonance


@dataclass(frozen=True)
class Resistor:
    """A resistor; zero ohm is a plain wire."""

    ohm: float

    def __post_init__(self) -> None:
        _at_least_zero("a resistor", ohm=self.ohm)


@dataclass(frozen=True)
class Coil:
    """An inductor in series with the direct-current resistance of its wire."""

    henry: float
    dcr_ohm: float = 0.0

    def __post_init__(self) -> None:
        _at_least_zero("a coil", henry=self.henry, dcr_ohm=self.dcr_ohm)


@dataclass(frozen=True)
class Capacitor:
    """A capacitor in series with its equivalent series resistance."""

    farad: float
    esr_ohm: float = 0.0

    def __post_init__(self) -> None:
        _at_least_zero("a capacitor", farad=self.farad, esr_ohm=self.esr_ohm)
        if self.farad == 0:
            raise OutsideValidity("a capacitor of 0 F is no connection", cure="leave the capacitor out")


@dataclass(frozen=True)
class Chain:
    """Elements one after the other: the same current through all."""

    elements: tuple["Element", ...]

    def __post_init__(self) -> None:
        _at_least_one("a chain", self.elements)


@dataclass(frozen=True)
class Bank:
    """Elements side by side: the same voltage across all."""

    elements: tuple["Element", ...]

    def __post_init__(self) -> None:
        _at_least_one("a bank", self.elements)


Element: TypeAlias = Resistor | Coil | Capacitor | Chain | Bank


class Kind(StrEnum):
    """Where a step of a branch sits."""

    SERIES = "series"  # in the way of the current
    SHUNT = "shunt"  # across, from the live wire to the return


@dataclass(frozen=True)
class Step:
    """One step of a branch, met on the way from the amplifier to the driver."""

    kind: Kind
    element: Element


def element_impedance(element: Element, frequency_hz: FloatArray) -> ComplexArray:
    r"""Impedance of an element, however deeply nested.

    .. math::
        Z = R, \quad j\omega L + R_{dc}, \quad 1/(j\omega C) + R_{es},
        \quad \sum Z_i \text{ (chain)}, \quad 1 / \sum (1/Z_i) \text{ (bank)}

    Parameters
    ----------
    element
        A part, or a chain or bank of parts. [-]
    frequency_hz
        Frequency, above zero. [Hz]

    Returns
    -------
    array
        Impedance, [frequency]. [ohm]

    Source
    ------
    desoer-kuh-1969, ch. 7: linear parts, sinusoidal steady state.

    Examples
    --------
    A lossless coil and capacitor side by side at their resonance, 1000 ohm across them:

    >>> tank = Bank((Coil(1e-3), Capacitor(1e-6), Resistor(1000.0)))
    >>> print(f"{element_impedance(tank, np.array([5032.92]))[0].real:.1f} ohm")
    1000.0 ohm
    """
    return impedance_at(element, np.asarray(2j * np.pi * frequency_hz, dtype=np.complex128))


def impedance_at(element: Element, jw: ComplexArray) -> ComplexArray:
    """Impedance [ohm] at j times the angular frequency; what `element_impedance` says, for inner loops."""
    match element:
        case Resistor():
            return np.full(jw.shape, complex(element.ohm))
        case Coil():
            return jw * element.henry + element.dcr_ohm
        case Capacitor():
            return 1 / (jw * element.farad) + element.esr_ohm
        case Chain():
            return _one_after_the_other([impedance_at(part, jw) for part in element.elements])
        case Bank():
            return _side_by_side([impedance_at(part, jw) for part in element.elements])


def _one_after_the_other(impedances: list[ComplexArray]) -> ComplexArray:
    total: ComplexArray = np.sum(np.stack(impedances), axis=0)
    return total


def _side_by_side(impedances: list[ComplexArray]) -> ComplexArray:
    # Whole arrays nearly never hold a short, so that case is looked for once and kept off the fast way.
    stacked = np.stack(impedances)
    shorted = np.any(stacked == 0, axis=0)
    if np.any(shorted):
        stacked = np.where(shorted, 1.0, stacked)
    admittance: ComplexArray = np.sum(1 / stacked, axis=0)
    if not np.all(admittance):
        admittance = np.where(admittance == 0, 1 / OPEN_OHM, admittance)
    result: ComplexArray = 1 / admittance
    return np.where(shorted, 0.0, result) if np.any(shorted) else result


def _at_least_zero(what: str, **values: float) -> None:
    for name, value in values.items():
        if not (math.isfinite(value) and value >= 0):
            raise OutsideValidity(
                f"{what} has {name} {value!r}; it must be zero or more", cure="state its true value"
            )


def _at_least_one(what: str, elements: tuple["Element", ...]) -> None:
    if not elements:
        raise OutsideValidity(f"{what} holds no elements", cure="name at least one part in it")
