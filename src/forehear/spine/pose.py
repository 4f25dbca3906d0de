"""How a speaker stands in the room, and where seats lie as it sees them."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from forehear.ground.arrays import FloatArray
from forehear.room import Patch
from forehear.spine.speaker import Speaker


@dataclass(frozen=True, eq=False)
class Reflector:
    """A board or screen near a speaker, by the name the brief gives it."""

    name: str
    patch: Patch


@dataclass(frozen=True, eq=False)
class Pose:
    """How one speaker stands in the room, and what reflects near it."""

    placement: str
    middle_of_front_m: tuple[float, float, float]  # room axes
    turn_rad: float  # counter-clockwise seen from above; 0 faces along x
    tilt_rad: float  # up
    reflectors: tuple[Reflector, ...] = ()

    @cached_property
    def rotation(self) -> FloatArray:
        """The matrix that takes speaker axes to room axes."""
        ct, st = np.cos(self.turn_rad), np.sin(self.turn_rad)
        cu, su = np.cos(self.tilt_rad), np.sin(self.tilt_rad)
        turn = np.array([[ct, -st, 0.0], [st, ct, 0.0], [0.0, 0.0, 1.0]])
        tilt = np.array([[cu, 0.0, -su], [0.0, 1.0, 0.0], [su, 0.0, cu]])
        rotation: FloatArray = turn @ tilt
        return rotation

    def in_room_m(self, speaker: Speaker, position_m: FloatArray) -> FloatArray:
        """Bring positions about the reference point, [..., 3], into the room."""
        from_middle = np.asarray(position_m) - np.array([0.0, *speaker.middle_m])
        placed: FloatArray = np.array(self.middle_of_front_m) + from_middle @ self.rotation.T
        return placed


@dataclass(frozen=True)
class Bearing:
    """Where a seat lies, seen from the speaker's reference point."""

    azimuth_rad: float
    elevation_rad: float
    distance_m: float


def bearing(speaker: Speaker, pose: Pose, ear_m: FloatArray) -> Bearing:
    """Return where an ear lies as the speaker sees it."""
    offset = (ear_m - pose.in_room_m(speaker, np.zeros(3))) @ pose.rotation
    distance = float(np.linalg.norm(offset))
    return Bearing(float(np.arctan2(offset[1], offset[0])), float(np.arcsin(offset[2] / distance)), distance)
