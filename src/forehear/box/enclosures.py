"""Enclosures as lumped circuits of air, and the ports that tune them."""

import math
from dataclasses import dataclass
from typing import TypeAlias

from forehear.ground.air import Air
from forehear.ground.arrays import ComplexArray
from forehear.ground.errors import OutsideValidity

FLANGED_END = 8 / (3 * math.pi)  # end correction of an end flush with a wall, in radii
FREE_END = 0.6133  # of an end that stands free, in radii
USUAL_LEAKAGE_Q = 7.0  # of vented boxes as built (common practice, after Small)


@dataclass(frozen=True)
class Closed:
    """A sealed box of air; lossless unless a lining is stated.

    `lining_q` is the quality of the air spring: its pressure leads by arctan(1/Q), at all frequencies alike.
    """

    volume_m3: float  # net: what driver, braces and lining take up is taken off
    lining_q: float = math.inf

    def __post_init__(self) -> None:
        _above_zero("a closed box", volume_m3=self.volume_m3, lining_q=self.lining_q)


@dataclass(frozen=True)
class Vented:
    """A box with a port; all its losses stand as one leak, as vented boxes behave."""

    volume_m3: float  # net, the port's own tube taken off as well
    tuned_hz: float
    port_area_m2: float  # of all ports together
    ql: float = USUAL_LEAKAGE_Q  # leak resistance over the reactance of the port at the tuning

    def __post_init__(self) -> None:
        sizes = {"volume_m3": self.volume_m3, "tuned_hz": self.tuned_hz, "port_area_m2": self.port_area_m2}
        _above_zero("a vented box", **sizes, ql=self.ql)


Enclosure: TypeAlias = Closed | Vented


def air_compliance_m3_pa(volume_m3: float, air: Air) -> float:
    """Acoustic compliance of a volume of air, compressed without exchange of heat [m3/Pa]."""
    return volume_m3 / (air.density_kg_m3 * air.sound_speed_m_s**2)


def port_mass_kg_m4(enclosure: Vented, air: Air) -> float:
    """Acoustic mass that tunes the box, end corrections included [kg/m4]."""
    return 1 / ((2 * math.pi * enclosure.tuned_hz) ** 2 * air_compliance_m3_pa(enclosure.volume_m3, air))


def port_admittance(enclosure: Vented, jw: ComplexArray, air: Air) -> ComplexArray:
    """Volume velocity out of port and leak per pascal in the box [m3/(s Pa)]."""
    mass = port_mass_kg_m4(enclosure, air)
    leak = enclosure.ql * 2 * math.pi * enclosure.tuned_hz * mass
    return 1 / (jw * mass) + 1 / leak


def air_admittance(enclosure: Enclosure, jw: ComplexArray, air: Air) -> ComplexArray:
    """Volume velocity that the air of a box takes up per pascal [m3/(s Pa)], port not counted."""
    spring: ComplexArray = jw * air_compliance_m3_pa(enclosure.volume_m3, air)
    if isinstance(enclosure, Closed) and math.isfinite(enclosure.lining_q):
        return spring / (1 + 1j / enclosure.lining_q)
    return spring


def effective_port_length_m(enclosure: Vented, air: Air) -> float:
    r"""Length of port that tunes a box, end corrections included.

    .. math:: L = \frac{c^2 S}{(2\pi f_b)^2 V}

    Parameters
    ----------
    enclosure
        Volume [m3], tuning [Hz] and area of the port [m2].
    air
        The air inside. [-]

    Returns
    -------
    float
        Effective length. [m]

    Source
    ------
    small-1973-vented, sec. 2: port short against the wavelength.

    Examples
    --------
    >>> box = Vented(0.020, 45.0, port_area_m2=math.pi * 0.03**2)
    >>> print(f"{effective_port_length_m(box, Air()) * 1e3:.1f} mm")
    208.3 mm
    """
    return port_mass_kg_m4(enclosure, air) * enclosure.port_area_m2 / air.density_kg_m3


def port_length_m(enclosure: Vented, air: Air, *, ports: int = 1, flanged_ends: int = 1) -> float:
    r"""Length to cut each of some equal round ports to.

    .. math:: l = L - n \, \tfrac{8}{3\pi} r - (2 - n) \, 0.6133 \, r

    Parameters
    ----------
    enclosure
        Volume [m3], tuning [Hz] and area of all ports together [m2].
    air
        The air inside. [-]
    ports
        Number of ports. [-]
    flanged_ends
        How many of the two ends are flush with a wall. [-]

    Returns
    -------
    float
        Physical length. [m]

    Raises
    ------
    OutsideValidity
        When the end corrections alone already tune the box lower.

    Source
    ------
    levine-schwinger-1948, free end, ka small; the flanged end is Rayleigh's 8/(3 pi).

    Examples
    --------
    >>> box = Vented(0.020, 45.0, port_area_m2=math.pi * 0.03**2)
    >>> print(f"{port_length_m(box, Air()) * 1e3:.1f} mm")
    164.4 mm
    """
    radius_m = math.sqrt(enclosure.port_area_m2 / (ports * math.pi))
    ends_m = (flanged_ends * FLANGED_END + (2 - flanged_ends) * FREE_END) * radius_m
    length_m = effective_port_length_m(enclosure, air) - ends_m
    if length_m <= 0:
        raise OutsideValidity(
            f"a port this wide cannot tune the box as high as {enclosure.tuned_hz:.3g} Hz, however short",
            cure="tune lower, or widen the port",
        )
    return length_m


def _above_zero(what: str, **values: float) -> None:
    for name, value in values.items():
        if not value > 0 or (
            math.isinf(value) and name not in ("lining_q", "ql")
        ):  # no loss is a quality too
            raise OutsideValidity(
                f"{what} needs {name} above zero, found {value!r}", cure="state its true value"
            )
