"""Air coils: how much inductance a winding has, and how much wire an inductance takes."""

import math
from dataclasses import dataclass

from forehear.ground.errors import OutsideValidity

COPPER_OHM_M = 1.7241e-8  # annealed copper at 20 C
COPPER_PER_KELVIN = 0.00393
INCH_M = 0.0254  # the 1928 formulas are in microhenry and inches
BROOKS_H_M = 1.6994e-6  # inductance over mean radius and turns squared, for the Brooks proportions
WINDING_PITCH = 1.1  # turn to turn over bare wire: enamel and looseness (common practice, no source)


@dataclass(frozen=True)
class CoilBuild:
    """How to wind a coil; turns are not rounded, so that its resistance goes smoothly with its inductance."""

    turns: float
    side_m: float  # width and depth of the square winding; the bore has the same radius
    wire_length_m: float
    dcr_ohm: float


def single_layer_inductance_h(radius_m: float, length_m: float, turns: float) -> float:
    r"""Inductance of a single-layer air coil.

    .. math:: L = (10^{-6} / 0.0254) \, r^2 N^2 / (9 r + 10 l)

    Parameters
    ----------
    radius_m
        Mean radius of the layer. [m]
    length_m
        Length of the winding. [m]
    turns
        Number of turns. [-]

    Returns
    -------
    float
        Inductance. [H]

    Source
    ------
    wheeler-1928, single layer: within about 1 % of the current sheet for l > 0.8 r.

    Examples
    --------
    >>> print(f"{single_layer_inductance_h(0.02, 0.05, 80) * 1e6:.1f} uH")
    148.2 uH
    """
    _above_zero(radius_m=radius_m, length_m=length_m, turns=turns)
    return 1e-6 / INCH_M * (radius_m * turns) ** 2 / (9 * radius_m + 10 * length_m)


def multilayer_inductance_h(mean_radius_m: float, length_m: float, depth_m: float, turns: float) -> float:
    r"""Inductance of a multi-layer air coil.

    .. math:: L = (0.8 \cdot 10^{-6} / 0.0254) \, a^2 N^2 / (6 a + 9 l + 10 c)

    Parameters
    ----------
    mean_radius_m
        Mean radius a of the winding. [m]
    length_m
        Length l of the winding. [m]
    depth_m
        Radial depth c of the winding. [m]
    turns
        Number of turns. [-]

    Returns
    -------
    float
        Inductance. [H]

    Source
    ------
    wheeler-1928, multi-layer: within about 1 % when the three terms below are alike.

    Examples
    --------
    >>> print(f"{multilayer_inductance_h(0.025, 0.02, 0.02, 200) * 1e3:.3f} mH")
    1.486 mH
    """
    _above_zero(mean_radius_m=mean_radius_m, length_m=length_m, depth_m=depth_m, turns=turns)
    return 0.8e-6 / INCH_M * (mean_radius_m * turns) ** 2 / (6 * mean_radius_m + 9 * length_m + 10 * depth_m)


def brooks_inductance_h(turns: float, side_m: float) -> float:
    r"""Inductance of a Brooks coil: square winding, bore twice its side; the most henry for the wire.

    .. math:: L = 1.6994 \cdot 10^{-6} \, a N^2, \quad a = 1.5 c

    Parameters
    ----------
    turns
        Number of turns N. [-]
    side_m
        Side c of the winding's square section. [m]

    Returns
    -------
    float
        Inductance. [H]

    Source
    ------
    grover-1946, ch. 13: Brooks proportions, many turns that fill the section.

    Examples
    --------
    >>> print(f"{brooks_inductance_h(180, 0.014) * 1e3:.3f} mH")
    1.156 mH
    """
    _above_zero(turns=turns, side_m=side_m)
    return BROOKS_H_M * 1.5 * side_m * turns**2


def brooks_coil(
    inductance_h: float, wire_diameter_m: float, *, pitch_ratio: float = WINDING_PITCH
) -> CoilBuild:
    r"""Wind an inductance as a Brooks coil of round copper wire: its turns, wire and resistance.

    With p the pitch of the turns, N = (c/p)^2 and so

    .. math:: c = [L p^4 / (1.5 \cdot 1.6994 \cdot 10^{-6})]^{1/5}, \quad l = 2\pi \cdot 1.5 c N

    Parameters
    ----------
    inductance_h
        Wanted inductance. [H]
    wire_diameter_m
        Diameter of the bare copper. [m]
    pitch_ratio
        Turn-to-turn pitch over the bare diameter. [-]

    Returns
    -------
    CoilBuild
        Turns [-], side [m], length of wire [m], resistance at 20 C [ohm].

    Source
    ------
    grover-1946, ch. 13: Brooks proportions, turns in a square lattice; skin effect left out.

    Examples
    --------
    >>> found = brooks_coil(1.0e-3, 1.0e-3)
    >>> print(f"{found.turns:.0f} turns, {found.wire_length_m:.1f} m, {found.dcr_ohm:.2f} ohm")
    166 turns, 22.2 m, 0.49 ohm
    """
    _above_zero(inductance_h=inductance_h, wire_diameter_m=wire_diameter_m, pitch_ratio=pitch_ratio)
    pitch_m = pitch_ratio * wire_diameter_m
    side_m = (inductance_h * pitch_m**4 / (1.5 * BROOKS_H_M)) ** 0.2
    turns = (side_m / pitch_m) ** 2
    wire_length_m = 2 * math.pi * 1.5 * side_m * turns
    return CoilBuild(turns, side_m, wire_length_m, copper_wire_resistance_ohm(wire_length_m, wire_diameter_m))


def copper_wire_resistance_ohm(length_m: float, diameter_m: float, *, temperature_c: float = 20.0) -> float:
    r"""Direct-current resistance of a round copper wire.

    .. math:: R = \rho_{20} [1 + 0.00393 (T - 20)] \, l / (\pi d^2 / 4)

    Parameters
    ----------
    length_m
        Length of wire. [m]
    diameter_m
        Diameter of the bare copper. [m]
    temperature_c
        Temperature of the wire. [C]

    Returns
    -------
    float
        Resistance. [ohm]

    Source
    ------
    iec-60028, annealed copper; linear in temperature near 20 C.

    Examples
    --------
    >>> print(f"{copper_wire_resistance_ohm(1.0, 1.0e-3) * 1e3:.2f} milliohm")
    21.95 milliohm
    """
    _above_zero(length_m=length_m, diameter_m=diameter_m)
    warm = 1 + COPPER_PER_KELVIN * (temperature_c - 20.0)
    return COPPER_OHM_M * warm * length_m / (math.pi * diameter_m**2 / 4)


def _above_zero(**values: float) -> None:
    for name, value in values.items():
        if not (math.isfinite(value) and value > 0):
            raise OutsideValidity(
                f"a coil needs {name} above zero, found {value!r}", cure="state its true value"
            )
