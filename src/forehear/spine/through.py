"""What two ears receive at a seat: every arrival through the head, from where it comes."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol, TypeAlias

import numpy as np
from numpy.typing import NDArray

from forehear.ground.arrays import ComplexArray, FloatArray, locked
from forehear.ground.axes import FrequencyGrid
from forehear.ground.flowing import DriveVoltage
from forehear.ground.store import KeptResults, content_key
from forehear.room import NODES, Images, arrivals_sums, few_arrivals_sum
from forehear.spine.first import first_ways
from forehear.spine.impulse import (
    LENGTH_S,
    SAMPLE_RATE_HZ,
    driven_spectrum,
    expected,
    in_time,
    uncounted_energy,
)
from forehear.spine.reverberation import Reverberation, counted_images, later_ways
from forehear.spine.seats import Arrivals, arrivals

Toward: TypeAlias = Callable[[FloatArray, FloatArray], ComplexArray]
"""From directions that sound comes from [direction, 3] and how far [direction] to [ear, direction, frequency]."""

EARS = ("left", "right")
OTHER = (
    14  # of the draws tried that whose ears are most like a diffuse field, over eight seats in three ranges
)
LEAST_ASIDE_M = 1e-3  # of a point that a head can look toward

_received: KeptResults["Received"] = KeptResults(most=48)  # half a megabyte each
_toward: KeptResults[Toward] = KeptResults(most=4)  # a table of a head, some megabytes each
_mixing: KeptResults[ComplexArray] = KeptResults(most=4)  # two megabytes each
_uncounted: KeptResults[FloatArray] = KeptResults(most=12)  # fifty kilobytes each


class Receiver(Protocol):
    """What a head makes of sound from directions in its own axes (x ahead, y to its left, z up) and distances."""

    @property
    def key(self) -> str:
        """Key of all that it is."""
        ...

    def delays_s(self, unit: FloatArray, distance_m: FloatArray) -> FloatArray:
        """Find how much later sound from there reaches each ear than the middle, [ear, direction]."""
        ...

    def in_bands(self, grid: FrequencyGrid) -> Toward:
        """Return what gives the pressure at each ear re the middle without a head, `delays_s` taken out."""
        ...

    def mixing(self, frequency_hz: FloatArray) -> ComplexArray:
        """Find how noises that have nothing in common make a diffuse field at the ears, [ear, noise, frequency]."""
        ...


@dataclass(frozen=True, eq=False)
class Listener:
    """A head somewhere in the room, looking somewhere."""

    middle_m: FloatArray  # [3], room axes
    axes: FloatArray  # [3, 3], its own axes as columns, room axes
    receiver: Receiver

    def __post_init__(self) -> None:
        locked(self, "middle_m", (3,), "x, y, z")
        locked(self, "axes", (3, 3), "x, y, z of ahead, left and up")


@dataclass(frozen=True, eq=False)
class Received:
    """Impulse responses at one head, in pascal per volt for one sample at the terminals."""

    ears_pa_v: NDArray[np.float32]  # [ear, sample]
    middle_pa_v: NDArray[np.float32]  # [sample], without the head

    def __post_init__(self) -> None:
        locked(self, "ears_pa_v", (len(EARS), -1), "ears x samples")
        locked(self, "middle_pa_v", (self.ears_pa_v.shape[1],), "samples")


def looking(middle_m: FloatArray, toward_m: FloatArray) -> FloatArray:
    """Return the axes of a level head that looks toward a point, as columns [3, 3] in room axes.

    Right below or above it the front wall is looked at.
    """
    ahead = np.array([*(toward_m - middle_m)[:2], 0.0])
    length_m = np.linalg.norm(ahead)
    ahead = ahead / length_m if length_m > LEAST_ASIDE_M else np.array([-1.0, 0.0, 0.0])
    up = np.array([0.0, 0.0, 1.0])
    return np.stack([ahead, np.cross(up, ahead), up], axis=1)


def prepare(reverberation: Reverberation, voltage: DriveVoltage, middles_m: FloatArray) -> None:
    """Solve together what `received` needs at several places [place, 3]: it is kept."""
    arrivals(reverberation, middles_m)
    _known_on_average(reverberation, reverberation.speaker.source_velocity(voltage))


def prepare_receiver(receiver: Receiver) -> None:
    """Work out the tables of a head that `received` needs, whoever wears it: they are kept."""
    _bands_of(receiver, NODES)
    _bands_of(receiver, FrequencyGrid.standard())
    _mixing_of(receiver)


def received(
    reverberation: Reverberation, voltage: DriveVoltage, listener: Listener, seed: int = 1
) -> Received:
    """Find the impulse responses at both ears of a head, and in its middle without it.

    The direct sound, the first reflections and all later ones that are counted come through the head from their own
    directions, later still and turned otherwise at each ear. What is known only on average is noise as a diffuse
    field brings it to two ears. Modes, far below where a head matters, reach both ears alike.

    Parameters
    ----------
    reverberation
        One speaker standing in a room; carried as `EVEN` has it.
    voltage
        Of the network.
    listener
        Who hears it.
    seed
        Of the noise: the middle is what `impulse_response` gives for it.
    """
    velocity = reverberation.speaker.source_velocity(voltage)
    key = content_key(
        reverberation.source_keys, velocity, listener.middle_m, listener.axes, listener.receiver.key, seed
    )
    return _received.get(key, lambda: _received_of(reverberation, velocity, listener, seed))


def _received_of(
    reverberation: Reverberation, velocity: ComplexArray, listener: Listener, seed: int
) -> Received:
    (arriving,), _ = arrivals(reverberation, listener.middle_m[np.newaxis])
    sources, grid = range(len(velocity)), reverberation.speaker.grid
    from_front_m = np.linalg.norm(
        listener.middle_m - reverberation.pose.in_room_m(reverberation.speaker, np.zeros(3))
    )
    first_s = float(from_front_m) / reverberation.speaker.air.sound_speed_m_s
    through = _through(reverberation, arriving, listener)
    without = driven_spectrum([arriving.heard(source, reverberation) for source in sources], grid, velocity)[
        np.newaxis
    ]
    ears = np.array(
        [driven_spectrum([heard[ear] for heard in through], grid, velocity) for ear in range(len(EARS))]
    )
    average = expected(_known_on_average(reverberation, velocity), first_s, arriving, reverberation)
    noises = np.array([average.noise(chosen) for chosen in (seed, [seed, OTHER])])
    mixing = _mixing_of(listener.receiver)
    without = average.settled(without, noises[:1], np.ones(noises.shape[1]))
    power = np.square(np.abs(mixing)).sum(axis=(0, 1))
    ears = average.settled(ears, np.einsum("enf,nf->ef", mixing, noises), power)
    middle, *both = (in_time(spectrum, first_s).astype(np.float32) for spectrum in (*without, *ears))
    return Received(np.array(both), middle)


def _known_on_average(reverberation: Reverberation, velocity: ComplexArray) -> FloatArray:
    key = content_key(reverberation.source_keys, velocity)
    return _uncounted.get(key, lambda: uncounted_energy(reverberation, velocity))


def _through(
    reverberation: Reverberation, arriving: Arrivals, listener: Listener
) -> list[NDArray[np.complex64]]:
    """Sum what is counted of each source at each ear, per m/s, on the linear grid: [source], each [ear, frequency]."""
    receiver, speaker = listener.receiver, reverberation.speaker
    grid, speed_m_s = reverberation.carrying.grid, speaker.air.sound_speed_m_s
    counted = counted_images(reverberation, listener.middle_m)
    departure_m, far_m = counted.images.departures_m(reverberation.pose.middle_of_front_m)
    unit = _coming(departure_m, _mirrored(counted.images)) @ listener.axes
    later = _bands_of(receiver, NODES)(unit, far_m).astype(np.complex64)
    later_s = receiver.delays_s(unit, far_m)
    toward = _bands_of(receiver, speaker.grid)
    heard = []
    for source in range(len(speaker.sources)):
        unit, distance_m = _first_unit(reverberation, source, listener)
        first, first_s = toward(unit, distance_m), receiver.delays_s(unit, distance_m)
        first = first * (arriving.amplitude_pa_s_m[source] / distance_m[:, np.newaxis])
        amplitude, way_m, _ = later_ways(reverberation, source, counted)
        together = arrivals_sums(amplitude * later, way_m / speed_m_s + later_s, grid)
        for ear in range(len(EARS)):
            together[ear] += few_arrivals_sum(
                first[ear], distance_m / speed_m_s + first_s[ear], speaker.grid, grid
            )
        _give_to_modes(together, reverberation, source, arriving)
        heard.append(together)
    return heard


def _bands_of(receiver: Receiver, grid: FrequencyGrid) -> Toward:
    return _toward.get(content_key(receiver.key, grid.frequency_hz), lambda: receiver.in_bands(grid))


def _mixing_of(receiver: Receiver) -> ComplexArray:
    every_hz = np.arange(round(LENGTH_S * SAMPLE_RATE_HZ) // 2 + 1, dtype=float)
    return _mixing.get(receiver.key, lambda: receiver.mixing(every_hz))


def _give_to_modes(
    heard: NDArray[np.complex64], reverberation: Reverberation, source: int, arriving: Arrivals
) -> None:
    """Let modes take over the lowest frequencies [ear, frequency], as `Arrivals.heard` does."""
    low = slice(arriving.modal_1_m.size)
    low_hz = reverberation.carrying.grid.frequency_hz[low]
    modal = reverberation.monopole(source, low_hz) * arriving.modal_1_m
    heard[:, low] += reverberation.modal_share(low_hz) * (modal - heard[:, low])


def _first_unit(
    reverberation: Reverberation, source: int, listener: Listener
) -> tuple[FloatArray, FloatArray]:
    """Where the first ways of a source come from, in the axes of the head [way, 3], and their lengths [way]."""
    ways = first_ways(reverberation, reverberation.places_m[source], listener.middle_m)
    boards = [reflector.patch.normal for reflector in reverberation.pose.reflectors]
    normals = np.array([np.zeros(3), *np.repeat(np.eye(3), 2, axis=0), *boards])
    back = ways.departure_m - 2 * np.einsum("wx,wx->w", ways.departure_m, normals)[:, np.newaxis] * normals
    return _coming(back, np.ones(3)) @ listener.axes, ways.distance_m


def _mirrored(images: Images) -> FloatArray:
    """Signs that take a departure toward an image to how the sound arrives, [image, 3]."""
    return np.where(images.index % 2 == 0, 1.0, -1.0)


def _coming(departure_m: FloatArray, signs: FloatArray) -> FloatArray:
    """Return unit vectors to where sound comes from, for departures [way, 3]."""
    length_m = np.linalg.norm(departure_m, axis=1, keepdims=True)
    coming: FloatArray = (-departure_m * signs / length_m).astype(np.float64)
    return coming
