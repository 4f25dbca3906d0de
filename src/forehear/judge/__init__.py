"""Judging what is heard: standard curves, the ear's smoothing, holes, spread, coverage, shares and words."""

from forehear.judge.beam import Beamwidth, Coverage, beamwidth, coverage
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
    band_means,
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
from forehear.judge.preference import Preference, preference_formula, preference_rating
from forehear.judge.rules_of_thumb import (
    LEAST_CROSSING_OVER_RESONANCE,
    baffle_step_hz,
    beaming_frequency_hz,
    crossing_over_resonance,
    first_cancellation_hz,
    lowest_allowed_impedance_ohm,
    outer_width_m,
    spacing_in_wavelengths,
)
from forehear.judge.shares import shapley_shares

__all__ = [
    "JUDGED_HZ",
    "LEAST_CROSSING_OVER_RESONANCE",
    "SPEECH_HZ",
    "TREND_HZ",
    "Beamwidth",
    "Coverage",
    "EarSmoothing",
    "EarlyReflections",
    "Hole",
    "PowerWeights",
    "Preference",
    "Smoothing",
    "StandardCurves",
    "baffle_step_hz",
    "band_means",
    "beaming_frequency_hz",
    "beamwidth",
    "coverage",
    "crossing_over_resonance",
    "ear_smoothing",
    "erb_hz",
    "erb_number",
    "erb_weight",
    "find_holes",
    "first_cancellation_hz",
    "in_room_trend",
    "lowest_allowed_impedance_ohm",
    "octave_smoothing",
    "orbit_power",
    "outer_width_m",
    "preference_formula",
    "preference_rating",
    "shapley_shares",
    "spacing_in_wavelengths",
    "sphere_power",
    "spread_among_seats",
    "spread_db",
    "standard_curves",
]
