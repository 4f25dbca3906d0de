"""The impulse response at a seat: counted reflections as they are, the rest as noise that dies away as it should."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cache, cached_property

import numpy as np
import scipy.fft
from numpy.typing import NDArray

from forehear.design import Design
from forehear.ground.arrays import ComplexArray, FloatArray, locked
from forehear.ground.axes import FrequencyGrid
from forehear.ground.flowing import DriveVoltage
from forehear.room import NODES, Block, LinearGrid, node_places
from forehear.spine.hearing import Hearing, SeatSound
from forehear.spine.reverberation import Carrying, Reverberation, driven_average, fade
from forehear.spine.seats import Arrivals, arrivals
from forehear.spine.settling import Wanted, settled
from forehear.spine.situation import solve_situation

SAMPLE_RATE_HZ = 48_000
LENGTH_S = 1.0
EVEN = Carrying(
    images=5_000,
    grid=LinearGrid(NODES, (Block(0, 21, 1.0), Block(21, 24, 1.0), Block(24, 27, 1.0), Block(27, 30, 1.0))),
    step_deg=10.0,
    modal=True,
)
BEFORE_S = 0.0005  # of the direct sound: earlier there is silence
LAST_S = 0.05  # over which the end fades
NOISE_STEP_S = 0.005  # between the points that the level of the noise is known at
PARTS_S = (0.05, 0.15)  # after the direct sound: in each part between them noise brings its own energy
PART_FADE_S = 0.01
NOISE_EDGES_S = np.arange(0.0, LENGTH_S + NOISE_STEP_S / 2, NOISE_STEP_S)


def impulse_response(sound: SeatSound, voltage: DriveVoltage, seed: int = 1) -> FloatArray:
    """Pressure at a seat when one volt is put at the terminals for one sample.

    What is counted one by one keeps its phase. All that is known only on average, images farther off and the
    diffuse field, is noise of the right level at every third of an octave and every time, settled so that no chance is
    left in the energy that an ear's bands hear.

    Parameters
    ----------
    sound
        What arrives.
    voltage
        Of the network.
    seed
        Of the noise; different ears take different ones.

    Returns
    -------
    array
        [sample] at `SAMPLE_RATE_HZ`, one second from when the speaker is driven. [Pa/V]
    """
    reverberation = replace(sound.reverberation, carrying=EVEN)
    velocity = reverberation.speaker.source_velocity(voltage)
    (arriving,), _ = arrivals(reverberation, np.array([sound.ear.position_m]))
    first_s = sound.bearing.distance_m / reverberation.speaker.air.sound_speed_m_s
    spectrum = driven_spectrum(
        [arriving.heard(source, reverberation) for source in range(len(velocity))],
        reverberation.speaker.grid,
        velocity,
    )
    average = expected(uncounted_energy(reverberation, velocity), first_s, arriving, reverberation)
    (whole,) = average.settled(spectrum[np.newaxis], average.noise(seed)[np.newaxis], np.ones(spectrum.size))
    return in_time(whole, first_s)


def impulse_responses(design: Design, *, instant: bool = False) -> dict[tuple[str, str], FloatArray]:
    """Impulse response of every placement at every seat, by (placement, seat), as `impulse_response` gives them.

    What leaves the speaker is that of a reference solution where there is one, unless only the instant one is wanted.

    Raises
    ------
    DesignError
        When the network shorts the amplifier.
    """
    hearing = Hearing.standard()
    situation = solve_situation(design, hearing.instant() if instant else hearing)
    return {
        (sound.pose.placement, sound.ear.name): impulse_response(sound, situation.network.voltage, seed)
        for seed, sound in enumerate(situation.sounds)
    }


def in_time(spectrum: ComplexArray, first_s: float) -> FloatArray:
    """Turn a spectrum every hertz from 0 into a response that begins with the direct sound and fades at its end."""
    response: FloatArray = scipy.fft.irfft(spectrum, n=round(LENGTH_S * SAMPLE_RATE_HZ))
    time_s = np.arange(response.size) / SAMPLE_RATE_HZ
    response *= np.clip((time_s - first_s) / BEFORE_S + 2.0, 0.0, 1.0)  # a spectrum that ends rings ahead too
    response *= np.clip((LENGTH_S - time_s) / LAST_S, 0.0, 1.0)
    return response


def driven_spectrum(
    heard: Sequence[NDArray[np.complex64]], bands: FrequencyGrid, velocity: ComplexArray
) -> ComplexArray:
    """Drive what sources send to one place per m/s, on the grid of `EVEN`: [frequency] every hertz from 0."""
    spectrum = np.zeros(round(LENGTH_S * SAMPLE_RATE_HZ) // 2 + 1, dtype=complex)
    hz = EVEN.grid.frequency_hz
    places = hz.astype(int)
    for own, moved in zip(heard, velocity, strict=True):
        spectrum[places] += own * _between_bands(moved, hz, bands.frequency_hz)
    return spectrum


@dataclass(frozen=True, eq=False)
class Expected:
    """What is known only on average at one ear, and when noise shall bring it."""

    energy: FloatArray  # [stretch, node] from the direct sound on, as `uncounted_energy` gives it
    share: FloatArray  # [frequency] of it, every hertz from 0, that modes do not bring already
    first_s: float  # when the direct sound arrives

    def __post_init__(self) -> None:
        locked(self, "energy", (len(NOISE_EDGES_S) - 1, len(NODES)), "stretches x nodes")
        locked(self, "share", (_hats().shape[1],), "frequencies")

    @cached_property
    def wanted(self) -> Wanted:
        """Energy that noise shall bring, where nothing weakens or strengthens it."""
        windows = _windows(self.first_s)
        of_stretch = np.square(windows).reshape(len(windows), len(self.energy), -1).mean(axis=2)
        seen = np.vstack([of_stretch @ self.energy, self.energy.sum(axis=0)]).astype(np.float32)
        energy = (seen @ _hats()) * self.share.astype(np.float32)
        return Wanted(windows, energy[:-1], energy[-1])

    def noise(self, seed: int | Sequence[int]) -> ComplexArray:
        """Draw noise of these energies, as chance has it, [frequency] every hertz from 0."""
        samples = round(LENGTH_S * SAMPLE_RATE_HZ)
        per_sample = round(NOISE_STEP_S * SAMPLE_RATE_HZ)
        random = np.random.default_rng(seed)
        level = np.sqrt(np.maximum(self.energy, 0.0) / per_sample).astype(np.float32)
        white = random.standard_normal((1, samples // per_sample, per_sample), dtype=np.float32)
        drawn = scipy.fft.rfft((white * level.T[..., np.newaxis]).reshape(len(NODES), samples), axis=1)
        spectrum: NDArray[np.complex64] = np.einsum("nf,nf->f", drawn, _hats())
        return np.asarray(spectrum * np.sqrt(self.share), dtype=complex)

    def settled(self, counted: ComplexArray, noise: ComplexArray, power: FloatArray) -> ComplexArray:
        """Put noise on top of what is counted [channel, frequency]; together they hear the average with this power."""
        return counted + settled(counted, noise, self.wanted.through(power))


def expected(
    energy: FloatArray, first_s: float, arriving: Arrivals, reverberation: Reverberation
) -> Expected:
    """Bring the energies of `uncounted_energy` to one ear, which the direct sound reaches after `first_s`."""
    begun = int(np.searchsorted(NOISE_EDGES_S, first_s))
    energy = energy.copy()
    energy[begun] += energy[:begun].sum(axis=0)  # nothing arrives before the direct sound
    energy[:begun] = 0.0
    hz = np.arange(round(LENGTH_S * SAMPLE_RATE_HZ) // 2 + 1, dtype=float)
    modal = reverberation.modal_share(np.maximum(hz, 1.0)) if arriving.modal_1_m.size else np.zeros(hz.size)
    return Expected(energy, 1 - modal, first_s)


def _windows(first_s: float) -> NDArray[np.float32]:
    """Part the time after the direct sound by windows that fade softly into each other, [part, sample]."""
    after_s = np.arange(round(LENGTH_S * SAMPLE_RATE_HZ)) / SAMPLE_RATE_HZ - first_s
    begun = [np.clip(after_s / BEFORE_S + 1.0, 0.0, 1.0)]
    begun += [np.clip((after_s - part_s) / PART_FADE_S + 0.5, 0.0, 1.0) for part_s in PARTS_S]
    rising = np.sin(np.pi / 2 * np.array([*begun, np.zeros(after_s.size)])) ** 2
    windows: NDArray[np.float32] = (rising[:-1] - rising[1:]).astype(np.float32)
    return windows


def uncounted_energy(reverberation: Reverberation, velocity: ComplexArray) -> FloatArray:
    """Energy of what is known on average between `NOISE_EDGES_S`, driven, the same at every seat, [stretch, node]."""
    edges_m = NOISE_EDGES_S * reverberation.speaker.air.sound_speed_m_s
    longest_m = reverberation.carrying.longest_m(reverberation.shoebox)
    faded_in = 1 - fade((edges_m[:-1] + edges_m[1:]) / 2, longest_m) ** 2
    bands = reverberation.speaker.grid.frequency_hz
    driven = np.array([_between_bands(own, NODES.frequency_hz, bands, np.log) for own in velocity])
    specular, diffuse = driven_average(reverberation, driven, edges_m)
    return diffuse + specular * faded_in[:, np.newaxis]


def _between_bands(
    values: ComplexArray,
    frequency_hz: FloatArray,
    bands_hz: FloatArray,
    scale: Callable[[FloatArray], FloatArray] = np.asarray,
) -> ComplexArray:
    """Read complex values of bands at frequencies between them, straight on a scale."""
    at, known = scale(frequency_hz), scale(bands_hz)
    between: ComplexArray = np.interp(at, known, values.real) + 1j * np.interp(at, known, values.imag)
    return between


@cache
def _hats() -> NDArray[np.float32]:
    """Share of every hertz from 0 that belongs to each node [node, frequency], together 1 from first to last."""
    at = node_places(np.maximum(np.arange(round(LENGTH_S * SAMPLE_RATE_HZ) // 2 + 1, dtype=float), 1.0))
    away = np.abs(at - np.arange(len(NODES))[:, np.newaxis])
    shares: NDArray[np.float32] = np.clip(1 - away, 0.0, 1.0).astype(np.float32)
    shares.setflags(write=False)
    return shares
