"""How clear speech is at a seat: the energy that arrives there, in order of time, driven and judged."""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from forehear.ground.arrays import ComplexArray, FloatArray
from forehear.ground.axes import FrequencyGrid
from forehear.ground.flowing import DriveVoltage
from forehear.judge import (
    SPEECH_OCTAVE_HZ,
    EnergyDecay,
    a_weighted_level_db,
    c50_single_db,
    clarity_c50_db,
    speech_levels_db,
    speech_transmission,
    useful_to_detrimental_u50_db,
)
from forehear.room import NODES, later_images, reflected_share, toward_each
from forehear.spine.prediction import SpeechResult
from forehear.spine.reverberation import Reverberation, driven_average
from forehear.spine.seats import Arrivals
from forehear.spine.speaker import Speaker

EARLY_EDGES_S = np.linspace(
    0.0, 0.05, 11
)  # within them images are counted one by one: here clarity parts the sound
LATE_EDGES_S = np.array([0.05, 0.06, 0.075, 0.1, 0.125, 0.15, 0.2, 0.25, 0.3, 0.4])
OCTAVE_NODES = slice(7, 28)  # thirds of an octave, three in each octave from 125 Hz to 8 kHz
OCTAVE_BANDS = slice(52, 220)  # bands of the standard grid, 24 in each of them


@dataclass(frozen=True)
class Programme:
    """What is played and what is heard besides."""

    speech_db_a: float  # A-weighted, at 1 m straight ahead
    noise_db: tuple[float, ...]  # [octave] at every seat
    others_db: float | None  # of the other speakers, re the speech at the same seat; None: silent


@dataclass(frozen=True, eq=False)
class SpeechSound:
    """What drivers send to one ear in order of time, before any network."""

    first_pa_v: (
        ComplexArray  # [driver, path, band] direct sound and first reflections, bands of `OCTAVE_BANDS`
    )
    first_s: FloatArray  # [path] after the direct sound
    later_pa2_v2: ComplexArray  # [bin, node, driver, driver] nodes of `OCTAVE_NODES`
    last_pa2_v2: ComplexArray  # [node, driver, driver] all that comes after the last bin


def speech_sound(reverberation: Reverberation, arriving: Arrivals, ear_m: FloatArray) -> SpeechSound:
    """Put what arrives at an ear in order of time; a changed network changes nothing here.

    Images within 50 ms of the direct sound are counted one by one, each with the drivers in the phase they have
    there, but without phase among images; later ones by their average.
    """
    speaker = reverberation.speaker
    speed_m_s = speaker.air.sound_speed_m_s
    nearest_m = float(np.linalg.norm(ear_m - np.array(reverberation.pose.middle_of_front_m)))
    motion = speaker.motion.velocity_m_s_v
    at_nodes = motion[..., nearest_band(speaker.grid)].transpose(2, 0, 1)  # [node, source, driver]
    edges_m = np.append(nearest_m + speed_m_s * LATE_EDGES_S, np.inf)
    late = (reverberation.specular_between(edges_m) + reverberation.diffuse_between(edges_m))[:, OCTAVE_NODES]
    edges_m = nearest_m + speed_m_s * EARLY_EDGES_S
    early = _counted_form(reverberation, ear_m, edges_m)
    early += reverberation.diffuse_between(np.concatenate([[0.0], edges_m[1:]]))[:, OCTAVE_NODES]
    per_volt = at_nodes.conj().transpose(0, 2, 1) @ np.concatenate([early, late]) @ at_nodes
    return SpeechSound(
        first_pa_v=np.einsum("spf,sif->ipf", _first(arriving, speaker), motion[..., OCTAVE_BANDS]),
        first_s=(arriving.distance_m[0] - arriving.distance_m[0, 0]) / speed_m_s,
        later_pa2_v2=per_volt[:-1],
        last_pa2_v2=per_volt[-1],
    )


