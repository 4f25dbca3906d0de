"""Cabinets that boundary-element libraries were asked about: the questions of tools/ask_oracles.py and of the tests."""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from forehear.ground.axes import Directions
from forehear.radiation import (
    CapsulePiston,
    Cone,
    Dome,
    Face,
    Mesh,
    Piston,
    box_surface,
    capsule_surface,
)

SOUND_SPEED_M_S = 343.2
DENSITY_KG_M3 = 1.2041
UNIT = Directions.joined(Directions.horizontal_orbit(), Directions.vertical_orbit()).unit[::2]

BOX_M = (0.22, 0.50, 0.25)
PISTONS = (Piston((0.0, -0.08), 0.065), Piston((0.0, 0.045), 0.035), Piston((0.0, 0.12), 0.0125))
BOX_HZ = (1000.0, 2000.0, 3500.0)


@dataclass(frozen=True)
class Asked:
    """A shape, the frequency it is asked about, and how finely the library solves it."""

    mesher: Callable[[float], Mesh]  # from the size of the triangles [m]
    hz: float
    elements_a_wavelength: float = 9.0

    def mesh(self, elements_a_wavelength: float) -> Mesh:
        return self.mesher(SOUND_SPEED_M_S / self.hz / elements_a_wavelength)


def box(element_m: float) -> Mesh:
    return box_surface(BOX_M, PISTONS, element_m)


def _rounded(element_m: float) -> Mesh:
    pistons = (Piston((0.0, -0.05), 0.06), Piston((0.0, 0.08), 0.03))
    return box_surface((0.2, 0.3, 0.2), pistons, element_m, edge_radius_m=0.012)


def _dome(element_m: float) -> Mesh:
    return box_surface((0.12, 0.16, 0.12), [Piston((0.0, 0.02), 0.025, shape=Dome(0.01))], element_m)


def _cone(element_m: float) -> Mesh:
    return box_surface((0.2, 0.3, 0.2), [Piston((0.0, 0.0), 0.065, shape=Cone(0.02, 0.02))], element_m)


def _side_woofer(element_m: float) -> Mesh:
    pistons = (Piston((0.0, 0.09), 0.03), Piston((0.0, -0.03), 0.065, Face.RIGHT))
    return box_surface((0.18, 0.3, 0.22), pistons, element_m)


def _capsule(element_m: float) -> Mesh:
    pistons = (CapsulePiston(0.05, 0.0, 0.04), CapsulePiston(-0.05, math.radians(90), 0.05))
    return capsule_surface(0.09, 0.2, pistons, element_m)


SHAPES: Mapping[str, Asked] = {
    "12 mm rounded box": Asked(_rounded, 2500.0),
    "axial dome": Asked(_dome, 5000.0),
    "cone 20 mm deep": Asked(_cone, 2500.0),
    "side woofer": Asked(_side_woofer, 1500.0),
    "capsule": Asked(_capsule, 2000.0),
}

# Cabinets of examples/attic-cinema with sharp edges: size, and the first driver of the lowest way.
CABINETS: Mapping[str, tuple[tuple[float, float, float], Piston]] = {
    "stack": ((0.21, 0.34, 0.29), Piston((0.0, -0.008), 0.066)),
    "trio": ((0.46, 0.22, 0.26), Piston((-0.13, 0.0), 0.0523)),
    "twin": ((0.42, 0.2, 0.26), Piston((-0.118, 0.0), 0.0523)),
}
STEP_HZ = (80.0, 200.0, 350.0, 600.0, 1000.0)


def cabinet(name: str, element_m: float) -> Mesh:
    size_m, piston = CABINETS[name]
    return box_surface(size_m, [piston], element_m)
