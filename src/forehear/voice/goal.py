"""What is wanted of a network, and what it may not do."""

from dataclasses import dataclass

COVERED_DEG = 40.0  # to either side, unless the goal says otherwise
FALL_DB = 3.0  # that a direction may lie below on axis without being counted


@dataclass(frozen=True)
class Weights:
    """How much each kind of unevenness counts; only their ratios matter."""

    seats: float = 1.0  # the sound in the room at every seat named
    on_axis: float = 0.25
    listening_window: float = 0.25
    speech_coverage: float = 0.25

    @property
    def total(self) -> float:
        """Sum of all."""
        return self.seats + self.on_axis + self.listening_window + self.speech_coverage


@dataclass(frozen=True)
class Limits:
    """What a network must keep; None where nothing is asked."""

    lowest_impedance_ohm: float | None = None
    lowest_level_db: float | None = None  # mean on axis, 300 Hz to 3 kHz, 2.83 V at 1 m
    most_parts: int | None = None
    most_cost: float | None = None  # of the network, in the brief's currency


@dataclass(frozen=True)
class Goal:
    """What a voicing strives for."""

    weights: Weights = Weights()
    limits: Limits = Limits()
    slope_db_per_octave: float | None = (
        None  # of the sound in the room; a straight line of any slope where None
    )
    covered_deg: float = COVERED_DEG
    voltage_v: float | None = (
        None  # of programme noise at which drivers may just reach Xmax and rated power; where
    )
    # None, that at which the design as it is reaches the first of them
