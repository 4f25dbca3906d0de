"""What each seat hears: energies made once per shape and place, then driven and judged."""

from dataclasses import dataclass, replace
from functools import cached_property
from typing import Self

import numpy as np

from forehear.ground.arrays import ComplexArray, FloatArray
from forehear.ground.axes import FrequencyGrid
from forehear.ground.flowing import DriveVoltage, EnergyForm
from forehear.ground.levels import level_db
from forehear.ground.store import KeptResults, content_key
from forehear.judge import (
    EarSmoothing,
    Smoothing,
    band_means,
    ear_smoothing,
    find_holes,
    in_room_trend,
    spread_db,
)
from forehear.spine.pose import Bearing, Pose, bearing
from forehear.spine.prediction import DirectResult, SeatResult, SpeechResult
from forehear.spine.refined import USUAL, Reach
from forehear.spine.reverberation import FULL, QUICK, Carrying, Reverberation
from forehear.spine.seats import (
    PARTS_OF_BAND,
    Arrivals,
    arrivals,
    at_seats,
    in_voltage,
    nearly_direct_pressure,
    split,
)
from forehear.spine.speaker import Speaker
from forehear.spine.speech import Programme, SpeechSound, judge_speech, speech_sound

_sounds: KeptResults[tuple["SeatSound", ...]] = KeptResults(most=6)  # half a megabyte a seat


@dataclass(frozen=True, eq=False)
class Hearing:
    """How energies are heard: reflections on split bands, all curves on whole ones."""

    grid: FrequencyGrid
    ear: EarSmoothing  # whole bands to whole bands
    ear_in_room: EarSmoothing  # parts of bands to whole bands
    bands: Smoothing  # parts of bands back to whole bands
    carrying: Carrying  # how far reflections are counted one by one
    reach: Reach | None = USUAL  # of a finished reference solution, used where there is one; None: never

    @classmethod
    def standard(cls, carrying: Carrying = FULL) -> Self:
        """Return the hearing that every judgement uses."""
        grid = FrequencyGrid.standard()
        parts = grid.split(PARTS_OF_BAND)
        return cls(grid, ear_smoothing(grid), ear_smoothing(parts, grid), band_means(parts, grid), carrying)

    def instant(self) -> "Hearing":
        """Return the same hearing of what the instant model alone says."""
        return replace(self, reach=None)

    def quick(self) -> "Hearing":
        """Return the same hearing with fewer reflections counted one by one, for trying many things."""
        return replace(self, carrying=QUICK)


@dataclass(frozen=True)
class Ear:
    """One seat of the brief, in room axes."""

    name: str
    position_m: tuple[float, float, float]


@dataclass(frozen=True, eq=False)
class DirectSound:
    """What the drivers send straight to one seat from one placement, before any network."""

    pose: Pose
    ear: Ear
    bearing: Bearing
    direct_pa_v: ComplexArray  # [driver, frequency] at the seat
    on_axis_pa_v: ComplexArray  # [driver, frequency] on axis at the seat's distance

    @property
    def offset_m(self) -> FloatArray:
        """The seat about the reference point, speaker axes."""
        level = np.cos(self.bearing.elevation_rad)
        unit = [
            level * np.cos(self.bearing.azimuth_rad),
            level * np.sin(self.bearing.azimuth_rad),
            np.sin(self.bearing.elevation_rad),
        ]
        offset: FloatArray = self.bearing.distance_m * np.array(unit)
        return offset


@dataclass(frozen=True, eq=False)
class SeatSound(DirectSound):
    """The same with what the room adds."""

    arrivals: Arrivals
    in_room: EnergyForm
    reverberation: Reverberation

    @cached_property
    def speech(self) -> SpeechSound:
        """What arrives in order of time; found when first asked for."""
        return speech_sound(self.reverberation, self.arrivals, np.array(self.ear.position_m))


def direct_sound_at_seats(speaker: Speaker, pose: Pose, ears: tuple[Ear, ...]) -> tuple[DirectSound, ...]:
    """Find what arrives straight at every seat from one placement, without the room, as a moving hand needs it.

    What is sent straight ahead is that of a direction some 0.1 degrees away at most, all else as in `sound_at_seats`.
    """
    ears_m = np.array([ear.position_m for ear in ears])
    seats_m = (ears_m - pose.in_room_m(speaker, np.zeros(3))) @ pose.rotation
    direct, on_axis = (_per_volt(speaker, each) for each in nearly_direct_pressure(speaker, seats_m))
    return tuple(
        DirectSound(pose, ear, bearing(speaker, pose, ears_m[index]), direct[:, index], on_axis[:, index])
        for index, ear in enumerate(ears)
    )


def sound_at_seats(reverberation: Reverberation, ears: tuple[Ear, ...]) -> tuple[SeatSound, ...]:
    """Find what arrives at every seat from one placement; a changed network changes nothing here."""
    key = content_key(reverberation.speaker.acoustics, reverberation.key, ears)
    return _sounds.get(key, lambda: _sound_at_seats(reverberation, ears))


