"""Where each seat is as the speaker sees it, and what arrives there."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from forehear.ground.arrays import ComplexArray, FloatArray
from forehear.ground.store import KeptResults, content_key
from forehear.room import (
    SURFACES,
    Arrived,
    Shoebox,
    arrived,
    first_order_paths,
    reflection_factor,
    shared_energy,
)
from forehear.spine.speaker import SAME_DIGITS, Speaker

EVERYTHING = tuple(range(1 + len(SURFACES)))  # the direct sound, then the six first reflections
NEARLY = 0.004  # slopes of departures toward the axis that differ less are one while a hand moves
PARTS_OF_BAND = 2  # reflections change so fast within a band that the ear's windows need finer ends


_arrived: KeptResults[Arrived] = KeptResults(most=60)  # a sixth of a megabyte each
_shared: KeptResults[ComplexArray] = KeptResults(most=400)  # eight kilobytes each


def split(values: ComplexArray) -> ComplexArray:
    """Hold values of bands [..., frequency] through all parts of each band."""
    held: ComplexArray = np.repeat(values, PARTS_OF_BAND, axis=-1)
    return held


@dataclass(frozen=True)
class Pose:
    """How one speaker stands in the room."""

    placement: str
    middle_of_front_m: tuple[float, float, float]  # room axes
    turn_rad: float  # counter-clockwise seen from above; 0 faces along x
    tilt_rad: float  # up

    def rotation(self) -> FloatArray:
        """Return the matrix that takes speaker axes to room axes."""
        ct, st = np.cos(self.turn_rad), np.sin(self.turn_rad)
        cu, su = np.cos(self.tilt_rad), np.sin(self.tilt_rad)
        turn = np.array([[ct, -st, 0.0], [st, ct, 0.0], [0.0, 0.0, 1.0]])
        tilt = np.array([[cu, 0.0, -su], [0.0, 1.0, 0.0], [su, 0.0, cu]])
        rotation: FloatArray = turn @ tilt
        return rotation

    def in_room_m(self, speaker: Speaker, position_m: FloatArray) -> FloatArray:
        """Bring positions about the reference point, [..., 3], into the room."""
        from_middle = np.asarray(position_m) - np.array([0.0, *speaker.middle_m])
        placed: FloatArray = np.array(self.middle_of_front_m) + from_middle @ self.rotation().T
        return placed


@dataclass(frozen=True)
class Bearing:
    """Where a seat lies, seen from the speaker's reference point."""

    azimuth_rad: float
    elevation_rad: float
    distance_m: float


def bearing(speaker: Speaker, pose: Pose, ear_m: FloatArray) -> Bearing:
    """Return where an ear lies as the speaker sees it."""
    offset = (ear_m - pose.in_room_m(speaker, np.zeros(3))) @ pose.rotation()
    distance = float(np.linalg.norm(offset))
    return Bearing(float(np.arctan2(offset[1], offset[0])), float(np.arcsin(offset[2] / distance)), distance)


@dataclass(frozen=True, eq=False)
class Arrivals:
    """Sound of each source on its ways to one ear: the direct way and the six first reflections."""

    keys: tuple[str, ...]  # [source] of all that decides what it sends here
    amplitude_pa_s_m: ComplexArray  # [source, path, frequency], at 1 m from the source
    distance_m: FloatArray  # [source, path]
    reflection: FloatArray  # [path, frequency]

    def form(self, speaker: Speaker) -> ComplexArray:
        """Energy at the ear as a Hermitian form in the driver voltages.

        Returns
        -------
        array
            [part of a band, driver, driver], on the speaker's grid split into `PARTS_OF_BAND`. [Pa2/V2]
        """
        motion = split(speaker.motion.velocity_m_s_v).transpose(2, 0, 1)  # [part of a band, source, driver]
        in_velocity = self._in_velocity(speaker).transpose(2, 0, 1)
        in_voltage: ComplexArray = motion.conj().transpose(0, 2, 1) @ (in_velocity @ motion)
        return in_voltage

    def _in_velocity(self, speaker: Speaker) -> ComplexArray:
        """Form in the source velocities, [source, source, part of a band]; only pairs that changed are solved."""
        pairs = {
            (one, other): f"{self.keys[one]} {self.keys[other]}"
            for one in range(len(self.keys))
            for other in range(one, len(self.keys))
        }

        def solved(missing: list[int]) -> list[ComplexArray]:
            wanted = [list(pairs)[place] for place in missing]
            return list(self._between(wanted, speaker))

        found = _shared.get_all(list(pairs.values()), solved)
        form = np.empty((len(self.keys), len(self.keys), found[0].size), dtype=complex)
        for (one, other), shared in zip(pairs, found, strict=True):
            form[one, other] = shared
            form[other, one] = shared.conj()
        return form

    def _between(self, wanted: list[tuple[int, int]], speaker: Speaker) -> Iterator[ComplexArray]:
        """Energies between pairs of sources; the source that is in most of them is held against all at once."""
        arriving = [self._of_source(source, speaker) for source in range(len(self.keys))]
        inside = [source for pair in wanted for source in set(pair)]
        often = max(set(inside), key=inside.count)
        mates = sorted({one if other == often else other for one, other in wanted if often in (one, other)})
        at_once = dict(
            zip(mates, shared_energy(arriving[often], [arriving[mate] for mate in mates]), strict=True)
        )
        for one, other in wanted:
            if one == often:
                yield at_once[other]
            elif other == often:
                yield at_once[one].conj()
            else:
                yield shared_energy(arriving[one], [arriving[other]])[0]

    def _of_source(self, source: int, speaker: Speaker) -> Arrived:
        return _arrived.get(
            self.keys[source],
            lambda: arrived(
                speaker.grid.split(PARTS_OF_BAND),
                split(self.amplitude_pa_s_m[source]),
                self.distance_m[source],
                np.repeat(self.reflection, PARTS_OF_BAND, axis=-1),
                speaker.air,
            ),
        )


