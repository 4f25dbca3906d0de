"""What seats hear of a speaker that is driven already: as `sound_at_seats` has it, but found for one network alone.

Where many turns, places and surfaces are tried nobody asks what another network would do. So sources are summed
before their energy is taken, and what no number is made of is left out.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from forehear.ground.arrays import ComplexArray, FloatArray
from forehear.ground.levels import level_db
from forehear.judge import c50_single_db, clarity_c50_db, in_room_trend, spread_db
from forehear.room import driven_band_means_of, few_arrivals_sum
from forehear.spine.hearing import Hearing
from forehear.spine.reverberation import Reverberation
from forehear.spine.seats import PARTS_OF_BAND, Arrivals, arrivals, at_seats, on_nodes, split
from forehear.spine.speech import driven_speech, energy_decay, together


@dataclass(frozen=True, eq=False)
class Trial:
    """One driven speaker in a room, heard at some places; only for a carrying without modes."""

    reverberation: Reverberation
    velocity_m_s_v: ComplexArray  # [source, band] per volt at the terminals
    ears_m: FloatArray  # [ear, 3]

    def __post_init__(self) -> None:
        if self.reverberation.carrying.modal:
            raise ValueError("a carrying with modes is heard by `sound_at_seats` alone")

    def spreads_db(self, hearing: Hearing, slope_db_per_octave: float | None) -> list[float]:
        """Spread of the sound in the room at every ear, as `judge_seat` finds it."""
        grid = self.reverberation.speaker.grid
        return [
            spread_db(heard_db, in_room_trend(heard_db, grid, slope_db_per_octave), grid)
            for heard_db in level_db(hearing.ear_in_room.smooth(self.in_room_energy()))
        ]

    def direct_spreads_db(self, hearing: Hearing) -> list[float]:
        """Spread of the direct sound at every ear, as `judge_direct` finds it."""
        speaker, pose = self.reverberation.speaker, self.reverberation.pose
        seats_m = (self.ears_m - pose.in_room_m(speaker, np.zeros(3))) @ pose.rotation
        found, ahead = self._arriving
        direct_db, ahead_db = (
            level_db(hearing.ear.smooth(np.abs((sent * self.velocity_m_s_v[:, np.newaxis]).sum(axis=0)) ** 2))
            for sent in (at_seats(speaker, found, seats_m), ahead)
        )
        return [spread_db(*both, speaker.grid) for both in zip(direct_db, ahead_db, strict=True)]

    def c50_db(self) -> list[float]:
        """Clarity of speech at every ear, as `speech_at` finds it."""
        all_together = together(self.reverberation.speaker.grid)
        each = zip(self._arriving[0], self.ears_m, strict=True)
        return [
            float(c50_single_db(clarity_c50_db(energy_decay(sound, all_together))))
            for arriving, ear_m in each
            for sound in [driven_speech(self.reverberation, arriving, ear_m, self.velocity_m_s_v)]
        ]

    def in_room_energy(self) -> FloatArray:
        """Energy of all ways, [ear, part of a band]."""
        speaker, grid = self.reverberation.speaker, self.reverberation.carrying.grid
        found, parts = self._arriving[0], speaker.grid.split(PARTS_OF_BAND)
        distance_m = np.array([arriving.distance_m for arriving in found])  # [ear, source, way]
        amplitude = np.array([arriving.amplitude_pa_s_m for arriving in found]) / distance_m[..., np.newaxis]
        heard = few_arrivals_sum(amplitude, distance_m / speaker.air.sound_speed_m_s, speaker.grid, grid)
        heard += np.array([arriving.later_pa_s_m for arriving in found])
        counted = driven_band_means_of(heard, self.velocity_m_s_v, (speaker.grid, parts), grid)
        velocity = split(self.velocity_m_s_v)
        rest = on_nodes(self.reverberation.average(), parts)
        uncounted = np.einsum("sp,pst,tp->p", velocity.conj(), rest, velocity, optimize=True)
        energy: FloatArray = np.maximum(counted + uncounted.real, 0.0)
        return energy

    @cached_property
    def _arriving(self) -> tuple[tuple[Arrivals, ...], ComplexArray]:
        return arrivals(self.reverberation, self.ears_m)
