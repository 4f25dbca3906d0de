"""Predictions made up from simple formulas, to draw before and without any solver."""

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np

from forehear.design import Design, load
from forehear.ground.arrays import FloatArray
from forehear.ground.axes import ORBIT_ANGLES_DEG, FrequencyGrid
from forehear.ground.findings import Finding, Level
from forehear.ground.levels import level_db
from forehear.judge import (
    SPEECH_OCTAVE_HZ,
    EnergyDecay,
    c50_single_db,
    clarity_c50_db,
    ear_smoothing,
    find_holes,
    in_room_trend,
    preference_rating,
    spread_among_seats,
    spread_db,
    standard_curves,
)
from forehear.spine.compare import Comparison, ComparisonRow
from forehear.spine.prediction import (
    CauseShare,
    DriverResult,
    Fill,
    Fit,
    HoleStory,
    Mattering,
    Orbit,
    Playing,
    Prediction,
    Range,
    RoomChange,
    RoomStory,
    RuleOfThumb,
    SeatRanges,
    SeatResult,
    SpeechResult,
    Together,
    Trace,
    Turning,
)

EXAMPLE = Path(__file__).resolve().parents[2] / "examples" / "attic-cinema" / "twin.yaml"
GRID = FrequencyGrid.standard()
EAR = ear_smoothing(GRID)
HZ = GRID.frequency_hz
FINDINGS = (
    Finding(
        Level.FINE, "hole-filled", "The direct hole at sofa left is filled by the floor and the left wall."
    ),
    Finding(
        Level.CHECK,
        "hole-in-room",
        "The armchair keeps a hole 6 dB deep at 1.4 kHz.",
        "twin.yaml:14:5  ways > low > network",
        "of the direct hole: spacing of the drivers 12 dB, phase at the crossing 4 dB",
        "turn the cabinet 14 degrees toward it: 3 dB left there, sofa left loses 1 dB",
    ),
    Finding(Level.STOPS, "impedance", "The impedance falls to 2.1 ohm at 180 Hz.", "twin.yaml:9:5"),
)
RULES = (RuleOfThumb("beaming of the woofer left, ka = 2", "870 Hz", "6 dB down at 60 degrees from 1.1 kHz"),)


def horizontal_energy(half_spacing_m: float, crossing_hz: float) -> FloatArray:
    """Two sources side by side below a crossing, a small one above; [orbit angle, frequency]."""
    wave_number = 2 * np.pi * HZ / 343.2
    angle = np.radians(ORBIT_ANGLES_DEG)[:, np.newaxis]
    low = 1 / (1 + (HZ / crossing_hz) ** 4)
    cone = np.exp(-((wave_number * 0.06 * np.sin(angle)) ** 2) / 8)
    pair = np.cos(wave_number * half_spacing_m * np.sin(angle)) * cone
    dome = np.exp(-((wave_number * 0.013 * np.sin(angle)) ** 2) / 8)
    behind = np.where(np.cos(angle) < 0, 10 ** (np.sqrt(HZ / 1000) * np.cos(angle) * 0.6), 1.0)
    bass = 1 / np.sqrt(1 + (55 / HZ) ** 4)
    pressure = (low * pair + (1 - low) * dome * np.exp(0.4j)) * behind * bass
    energy: FloatArray = np.abs(pressure) ** 2 * 4e-4
    return energy


def made_up(
    title: str, half_spacing_m: float, crossing_hz: float, design: Design | None = None
) -> Prediction:
    """One prediction in which everything a report draws is there."""
    design = replace(design or load(EXAMPLE), title=title)
    across, upward = horizontal_energy(half_spacing_m, crossing_hz), horizontal_energy(0.03, crossing_hz)
    curves = standard_curves(across, upward)
    seats = tuple(
        _seat(seat.name, azimuth, across)
        for seat, azimuth in zip(design.brief.seats, (-14, 0, 15, 40), strict=True)
    )
    low = 1 / (1 + (HZ / crossing_hz) ** 4)
    impedance = (
        5.2 + 20 / (1 + 4j * (HZ / 70 - 70 / HZ)) + 8 / (1 + 1.2j * (HZ / 1500 - 1500 / HZ)) + 2e-4j * HZ
    )
    drivers = (
        DriverResult("woofer left", "low", low + 0j, 2 / (1 + (HZ / 60) ** 2)),
        DriverResult("woofer right", "low", low + 0j, 2 / (1 + (HZ / 60) ** 2)),
        DriverResult("tweeter", "high", -0.7 * (1 - low) + 0j, 0.1 / (1 + (HZ / 900) ** 2)),
    )
    among = spread_among_seats(np.array([seat.in_room_smoothed_db for seat in seats]), GRID)
    trace = Trace("0123456789abcdef" * 2, "instant", {"radiation": "1"}, ("levels behind the front",), 0.4)
    return Prediction(
        design, GRID, curves, curves.sound_power_db + 0.3, _orbit(across), _orbit(upward), impedance, drivers,
        seats, among, 48.0, preference_rating(curves, GRID), (crossing_hz,), 134.0, RULES, FINDINGS,
        None, room_story(seats), trace,
    )  # fmt: skip


