"""Speakers without parts: ideal volume velocities given straight to the spine, on shapes of our own."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from forehear.ground.air import Air
from forehear.ground.axes import FrequencyGrid
from forehear.ground.flowing import DriverImpedance, DriveVoltage, SourceMotion
from forehear.network import Branch
from forehear.radiation import Diaphragm, Front
from forehear.spine.speaker import Speaker

GRID = FrequencyGrid.standard()
HZ = GRID.frequency_hz


@dataclass(frozen=True, eq=False)
class IdealWay:
    """Diaphragms that share one acoustic voltage equally."""

    shapes: Mapping[str, Diaphragm]
    volts: NDArray[np.complex128]


def disc(y: float, z: float, diameter_m: float) -> Diaphragm:
    return Diaphragm((y, z), diameter_m / 2, np.pi * diameter_m**2 / 4)


def ideal_speaker(
    ways: Mapping[str, IdealWay], front: Front, middle_m: tuple[float, float] = (0.0, 0.0)
) -> tuple[Speaker, DriveVoltage]:
    """A volt makes the same level from every diaphragm, at every frequency."""
    shapes = {name: shape for way in ways.values() for name, shape in way.shapes.items()}
    names: Sequence[str] = tuple(shapes)
    volts = [way.volts / len(way.shapes) for way in ways.values() for _ in way.shapes]
    motion = np.zeros((len(names), len(names), len(GRID)), dtype=complex)
    for index, shape in enumerate(shapes.values()):
        motion[index, index] = 1 / (2j * np.pi * HZ * shape.area_m2)
    ohm = np.broadcast_to(8.0 * np.eye(len(names))[..., np.newaxis], motion.shape).astype(complex)
    speaker = Speaker(
        air=Air(),
        grid=GRID,
        front=front,
        middle_m=middle_m,
        drivers=tuple(names),
        sources=tuple(names),
        diaphragms=tuple(shapes.values()),
        motion=SourceMotion(GRID, tuple(names), tuple(names), motion),
        impedance=DriverImpedance(GRID, tuple(names), ohm),
        branches=tuple(Branch(name, tuple(way.shapes)) for name, way in ways.items()),
    )
    return speaker, DriveVoltage(GRID, tuple(names), np.array(volts))
