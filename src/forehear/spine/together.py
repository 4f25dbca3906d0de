"""Several speakers in one room: what each seat hears of each, of all together, and how the centre fits the others."""

from collections.abc import Sequence

import numpy as np

from forehear.design import Placement, load
from forehear.ground.arrays import FloatArray
from forehear.ground.axes import FrequencyGrid
from forehear.ground.levels import level_db
from forehear.ground.work import Progress, unseen
from forehear.judge import in_room_trend, octave_smoothing, spread_db
from forehear.spine.hearing import in_room_energy, judge_seat, sound_at_seats
from forehear.spine.prediction import Fit, Playing, Together
from forehear.spine.reverberation import Reverberation
from forehear.spine.situation import Situation, begin
from forehear.spine.translate import pose_of

TIMBRE_HZ = (200.0, 10_000.0)
LEVEL_HZ = (300.0, 3000.0)
DOWN_DB = 6.0
CENTRE = "centre"


def play_together(situation: Situation, progress: Progress = unseen) -> Together | None:
    """Hear every placement in force; None where only one speaker stands in the room.

    Raises
    ------
    DesignError, Complaints
        When another placement's design cannot be read or driven.
    """
    placements = situation.design.placements
    if len(placements) < 2:
        return None
    energies, each = [], []
    for index, placement in enumerate(placements):
        progress(index / len(placements), f"{placement.name}")
        energy, playing = _playing(situation, placement)
        energies.append(energy)
        each.append(playing)
    grid, slope = situation.grid, situation.design.brief.goals.in_room_slope_db_per_octave
    sum_db = level_db(np.sum(energies, axis=0))
    seats = tuple(ear.name for ear in situation.scene.ears)
    return Together(
        seats=seats,
        each=tuple(each),
        sum_db=sum_db,
        sum_spread_db=np.array([spread_db(row, in_room_trend(row, grid, slope), grid) for row in sum_db]),
        fits=tuple(_fits(each, seats, grid)),
    )


def _playing(situation: Situation, placement: Placement) -> tuple[FloatArray, Playing]:
    """Energies at every seat, ear-smoothed [seat, frequency], and what they amount to."""
    path = placement.design_path
    design = situation.design if path is None else load(path)
    setting = situation if path is None else begin(design, situation.hearing)
    hearing, voltage, scene = situation.hearing, setting.network.voltage, situation.scene
    reverberation = Reverberation(
        setting.speaker, pose_of(design, placement), scene.shoebox, hearing.carrying
    )
    sounds = sound_at_seats(reverberation, scene.ears)
    slope = situation.design.brief.goals.in_room_slope_db_per_octave
    seats = [judge_seat(sound, voltage, hearing, slope) for sound in sounds]
    heard = np.array([hearing.bands.smooth(in_room_energy(sound, voltage)) for sound in sounds])
    level = _mean_db(heard, situation.grid)
    third_db = level_db(octave_smoothing(situation.grid, 3).smooth(heard))
    energy: FloatArray = np.array(
        [hearing.ear_in_room.smooth(in_room_energy(sound, voltage)) for sound in sounds]
    )
    return energy, Playing(
        placement=placement.name,
        title=design.title,
        smoothed_db=level_db(energy),
        level_db=level,
        bass_hz=_bass_hz(third_db, level, situation.grid),
        spread_db=np.array([seat.spread_db for seat in seats]),
    )


def _mean_db(energy: FloatArray, grid: FrequencyGrid) -> FloatArray:
    within = (grid.frequency_hz >= LEVEL_HZ[0]) & (grid.frequency_hz <= LEVEL_HZ[1])
    mean: FloatArray = level_db(energy[:, within].mean(axis=1))
    return mean


def _bass_hz(third_db: FloatArray, level: FloatArray, grid: FrequencyGrid) -> FloatArray:
    """Lowest frequency [seat] that lies within 6 dB of the mean level."""
    loud = third_db >= level[:, np.newaxis] - DOWN_DB
    lowest: FloatArray = grid.frequency_hz[loud.argmax(axis=1)]
    return lowest


def _fits(each: Sequence[Playing], seats: Sequence[str], grid: FrequencyGrid) -> list[Fit]:
    centres = [playing for playing in each if playing.placement.lower() == CENTRE]
    asked = centres or each
    within = (grid.frequency_hz >= TIMBRE_HZ[0]) & (grid.frequency_hz <= TIMBRE_HZ[1])
    found = []
    for playing in asked:
        others = [other for other in each if other is not playing]
        mean_db = np.mean([other.smoothed_db for other in others], axis=0)
        for index, seat in enumerate(seats):
            apart = (playing.smoothed_db[index] - mean_db[index])[within]
            louder = float(playing.level_db[index] - np.mean([other.level_db[index] for other in others]))
            deeper = float(
                np.mean([np.log2(playing.bass_hz[index] / other.bass_hz[index]) for other in others])
            )
            names = tuple(other.placement for other in others)
            found.append(Fit(playing.placement, names, seat, louder, float(np.std(apart)), deeper))
    return found