def arrivals(
    speaker: Speaker, pose: Pose, shoebox: Shoebox, ears_m: FloatArray
) -> tuple[tuple[Arrivals, ...], ComplexArray]:
    """Sound of every source on its ways to every ear, and straight ahead.

    Parameters
    ----------
    ears_m
        Room axes, [ear, 3]. [m]

    Returns
    -------
    arrivals, ahead
        One `Arrivals` an ear; and the pressure on axis as far away as each ear, as `direct_pressure` gives it,
        [source, ear, frequency]. [Pa s/m]
    """
    rotation, sources = pose.rotation(), range(len(speaker.sources))
    standing = [pose.in_room_m(speaker, speaker.position_m(source)) for source in sources]
    paths = [[first_order_paths(shoebox, place, ear) for place in standing] for ear in ears_m]
    ahead_m = on_axis_m(np.linalg.norm(ears_m - pose.in_room_m(speaker, np.zeros(3)), axis=1))
    straight = direct_departures(speaker, ahead_m)
    walls = [np.array([one.departure_m @ rotation for one in row]) for row in paths]
    each_ahead = [straight[:, [ear]] for ear in range(len(ears_m))]
    solved = speaker.own_pressures([*walls, *each_ahead])
    amplitudes, ahead = solved[: len(walls)], np.concatenate(solved[len(walls) :], axis=1)
    frequency_hz = speaker.grid.frequency_hz
    reflection = np.stack([reflection_factor(shoebox, s, frequency_hz) for s in paths[0][0].surface])
    found = [
        Arrivals(
            tuple(
                content_key(speaker.key_of(source), np.round(rows, SAME_DIGITS), reflection)
                for source, rows in enumerate(departures)
            ),
            amplitude,
            np.array([one.distance_m for one in row]),
            reflection,
        )
        for amplitude, departures, row in zip(amplitudes, walls, paths, strict=True)
    ]
    return tuple(found), _flown(speaker, ahead, straight, ahead_m)


def on_axis_m(distance_m: FloatArray) -> FloatArray:
    """Points straight ahead at some distances, speaker axes, [point, 3]."""
    points: FloatArray = np.asarray(distance_m)[:, np.newaxis] * np.array([1.0, 0.0, 0.0])
    return points


def direct_departures(speaker: Speaker, ears_m: FloatArray) -> FloatArray:
    """Vectors from every source to points about the reference point, [source, ear, 3]."""
    positions = np.array([speaker.position_m(source) for source in range(len(speaker.sources))])
    departures: FloatArray = ears_m[np.newaxis] - positions[:, np.newaxis]
    return departures


def direct_pressure(speaker: Speaker, ears_m: FloatArray) -> ComplexArray:
    """Direct sound at points about the reference point (speaker axes), the flight time to the origin taken out.

    Parameters
    ----------
    ears_m
        Points [ear, 3]. [m]

    Returns
    -------
    array
        [source, ear, frequency]. [Pa s/m]
    """
    departures = direct_departures(speaker, ears_m)
    return _flown(speaker, speaker.own_pressure(departures), departures, ears_m)


def nearly_direct_pressure(speaker: Speaker, ears_m: FloatArray) -> tuple[ComplexArray, ComplexArray]:
    """Direct sound at points as `direct_pressure` gives it, and nearly that as far away on axis.

    What leaves a source toward the axis is taken in the nearest of some directions, so that little is solved again
    when the reference point moves; the flight is exact.

    Returns
    -------
    direct, ahead
        [source, ear, frequency]. [Pa s/m]
    """
    ahead_m = on_axis_m(np.linalg.norm(ears_m, axis=1))
    ways = direct_departures(speaker, ears_m), direct_departures(speaker, ahead_m)
    slope = np.round(ways[1][..., 1:] / ways[1][..., :1] / NEARLY) * NEARLY
    nearly = np.concatenate([np.ones_like(slope[..., :1]), slope], axis=2)
    direct, *each = speaker.own_pressures([ways[0], *(nearly[:, [ear]] for ear in range(len(ears_m)))])
    ahead = np.concatenate(each, axis=1)
    return _flown(speaker, direct, ways[0], ears_m), _flown(speaker, ahead, ways[1], ahead_m)


def at_seats(speaker: Speaker, found: Sequence[Arrivals], ears_m: FloatArray) -> ComplexArray:
    """Direct sound out of arrivals, as `direct_pressure` gives it; points about the reference point."""
    amplitude = np.stack([arriving.amplitude_pa_s_m[:, 0] for arriving in found], axis=1)
    return _flown(speaker, amplitude, direct_departures(speaker, ears_m), ears_m)


def _flown(
    speaker: Speaker, amplitude: ComplexArray, departures: FloatArray, ears_m: FloatArray
) -> ComplexArray:
    """Let sound fly its true distance, less the flight from the reference point."""
    distance = np.linalg.norm(departures, axis=2)
    late_m = distance - np.linalg.norm(ears_m, axis=1)
    wave_number = 2 * np.pi * speaker.grid.frequency_hz / speaker.air.sound_speed_m_s
    flight = np.exp(-1j * late_m[..., np.newaxis] * wave_number) / distance[..., np.newaxis]
    pressure: ComplexArray = amplitude * flight
    return pressure
