"""What two ears receive: each way from where it comes, and together what a microphone in the middle receives."""

from dataclasses import dataclass, field, replace

import numpy as np
import pytest
from numpy.typing import NDArray

from forehear.ground.axes import FrequencyGrid
from forehear.listen import NoHead, SphereHead
from forehear.room import Patch
from forehear.spine.impulse import EVEN, SAMPLE_RATE_HZ, impulse_response
from forehear.spine.pose import Reflector
from forehear.spine.reverberation import Reverberation
from forehear.spine.through import Listener, Received, Toward, looking, received
from rooms.attic import situation

Floats = NDArray[np.float64]
TRIO = situation("trio")
SEAT = 3  # the armchair, far to one side
SOUND = TRIO.sounds[SEAT]
MIDDLE_M = np.array(SOUND.ear.position_m)
STANDING = Reverberation(TRIO.speaker, SOUND.pose, TRIO.scene.shoebox, EVEN)
ALONG_ROOM = np.eye(3)  # a head that looks along x, so its axes are the room's


@dataclass(frozen=True, eq=False)
class Noted(NoHead):
    """No head, but one that notes where sound comes from, and how far."""

    asked: list[tuple[Floats, Floats]] = field(default_factory=list)

    @property
    def key(self) -> str:
        return f"noted {id(self)}"

    def in_bands(self, grid: FrequencyGrid) -> Toward:
        def toward(unit: Floats, distance_m: Floats) -> NDArray[np.complex128]:
            self.asked.append((unit, distance_m))
            return self.transfer(unit, distance_m, grid.frequency_hz)

        return toward


def at_seat(head: NoHead | SphereHead, axes: Floats, seed: int = SEAT) -> Received:
    return received(STANDING, TRIO.network.voltage, Listener(MIDDLE_M, axes, head), seed)


def test_without_a_head_both_ears_receive_the_impulse_response() -> None:
    for seed in (SEAT, 11):
        wanted = impulse_response(SOUND, TRIO.network.voltage, seed)
        found = at_seat(NoHead(), looking(MIDDLE_M, np.array([0.0, 2.1, 1.0])), seed)
        for response in (*found.ears_pa_v, found.middle_pa_v):
            assert response == pytest.approx(wanted, abs=1e-6 * np.abs(wanted).max())


def test_the_middle_of_a_head_receives_it_too() -> None:
    wanted = impulse_response(SOUND, TRIO.network.voltage, SEAT)
    assert at_seat(SphereHead(), ALONG_ROOM).middle_pa_v == pytest.approx(
        wanted, abs=1e-6 * np.abs(wanted).max()
    )


def source_images(directions: Floats, distance_m: Floats, source_m: Floats) -> Floats:
    """How far the far ends of ways lie from the mirror images of the source, found by folding them back, [way]."""
    size = np.array(TRIO.scene.shoebox.size_m)
    ends = MIDDLE_M + directions * distance_m[:, np.newaxis]
    folded = np.mod(ends, 2 * size)
    folded = np.where(folded > size, 2 * size - folded, folded)
    away: Floats = np.linalg.norm(folded - source_m, axis=1)
    return away


def test_every_way_comes_from_a_mirror_image_of_its_source() -> None:
    """Seen from the listener all images lie where folding the room back leads to the source (Allen, Berkley 1979)."""
    head = Noted()
    at_seat(head, ALONG_ROOM)
    later, *first = head.asked
    middle_m = np.array(SOUND.pose.middle_of_front_m)
    assert len(later[0]) > 4000
    assert source_images(*later, middle_m).max() < 1e-6
    assert len(first) == len(STANDING.places_m)
    for asked, place_m in zip(first, STANDING.places_m, strict=True):
        assert len(asked[0]) == 7
        assert source_images(*asked, place_m).max() < 1e-6
    direct, _, rear, left, right, floor, ceiling = first[0][0]
    straight_m = STANDING.places_m[0] - MIDDLE_M
    assert direct == pytest.approx(straight_m / np.linalg.norm(straight_m))
    assert rear[0] > 0 > direct[0]  # behind those who look at the front wall
    assert left[1] < direct[1] < right[1]
    assert floor[2] < direct[2] < ceiling[2]