def driven_speech(
    reverberation: Reverberation, arriving: Arrivals, ear_m: FloatArray, velocity_m_s_v: ComplexArray
) -> SpeechSound:
    """As `speech_sound`, of all sources driven already [source, band]: one driver, which `together` drives."""
    speaker = reverberation.speaker
    speed_m_s = speaker.air.sound_speed_m_s
    nearest_m = float(np.linalg.norm(ear_m - np.array(reverberation.pose.middle_of_front_m)))
    early_m, late_m = (nearest_m + speed_m_s * edges_s for edges_s in (EARLY_EDGES_S, LATE_EDGES_S))
    at_nodes = velocity_m_s_v[:, np.argmin(_apart(speaker.grid, NODES.frequency_hz), axis=0)]
    edges_m = np.concatenate([[0.0], early_m[1:], late_m[1:], [np.inf]])
    specular, diffuse = driven_average(reverberation, at_nodes, edges_m)
    specular[: len(early_m) - 1] = 0.0
    energy = (specular + diffuse)[:, OCTAVE_NODES]
    energy[: len(early_m) - 1] += _counted_energy(reverberation, ear_m, early_m, at_nodes[:, OCTAVE_NODES])
    form = energy[..., np.newaxis, np.newaxis].astype(complex)
    first = (_first(arriving, speaker) * velocity_m_s_v[:, np.newaxis, OCTAVE_BANDS]).sum(axis=0)
    first_s = (arriving.distance_m[0] - arriving.distance_m[0, 0]) / speed_m_s
    return SpeechSound(first[np.newaxis], first_s, form[:-1], form[-1])


def together(grid: FrequencyGrid) -> DriveVoltage:
    """Return the voltage of all sources driven already, as if they were one driver."""
    return DriveVoltage(grid, ("all together",), np.ones((1, len(grid)), dtype=complex))


def judge_speech(
    sound: SpeechSound, ahead_pa_v: ComplexArray, voltage: DriveVoltage, programme: Programme
) -> SpeechResult:
    """Drive the speaker and judge how clear speech is.

    Parameters
    ----------
    sound
        What arrives.
    ahead_pa_v
        Each driver straight ahead, brought back to 1 m, [driver, frequency]. [Pa/V]
    voltage
        Of the network. [-]
    programme
        Levels of speech and noise.
    """
    decay = energy_decay(sound, voltage)
    ahead = np.abs((ahead_pa_v * voltage.volts_v).sum(axis=0)) ** 2
    speech_db = speech_levels_db(programme.speech_db_a)
    played_db = speech_db + 10 * np.log10(np.maximum(_octave_means(ahead[OCTAVE_BANDS]), 1e-30))
    gain_db = programme.speech_db_a - a_weighted_level_db(played_db)
    seat_db = speech_db + 10 * np.log10(np.maximum(decay.total, 1e-30)) + gain_db
    noise_db = np.array(programme.noise_db)
    if programme.others_db is not None:
        others_db = speech_levels_db(float(a_weighted_level_db(seat_db)) + programme.others_db)
        noise_db = 10 * np.log10(10 ** (noise_db / 10) + 10 ** (others_db / 10))
    clarity_db = clarity_c50_db(decay)
    return SpeechResult(
        c50_db=float(c50_single_db(clarity_db)),
        c50_octave_db=clarity_db,
        u50_db=float(c50_single_db(useful_to_detrimental_u50_db(decay, seat_db, noise_db))),
        sti=float(speech_transmission(decay, seat_db, noise_db).index),
        speech_db_a=float(a_weighted_level_db(seat_db)),
        noise_db_a=float(a_weighted_level_db(noise_db)),
        decay=decay,
    )


def energy_decay(sound: SpeechSound, voltage: DriveVoltage) -> EnergyDecay:
    """Drive the speaker: energy at the seat by octave and time."""
    volts = voltage.volts_v
    first = np.abs(np.einsum("ipf,if->pf", sound.first_pa_v, volts[:, OCTAVE_BANDS])) ** 2
    first = _octave_means(first)  # [path, octave]
    at_nodes = volts[:, nearest_band(voltage.grid)].T  # [node, driver]
    later, last = (
        _octave_means(np.einsum("ki,...kij,kj->...k", at_nodes.conj(), form, at_nodes).real)
        for form in (sound.later_pa2_v2, sound.last_pa2_v2)
    )
    edges_s = np.concatenate([[0.0], EARLY_EDGES_S, LATE_EDGES_S[1:]])
    energy = np.concatenate([first[:1], later])
    for time_s, arrived in zip(sound.first_s[1:], first[1:], strict=True):
        energy[np.clip(np.searchsorted(edges_s, time_s, side="right") - 1, 1, len(energy) - 1)] += arrived
    energy, last = np.maximum(energy, 0.0), np.maximum(last, 0.0)
    return EnergyDecay(edges_s, energy.T, last, _decay_time_s(energy[-1], last))


def _decay_time_s(before: FloatArray, last: FloatArray) -> FloatArray:
    """Decay time [octave] of an exponential that has `last` after the last edge and `before` in the bin before it."""
    ratio = np.maximum(before, 1e-12 * np.maximum(last, 1e-300)) / np.maximum(last, 1e-300)
    time_s: FloatArray = 6 * np.log(10) * (LATE_EDGES_S[-1] - LATE_EDGES_S[-2]) / np.log1p(ratio)
    return time_s


