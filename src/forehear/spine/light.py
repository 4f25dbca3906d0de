"""What a seat hears, found so quickly that it can be asked for again and again with everything a little otherwise.

Nothing is solved: every way, the direct one and the first reflections too, takes what a source sends from the tables
in steps of 20 degrees, and only a few hundred images are counted. Boards and screens near the speaker are left out.
So only differences between two answers of this path are of use, and its own answer to the design as it stands is
taken away from each.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from forehear.ground.arrays import ComplexArray, FloatArray
from forehear.ground.flowing import DriveVoltage
from forehear.ground.levels import level_db
from forehear.room import (
    NODES,
    Block,
    Images,
    LinearGrid,
    arrivals_sums,
    band_means_of,
    later_images,
    reflected_share,
    toward_each,
)
from forehear.spine.hearing import Hearing
from forehear.spine.prediction import SpeechResult
from forehear.spine.reverberation import (
    FADE_FROM,
    FADE_STEPS,
    QUICK,
    Carrying,
    Reverberation,
    air_loss_db_m,
    fade,
)
from forehear.spine.seats import PARTS_OF_BAND, direct_departures, on_axis_m, on_nodes
from forehear.spine.speaker import Speaker
from forehear.spine.speech import (
    EARLY_EDGES_S,
    LATE_EDGES_S,
    OCTAVE_BANDS,
    OCTAVE_NODES,
    Programme,
    SpeechSound,
    judge_speech,
    nearest_band,
)

LIGHT = Carrying(
    QUICK.images,
    LinearGrid(NODES, (Block(7, 21, 8.0), Block(21, 28, 8.0))),  # what is judged, and a rim
    step_deg=QUICK.step_deg,
    modal=False,
)
TABLE_EDGES = 12  # distances between which the average of what is not counted is interpolated


@dataclass(frozen=True, eq=False)
class Ways:
    """What each source sends to one ear per m/s, not driven yet; found when it is first asked for."""

    reverberation: Reverberation
    ear_m: FloatArray

    @property
    def _speaker(self) -> Speaker:
        return self.reverberation.speaker

    @cached_property
    def nearest_m(self) -> float:
        """Distance of the ear from the middle of the front."""
        return float(np.linalg.norm(self.ear_m - np.array(self.reverberation.pose.middle_of_front_m)))

    @cached_property
    def distance_m(self) -> float:
        """Distance of the ear from the reference point."""
        about_m = self.reverberation.pose.in_room_m(self._speaker, np.zeros(3))
        return float(np.linalg.norm(self.ear_m - about_m))

    @cached_property
    def _images(self) -> tuple[Images, FloatArray]:
        """All images that are counted, and their distances from the middle of the front."""
        longest_m = self.reverberation.carrying.longest_m(self.reverberation.shoebox)
        early_m = self.nearest_m + self._speaker.air.sound_speed_m_s * EARLY_EDGES_S[-1]
        middle_m = np.array(self.reverberation.pose.middle_of_front_m)
        images = later_images(
            self.reverberation.shoebox, middle_m, self.ear_m, max(longest_m, early_m), least_order=0
        )
        return images, images.departures_m(middle_m)[1]

    @cached_property
    def _sent(self) -> tuple[NDArray[np.complex64], FloatArray]:
        """What arrives over each image [source, image, node], less its phase and the air; the ways' lengths."""
        images, _ = self._images
        reverberation, count = self.reverberation, len(self._speaker.sources)
        places_m = np.array([reverberation.place_m(source) for source in range(count)])
        departure_m = images.place_m - places_m[:, np.newaxis]
        distance_m = np.sqrt(np.square(departure_m).sum(axis=-1))
        sendings = [reverberation.sending(source) for source in range(count)]
        sent = toward_each(sendings, departure_m @ reverberation.pose.rotation(), distance_m)
        sent *= reflected_share(reverberation.shoebox, images.index, NODES.frequency_hz)
        return sent, distance_m

    @cached_property
    def together_pa_s_m(self) -> NDArray[np.complex64]:
        """All ways that are counted, [source, frequency of the linear grid]."""
        (sent, distance_m), (_, middle_distance_m) = self._sent, self._images
        air, longest_m = self._speaker.air, self.reverberation.carrying.longest_m(self.reverberation.shoebox)
        left = np.exp(np.outer(-np.log(10) / 20 * middle_distance_m, air_loss_db_m(air)))
        left *= fade(middle_distance_m, longest_m)[:, np.newaxis]
        time_s = distance_m / air.sound_speed_m_s
        return arrivals_sums(sent * left.astype(np.float32), time_s, self.reverberation.carrying.grid)

    @cached_property
    def first(self) -> tuple[ComplexArray, FloatArray]:
        """What comes straight and over one surface each, [source, way, band]; seconds after the direct sound, [way]."""
        (sent, distance_m), (images, middle_distance_m) = self._sent, self._images
        first = np.flatnonzero(images.order < 2)
        first = first[np.argsort(middle_distance_m[first])]  # the direct way is the shortest
        distance_m = distance_m[:, first]
        pressure = _to_bands(sent[:, first], self._speaker)
        pressure *= _flight(distance_m - distance_m[0], self._speaker)
        return pressure, (distance_m[0] - distance_m[0, 0]) / self._speaker.air.sound_speed_m_s

    @cached_property
    def early(self) -> tuple[NDArray[np.complex64], FloatArray]:
        """What comes over more surfaces within 50 ms, [source, image, node of the octaves]; its ways, [image]."""
        (sent, distance_m), (images, middle_distance_m) = self._sent, self._images
        speed_m_s = self._speaker.air.sound_speed_m_s
        within = middle_distance_m < self.nearest_m + speed_m_s * EARLY_EDGES_S[-1]
        early = np.flatnonzero((images.order >= 2) & within)
        wave_number = (2 * np.pi / speed_m_s * NODES.frequency_hz[OCTAVE_NODES]).astype(np.float32)
        late_m = (distance_m[:, early] - middle_distance_m[early]).astype(np.float32)
        angle = late_m[..., np.newaxis] * wave_number
        pressure = sent[:, early, OCTAVE_NODES] * (np.cos(angle) - np.complex64(1j) * np.sin(angle))
        return pressure, middle_distance_m[early]

    @cached_property
    def ahead_pa_s_m(self) -> ComplexArray:
        """What is sent straight ahead, as far away as the ear, [source, band]."""
        speaker = self._speaker
        departure_m = direct_departures(speaker, on_axis_m(np.array([self.distance_m])))
        away_m = np.linalg.norm(departure_m, axis=2)
        sendings = [self.reverberation.sending(source) for source in range(len(speaker.sources))]
        sent = toward_each(sendings, departure_m, away_m)
        ahead: ComplexArray = (_to_bands(sent, speaker) * _flight(away_m - away_m[0], speaker))[:, 0]
        return ahead


