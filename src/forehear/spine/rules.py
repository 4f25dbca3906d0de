"""Rules of thumb of the trade for one design, each with the exact answer beside it."""

from collections.abc import Iterator, Sequence
from itertools import pairwise

import numpy as np

from forehear.ground.arrays import FloatArray
from forehear.ground.axes import ORBIT_ANGLES_DEG, Directions
from forehear.ground.flowing import DriverPressure
from forehear.ground.levels import level_db
from forehear.judge import (
    baffle_step_hz,
    beaming_frequency_hz,
    crossing_over_resonance,
    first_cancellation_hz,
    outer_width_m,
    spacing_in_wavelengths,
)
from forehear.judge.words import frequency_words
from forehear.spine.around import Surroundings
from forehear.spine.crossings import way_pressure
from forehear.spine.prediction import RuleOfThumb, SeatResult
from forehear.spine.situation import Situation

BEAM_DEG = 60.0
EDGE_DB = -6.0
SIDES = (("horizontal", 0), ("vertical", 1))


def rules_of(
    situation: Situation,
    sound: Surroundings,
    seats: Sequence[SeatResult],
    crossings: Sequence[float | None],
) -> tuple[RuleOfThumb, ...]:
    """Gather every rule that applies to the design."""
    return (
        *_beaming_of_drivers(situation, sound),
        *_beaming_of_groups(situation, sound),
        *_crossings(situation, sound, crossings),
        *_cancellations(situation, seats),
        _baffle_step(situation),
    )


def _beaming_of_drivers(situation: Situation, sound: Surroundings) -> Iterator[RuleOfThumb]:
    told = set()
    for index, name in enumerate(situation.speaker.drivers):
        part = situation.design.driver[name].part
        if part.name in told:
            continue
        told.add(part.name)
        rule_hz = beaming_frequency_hz(2 * part.diaphragm_radius_m, sound_speed_m_s=_speed(situation))
        alone = np.abs(sound.horizontal.pressure_pa_v[index]) ** 2
        yield RuleOfThumb(
            f"beaming of {part.name} (ka = 2)", frequency_words(rule_hz), _fallen_words(situation, alone)
        )


def _beaming_of_groups(situation: Situation, sound: Surroundings) -> Iterator[RuleOfThumb]:
    speaker = situation.speaker
    for orbit_name, axis in SIDES:
        orbit = sound.horizontal if axis == 0 else sound.vertical
        ways = way_pressure(orbit, situation.network.voltage, speaker.branches)
        for branch, pressure in zip(speaker.branches, ways, strict=True):
            shapes = [speaker.diaphragms[speaker.drivers.index(name)] for name in branch.drivers]
            width_m = outer_width_m([d.centre_m[axis] for d in shapes], [d.radius_m for d in shapes])
            if width_m <= 2 * max(d.radius_m for d in shapes) * 1.001:
                continue  # no wider than one diaphragm in this plane
            rule_hz = beaming_frequency_hz(width_m, sound_speed_m_s=_speed(situation))
            yield RuleOfThumb(
                f"beaming of the way {branch.name}, {orbit_name}, outer edge to outer edge (ka = 2)",
                frequency_words(rule_hz),
                _fallen_words(situation, np.abs(pressure) ** 2),
            )


def _fallen_words(situation: Situation, energy: FloatArray) -> str:
    """Say where an orbit first falls 6 dB at 60 degrees, ear-smoothed."""
    level = level_db(situation.smoothing.smooth(energy))
    aside = level[_angle(BEAM_DEG)] - level[_angle(0.0)]
    fallen = np.flatnonzero(aside <= EDGE_DB)
    if fallen.size == 0:
        return "never 6 dB down at 60 degrees"
    return (
        f"first 6 dB down at 60 degrees at {frequency_words(float(situation.grid.frequency_hz[fallen[0]]))}"
    )


def _angle(angle_deg: float) -> int:
    return int(np.flatnonzero(angle_deg == ORBIT_ANGLES_DEG)[0])