def _first(arriving: Arrivals, speaker: Speaker) -> ComplexArray:
    """Direct sound and first reflections per m/s with their phases, [source, path, band]."""
    wave_number = 2 * np.pi * speaker.grid.frequency_hz[OCTAVE_BANDS] / speaker.air.sound_speed_m_s
    later_m = arriving.distance_m - arriving.distance_m[:1]
    flight = np.exp(-1j * later_m[..., np.newaxis] * wave_number) / arriving.distance_m[..., np.newaxis]
    first: ComplexArray = arriving.amplitude_pa_s_m[..., OCTAVE_BANDS] * flight
    return first


def _counted_form(reverberation: Reverberation, ear_m: FloatArray, edges_m: FloatArray) -> ComplexArray:
    """Energy of images within distances, as a form in source velocities, [bin, node, source, source]."""
    pose, nodes_hz = reverberation.pose, NODES.frequency_hz[OCTAVE_NODES]
    middle_m = np.array(pose.middle_of_front_m)
    images = later_images(reverberation.shoebox, middle_m, ear_m, float(edges_m[-1]))
    _, distance_m = images.departures_m(middle_m)
    share = reflected_share(reverberation.shoebox, images.index, nodes_hz)
    sent = []
    for source in range(len(reverberation.speaker.sources)):
        departure_m, own_m = images.departures_m(reverberation.places_m[source])
        wave_number = 2 * np.pi * nodes_hz / reverberation.speaker.air.sound_speed_m_s
        pressure = reverberation.sending(source).toward(departure_m @ pose.rotation, own_m)[:, OCTAVE_NODES]
        sent.append(pressure * share * np.exp(-1j * np.outer(own_m - distance_m, wave_number)))
    pressure = np.array(sent).transpose(2, 0, 1)  # [node, source, image]
    found = [
        pressure[:, :, inside].conj() @ pressure[:, :, inside].transpose(0, 2, 1)
        for low, high in pairwise(edges_m)
        for inside in [(distance_m >= low) & (distance_m < high)]
    ]
    return np.array(found, dtype=complex)


def _counted_energy(
    reverberation: Reverberation, ear_m: FloatArray, edges_m: FloatArray, at_nodes: ComplexArray
) -> FloatArray:
    """Energy of images within distances [bin, node], sources driven at [source, node]."""
    pose, nodes_hz = reverberation.pose, NODES.frequency_hz[OCTAVE_NODES]
    middle_m = np.array(pose.middle_of_front_m)
    images = later_images(reverberation.shoebox, middle_m, ear_m, float(edges_m[-1]))
    _, distance_m = images.departures_m(middle_m)
    departure_m = images.place_m - reverberation.places_m[:, np.newaxis]  # [source, image, 3]
    own_m = np.sqrt(np.einsum("six,six->si", departure_m, departure_m))
    sendings = [reverberation.sending(source) for source in range(len(own_m))]
    sent = toward_each(sendings, departure_m @ pose.rotation, own_m, OCTAVE_NODES)
    wave_number = 2 * np.pi * nodes_hz / reverberation.speaker.air.sound_speed_m_s
    angle = np.multiply.outer(own_m - distance_m, wave_number).astype(np.float32)
    turned = np.empty(angle.shape, dtype=np.complex64)
    turned.real, turned.imag = np.cos(angle), -np.sin(angle)
    sent *= turned
    driven = (sent * at_nodes.astype(np.complex64)[:, np.newaxis]).sum(axis=0)
    share = reflected_share(reverberation.shoebox, images.index, nodes_hz)
    energy = (np.square(driven.real) + np.square(driven.imag)) * share**2
    place = np.searchsorted(edges_m, distance_m, side="right") - 1
    inside: FloatArray = (place == np.arange(len(edges_m) - 1)[:, np.newaxis]) @ energy
    return inside


def _octave_means(values: FloatArray) -> FloatArray:
    """Mean of each octave, [..., octave], of values at nodes or in bands of all octaves."""
    means: FloatArray = values.reshape(*values.shape[:-1], len(SPEECH_OCTAVE_HZ), -1).mean(axis=-1)
    return means


def nearest_band(grid: FrequencyGrid) -> NDArray[np.intp]:
    """Band of each node of the octaves."""
    nearest: NDArray[np.intp] = _apart(grid, NODES.frequency_hz[OCTAVE_NODES]).argmin(axis=0)
    return nearest


def _apart(grid: FrequencyGrid, frequency_hz: FloatArray) -> FloatArray:
    """How far each band lies from each frequency, in logarithms, [band, frequency]."""
    apart: FloatArray = np.abs(np.log(grid.frequency_hz)[:, np.newaxis] - np.log(frequency_hz))
    return apart
