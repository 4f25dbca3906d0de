"""The story of each seat: why its direct holes are there, and what the reflections make of them."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from forehear.ground.arrays import FloatArray
from forehear.judge import Hole
from forehear.room import explain_fill, path_energy
from forehear.spine.causes import Shares, share_causes
from forehear.spine.hearing import SeatSound, in_room_energy
from forehear.spine.prediction import Fill, HoleStory, SeatResult
from forehear.spine.situation import Situation

NEAR_OCTAVES = 1 / 6
LATER = "later reflections"
MOST_STORIES = 3  # holes explained at one seat, the deepest first


def explained(situation: Situation) -> tuple[SeatResult, ...]:
    """Return every seat with the stories of its direct holes."""
    seats, sounds = situation.seats, situation.sounds
    shares = share_causes(
        situation.speaker,
        situation.network.voltage,
        np.array([sound.offset_m for sound in sounds]),
        [[hole.frequency_hz for hole in seat.direct_holes[:MOST_STORIES]] for seat in seats],
        situation.smoothing,
    )
    return tuple(
        replace(seat, stories=_stories(situation, sound, seat, own))
        for sound, seat, own in zip(sounds, seats, shares, strict=True)
    )


def _stories(
    situation: Situation, sound: SeatSound, seat: SeatResult, shares: Sequence[Shares]
) -> tuple[HoleStory, ...]:
    holes = seat.direct_holes[:MOST_STORIES]
    if not holes:
        return ()
    fills = reflections_at(situation, sound, holes)
    below_db = seat.in_room_trend_db - seat.in_room_smoothed_db
    return tuple(
        HoleStory(
            hole=hole,
            shares=share.shares,
            rest_db=share.rest_db,
            depth_in_room_db=_deepest_near(situation, below_db, hole),
            fills=fill,
        )
        for hole, share, fill in zip(holes, shares, fills, strict=True)
    )


def reflections_at(
    situation: Situation, sound: SeatSound, holes: Sequence[Hole]
) -> tuple[tuple[Fill, ...], ...]:
    """Tell for each hole what would be lost without each reflection; negative where one digs it."""
    speaker = situation.speaker
    voltage = situation.network.voltage
    energy = path_energy(
        situation.grid,
        sound.arrivals.amplitude_pa_s_m,
        sound.arrivals.distance_m,
        speaker.air,
        speaker.source_velocity(voltage),
    )
    later = situation.hearing.bands.smooth(in_room_energy(sound, voltage)) - energy.sum(axis=(1, 2))
    names = (*sound.arrivals.reflections, LATER)
    return tuple(
        tuple(
            Fill(names[fill.path], fill.missed_db)
            for fill in explain_fill(energy, later, _ear_at(situation, hole))
        )
        for hole in holes
    )


def _deepest_near(situation: Situation, below_db: FloatArray, hole: Hole) -> float:
    """How far the sound in the room falls below its trend near a direct hole; the room may shift it a little."""
    near = np.abs(np.log2(situation.grid.frequency_hz / hole.frequency_hz)) <= NEAR_OCTAVES
    return max(0.0, float(below_db[near].max()))


def _ear_at(situation: Situation, hole: Hole) -> FloatArray:
    weight: FloatArray = situation.smoothing.weight[_band(situation, hole)]
    return weight


def _band(situation: Situation, hole: Hole) -> int:
    return int(np.argmin(np.abs(np.log(situation.grid.frequency_hz / hole.frequency_hz))))
