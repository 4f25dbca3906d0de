"""Sound that a moving surface in a cabinet sends in every direction: the instant model and the reference solver."""

from importlib import import_module
from typing import TYPE_CHECKING

from forehear.radiation.behind import Ball, prepare_ball
from forehear.radiation.front import Diaphragm, Front, equal_volume_sphere_radius_m
from forehear.radiation.instant import Prepared, Standing, instant_pressure, prepare
from forehear.radiation.piston import dome_directivity, piston_directivity
from forehear.radiation.sphere import cap_on_sphere, point_near_sphere, point_on_sphere

if TYPE_CHECKING:
    from forehear.radiation.meshing import Face, Mesh, Piston, box_surface
    from forehear.radiation.meshing_capsule import CapsulePiston, capsule_surface
    from forehear.radiation.meshing_import import ImportedShape, Patch, imported_surface, read_surface
    from forehear.radiation.meshing_relief import Cone, Dome, Flange, Waveguide
    from forehear.radiation.meshing_sphere import Cap, sphere_surface
    from forehear.radiation.reference import Solver, solve_surface
    from forehear.radiation.sweeps import Band, Fineness, Sweep

_WHEN_ASKED = {  # the reference solver and its meshers cost a tenth of a second to load
    **dict.fromkeys(("Face", "Mesh", "Piston", "box_surface"), "meshing"),
    **dict.fromkeys(("CapsulePiston", "capsule_surface"), "meshing_capsule"),
    **dict.fromkeys(("ImportedShape", "Patch", "imported_surface", "read_surface"), "meshing_import"),
    **dict.fromkeys(("Cone", "Dome", "Flange", "Waveguide"), "meshing_relief"),
    **dict.fromkeys(("Cap", "sphere_surface"), "meshing_sphere"),
    **dict.fromkeys(("Solver", "solve_surface"), "reference"),
    **dict.fromkeys(("Band", "Fineness", "Sweep"), "sweeps"),
}

__all__ = [
    "Ball",
    "Band",
    "Cap",
    "CapsulePiston",
    "Cone",
    "Diaphragm",
    "Dome",
    "Face",
    "Fineness",
    "Flange",
    "Front",
    "ImportedShape",
    "Mesh",
    "Patch",
    "Piston",
    "Prepared",
    "Solver",
    "Standing",
    "Sweep",
    "Waveguide",
    "box_surface",
    "cap_on_sphere",
    "capsule_surface",
    "dome_directivity",
    "equal_volume_sphere_radius_m",
    "imported_surface",
    "instant_pressure",
    "piston_directivity",
    "point_near_sphere",
    "point_on_sphere",
    "prepare",
    "prepare_ball",
    "read_surface",
    "solve_surface",
    "sphere_surface",
]


def __getattr__(name: str) -> object:
    """Load the reference solver when something of it is first asked for."""
    if name not in _WHEN_ASKED:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{_WHEN_ASKED[name]}"), name)