def room_story(seats: Sequence[SeatResult]) -> RoomStory:
    """A room that likes the speaker turned by 20 degrees, and its left wall treated."""
    turn = np.arange(-60.0, 61.0, 10.0)
    now = np.array([seat.spread_db for seat in seats])
    uneven = 0.0008 * ((turn - 20.0) ** 2 - 400.0)
    clarity = np.array([seat.speech.c50_db for seat in seats if seat.speech])
    turning = Turning(
        turn,
        now[:, np.newaxis]
        + uneven
        + 0.6 * np.sin(np.radians(turn)) * np.linspace(-1, 1, len(seats))[:, np.newaxis],
        now[:, np.newaxis] + 2 * uneven,
        clarity[:, np.newaxis] - 0.0005 * turn**2,
    )

    def change(doing: str, gained_db: float) -> RoomChange:
        return RoomChange(doing, tuple((now - gained_db).tolist()), gained_db)

    treated = (
        change("treat the left wall", 0.6),
        change("treat the floor", -0.4),
        change("treat the ceiling", 0.1),
    )
    moved = (
        change("move the speaker 20 cm toward the rear wall", 1.3),
        change("move the speaker 20 cm down", -0.7),
    )
    return RoomStory(turning, treated, moved, now + np.linspace(0.2, 1.2, len(seats)))


def playing_together(seats: Sequence[str]) -> Together:
    """A centre and two others, a little louder and darker."""
    tilt = -1.5 * np.log2(HZ / 1000)

    def playing(placement: str, title: str, louder_db: float) -> Playing:
        level = 70.0 + louder_db + tilt + np.zeros((len(seats), 1))
        spreads = 1.5 + 0.25 * np.arange(len(seats))
        return Playing(placement, title, level, level[:, 100], np.full(len(seats), 60.0), spreads)

    each = (playing("left", "Pillar", 1.0), playing("right", "Pillar", 1.0), playing("centre", "Twin", 0.0))
    fits = tuple(
        Fit("centre", ("left", "right"), seat, -1.0 - 0.5 * index, 1.25 + 0.5 * index, 0.3 - 0.3 * index)
        for index, seat in enumerate(seats)
    )
    return Together(tuple(seats), each, each[0].smoothed_db + 4.8, 1.1 + 0.2 * np.arange(len(seats)), fits)


def with_ranges(prediction: Prediction, half: float = 0.1) -> Prediction:
    """Let every number of every seat be otherwise by a share of itself."""

    def ranged(seat: SeatResult) -> SeatResult:
        assert seat.speech
        holes = [hole.depth_db if hole else 0.0 for hole in (seat.hole, seat.direct_hole)]
        values = [seat.spread_db, seat.direct_spread_db, *holes, seat.speech.c50_db, seat.speech.u50_db]
        values.append(seat.speech.sti)
        drawn = np.outer(values, np.linspace(1 - half, 1 + half, 39))
        ends = [Range(float(row[1]), float(row[-2])) for row in drawn]
        most = (Mattering("acoustic depth", 0.3), Mattering("absorption", 0.1))
        return replace(seat, ranges=SeatRanges(seat.placement, seat.name, *ends, drawn=drawn, mattering=most))

    return replace(prediction, seats=tuple(map(ranged, prediction.seats)))