def _crossings(
    situation: Situation, sound: Surroundings, crossings: Sequence[float | None]
) -> Iterator[RuleOfThumb]:
    speaker, ways = situation.speaker, situation.design.ways
    for (lower, upper), crossing_hz in zip(pairwise(ways), crossings, strict=True):
        if crossing_hz is None:
            continue
        at = f"{lower.name} to {upper.name}, crossing at {frequency_words(crossing_hz)}"
        offset = _middle(situation, upper.drivers) - _middle(situation, lower.drivers)
        spacing_m, axis = float(np.linalg.norm(offset)), int(np.argmax(np.abs(offset)))
        if spacing_m > 0:
            orbit = sound.horizontal if axis == 0 else sound.vertical
            yield RuleOfThumb(
                f"spacing of {at} (under one wavelength)",
                f"{spacing_in_wavelengths(spacing_m, crossing_hz, sound_speed_m_s=_speed(situation)):.2f} "
                "wavelengths",
                _lobe_words(situation, orbit, crossing_hz, SIDES[axis][0]),
            )
        part = situation.design.driver[upper.drivers[0]].part
        lowest = crossing_over_resonance(crossing_hz, part.small_signal.fs_hz)
        peak = int(
            np.argmax(np.abs(speaker.impedance.impedance_ohm[speaker.drivers.index(upper.drivers[0])].sum(0)))
        )
        yield RuleOfThumb(
            f"{at}, against the resonance of {part.name} (at least 2)",
            f"{lowest:.1f} times fs",
            f"its voltage at resonance is {_held_back_db(situation, upper.drivers[0], peak):.0f} dB below its most",
        )


def _held_back_db(situation: Situation, name: str, band: int) -> float:
    volts = np.abs(situation.network.voltage.volts_v[situation.speaker.drivers.index(name)])
    return float(20 * np.log10(volts.max() / volts[band]))


def _middle(situation: Situation, names: Sequence[str]) -> FloatArray:
    middle: FloatArray = np.mean([situation.design.driver[name].centre_m for name in names], axis=0)
    return middle


def _lobe_words(situation: Situation, orbit: DriverPressure, crossing_hz: float, plane: str) -> str:
    """Say between which angles the sum stays within 6 dB at the crossing."""
    energy = np.abs(orbit.driven(situation.network.voltage)) ** 2
    band = int(np.argmin(np.abs(np.log(situation.grid.frequency_hz / crossing_hz))))
    level = level_db(situation.smoothing.smooth(energy))[:, band]
    below = level - level[_angle(0.0)] < EDGE_DB
    up = next((angle for angle in range(0, 181, 5) if below[_angle(float(angle))]), 180)
    down = next((angle for angle in range(0, 180, 5) if below[_angle(float(-angle))]), 180)
    return f"{plane}, within 6 dB to {max(up - 5, 0)} and -{max(down - 5, 0)} degrees"


def _cancellations(situation: Situation, seats: Sequence[SeatResult]) -> Iterator[RuleOfThumb]:
    """First cancellation of a pair of one way toward each seat, beside the deepest direct hole found."""
    for way in situation.design.ways:
        if len(way.drivers) != 2:
            continue
        one, other = (np.array(situation.design.driver[name].centre_m) for name in way.drivers)
        spacing_m, across = float(np.linalg.norm(other - one)), abs(other - one)[0] > abs(other - one)[1]
        for seat in seats:
            angle_rad = np.radians(seat.azimuth_deg if across else seat.elevation_deg)
            rule_hz = first_cancellation_hz(spacing_m, float(angle_rad), sound_speed_m_s=_speed(situation))
            if rule_hz > situation.grid.frequency_hz[-1]:
                continue
            hole = seat.direct_hole
            exact = (
                f"deepest direct hole {hole.depth_db:.0f} dB at {frequency_words(hole.frequency_hz)}"
                if hole
                else "no direct hole: the way plays no part there"
            )
            yield RuleOfThumb(
                f"first cancellation of the way {way.name} toward {seat.name}",
                frequency_words(rule_hz),
                exact,
            )


def _baffle_step(situation: Situation) -> RuleOfThumb:
    """Rule for the narrower side of the front, beside the radiation of the lowest way's first driver."""
    cabinet, speaker = situation.design.cabinet, situation.speaker
    rule_hz = baffle_step_hz(min(cabinet.width_m, cabinet.height_m))
    ahead = Directions.from_angles(np.zeros(1), np.zeros(1))
    source = speaker.sources.index(speaker.branches[0].drivers[0])
    frequency_hz = situation.grid.frequency_hz
    free = speaker.air.density_kg_m3 * frequency_hz * speaker.diaphragms[source].area_m2 / 2
    gain_db = level_db(np.abs(speaker.field(source, ahead)[0]) ** 2) - level_db(free**2)
    risen = np.flatnonzero(gain_db >= 3.0)
    exact = f"3 dB gained at {frequency_words(float(frequency_hz[risen[0]]))}" if risen.size else "never 3 dB"
    return RuleOfThumb(
        "baffle step, 115 m/s over the narrow side of the front", frequency_words(rule_hz), exact
    )


def _speed(situation: Situation) -> float:
    return situation.speaker.air.sound_speed_m_s
