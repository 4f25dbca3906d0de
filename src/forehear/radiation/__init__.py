"""Sound that a moving surface in a cabinet sends in every direction: the instant model and the reference solver."""

from forehear.radiation.behind import Ball, prepare_ball
from forehear.radiation.front import Diaphragm, Front, equal_volume_sphere_radius_m
from forehear.radiation.instant import Prepared, Standing, instant_pressure, prepare
from forehear.radiation.meshing import Face, Mesh, Piston, box_surface
from forehear.radiation.meshing_sphere import Cap, sphere_surface
from forehear.radiation.piston import dome_directivity, piston_directivity
from forehear.radiation.reference import Solver, solve_surface
from forehear.radiation.sphere import cap_on_sphere, point_on_sphere
from forehear.radiation.sweeps import Band, Fineness, Sweep

__all__ = [
    "Ball",
    "Band",
    "Cap",
    "Diaphragm",
    "Face",
    "Fineness",
    "Front",
    "Mesh",
    "Piston",
    "Prepared",
    "Solver",
    "Standing",
    "Sweep",
    "box_surface",
    "cap_on_sphere",
    "dome_directivity",
    "equal_volume_sphere_radius_m",
    "instant_pressure",
    "piston_directivity",
    "point_on_sphere",
    "prepare",
    "prepare_ball",
    "solve_surface",
    "sphere_surface",
]
