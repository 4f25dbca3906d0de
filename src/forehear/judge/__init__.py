"""Judging what is heard: standard curves, the ear's smoothing, holes, spread, coverage, shares and words."""

from forehear.judge.curves import (
    EarlyReflections,
    PowerWeights,
    StandardCurves,
    orbit_power,
    sphere_power,
    standard_curves,
)
from forehear.judge.ear import (
    EarSmoothing,
    Smoothing,
    ear_smoothing,
    erb_hz,
    erb_number,
    erb_weight,
    octave_smoothing,
)
from forehear.judge.holes import (
    JUDGED_HZ,
    SPEECH_HZ,
    TREND_HZ,
    Hole,
    find_holes,
    in_room_trend,
    spread_among_seats,
    spread_db,
)

__all__ = [
    "JUDGED_HZ",
    "SPEECH_HZ",
    "TREND_HZ",
    "EarSmoothing",
    "EarlyReflections",
    "Hole",
    "PowerWeights",
    "Smoothing",
    "StandardCurves",
    "ear_smoothing",
    "erb_hz",
    "erb_number",
    "erb_weight",
    "find_holes",
    "in_room_trend",
    "octave_smoothing",
    "orbit_power",
    "sphere_power",
    "spread_among_seats",
    "spread_db",
    "standard_curves",
]