def test_a_board_sends_sound_from_where_it_is() -> None:
    """A table below the way from speaker to seat: its sound comes from the mirror image of the source in it."""
    across = np.array([1.0, 0.0, 0.0])
    up = np.array([0.0, 0.0, 1.0])
    place_m = np.array([1.05, 2.44, 0.45])
    table = Reflector("table", Patch(place_m, up, across, 0.8, 0.8, np.ones(8)))
    head = Noted()
    standing = replace(STANDING, pose=replace(SOUND.pose, reflectors=(table,)))
    received(standing, TRIO.network.voltage, Listener(MIDDLE_M, ALONG_ROOM, head))
    unit, distance_m = head.asked[1][0][7], head.asked[1][1][7]
    mirrored = STANDING.places_m[0] * [1, 1, -1] + [0, 0, 2 * place_m[2]]
    assert MIDDLE_M + unit * distance_m == pytest.approx(mirrored, abs=1e-9)


@pytest.mark.parametrize(("seat", "nearer"), [(0, 1), (2, 0)], ids=["left of it", "right of it"])
def test_the_ear_toward_the_speaker_hears_it_first_and_louder(seat: int, nearer: int) -> None:
    """Seats beside the middle, looking at the front wall: the centre is heard from the other side."""
    sound = TRIO.sounds[seat]
    middle_m = np.array(sound.ear.position_m)
    axes = looking(middle_m, middle_m - [1.0, 0.0, 0.0])
    standing = Reverberation(TRIO.speaker, sound.pose, TRIO.scene.shoebox, EVEN)
    ears = received(standing, TRIO.network.voltage, Listener(middle_m, axes, SphereHead())).ears_pa_v
    first = round(sound.bearing.distance_m / 343.2 * SAMPLE_RATE_HZ)
    direct = ears[:, first - 40 : first + 60].astype(float)
    assert (direct**2).sum(axis=1).argmax() == nearer
    lags = np.arange(-99, 100)
    together = np.correlate(direct[1 - nearer], direct[nearer], "full")
    late_s = lags[together.argmax()] / SAMPLE_RATE_HZ
    aside = np.arctan2(abs(sound.pose.middle_of_front_m[1] - middle_m[1]), middle_m[0] - 0.55)
    woodworth_s = SphereHead().radius_m / 343.2 * (aside + np.sin(aside))  # a ball with ears at both sides
    assert late_s == pytest.approx(woodworth_s, abs=60e-6)


def test_a_head_that_turns_hears_the_same_room() -> None:
    """Looking at the speaker both ears hear the direct sound at once; the energy of all changes little."""
    ahead = at_seat(SphereHead(), looking(MIDDLE_M, np.array(SOUND.pose.middle_of_front_m))).ears_pa_v
    first = round(SOUND.bearing.distance_m / 343.2 * SAMPLE_RATE_HZ)
    direct = ahead[:, first - 40 : first + 40].astype(float)
    assert (
        np.abs(direct[0] - direct[1]).max() < 0.1 * np.abs(direct).max()
    )  # drivers are not all in the middle
    aside = at_seat(SphereHead(), ALONG_ROOM).ears_pa_v
    energy = [10 * np.log10((each.astype(float) ** 2).sum()) for each in (ahead, aside)]
    assert energy[0] == pytest.approx(energy[1], abs=1.5)


@dataclass(frozen=True, eq=False)
class Late(NoHead):
    """The left ear hears everything later than the right one, and neither anything known on average only."""

    late_s: float = 0.0

    @property
    def key(self) -> str:
        return f"late {self.late_s}"

    def delays_s(self, unit: Floats, distance_m: Floats) -> Floats:
        return np.array([[self.late_s], [0.0]]) + np.zeros(len(unit)) + 0.0 * np.minimum(distance_m, 1.0)

    def mixing(self, frequency_hz: Floats) -> NDArray[np.complex128]:
        return np.zeros((2, 2, len(frequency_hz)), dtype=complex)


@pytest.mark.parametrize("samples", [12.0, 7.3])
def test_every_way_is_as_late_as_the_head_says(samples: float) -> None:
    """Also between samples: above what modes bring, one ear is the other turned by the delay, from first to last."""
    left, right = at_seat(Late(late_s=samples / SAMPLE_RATE_HZ), ALONG_ROOM).ears_pa_v.astype(float)
    turn = np.exp(-2j * np.pi * samples / SAMPLE_RATE_HZ * np.arange(left.size // 2 + 1))
    high = slice(200, 19_000)
    spectra = np.fft.rfft(left)[high], (np.fft.rfft(right) * turn)[high]
    apart = np.abs(spectra[0] - spectra[1])
    assert (
        np.sqrt(np.mean(apart**2) / np.mean(np.abs(spectra[1]) ** 2)) < 0.01
    )  # the start is faded in at one time