@dataclass(frozen=True, eq=False)
class Uncounted:
    """Energy of all that is not counted one by one, as forms in the source velocities between distances."""

    edges_m: FloatArray  # [edge], the last one infinite
    specular_pa2: ComplexArray  # [edge - 1, node, source, source]
    diffuse_pa2: ComplexArray
    longest_m: float  # of the ways that are counted

    def driven(self, velocity_m_s_v: ComplexArray, speaker: Speaker) -> "Rest":
        """Drive every source, [source, band]."""
        band = np.abs(np.log(speaker.grid.frequency_hz)[:, np.newaxis] - np.log(NODES.frequency_hz))
        at_nodes = velocity_m_s_v[:, band.argmin(axis=0)].T  # [node, source]
        specular, diffuse = (
            np.maximum(np.einsum("ki,ekij,kj->ek", at_nodes.conj(), form, at_nodes).real, 0.0)
            for form in (self.specular_pa2, self.diffuse_pa2)
        )
        return Rest(self.edges_m, _beyond(specular), _beyond(diffuse), self.longest_m)


@dataclass(frozen=True, eq=False)
class Rest:
    """The same, driven: what comes from beyond each distance, between distances straight in its logarithm."""

    edges_m: FloatArray  # [edge]
    specular_pa2: FloatArray  # [edge, node]
    diffuse_pa2: FloatArray
    longest_m: float

    def uncounted(self) -> FloatArray:
        """Energy [node] of all images that are not counted, and of what is scattered."""
        edges_m = np.append(np.linspace(FADE_FROM * self.longest_m, self.longest_m, FADE_STEPS + 1), np.inf)
        faded_in = np.append(1 - fade((edges_m[:-2] + edges_m[1:-1]) / 2, self.longest_m) ** 2, 1.0)
        uncounted: FloatArray = faded_in @ self.specular_between(edges_m) + self.diffuse_pa2[0]
        return uncounted

    def specular_between(self, edges_m: FloatArray) -> FloatArray:
        """Energy that images bring on average between distances, [edge - 1, node]."""
        return self._between(self.specular_pa2, edges_m)

    def diffuse_between(self, edges_m: FloatArray) -> FloatArray:
        """Energy that the diffuse field brings between distances, [edge - 1, node]."""
        return self._between(self.diffuse_pa2, edges_m)

    def _between(self, beyond_pa2: FloatArray, edges_m: FloatArray) -> FloatArray:
        table_m = self.edges_m[:-1]
        place = np.interp(np.minimum(edges_m, table_m[-1]), table_m, np.arange(len(table_m)))
        lower = np.minimum(place.astype(int), len(table_m) - 2)
        share = (place - lower)[:, np.newaxis]
        logarithm = np.log(np.maximum(beyond_pa2[:-1], np.finfo(float).tiny))
        found = np.exp(logarithm[lower] * (1 - share) + logarithm[lower + 1] * share)
        found[np.isinf(edges_m)] = 0.0
        return np.maximum(found[:-1] - found[1:], 0.0)


