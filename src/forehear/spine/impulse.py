"""The impulse response at a seat: counted reflections as they are, the rest as noise that dies away as it should."""

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
import scipy.fft
from numpy.typing import NDArray

from forehear.design import Design
from forehear.ground.arrays import ComplexArray, FloatArray
from forehear.ground.axes import FrequencyGrid
from forehear.ground.flowing import DriveVoltage
from forehear.room import NODES, Block, LinearGrid, node_places
from forehear.spine.hearing import Hearing, SeatSound
from forehear.spine.reverberation import Carrying, Reverberation, driven_average, fade
from forehear.spine.seats import arrivals
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
NOISE_EDGES_S = np.arange(0.0, LENGTH_S + NOISE_STEP_S / 2, NOISE_STEP_S)


def impulse_response(sound: SeatSound, voltage: DriveVoltage, seed: int = 1) -> FloatArray:
    """Pressure at a seat when one volt is put at the terminals for one sample.

    What is counted one by one keeps its phase. All that is known only on average, images farther off and the
    diffuse field, is noise of the right level at every third of an octave and every time.

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
    spectrum += noise_spectrum(uncounted_energy(reverberation, velocity), first_s, seed)
    return in_time(spectrum, first_s)


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


def noise_spectrum(energy: FloatArray, first_s: float, seed: int | Sequence[int]) -> ComplexArray:
    """Spectrum of noise with the energies [stretch, node] of `uncounted_energy`, [frequency] every hertz from 0."""
    samples = round(LENGTH_S * SAMPLE_RATE_HZ)
    begun = int(np.searchsorted(NOISE_EDGES_S, first_s))
    energy = energy.copy()
    energy[begun] += energy[:begun].sum(axis=0)  # nothing arrives before the direct sound
    energy[:begun] = 0.0
    per_sample = round(NOISE_STEP_S * SAMPLE_RATE_HZ)
    random = np.random.default_rng(seed)
    hz = np.arange(samples // 2 + 1, dtype=float)
    spectrum = np.zeros(hz.size, dtype=complex)
    for node in range(len(NODES)):
        level = np.sqrt(np.repeat(np.maximum(energy[:, node], 0.0) / per_sample, per_sample))
        white = random.standard_normal(samples) * level
        around = slice(
            *np.searchsorted(hz, NODES.frequency_hz[[max(node - 1, 0), min(node + 1, len(NODES) - 1)]])
        )
        if node == len(NODES) - 1:
            around = slice(around.start, None)
        spectrum[around] += scipy.fft.rfft(white)[around] * np.sqrt(_hat(hz[around], node))
    return spectrum


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


def _hat(frequency_hz: FloatArray, node: int) -> FloatArray:
    """Share of each frequency that belongs to one node, all nodes together 1 between the first and the last."""
    at = node_places(np.maximum(frequency_hz, 1.0))
    share: FloatArray = np.clip(1 - np.abs(at - node), 0.0, 1.0)
    return share
