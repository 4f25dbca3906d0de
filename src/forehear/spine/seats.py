"""What arrives at each seat."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from forehear.ground.arrays import ComplexArray, FloatArray
from forehear.ground.axes import FrequencyGrid
from forehear.ground.store import KeptResults, content_key
from forehear.room import (
    NODES,
    band_means_of,
    few_arrivals_sum,
    node_places,
)
from forehear.spine.first import first_ways
from forehear.spine.reverberation import Reverberation
from forehear.spine.speaker import Speaker

NEARLY = 0.004  # slopes of departures toward the axis that differ less are one while a hand moves
PARTS_OF_BAND = 2  # reflections change so fast within a band that the ear's windows need finer ends


_heard: KeptResults[NDArray[np.complex64]] = KeptResults(most=120)  # a tenth of a megabyte each
_shared: KeptResults[ComplexArray] = KeptResults(most=400)  # eight kilobytes each


def split(values: ComplexArray) -> ComplexArray:
    """Hold values of bands [..., frequency] through all parts of each band."""
    held: ComplexArray = np.repeat(values, PARTS_OF_BAND, axis=-1)
    return held


@dataclass(frozen=True, eq=False)
class Arrivals:
    """Sound of each source at one ear: the direct way, the first reflections, and all later ones together."""

    keys: tuple[str, ...]  # [source] of all that decides what it sends here
    reflections: tuple[str, ...]  # what the paths after the direct one meet
    amplitude_pa_s_m: ComplexArray  # [source, path, frequency], at 1 m from the source, reflection worked in
    distance_m: FloatArray  # [source, path]
    later_pa_s_m: tuple[NDArray[np.complex64], ...]  # [source][frequency of the linear grid]
    modal_1_m: ComplexArray  # [frequency] the lowest ones of the linear grid

    def in_velocity(self, reverberation: Reverberation) -> ComplexArray:
        """Form in the source velocities, [source, source, part of a band]; only pairs that changed are solved."""
        count = len(self.keys)
        pairs = [(one, other) for one in range(count) for other in range(one, count)]

        def solved(missing: list[int]) -> list[ComplexArray]:
            heard = [self.heard(source, reverberation) for source in range(count)]
            wanted = [pairs[place] for place in missing]
            products = np.stack([heard[one].conj() * heard[other] for one, other in wanted])
            edges_hz = reverberation.speaker.grid.split(PARTS_OF_BAND).edges_hz
            return list(band_means_of(products, reverberation.carrying.grid, edges_hz))

        found = _shared.get_all([f"{self.keys[one]} {self.keys[other]}" for one, other in pairs], solved)
        form = np.empty((count, count, found[0].size), dtype=complex)
        for (one, other), shared in zip(pairs, found, strict=True):
            form[one, other] = shared
            form[other, one] = shared.conj()
        return form

    def heard(self, source: int, reverberation: Reverberation) -> NDArray[np.complex64]:
        """Everything that one source sends here, per m/s, on the linear grid."""
        speaker = reverberation.speaker

        def heard() -> NDArray[np.complex64]:
            early = self.amplitude_pa_s_m[source] / self.distance_m[source][:, np.newaxis]
            time_s = self.distance_m[source] / speaker.air.sound_speed_m_s
            together: NDArray[np.complex64] = few_arrivals_sum(
                early, time_s, speaker.grid, reverberation.carrying.grid
            )
            together += self.later_pa_s_m[source]
            if not self.modal_1_m.size:
                return together
            low = slice(self.modal_1_m.size)
            low_hz = reverberation.carrying.grid.frequency_hz[low]
            modal = reverberation.monopole(source, low_hz) * self.modal_1_m
            together[low] += reverberation.modal_share(low_hz) * (modal - together[low])
            return together

        return _heard.get(self.keys[source], heard)


def in_voltage(found: Sequence[Arrivals], reverberation: Reverberation) -> Iterator[ComplexArray]:
    """Yield the energy at every ear as a Hermitian form in the driver voltages.

    Yields
    ------
    array
        [part of a band, driver, driver], on the speaker's grid split into `PARTS_OF_BAND`. [Pa2/V2]
    """
    speaker = reverberation.speaker
    parts = speaker.grid.split(PARTS_OF_BAND)
    motion = (
        split(speaker.motion.velocity_m_s_v).transpose(2, 0, 1).copy()
    )  # [part of a band, source, driver]
    back = motion.conj().transpose(0, 2, 1)
    uncounted = on_nodes(reverberation.average(), parts)
    beside_modes = uncounted * (1 - reverberation.modal_share(parts.frequency_hz))[:, np.newaxis, np.newaxis]
    for arriving in found:
        in_velocity = arriving.in_velocity(reverberation).transpose(2, 0, 1)
        in_velocity += beside_modes if arriving.modal_1_m.size else uncounted  # modes hold all reflections
        yield back @ (in_velocity @ motion)


def on_nodes(form: ComplexArray, grid: FrequencyGrid) -> ComplexArray:
    """Bring a form from the nodes [node, source, source] to bands, straight in log frequency."""
    places = node_places(grid.frequency_hz)
    node = np.minimum(places.astype(int), len(NODES) - 2)
    share = (places - node)[:, np.newaxis, np.newaxis]
    between: ComplexArray = form[node] * (1 - share) + form[node + 1] * share
    return between


def arrivals(reverberation: Reverberation, ears_m: FloatArray) -> tuple[tuple[Arrivals, ...], ComplexArray]:
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
    speaker, pose = reverberation.speaker, reverberation.pose
    first = [
        [first_ways(reverberation, place_m, ear) for place_m in reverberation.places_m] for ear in ears_m
    ]
    ahead_m = on_axis_m(np.linalg.norm(ears_m - pose.in_room_m(speaker, np.zeros(3)), axis=1))
    straight = direct_departures(speaker, ahead_m)
    walls = [np.array([one.departure_m @ pose.rotation for one in row]) for row in first]
    each_ahead = [straight[:, [ear]] for ear in range(len(ears_m))]
    solved = speaker.own_pressures([*walls, *each_ahead])
    amplitudes, ahead = solved[: len(walls)], np.concatenate(solved[len(walls) :], axis=1)
    later, modes = reverberation.later_pressure(list(ears_m)), reverberation.modal_transfers(list(ears_m))
    found = [
        Arrivals(
            tuple(content_key(key, ear) for key in reverberation.source_keys),
            row[0].reflections,
            amplitude * np.array([one.factor for one in row]),
            np.array([one.distance_m for one in row]),
            tuple(own),
            modal,
        )
        for amplitude, row, own, modal, ear in zip(amplitudes, first, later, modes, ears_m, strict=True)
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
    (own,) = speaker.own_pressures([departures])
    return _flown(speaker, own, departures, ears_m)


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