def uncounted(reverberation: Reverberation) -> Uncounted:
    """Average what is not counted one by one, at distances that hold for every seat."""
    shoebox, speed_m_s = reverberation.shoebox, reverberation.speaker.air.sound_speed_m_s
    farthest_m = float(np.linalg.norm(shoebox.size_m)) + speed_m_s * LATE_EDGES_S[-1]
    edges_m = np.concatenate([[0.0], np.geomspace(1.0, farthest_m, TABLE_EDGES), [np.inf]])
    return Uncounted(
        edges_m,
        reverberation.specular_between(edges_m),
        reverberation.diffuse_between(edges_m),
        reverberation.carrying.longest_m(shoebox),
    )


def smoothed_in_room_db(
    ways: Ways, velocity_m_s_v: ComplexArray, rest: Rest, hearing: Hearing, speaker: Speaker
) -> FloatArray:
    """Ear-smoothed level of everything, [frequency]."""
    grid, parts = LIGHT.grid, speaker.grid.split(PARTS_OF_BAND)
    band = np.searchsorted(speaker.grid.edges_hz, grid.frequency_hz) - 1
    driven = ways.together_pa_s_m * velocity_m_s_v.astype(np.complex64)[:, band]
    energy = np.abs(driven.sum(axis=0)) ** 2
    heard = band_means_of(energy.astype(np.complex64), grid, parts.edges_hz).real
    heard += on_nodes(rest.uncounted()[:, np.newaxis, np.newaxis].astype(complex), parts)[:, 0, 0].real
    return level_db(hearing.ear_in_room.smooth(heard))


def smoothed_direct_db(
    ways: Ways, velocity_m_s_v: ComplexArray, hearing: Hearing
) -> tuple[FloatArray, FloatArray]:
    """Ear-smoothed level of the direct sound, and straight ahead as far away, [frequency] each."""
    pressures = (ways.first[0][:, 0], ways.ahead_pa_s_m)
    direct_db, ahead_db = (
        level_db(hearing.ear.smooth(np.abs((pressure * velocity_m_s_v).sum(axis=0)) ** 2))
        for pressure in pressures
    )
    return direct_db, ahead_db


def speech_of(
    ways: Ways, velocity_m_s_v: ComplexArray, rest: Rest, speaker: Speaker, programme: Programme
) -> SpeechResult:
    """Judge how clear speech is."""
    grid, speed_m_s = speaker.grid, speaker.air.sound_speed_m_s
    at_nodes = velocity_m_s_v[:, nearest_band(grid)].astype(np.complex64)
    (straight, first_s), (over_more, over_more_m) = ways.first, ways.early
    counted = np.abs(np.einsum("sin,sn->in", over_more, at_nodes)) ** 2  # [image, node]
    edges_m = ways.nearest_m + speed_m_s * EARLY_EDGES_S
    place = np.searchsorted(edges_m, over_more_m, side="right") - 1
    early = (place == np.arange(len(edges_m) - 1)[:, np.newaxis]).astype(float) @ counted
    early += rest.diffuse_between(np.concatenate([[0.0], edges_m[1:]]))[:, OCTAVE_NODES]
    edges_m = np.append(ways.nearest_m + speed_m_s * LATE_EDGES_S, np.inf)
    late = (rest.specular_between(edges_m) + rest.diffuse_between(edges_m))[:, OCTAVE_NODES]
    energy = np.concatenate([early, late])[..., np.newaxis, np.newaxis].astype(complex)
    first = (straight[..., OCTAVE_BANDS] * velocity_m_s_v[:, np.newaxis, OCTAVE_BANDS]).sum(axis=0)
    sound = SpeechSound(first[np.newaxis], first_s, energy[:-1], energy[-1])
    ahead = (ways.ahead_pa_s_m * velocity_m_s_v).sum(axis=0) * ways.distance_m
    driven = DriveVoltage(grid, ("all together",), np.ones((1, len(grid)), dtype=complex))
    return judge_speech(sound, ahead[np.newaxis], driven, programme)


def _beyond(between: FloatArray) -> FloatArray:
    """Sum energies between edges from the far end, [edge, node]."""
    summed: FloatArray = np.concatenate([between, np.zeros_like(between[:1])])[::-1].cumsum(axis=0)[::-1]
    return summed


def _to_bands(values: NDArray[np.complex64], speaker: Speaker) -> ComplexArray:
    """Bring what changes slowly from nodes [..., node] to bands [..., band], straight in log frequency."""
    places = np.interp(
        np.log(speaker.grid.frequency_hz), np.log(NODES.frequency_hz), np.arange(len(NODES), dtype=float)
    )
    node = np.minimum(places.astype(int), len(NODES) - 2)
    between: ComplexArray = values[..., node] * (1 - (places - node)) + values[..., node + 1] * (
        places - node
    )
    return between


def _flight(late_m: FloatArray, speaker: Speaker) -> ComplexArray:
    """Turn phases back by ways, [..., band]."""
    wave_number = 2 * np.pi * speaker.grid.frequency_hz / speaker.air.sound_speed_m_s
    turned: ComplexArray = np.exp(-1j * late_m[..., np.newaxis] * wave_number)
    return turned
