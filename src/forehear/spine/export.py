"""A prediction as plain data; the keys are a promise and are only ever added to."""

from collections.abc import Iterable
from typing import Any

import numpy as np

from forehear.ground.arrays import FloatArray
from forehear.ground.axes import ORBIT_ANGLES_DEG
from forehear.ground.findings import Finding
from forehear.judge import SPEECH_OCTAVE_HZ, Hole, rating_word
from forehear.spine.compare import Comparison
from forehear.spine.prediction import (
    DirectResult,
    HoleStory,
    Orbit,
    Prediction,
    Range,
    RoomStory,
    SeatResult,
    Together,
)

FORMAT = "forehear-prediction/1"
COMPARISON_FORMAT = "forehear-comparison/1"


def as_plain_data(prediction: Prediction) -> dict[str, Any]:
    """Return a prediction as dictionaries, lists, numbers and text, ready for JSON."""
    curves = prediction.curves
    return {
        "format": FORMAT,
        "design": prediction.design.title,
        "frequency_hz": _hz(prediction.grid.frequency_hz),
        "curves": {
            "on_axis_db": _db(curves.on_axis_db),
            "listening_window_db": _db(curves.listening_window_db),
            "early_reflections_db": _db(curves.early_reflections_db),
            "sound_power_db": _db(curves.sound_power_db),
            "sound_power_sphere_db": _db(prediction.sound_power_sphere_db),
            "directivity_index_db": _db(curves.directivity_index_db),
            "early_reflections_directivity_index_db": _db(curves.early_reflections_directivity_index_db),
            "estimated_in_room_db": _db(curves.estimated_in_room_db),
        },
        "orbits": {"horizontal": _orbit(prediction.horizontal), "vertical": _orbit(prediction.vertical)},
        "impedance": {
            "magnitude_ohm": _rounded(np.abs(prediction.impedance_ohm), 4),
            "phase_deg": _rounded(np.degrees(np.angle(prediction.impedance_ohm)), 3),
        },
        "drivers": [
            {
                "name": driver.name,
                "way": driver.way,
                "voltage_db": _db(20 * np.log10(np.maximum(np.abs(driver.volts_v), 1e-12))),
                "voltage_deg": _rounded(np.degrees(np.angle(driver.volts_v)), 3),
                "excursion_mm": _rounded(1000 * driver.excursion_m, 6),
            }
            for driver in prediction.drivers
        ],
        "seats": [_seat(seat) for seat in prediction.seats],
        "together": together_as_plain_data(prediction.together) if prediction.together else None,
        "room": story_as_plain_data(prediction.room) if prediction.room else None,
        "spread_among_seats_db": round(prediction.spread_among_seats_db, 4),
        "bass_limit_hz": round(prediction.bass_limit_hz, 2),
        "preference": round(prediction.preference.rating, 3),
        "crossings_hz": [None if hz is None else round(hz, 1) for hz in prediction.crossings_hz],
        "price": prediction.price,
        "rules_of_thumb": [
            {"what": rule.what, "rule": rule.rule, "exact": rule.exact} for rule in prediction.rules
        ],
        "findings": findings_as_plain_data(prediction.findings),
        "trace": {
            "design_hash": prediction.trace.design_hash,
            "solver": prediction.trace.solver,
            "versions": prediction.trace.versions,
            "estimated": list(prediction.trace.estimated),
            "bands": [
                {"from_hz": round(band.from_hz, 2), "to_hz": round(band.to_hz, 2), "solver": band.solver}
                for band in prediction.trace.bands
            ],
        },
    }


def findings_as_plain_data(findings: Iterable[Finding]) -> list[dict[str, str]]:
    """Return findings as dictionaries."""
    return [
        {
            "code": f.code,
            "level": str(f.level),
            "what": f.what,
            "where": f.where,
            "cause": f.cause,
            "cure": f.cure,
        }
        for f in findings
    ]


def _rounded(values: FloatArray, digits: int) -> list[float]:
    return [round(float(value), digits) for value in values]


def _hz(values: FloatArray) -> list[float]:
    return _rounded(values, 6)


def _db(values: FloatArray) -> list[float]:
    return _rounded(values, 4)


def _orbit(orbit: Orbit) -> dict[str, Any]:
    return {
        "angle_deg": _rounded(ORBIT_ANGLES_DEG, 1),
        "level_db": [_db(row) for row in orbit.level_db],
        "phase_deg": [_rounded(row, 3) for row in orbit.phase_deg],
        "beamwidth_deg": _rounded(orbit.beamwidth.total_deg, 2),
    }


def _hole(hole: Hole | None) -> dict[str, float] | None:
    """Depth as people write it: negative, below the trend."""
    return None if hole is None else {"db": round(-hole.depth_db, 4), "hz": round(hole.frequency_hz, 2)}


def _story(story: HoleStory) -> dict[str, Any]:
    return {
        "direct_hole": _hole(story.hole),
        "shares_db": {share.cause: round(share.share_db, 4) for share in story.shares},
        "rest_db": round(story.rest_db, 4),
        "depth_in_room_db": round(story.depth_in_room_db, 4),
        "fills_db": {fill.surface: round(fill.fill_db, 4) for fill in story.fills},
    }


