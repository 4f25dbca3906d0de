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
from forehear.ground.axes import FrequencyGrid
from forehear.ground.levels import level_db
from forehear.room import (
    NODES,
    Averages,
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
    averages,
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
    together,
)

WANTED = slice(7, 29)  # nodes from 100 Hz to 12.6 kHz: what is judged, and a rim
WANTED_OCTAVES = slice(OCTAVE_NODES.start - WANTED.start, OCTAVE_NODES.stop - WANTED.start)  # among them
LIGHT_NODES = FrequencyGrid(NODES.frequency_hz[WANTED])
LIGHT = Carrying(
    QUICK.images,
    LinearGrid(LIGHT_NODES, (Block(0, 14, 8.0), Block(14, 21, 8.0))),
    step_deg=QUICK.step_deg,
    modal=False,
)
TABLE_EDGES = 12  # distances between which the average of what is not counted is interpolated


@dataclass(frozen=True, eq=False)
class Ways:
    """What each source sends to every ear per m/s, not driven yet; found when it is first asked for."""

    reverberation: Reverberation
    ears_m: FloatArray  # [ear, 3]

    @property
    def speaker(self) -> Speaker:
        """What sends."""
        return self.reverberation.speaker

    @cached_property
    def nearest_m(self) -> FloatArray:
        """Distance of each ear from the middle of the front."""
        nearest: FloatArray = np.linalg.norm(self.ears_m - self._middle_m, axis=1)
        return nearest

    @cached_property
    def distance_m(self) -> FloatArray:
        """Distance of each ear from the reference point."""
        about_m = self.reverberation.pose.in_room_m(self.speaker, np.zeros(3))
        distance: FloatArray = np.linalg.norm(self.ears_m - about_m, axis=1)
        return distance

    @property
    def _middle_m(self) -> FloatArray:
        return np.array(self.reverberation.pose.middle_of_front_m)

    @property
    def _longest_m(self) -> float:
        return self.reverberation.carrying.longest_m(self.reverberation.shoebox)

    @cached_property
    def _images(self) -> Images:
        """Images of the middle of all ears, as far as those of any ear may be needed; of lower orders first."""
        among_m = self.ears_m.mean(axis=0)
        early_m = self.nearest_m.max() + self.speaker.air.sound_speed_m_s * EARLY_EDGES_S[-1]
        reach_m = max(self._longest_m, early_m) + np.linalg.norm(self.ears_m - among_m, axis=1).max()
        found = later_images(
            self.reverberation.shoebox, self._middle_m, among_m, float(reach_m), least_order=0
        )
        rising = np.argsort(found.order, kind="stable")
        return Images(found.index[rising], found.place_m[rising])

    @property
    def _few(self) -> int:
        """How many of them come straight or over one surface."""
        return int((self._images.order < 2).sum())

    @cached_property
    def _places_m(self) -> FloatArray:
        """Images of each ear, [ear, image, 3]: mirrored an odd number of times they move the other way."""
        images, among_m = self._images, self.ears_m.mean(axis=0)
        mirrored = np.where(images.index % 2 == 0, 1.0, -1.0)
        places: FloatArray = images.place_m + mirrored * (self.ears_m - among_m)[:, np.newaxis]
        return places

    @cached_property
    def _middle_distance_m(self) -> FloatArray:
        """How far each image lies from the middle of the front, [ear, image]."""
        return _lengths(self._places_m - self._middle_m)

    @cached_property
    def _sent(self) -> tuple[NDArray[np.complex64], FloatArray]:
        """What arrives over each image, less its phase and the air; and how far: [source, ear, image(, node)]."""
        reverberation, count = self.reverberation, len(self.speaker.sources)
        from_m = reverberation.places_m
        departure_m = self._places_m - from_m[:, np.newaxis, np.newaxis]
        distance_m = _lengths(departure_m)
        sendings = [reverberation.sending(source) for source in range(count)]
        own = departure_m.reshape(count, -1, 3) @ reverberation.pose.rotation
        sent = toward_each(sendings, own, distance_m.reshape(count, -1), WANTED).reshape(
            *distance_m.shape, -1
        )
        sent *= reflected_share(reverberation.shoebox, self._images.index, LIGHT_NODES.frequency_hz)
        return sent, distance_m

    @cached_property
    def together_pa_s_m(self) -> NDArray[np.complex64]:
        """All ways that are counted, [source, ear, frequency of the linear grid]."""
        (sent, distance_m), air = self._sent, self.speaker.air
        left = np.multiply.outer(self._middle_distance_m, -np.log(10) / 20 * air_loss_db_m(air)[WANTED])
        np.exp(left, out=left)
        left *= fade(self._middle_distance_m, self._longest_m)[..., np.newaxis]
        weakened = sent * left.astype(np.float32)
        sets = (-1, distance_m.shape[-1])
        grid = self.reverberation.carrying.grid
        summed = arrivals_sums(
            weakened.reshape(*sets, len(LIGHT_NODES)), distance_m.reshape(sets) / air.sound_speed_m_s, grid
        )
        return summed.reshape(*distance_m.shape[:2], -1)

    @cached_property
    def first(self) -> tuple[ComplexArray, FloatArray]:
        """What comes straight and over one surface each, [source, ear, way, band]; and how late, [ear, way]."""
        sent, distance_m = self._sent
        first = slice(self._few)
        distance_m = distance_m[..., first]
        pressure = _to_bands(sent[..., first, :], self.speaker) * _flight(
            distance_m - distance_m[0], self.speaker
        )
        return pressure, (distance_m[0] - distance_m[0, :, :1]) / self.speaker.air.sound_speed_m_s

    @cached_property
    def early_pa_s_m(self) -> NDArray[np.complex64]:
        """What comes over more surfaces, [source, ear, image, node of the octaves]."""
        sent, distance_m = self._sent
        wave_number = 2 * np.pi / self.speaker.air.sound_speed_m_s * NODES.frequency_hz[OCTAVE_NODES]
        late_m = (distance_m - self._middle_distance_m)[..., self._few :, np.newaxis].astype(np.float32)
        angle = late_m * wave_number.astype(np.float32)
        early = np.empty(angle.shape, dtype=np.complex64)
        early.real, early.imag = np.cos(angle), -np.sin(angle)
        early *= sent[..., self._few :, WANTED_OCTAVES]
        return early

    @cached_property
    def early_m(self) -> FloatArray:
        """How long those ways are, [ear, image]."""
        return self._middle_distance_m[:, self._few :]

    @cached_property
    def ahead_pa_s_m(self) -> ComplexArray:
        """What is sent straight ahead, as far away as each ear, [source, ear, band]."""
        departure_m = direct_departures(self.speaker, on_axis_m(self.distance_m))
        away_m = _lengths(departure_m)
        sendings = [self.reverberation.sending(source) for source in range(len(self.speaker.sources))]
        sent = toward_each(sendings, departure_m, away_m, WANTED)
        ahead: ComplexArray = _to_bands(sent, self.speaker) * _flight(away_m - away_m[0], self.speaker)
        return ahead