def _speech(direct: FloatArray, room: FloatArray) -> SpeechResult:
    """A direct sound and an exponential tail of 0.4 s, by octaves."""
    octave = np.array([int(np.argmin(np.abs(np.log(HZ / hz)))) for hz in SPEECH_OCTAVE_HZ])
    straight = EAR.smooth(direct)[octave]
    tail = 0.5 * EAR.smooth(room)[octave]
    decay = EnergyDecay(np.zeros(2), straight[:, np.newaxis], tail, np.linspace(0.55, 0.35, 7))
    clarity_db = clarity_c50_db(decay)
    c50 = float(c50_single_db(clarity_db))
    return SpeechResult(c50, clarity_db, c50 - 1.4, 0.5 + 0.02 * c50, 54.0 + 0.1 * c50, 30.0, decay)


def three_candidates(titles: Sequence[str] = ("Twin", "Stack", "Trio")) -> Comparison:
    """Three candidates side by side."""
    design = load(EXAMPLE)
    shapes = ((0.14, 2500.0), (0.0, 1800.0), (0.09, 900.0))
    predictions = tuple(made_up(title, *shape, design) for title, shape in zip(titles, shapes, strict=True))
    rows = (
        ComparisonRow("mean spread", ("2.0 dB", "2.6 dB", "3.1 dB"), (0,)),
        ComparisonRow("price of the parts", ("134 euro", "86 euro", "240 euro"), (1,)),
        ComparisonRow("listeners in mind", ("4", "4", "4"), ()),
    )
    strengths = (("evenest seats: 2.0 dB",), ("cheapest: 86 euro", "smallest: 11 litres"), ())
    costs = (("bass: 62 Hz",), ("armchair: 4.1 dB",), ("price",))
    return Comparison(predictions, table=rows, strengths=strengths, costs=costs)


def one_candidate(title: str = "Twin") -> Comparison:
    """One candidate by itself."""
    rows = (ComparisonRow("mean spread", ("2.0 dB",), ()),)
    return Comparison((made_up(title, 0.14, 2500.0),), table=rows, strengths=((),), costs=((),))


def _orbit(energy: FloatArray) -> Orbit:
    return Orbit(
        np.sqrt(energy).astype(complex),
        lambda: np.ones(energy.shape, dtype=complex),
        EAR,
    )


def _seat(name: str, azimuth_deg: int, across: FloatArray) -> SeatResult:
    """A seat that hears the speaker directly, and its mean over all directions from the room."""
    toward = int(np.argmin(np.abs(ORBIT_ANGLES_DEG - azimuth_deg)))
    direct, room = across[toward] / 9.0, across[toward] / 9.0 + across.mean(axis=0) / 11.0
    smooth_direct, smooth_room = level_db(EAR.smooth(direct)), level_db(EAR.smooth(room))
    on_axis = level_db(EAR.smooth(across[ORBIT_ANGLES_DEG == 0.0][0] / 9.0))
    trend = in_room_trend(smooth_room, GRID)
    holes, direct_holes = find_holes(smooth_room, trend, GRID), find_holes(smooth_direct, on_axis, GRID)
    stories = tuple(
        HoleStory(
            hole,
            (
                CauseShare("spacing of the drivers", 0.7 * hole.depth_db),
                CauseShare("phase at the crossing", 0.4 * hole.depth_db),
                CauseShare("size of the diaphragms", -0.1 * hole.depth_db),
            ),
            0.2,
            max(0.0, hole.depth_db - 4.0),
            (Fill("floor", 3.2), Fill("left wall", 1.4)),
        )
        for hole in direct_holes
    )
    return SeatResult(
        placement="centre",
        name=name,
        azimuth_deg=float(azimuth_deg),
        elevation_deg=-4.0,
        distance_m=3.0,
        direct_db=level_db(direct),
        direct_smoothed_db=smooth_direct,
        direct_trend_db=on_axis,
        direct_spread_db=spread_db(smooth_direct, on_axis, GRID),
        direct_holes=direct_holes,
        in_room_db=level_db(room),
        in_room_smoothed_db=smooth_room,
        in_room_trend_db=trend,
        spread_db=spread_db(smooth_room, trend, GRID),
        hole=holes[0] if holes else None,
        holes=holes,
        stories=stories,
        speech=_speech(direct, across.mean(axis=0) / 11.0),
    )
