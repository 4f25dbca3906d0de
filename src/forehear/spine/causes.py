"""Why a seat has a hole in the direct sound: causes removed in all combinations, and shared out fairly."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np

from forehear.ground.arrays import ComplexArray, FloatArray
from forehear.ground.axes import FrequencyGrid
from forehear.ground.flowing import DriveVoltage
from forehear.judge import EarSmoothing, shapley_shares
from forehear.radiation import Diaphragm
from forehear.spine.prediction import CauseShare
from forehear.spine.seats import direct_pressure, on_axis_m
from forehear.spine.speaker import Speaker

SPACING = "spacing of the drivers"
SIZE = "size of the diaphragms"
CROSSING = "phase at the crossing"
EDGES = "cabinet edges"
SHAPES = (SPACING, SIZE, EDGES)  # causes that change what the drivers radiate
CAUSES = (SPACING, SIZE, CROSSING, EDGES)
DEEPEST_DB = 20.0  # levels below this are no longer told apart


@dataclass(frozen=True)
class Shares:
    """The causes of one direct hole."""

    shares: tuple[CauseShare, ...]  # largest first
    rest_db: float  # what stays when every cause is removed


def share_causes(
    speaker: Speaker,
    voltage: DriveVoltage,
    ears_m: FloatArray,
    holes_hz: Sequence[Sequence[float]],
    smoothing: EarSmoothing,
) -> tuple[tuple[Shares, ...], ...]:
    """Share the direct holes of some seats out among their causes.

    The worth of a combination of causes is the ear-smoothed level on axis minus that toward the seat, both computed
    with just these causes present, at the frequency of the full hole, held to +-20 dB. Shares are Shapley values: the
    mean gain of adding a cause, over all orders.

    Parameters
    ----------
    ears_m
        The seats about the reference point, speaker axes, [seat, (x, y, z)]. [m]
    holes_hz
        Frequencies of the holes to explain, of each seat. [Hz]
    """
    depth: dict[frozenset[str], FloatArray] = {}
    for count in range(len(SHAPES) + 1):
        for present in map(frozenset, combinations(SHAPES, count)):
            per_way = _per_way_at(speaker, voltage, ears_m, present)
            depth[present] = _depth_db(np.abs(per_way).sum(axis=0), smoothing)
            depth[present | {CROSSING}] = _depth_db(per_way.sum(axis=0), smoothing)
    grid = speaker.grid
    return tuple(
        tuple(
            _shares_at({present: curves[seat] for present, curves in depth.items()}, grid, hz) for hz in holes
        )
        for seat, holes in enumerate(holes_hz)
    )


def _shares_at(depth: dict[frozenset[str], FloatArray], grid: FrequencyGrid, hole_hz: float) -> Shares:
    band = int(np.argmin(np.abs(np.log(grid.frequency_hz / hole_hz))))
    value = {
        present: float(np.clip(curve[band], -DEEPEST_DB, DEEPEST_DB)) for present, curve in depth.items()
    }
    shares = shapley_shares(value, CAUSES)
    ordered = sorted(shares.items(), key=lambda item: -item[1])
    return Shares(tuple(CauseShare(cause, share) for cause, share in ordered), value[frozenset()])


def _per_way_at(
    speaker: Speaker, voltage: DriveVoltage, ears_m: FloatArray, present: frozenset[str]
) -> ComplexArray:
    """Pressure of each way on axis and toward every seat, with only some causes of shape, [way, ear, frequency].

    The ears are first those on axis, one as far away as each seat, then the seats.
    """
    shape = speaker.diaphragms
    if SPACING not in present:
        shape = _drawn_together(speaker, voltage, shape)
    if SIZE not in present:
        shape = tuple(replace(d, radius_m=0.0, dome_height_m=0.0) for d in shape)
    changed = speaker.with_shape(shape, edges=EDGES in present)
    ahead_m = on_axis_m(np.linalg.norm(ears_m, axis=1))
    pressure = direct_pressure(changed, np.concatenate([ahead_m, ears_m]))
    return _per_way(changed, pressure * speaker.source_velocity(voltage)[:, np.newaxis])


def _depth_db(total: ComplexArray | FloatArray, smoothing: EarSmoothing) -> FloatArray:
    """Ear-smoothed level on axis minus that toward the seat, [seat, frequency], of amplitudes [ear, frequency]."""
    heard = np.maximum(smoothing.smooth(np.abs(total) ** 2), np.finfo(float).tiny)
    ahead, aside = np.split(heard, 2)
    depth: FloatArray = 10 * np.log10(ahead / aside)
    return depth


def _way_of_source(speaker: Speaker) -> tuple[int, ...]:
    """Index of the branch that drives each source; a port belongs to the way of the drivers that drive it."""
    way_of_driver = {name: way for way, branch in enumerate(speaker.branches) for name in branch.drivers}
    strongest = np.abs(speaker.motion.velocity_m_s_v).sum(axis=2).argmax(axis=1)
    return tuple(way_of_driver[speaker.drivers[driver]] for driver in strongest)


def _per_way(speaker: Speaker, pressure: ComplexArray) -> ComplexArray:
    """Sum source pressures [source, ear, frequency] to ways [way, ear, frequency]."""
    ways = _way_of_source(speaker)
    summed = np.zeros((len(speaker.branches), *pressure.shape[1:]), dtype=complex)
    for source, way in enumerate(ways):
        summed[way] += pressure[source]
    return summed


def _drawn_together(
    speaker: Speaker, voltage: DriveVoltage, shape: tuple[Diaphragm, ...]
) -> tuple[Diaphragm, ...]:
    """Move the diaphragms of each way to the way's volume-velocity centroid (over its own pass band)."""
    area = np.array([d.area_m2 for d in shape])
    flow = area * np.abs(speaker.source_velocity(voltage)).max(axis=1)
    ways = np.array(_way_of_source(speaker))
    centres = np.array([d.centre_m for d in shape])
    depths = np.array([d.set_back_m for d in shape])
    moved = []
    for source, diaphragm in enumerate(shape):
        weight = np.where(ways == ways[source], flow, 0.0)
        weight = weight / weight.sum()
        y, z = weight @ centres
        moved.append(replace(diaphragm, centre_m=(float(y), float(z)), set_back_m=float(weight @ depths)))
    return tuple(moved)