@dataclass(frozen=True, eq=False)
class Uncounted:
    """Energy of all that is not counted one by one between distances; nothing is driven yet."""

    edges_m: FloatArray  # [edge], the last one infinite
    sent_pa_s_m: ComplexArray  # [source, direction, node]
    averages: Averages
    longest_m: float  # of the ways that are counted

    def driven(self, velocity_m_s_v: ComplexArray, speaker: Speaker) -> "Rest":
        """Drive every source, [source, band]."""
        band = np.abs(np.log(speaker.grid.frequency_hz)[:, np.newaxis] - np.log(NODES.frequency_hz))
        at_nodes = velocity_m_s_v[:, band.argmin(axis=0)]
        sent = np.einsum("sdn,sn->dn", self.sent_pa_s_m, at_nodes)
        specular, diffuse = self.averages.driven(np.square(sent.real) + np.square(sent.imag))
        beyond = [_beyond(np.maximum(energy, 0.0)) for energy in (specular, diffuse)]
        return Rest(self.edges_m, beyond[0], beyond[1], self.longest_m)


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
        between: FloatArray = np.maximum(found[:-1] - found[1:], 0.0)
        return between


def uncounted(reverberation: Reverberation) -> Uncounted:
    """Average what is not counted one by one, at distances that hold for every seat."""
    shoebox, speed_m_s = reverberation.shoebox, reverberation.speaker.air.sound_speed_m_s
    farthest_m = float(np.linalg.norm(shoebox.size_m)) + speed_m_s * LATE_EDGES_S[-1]
    edges_m = np.concatenate([[0.0], np.geomspace(1.0, farthest_m, TABLE_EDGES), [np.inf]])
    return Uncounted(edges_m, *averages(reverberation, edges_m), reverberation.carrying.longest_m(shoebox))


def smoothed_in_room_db(ways: Ways, velocity_m_s_v: ComplexArray, rest: Rest, hearing: Hearing) -> FloatArray:
    """Ear-smoothed level of everything, [ear, frequency]; sources driven at [source, band]."""
    grid, bands = ways.reverberation.carrying.grid, ways.speaker.grid
    parts = bands.split(PARTS_OF_BAND)
    band = np.searchsorted(bands.edges_hz, grid.frequency_hz) - 1
    velocity = velocity_m_s_v.astype(np.complex64)[:, np.newaxis, band]
    driven = (ways.together_pa_s_m * velocity).sum(axis=0)
    heard = band_means_of(driven * driven.conj(), grid, parts.edges_hz).real
    heard += on_nodes(rest.uncounted()[:, np.newaxis, np.newaxis].astype(complex), parts)[:, 0, 0].real
    return level_db(hearing.ear_in_room.smooth(heard))


