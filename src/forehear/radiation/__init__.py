"""Sound that a moving surface in a cabinet sends in every direction: the instant model."""

from forehear.radiation.behind import Ball, prepare_ball
from forehear.radiation.front import Diaphragm, Front, equal_volume_sphere_radius_m
from forehear.radiation.instant import Prepared, Standing, instant_pressure, prepare
from forehear.radiation.piston import dome_directivity, piston_directivity
from forehear.radiation.sphere import cap_on_sphere, point_on_sphere

__all__ = [
    "Ball",
    "Diaphragm",
    "Front",
    "Prepared",
    "Standing",
    "cap_on_sphere",
    "dome_directivity",
    "equal_volume_sphere_radius_m",
    "instant_pressure",
    "piston_directivity",
    "point_on_sphere",
    "prepare",
    "prepare_ball",
]
