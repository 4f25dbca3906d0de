"""What the room adds after the first reflections: images counted one by one, then their average."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from forehear.ground.air import Air
from forehear.ground.arrays import ComplexArray, FloatArray
from forehear.ground.axes import sphere_directions
from forehear.ground.errors import OutsideValidity
from forehear.ground.store import KeptResults, content_key
from forehear.ground.work import side_by_side
from forehear.room import (
    NODES,
    Averages,
    Block,
    Counting,
    Images,
    LinearGrid,
    Losses,
    Sending,
    Shoebox,
    air_absorption_db_per_m,
    arrivals_sum,
    arrivals_sums,
    averages_between,
    diffuse_between,
    energy_between,
    later_images,
    losses,
    modal_transfer,
    node_places,
    reflected_share,
    specular_between,
    uncounted,
)
from forehear.spine.pose import Pose
from forehear.spine.speaker import SAME_DIGITS, Speaker, roughly

WORTH_THREADS = 2000  # images; fewer are summed for all sources and seats at once before a thread has started
FADE_FROM = 0.8  # of the longest way: from there images fade out and their average fades in
FADE_STEPS = 8
MOST_MODAL_M3 = 300.0  # in a larger room modes overlap at 100 Hz already, and there are too many to sum
MODES_END_HZ = (80.0, 125.0)  # between these images take over from modes

_sendings: KeptResults[Sending] = KeptResults(most=16)  # a third of a megabyte each
_images: KeptResults["Counted"] = KeptResults(most=12)  # two megabytes each
_later: KeptResults[NDArray[np.complex64]] = KeptResults(most=120)  # a tenth of a megabyte each
_modal: KeptResults[ComplexArray] = KeptResults(most=24)
_averages: KeptResults[ComplexArray] = KeptResults(most=16)
_about: KeptResults[ComplexArray] = KeptResults(most=16)  # a third of a megabyte each at most
_losses: KeptResults[Losses] = KeptResults(most=6)


@dataclass(frozen=True, eq=False)
class Carrying:
    """How far images are counted one by one, and where their sums are taken."""

    images: int  # about how many at a seat
    grid: LinearGrid
    step_deg: float  # between the directions that what a source sends is solved in
    modal: bool  # whether the lowest frequencies are summed over modes

    def longest_m(self, shoebox: Shoebox) -> float:
        """Length of the longest way counted; every way fits into half the inverse of the widest step."""
        widest_hz = max(block.step_hz for block in self.grid.blocks)
        by_number = (3 * shoebox.volume_m3 * self.images / (4 * np.pi)) ** (1 / 3)
        return float(min(by_number, 343.0 / (2 * widest_hz)))


FULL = Carrying(
    5_000,
    LinearGrid(NODES, (Block(0, 21, 1.0), Block(21, 24, 2.0), Block(24, 27, 2.0), Block(27, 30, 2.0))),
    step_deg=10.0,
    modal=True,
)
QUICK = Carrying(
    700,
    LinearGrid(
        NODES,
        (Block(0, 12, 1.0), Block(12, 21, 4.0), Block(21, 24, 8.0), Block(24, 27, 8.0), Block(27, 30, 8.0)),
    ),
    step_deg=20.0,
    modal=False,
)


@dataclass(frozen=True, eq=False)
class Counted:
    """Images of one seat, and what their surfaces and the air leave of the sound."""

    images: Images
    share: NDArray[np.float32]  # [image, node]


@dataclass(frozen=True, eq=False)
class Reverberation:
    """One speaker standing in a room, its later sound ready to be asked for."""

    speaker: Speaker
    pose: Pose
    shoebox: Shoebox
    carrying: Carrying

    @cached_property
    def key(self) -> str:
        """Key of all but the sources and the seat."""
        return content_key(self.pose, self.shoebox, self.speaker.air, self.carrying)

    @cached_property
    def place_key(self) -> str:
        """Key of all that decides the first ways, but where they begin and end."""
        speaker = self.speaker
        return content_key(self.pose.reflectors, self.shoebox, speaker.air, speaker.grid.frequency_hz)

    @cached_property
    def places_m(self) -> FloatArray:
        """Acoustic centre of each source in the room, [source, 3]."""
        own_m = [self.speaker.position_m(source) for source in range(len(self.speaker.sources))]
        return np.round(self.pose.in_room_m(self.speaker, np.array(own_m)), SAME_DIGITS)

    @cached_property
    def _rough(self) -> Speaker:
        """The speaker as it is asked for what goes over two or more surfaces."""
        return roughly(self.speaker)

    @cached_property
    def source_keys(self) -> tuple[str, ...]:
        """Key of all that decides what each source sends into the room."""
        return self._keyed(self.speaker.key_of)

    @cached_property
    def _later_keys(self) -> tuple[str, ...]:
        """Key of all that decides what each source sends over two or more surfaces."""
        return self._keyed(self._rough.key_of)

    def _keyed(self, key_of: Callable[[int], str]) -> tuple[str, ...]:
        places = enumerate(self.places_m)
        return tuple(content_key(self.key, key_of(source), place_m) for source, place_m in places)

    def later_pressure(self, ears_m: Sequence[FloatArray]) -> list[list[NDArray[np.complex64]]]:
        """Sound of every source at every ear over two or more surfaces, on the carrying's grid.

        Returns
        -------
        list
            [ear][source], each [frequency], per m/s. [Pa s/m]
        """
        tasks = [(ear, source) for ear in range(len(ears_m)) for source in range(len(self.speaker.sources))]
        keys = [content_key(self._later_keys[source], ears_m[ear]) for ear, source in tasks]

        def solved(missing: list[int]) -> list[NDArray[np.complex64]]:
            wanted = [tasks[place] for place in missing]
            for source in {source for _, source in wanted}:
                self.sending(source)
            counted = {ear: counted_images(self, ears_m[ear]) for ear in {ear for ear, _ in wanted}}
            if self.carrying.images < WORTH_THREADS:
                return self._sums([(source, counted[ear]) for ear, source in wanted])
            return side_by_side(lambda task: self._sum(task[1], counted[task[0]]), wanted)

        found = iter(_later.get_all(keys, solved))
        return [[next(found) for _ in self.speaker.sources] for _ in ears_m]

    def modal_transfers(self, ears_m: Sequence[FloatArray]) -> list[ComplexArray]:
        """Sound of a point in the middle of the front at every ear, summed over modes, re 1 m of free air.

        Returns
        -------
        list
            [ear], each [frequency] for the lowest ones of the grid; empty where modes are not wanted or do not
            hold. [1/m]
        """
        if not self.carrying.modal or self.shoebox.volume_m3 > MOST_MODAL_M3:
            return [np.zeros(0, dtype=complex)] * len(ears_m)
        middle_m, air, frequency_hz = (
            self.pose.middle_of_front_m,
            self.speaker.air,
            self.carrying.grid.frequency_hz,
        )
        low_hz = frequency_hz[frequency_hz < MODES_END_HZ[1]]

        def solved(missing: list[int]) -> list[ComplexArray]:
            wanted = np.array([ears_m[place] for place in missing])
            try:
                return list(modal_transfer(self.shoebox, middle_m, wanted, low_hz, air))
            except OutsideValidity:  # so dead a room has no modes to speak of
                return [np.zeros(0, dtype=complex)] * len(missing)

        return _modal.get_all(
            [content_key(self.shoebox, middle_m, ear_m, low_hz, air) for ear_m in ears_m], solved
        )

    def monopole(self, source: int, frequency_hz: FloatArray) -> ComplexArray:
        """Return what a source sends on average over directions, [frequency]; a small cabinet sends alike to all."""
        _, weight = sphere_directions(self.carrying.step_deg)
        sent = weight @ self.sending(source).pressure_pa_s_m
        through = node_places(frequency_hz)
        node = through.astype(int)
        strength: ComplexArray = sent[node] + (through - node) * (sent[node + 1] - sent[node])
        return strength

    def modal_share(self, frequency_hz: FloatArray) -> FloatArray:
        """How much modes count against images, [frequency]."""
        begin, end = MODES_END_HZ
        through = np.clip(np.log(frequency_hz / begin) / np.log(end / begin), 0.0, 1.0)
        share: FloatArray = np.cos(np.pi / 2 * through) ** 2
        return share

    def average(self) -> ComplexArray:
        """Energy of all images that are not counted, as a form in source velocities, [node, source, source]."""
        return _averages.get(content_key(self._later_keys), self._average)

    def specular_between(self, edges_m: FloatArray) -> ComplexArray:
        """Energy that images bring on average between distances, [edge - 1, node, source, source]."""
        return specular_between(*self._spread, self.shoebox.volume_m3, edges_m)

    def diffuse_between(self, edges_m: FloatArray) -> ComplexArray:
        """Energy that the diffuse field brings between distances, [edge - 1, node, source, source]."""
        return diffuse_between(*self._spread, self.shoebox.volume_m3, edges_m)

    @cached_property
    def _spread(self) -> tuple[ComplexArray, FloatArray, Losses]:
        """What all sources send around, the weights of its directions, and what is lost in each."""
        directions, weight = sphere_directions(self.carrying.step_deg)
        air, rotation = self.speaker.air, self.pose.rotation
        pressure = np.array([self._about_reference(source) for source in range(len(self.speaker.sources))])
        lost = _losses.get(
            content_key(self.shoebox, rotation, self.carrying.step_deg, air),
            lambda: losses(
                self.shoebox, directions.unit @ rotation.T, NODES.frequency_hz, air_loss_db_m(air)
            ),
        )
        return pressure, weight, lost

    def _about_reference(self, source: int) -> ComplexArray:
        """Return what one source sends around, phases about the reference point, [direction, node]."""
        position_m = self.speaker.position_m(source)

        def turned() -> ComplexArray:
            directions, _ = sphere_directions(self.carrying.step_deg)
            phases = _turned(directions.unit @ position_m, self.speaker.air)
            return self.sending(source).pressure_pa_s_m * phases

        key = content_key(self._rough.key_of(source), position_m, self.carrying.step_deg)
        return _about.get(key, turned)

    def _average(self) -> ComplexArray:
        longest_m = self.carrying.longest_m(self.shoebox)
        edges_m = np.append(np.linspace(FADE_FROM * longest_m, longest_m, FADE_STEPS + 1), np.inf)
        faded_in = np.append(1 - fade((edges_m[:-2] + edges_m[1:-1]) / 2, longest_m) ** 2, 1.0)
        return uncounted(*self._spread, self.shoebox.volume_m3, Counting(edges_m, faded_in))

    def sending(self, source: int) -> Sending:
        """Return what a source sends into every direction, solved once for a shape."""

        def sent() -> Sending:
            directions, _ = sphere_directions(self.carrying.step_deg)
            pressure = self._rough.field_on(source, directions, NODES)
            if set_back_m := self.speaker.diaphragms[source].set_back_m:
                pressure *= _turned(directions.unit[:, 0] * set_back_m, self.speaker.air)
            return Sending(self.carrying.step_deg, pressure)

        return _sendings.get(f"{self._rough.key_of(source)} {self.carrying.step_deg}", sent)

    def _sum(self, source: int, counted: Counted) -> NDArray[np.complex64]:
        amplitude, distance_m, _ = later_ways(self, source, counted)
        return arrivals_sum(amplitude, distance_m / self.speaker.air.sound_speed_m_s, self.carrying.grid)

    def _sums(self, wanted: Sequence[tuple[int, Counted]]) -> list[NDArray[np.complex64]]:
        """As `_sum` of several sources and ears; ways that some have less than others send nothing."""
        most = max(len(counted.images) for _, counted in wanted)
        amplitude = np.zeros((len(wanted), most, len(NODES)), dtype=np.complex64)
        distance_m = np.zeros((len(wanted), most))
        for row, (source, counted) in enumerate(wanted):
            count = len(counted.images)
            amplitude[row, :count], distance_m[row, :count], _ = later_ways(self, source, counted)
        time_s = distance_m / self.speaker.air.sound_speed_m_s
        return [total.copy() for total in arrivals_sums(amplitude, time_s, self.carrying.grid)]


def counted_images(reverberation: Reverberation, ear_m: FloatArray) -> Counted:
    """Find the images of an ear that are counted one by one, for all sources of a speaker."""
    pose, shoebox, air = reverberation.pose, reverberation.shoebox, reverberation.speaker.air
    longest_m = reverberation.carrying.longest_m(shoebox)

    def counted() -> Counted:
        middle_m = np.array(pose.middle_of_front_m)
        images = later_images(shoebox, middle_m, ear_m, longest_m)
        _, distance_m = images.departures_m(middle_m)
        share = reflected_share(shoebox, images.index, NODES.frequency_hz)
        share *= np.exp(np.outer(-np.log(10) / 20 * distance_m, air_loss_db_m(air)))
        share *= fade(distance_m, longest_m)[:, np.newaxis]
        return Counted(images, share)

    return _images.get(content_key(shoebox, pose.middle_of_front_m, ear_m, longest_m, air), counted)


def later_ways(
    reverberation: Reverberation, source: int, counted: Counted
) -> tuple[NDArray[np.complex64], FloatArray, FloatArray]:
    """Follow one source to every image: amplitude [image, node], length of the way [image], departure [image, 3]."""
    departure_m, distance_m = counted.images.departures_m(reverberation.places_m[source])
    amplitude = reverberation.sending(source).toward(departure_m @ reverberation.pose.rotation, distance_m)
    amplitude *= counted.share
    return amplitude, distance_m, departure_m


def driven_average(
    reverberation: Reverberation, velocity: ComplexArray, edges_m: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Energy of images and of the diffuse field between distances [edge - 1, node], sources driven [source, node]."""
    pressure, weight, lost = reverberation._spread
    strength = np.abs(np.einsum("sdn,sn->dn", pressure, velocity)) ** 2
    return energy_between(strength, weight, lost, reverberation.shoebox.volume_m3, edges_m)


def averages(reverberation: Reverberation, edges_m: FloatArray) -> tuple[ComplexArray, Averages]:
    """Return what each source sends around [source, direction, node], and what of it arrives between distances."""
    pressure, weight, lost = reverberation._spread
    return pressure, averages_between(weight, lost, reverberation.shoebox.volume_m3, edges_m)


def air_loss_db_m(air: Air) -> FloatArray:
    """Return what the air swallows at the nodes."""
    return air_absorption_db_per_m(NODES.frequency_hz, air)


def fade(distance_m: FloatArray, longest_m: float) -> FloatArray:
    """Amplitude of counted images: 1, then falling to 0 by a quarter of a cosine."""
    through = np.clip((distance_m / longest_m - FADE_FROM) / (1 - FADE_FROM), 0.0, 1.0)
    faded: FloatArray = np.cos(np.pi / 2 * through)
    return faded


def _turned(path_m: FloatArray, air: Air) -> ComplexArray:
    """Phases forward by paths, [path, node]."""
    wave_number = 2 * np.pi * NODES.frequency_hz / air.sound_speed_m_s
    turned: ComplexArray = np.exp(1j * np.outer(path_m, wave_number))
    return turned