def _sound_at_seats(reverberation: Reverberation, ears: tuple[Ear, ...]) -> tuple[SeatSound, ...]:
    speaker, pose = reverberation.speaker, reverberation.pose
    ears_m = np.array([ear.position_m for ear in ears])
    seats_m = (ears_m - pose.in_room_m(speaker, np.zeros(3))) @ pose.rotation
    found, ahead = arrivals(reverberation, ears_m)
    direct = _per_volt(speaker, at_seats(speaker, found, seats_m))
    on_axis = _per_volt(speaker, ahead)
    return tuple(
        SeatSound(
            pose=pose,
            ear=ear,
            bearing=bearing(speaker, pose, ears_m[index]),
            arrivals=arriving,
            direct_pa_v=direct[:, index],
            on_axis_pa_v=on_axis[:, index],
            in_room=EnergyForm(
                speaker.grid.split(PARTS_OF_BAND),
                (ear.name,),
                speaker.drivers,
                energy[np.newaxis],
            ),
            reverberation=reverberation,
        )
        for index, (ear, arriving, energy) in enumerate(
            zip(ears, found, in_voltage(found, reverberation), strict=True)
        )
    )


def _per_volt(speaker: Speaker, pressure_pa_s_m: ComplexArray) -> ComplexArray:
    """Turn pressures per source velocity [source, ear, frequency] into pressures per volt at each driver."""
    per_volt: ComplexArray = np.einsum("sef,sif->ief", pressure_pa_s_m, speaker.motion.velocity_m_s_v)
    return per_volt


def judge_seat(
    sound: SeatSound, voltage: DriveVoltage, hearing: Hearing, slope_db_per_octave: float | None = None
) -> SeatResult:
    """Drive the speaker and judge what one seat hears; the reasons are found elsewhere."""
    grid, direct, in_room = (
        voltage.grid,
        judge_direct(sound, voltage, hearing),
        in_room_energy(sound, voltage),
    )
    room_db = level_db(hearing.ear_in_room.smooth(in_room))
    trend_db = in_room_trend(room_db, grid, slope_db_per_octave)
    holes = find_holes(room_db, trend_db, grid)
    return SeatResult(
        **vars(direct),
        in_room_db=level_db(hearing.bands.smooth(in_room)),
        in_room_smoothed_db=room_db,
        in_room_trend_db=trend_db,
        spread_db=spread_db(room_db, trend_db, grid),
        hole=holes[0] if holes else None,
        holes=holes,
        stories=(),
    )


def judge_direct(sound: DirectSound, voltage: DriveVoltage, hearing: Hearing) -> DirectResult:
    """Drive the speaker and judge what reaches one seat straight."""
    grid, volts = voltage.grid, voltage.volts_v
    direct = np.abs((sound.direct_pa_v * volts).sum(axis=0)) ** 2
    on_axis = np.abs((sound.on_axis_pa_v * volts).sum(axis=0)) ** 2
    smoothed_db, axis_db = (level_db(hearing.ear.smooth(energy)) for energy in (direct, on_axis))
    return DirectResult(
        placement=sound.pose.placement,
        name=sound.ear.name,
        azimuth_deg=float(np.degrees(sound.bearing.azimuth_rad)),
        elevation_deg=float(np.degrees(sound.bearing.elevation_rad)),
        distance_m=sound.bearing.distance_m,
        direct_db=level_db(direct),
        direct_smoothed_db=smoothed_db,
        direct_trend_db=axis_db,
        direct_spread_db=spread_db(smoothed_db, axis_db, grid),
        direct_holes=find_holes(smoothed_db, axis_db, grid),
    )


def speech_at(sound: SeatSound, voltage: DriveVoltage, programme: Programme) -> SpeechResult:
    """Judge how clear speech is at one seat."""
    ahead_pa_v = sound.on_axis_pa_v * sound.bearing.distance_m
    return judge_speech(sound.speech, ahead_pa_v, voltage, programme)


def in_room_spread_db(
    sound: SeatSound, voltage: DriveVoltage, hearing: Hearing, slope_db_per_octave: float | None = None
) -> float:
    """Return the spread that `judge_seat` finds, and nothing else [dB]."""
    room_db = level_db(hearing.ear_in_room.smooth(in_room_energy(sound, voltage)))
    return spread_db(room_db, in_room_trend(room_db, voltage.grid, slope_db_per_octave), voltage.grid)


def in_room_energy(sound: SeatSound, voltage: DriveVoltage) -> FloatArray:
    """Energy at the seat with all paths, [part of a band]."""
    driven = DriveVoltage(sound.in_room.grid, voltage.drivers, split(voltage.volts_v))
    energy: FloatArray = sound.in_room.driven(driven)[0]
    return energy
