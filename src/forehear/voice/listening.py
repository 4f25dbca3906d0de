"""From a solved speaker to what listens to its network: shapes, seats and limits, once."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from forehear.design import Design
from forehear.ground.arrays import ComplexArray, FloatArray
from forehear.ground.axes import ORBIT_ANGLES_DEG
from forehear.judge import SPEECH_HZ, erb_weight
from forehear.judge.curves import LISTENING_WINDOW_DEG
from forehear.network import wire_drivers
from forehear.spine.around import Surroundings, surroundings
from forehear.spine.hearing import SeatSound
from forehear.spine.situation import Situation
from forehear.spine.speaker import Speaker
from forehear.voice.circuit import circuit_of
from forehear.voice.evaluator import Ears, Evaluator, Kept
from forehear.voice.goal import FALL_DB, Goal
from forehear.voice.heard import Judged, ear_of, judged_against, judged_bands, mean_level_weight
from forehear.voice.programme import CREST, programme_share

STEP_DEG = 10
USUAL_V = 10.0  # of programme, where no driver has a limit
VOLTAGES_V = (2.83, 40.0)  # between which the programme is taken to lie
MARGIN = 1.01  # by which the search keeps away from the lowest impedance


@dataclass(frozen=True, eq=False)
class Start:
    """An evaluator, and the values and losses that the design has."""

    evaluator: Evaluator
    values: FloatArray  # [part]
    losses_ohm: FloatArray  # [part]


def listen(situation: Situation, goal: Goal, seats: Sequence[str] = ()) -> Start:
    """Make everything that judges networks for one design.

    Parameters
    ----------
    situation
        The design, solved.
    goal
        What is wanted.
    seats
        Names of the seats that count; all where none is named.
    """
    speaker = situation.speaker
    share = way_shares(speaker)
    load = np.stack(
        [
            wire_drivers(speaker.impedance.impedance_ohm[np.ix_(rows, rows)], branch.wiring)[0]
            for branch, rows in zip(speaker.branches, way_rows(speaker), strict=True)
        ]
    )
    circuit, values, losses = circuit_of(speaker.branches, load, speaker.grid.frequency_hz)
    heard = [sound for sound in situation.sounds if not seats or sound.ear.name in seats]
    ears = _ears(situation, goal, heard, share)
    kept = _kept(situation, goal, share)
    return Start(Evaluator(circuit, ears, kept), values, losses)


def way_rows(speaker: Speaker) -> list[list[int]]:
    """Rows of the drivers of each way."""
    return [[speaker.drivers.index(name) for name in branch.drivers] for branch in speaker.branches]


def way_shares(speaker: Speaker) -> ComplexArray:
    """Volts at each driver per volt at the load of each way, [driver, way, frequency]."""
    share: ComplexArray = np.zeros(
        (len(speaker.drivers), len(speaker.branches), len(speaker.grid)), dtype=complex
    )
    for way, (branch, rows) in enumerate(zip(speaker.branches, way_rows(speaker), strict=True)):
        own = speaker.impedance.impedance_ohm[np.ix_(rows, rows)]
        share[rows, way] = wire_drivers(own, branch.wiring)[1]
    return share


def in_ways(form: ComplexArray, share: ComplexArray) -> ComplexArray:
    """Turn forms in driver voltages [curve, part of a band, driver, driver] into forms in way voltages."""
    held = np.repeat(share, form.shape[1] // share.shape[-1], axis=-1).transpose(2, 0, 1)
    found: ComplexArray = held.conj().transpose(0, 2, 1) @ form @ held
    return found


def seat_forms(sounds: Sequence[SeatSound]) -> ComplexArray:
    """Stack the forms of seats, [seat, part of a band, driver, driver]."""
    return np.concatenate([sound.in_room.form_pa2_v2 for sound in sounds])


def around_forms(sound: Surroundings, covered_deg: float) -> ComplexArray:
    """Forms of on axis, the listening window and directions to be covered, [curve, frequency, driver, driver]."""
    horizontal, vertical = sound.horizontal.pressure_pa_v, sound.vertical.pressure_pa_v
    axis = _at(horizontal, [0])
    window = np.concatenate(
        [
            _at(horizontal, LISTENING_WINDOW_DEG["horizontal"]),
            _at(vertical, LISTENING_WINDOW_DEG["vertical"]),
        ]
    )
    covered = _at(horizontal, covered_angles(covered_deg))
    return np.concatenate(
        [_form(axis).mean(axis=0, keepdims=True), _form(window).mean(axis=0, keepdims=True), _form(covered)]
    )


def covered_angles(covered_deg: float) -> list[int]:
    """Angles of the directions to be covered, both sides."""
    return [
        sign * angle for angle in range(STEP_DEG, int(covered_deg + 1e-6) + 1, STEP_DEG) for sign in (1, -1)
    ]


def _at(pressure_pa_v: ComplexArray, angles_deg: Sequence[int]) -> ComplexArray:
    """Pressures of drivers at some angles, [angle, frequency, driver]."""
    rows = np.searchsorted(ORBIT_ANGLES_DEG, np.array(angles_deg, dtype=float))
    return pressure_pa_v[:, rows].transpose(1, 2, 0)


def _form(pressure_pa_v: ComplexArray) -> ComplexArray:
    found: ComplexArray = pressure_pa_v.conj()[..., :, np.newaxis] * pressure_pa_v[..., np.newaxis, :]
    return found


def _ears(situation: Situation, goal: Goal, sounds: Sequence[SeatSound], share: ComplexArray) -> Ears:
    grid, hearing, weights = situation.grid, situation.hearing, goal.weights
    around = around_forms(surroundings(situation.speaker), goal.covered_deg)
    bands = judged_bands(grid)
    speech = erb_weight(grid, *SPEECH_HZ)[bands]
    angles = max(len(covered_angles(goal.covered_deg)), 1)
    total = weights.total
    flat: Judged = judged_against(grid, 0.0)
    return Ears(
        seats=ear_of(in_ways(seat_forms(sounds), share), hearing.ear_in_room, grid),
        around=ear_of(in_ways(around, share), hearing.ear, grid),
        seats_judged=judged_against(grid, goal.slope_db_per_octave),
        around_judged=flat,
        seat_weight=float(np.sqrt(weights.seats / total / len(sounds))),
        axis_weight=float(np.sqrt(weights.on_axis / total)),
        window_weight=float(np.sqrt(weights.listening_window / total)),
        covered_weight=np.sqrt(weights.speech_coverage / total / angles * speech),
        fall_db=FALL_DB,
        level_weight=mean_level_weight(grid),
    )


def _kept(situation: Situation, goal: Goal, share: ComplexArray) -> Kept:
    strains = strains_of(situation.design, situation.speaker, share)
    energy = _way_energy(situation, share)
    own = np.array([row @ energy[way] for row, way in zip(strains.borne, strains.way, strict=True)])
    voltage_v = goal.voltage_v or first_voltage_v(strains, own)
    most = np.maximum(strains.most / voltage_v**2, own)  # what it does already is allowed
    limits = goal.limits
    floor = limits.lowest_impedance_ohm
    return Kept(
        impedance_db=-np.inf if floor is None else 20 * np.log10(MARGIN * floor),
        level_db=-np.inf if limits.lowest_level_db is None else limits.lowest_level_db,
        borne=strains.borne,
        borne_way=strains.way,
        borne_db=10 * np.log10(np.maximum(most, 1e-30)),
    )


@dataclass(frozen=True, eq=False)
class Strains:
    """What drivers bear of programme noise of 1 V at the load of their way, and the most they are made for."""

    borne: FloatArray  # [strain, frequency] squared peak excursion [m2/V2], or power [W/V2]
    way: NDArray[np.int_]  # [strain]
    most: FloatArray  # [strain] squared Xmax [m2], or rated power [W]
    names: tuple[str, ...]  # [strain]


def strains_of(design: Design, speaker: Speaker, share: ComplexArray) -> Strains:
    """Take excursion and power of every driver that has an Xmax or a rating."""
    omega = 2 * np.pi * speaker.grid.frequency_hz
    noise = programme_share(speaker.grid)
    moved = np.einsum("sif,iwf->swf", speaker.motion.velocity_m_s_v, share) / omega
    current = driver_current(speaker, share)
    power = (share * current.conj()).real
    rows: list[tuple[FloatArray, int, float, str]] = []
    for row, name in enumerate(speaker.drivers):
        part, way = design.driver[name].part, int(np.abs(share[row]).sum(axis=1).argmax())
        if part.xmax_m is not None:
            excursion = CREST**2 * np.abs(moved[row, way]) ** 2 * noise
            rows.append((excursion, way, part.xmax_m**2, f"{name} reaches its Xmax"))
        if part.file.power is not None:
            rated_w = part.file.power.long_term
            rows.append((power[row, way] * noise, way, rated_w, f"{name} reaches its rated power"))
    borne = np.array([row[0] for row in rows]).reshape(-1, len(speaker.grid))
    way_of = np.array([row[1] for row in rows], dtype=int)
    return Strains(borne, way_of, np.array([row[2] for row in rows]), tuple(row[3] for row in rows))


def driver_current(speaker: Speaker, share: ComplexArray) -> ComplexArray:
    """Find the current into every driver per volt at the load of its way, [driver, way, frequency]."""
    current: ComplexArray = np.zeros_like(share)
    for way, rows in enumerate(way_rows(speaker)):
        own = speaker.impedance.impedance_ohm[np.ix_(rows, rows)].transpose(2, 0, 1)
        current[rows, way] = np.linalg.solve(own, share[rows, way].T[..., np.newaxis])[..., 0].T
    return current


def first_voltage_v(strains: Strains, own: FloatArray) -> float:
    """Programme voltage at which the first driver of a design has all it is made for."""
    if not len(own):
        return USUAL_V
    return float(np.clip(np.sqrt(strains.most / np.maximum(own, 1e-30)).min(), *VOLTAGES_V))


def _way_energy(situation: Situation, share: ComplexArray) -> FloatArray:
    """Squared volts at the load of every way per volt at the terminals, [way, frequency]."""
    volts = situation.network.voltage.volts_v
    first = [rows[0] for rows in way_rows(situation.speaker)]
    found: FloatArray = np.array([np.abs(volts[row] / share[row, way]) ** 2 for way, row in enumerate(first)])
    return found