def direct_numbers(seat: DirectResult) -> dict[str, Any]:
    """Return the single numbers of what reaches a seat straight, rounded as they are printed everywhere."""
    return {
        "placement": seat.placement,
        "name": seat.name,
        "azimuth_deg": round(seat.azimuth_deg, 3),
        "elevation_deg": round(seat.elevation_deg, 3),
        "distance_m": round(seat.distance_m, 4),
        "direct_spread_db": round(seat.direct_spread_db, 4),
        "direct_hole": _hole(seat.direct_hole),
    }


def seat_numbers(seat: SeatResult) -> dict[str, Any]:
    """Return the single numbers of a seat, rounded as they are printed everywhere."""
    return {**direct_numbers(seat), "spread_db": round(seat.spread_db, 4), "hole": _hole(seat.hole)}


def together_as_plain_data(together: Together) -> dict[str, Any]:
    """Return what several speakers do together."""
    return {
        "seats": list(together.seats),
        "each": [
            {
                "placement": playing.placement,
                "title": playing.title,
                "level_db": _db(playing.level_db),
                "bass_hz": _rounded(playing.bass_hz, 2),
                "spread_db": _db(playing.spread_db),
            }
            for playing in together.each
        ],
        "sum_spread_db": _db(together.sum_spread_db),
        "fits": [
            {
                "placement": fit.placement,
                "others": list(fit.others),
                "seat": fit.seat,
                "louder_db": round(fit.louder_db, 4),
                "timbre_db": round(fit.timbre_db, 4),
                "bass_octaves": round(fit.bass_octaves, 4),
            }
            for fit in together.fits
        ],
    }


def speech_numbers(seat: SeatResult) -> dict[str, Any]:
    """Return how clear speech is at a seat, rounded; nothing where it was not asked for."""
    if seat.speech is None:
        return {}
    return {
        "c50_db": round(seat.speech.c50_db, 2),
        "u50_db": round(seat.speech.u50_db, 2),
        "sti": round(seat.speech.sti, 3),
        "speech": {
            "octave_hz": list(SPEECH_OCTAVE_HZ),
            "c50_db": _rounded(seat.speech.c50_octave_db, 2),
            "decay_time_s": _rounded(seat.speech.decay.decay_time_s, 3),
            "level_db_a": round(seat.speech.speech_db_a, 2),
            "noise_db_a": round(seat.speech.noise_db_a, 2),
            "rating": rating_word(seat.speech.sti),
        },
    }


def range_numbers(seat: SeatResult) -> dict[str, Any]:
    """Return between which values the numbers of a seat lie, rounded; nothing where it was not asked for.

    Depths are written as those of holes are: negative, the deeper end first, 0 where there may be no hole.
    """
    ranges = seat.ranges
    if ranges is None:
        return {}
    return {
        "ranges": {
            "spread_db": _ends(ranges.spread_db, 3),
            "direct_spread_db": _ends(ranges.direct_spread_db, 3),
            "hole_db": _ends(Range(-ranges.hole_db.high, -ranges.hole_db.low), 3),
            "direct_hole_db": _ends(Range(-ranges.direct_hole_db.high, -ranges.direct_hole_db.low), 3),
            "c50_db": _ends(ranges.c50_db, 2),
            "u50_db": _ends(ranges.u50_db, 2),
            "sti": _ends(ranges.sti, 3),
        },
        "unsure_because": [
            {"what": one.what, "moves_spread_db": round(one.moves_db, 3)} for one in ranges.mattering
        ],
    }


def story_as_plain_data(story: RoomStory) -> dict[str, Any]:
    """Return what turning, treating and moving would do; seats in the order of the rows."""
    turning = story.turning
    return {
        "turn_deg": _rounded(turning.turn_deg, 2),
        "spread_db": [_db(row) for row in turning.spread_db],
        "direct_spread_db": [_db(row) for row in turning.direct_spread_db],
        "c50_db": [_db(row) for row in turning.c50_db],
        "head_moved_db": _db(story.head_moved_db),
        "changes": [
            {
                "doing": change.doing,
                "spread_db": [round(spread, 4) for spread in change.spread_db],
                "gained_db": round(change.gained_db, 4),
            }
            for change in (*story.treated, *story.moved)
        ],
    }


def _ends(between: Range, digits: int) -> list[float]:
    return [round(between.low, digits) + 0.0, round(between.high, digits) + 0.0]  # never minus nothing


def _seat(seat: SeatResult) -> dict[str, Any]:
    return {
        **seat_numbers(seat),
        **speech_numbers(seat),
        **range_numbers(seat),
        "direct_db": _db(seat.direct_db),
        "in_room_db": _db(seat.in_room_db),
        "in_room": "all reflections",
        "causes": [_story(story) for story in seat.stories],
    }


def comparison_as_plain_data(comparison: Comparison) -> dict[str, Any]:
    """Return a comparison, its predictions included, as plain data."""
    return {
        "format": COMPARISON_FORMAT,
        "predictions": [as_plain_data(prediction) for prediction in comparison.predictions],
        "table": [
            {"label": row.label, "values": list(row.values), "leaders": list(row.leaders)}
            for row in comparison.table
        ],
        "best_at": [list(sentences) for sentences in comparison.strengths],
        "gives_up": [list(sentences) for sentences in comparison.costs],
    }