def smoothed_direct_db(
    ways: Ways, velocity_m_s_v: ComplexArray, hearing: Hearing
) -> tuple[FloatArray, FloatArray]:
    """Ear-smoothed level of the direct sound, and straight ahead as far away, [ear, frequency] each."""
    direct_db, ahead_db = (
        level_db(hearing.ear.smooth(np.abs((pressure * velocity_m_s_v[:, np.newaxis]).sum(axis=0)) ** 2))
        for pressure in (ways.first[0][:, :, 0], ways.ahead_pa_s_m)
    )
    return direct_db, ahead_db


def speech_of(
    ways: Ways, velocity_m_s_v: ComplexArray, rest: Rest, programme: Programme
) -> tuple[SpeechResult, ...]:
    """Judge how clear speech is at every ear."""
    grid, (straight, first_s) = ways.speaker.grid, ways.first
    in_octaves = velocity_m_s_v[:, np.newaxis, np.newaxis, OCTAVE_BANDS]
    first = (straight[..., OCTAVE_BANDS] * in_octaves).sum(axis=0)  # [ear, way, band]
    ahead = (ways.ahead_pa_s_m * velocity_m_s_v[:, np.newaxis]).sum(axis=0)  # [ear, band]
    driven = together(grid)
    energy = _in_order_of_time(ways, velocity_m_s_v[:, nearest_band(grid)], rest)
    return tuple(
        judge_speech(
            SpeechSound(first[[ear]], first_s[ear], own[:-1], own[-1]),
            ahead[[ear]] * ways.distance_m[ear],
            driven,
            programme,
        )
        for ear, own in enumerate(energy[..., np.newaxis, np.newaxis])
    )


def _in_order_of_time(ways: Ways, at_nodes: ComplexArray, rest: Rest) -> ComplexArray:
    """Energy of all but the first ways in bins of time, [ear, bin, node of the octaves]."""
    speed_m_s = ways.speaker.air.sound_speed_m_s
    velocity = at_nodes.astype(np.complex64)[:, np.newaxis, np.newaxis]
    arriving = (ways.early_pa_s_m * velocity).sum(axis=0)
    counted = np.square(arriving.real) + np.square(arriving.imag)  # [ear, image, node]
    found = []
    for nearest_m, over_m, own in zip(ways.nearest_m, ways.early_m, counted, strict=True):
        early_m, late_m = (nearest_m + speed_m_s * edges_s for edges_s in (EARLY_EDGES_S, LATE_EDGES_S))
        place = np.searchsorted(early_m, over_m, side="right") - 1
        early = (place == np.arange(len(early_m) - 1)[:, np.newaxis]).astype(np.float32) @ own
        early = early + rest.diffuse_between(np.append(0.0, early_m[1:]))[:, OCTAVE_NODES]
        late_m = np.append(late_m, np.inf)
        late = (rest.specular_between(late_m) + rest.diffuse_between(late_m))[:, OCTAVE_NODES]
        found.append(np.concatenate([early, late]))
    return np.array(found, dtype=complex)


def _lengths(vectors_m: FloatArray) -> FloatArray:
    """Return the lengths of vectors [..., 3]."""
    lengths: FloatArray = np.sqrt(np.einsum("...x,...x->...", vectors_m, vectors_m))
    return lengths


def _beyond(between: FloatArray) -> FloatArray:
    """Sum energies between edges from the far end, [edge, node]."""
    summed: FloatArray = np.concatenate([between, np.zeros_like(between[:1])])[::-1].cumsum(axis=0)[::-1]
    return summed


def _to_bands(values: NDArray[np.complex64], speaker: Speaker) -> ComplexArray:
    """Bring what changes slowly from nodes [..., node] to bands [..., band], straight in log frequency, held beyond."""
    places = np.interp(
        np.log(speaker.grid.frequency_hz),
        np.log(LIGHT_NODES.frequency_hz),
        np.arange(float(len(LIGHT_NODES))),
    )
    node = np.minimum(places.astype(int), len(LIGHT_NODES) - 2)
    between: ComplexArray = values[..., node] * (1 - (places - node)) + values[..., node + 1] * (
        places - node
    )
    return between


def _flight(late_m: FloatArray, speaker: Speaker) -> ComplexArray:
    """Turn phases back by ways, [..., band]."""
    wave_number = 2 * np.pi * speaker.grid.frequency_hz / speaker.air.sound_speed_m_s
    turned: ComplexArray = np.exp(-1j * late_m[..., np.newaxis] * wave_number)
    return turned
