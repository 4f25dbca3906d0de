"""What the brief and the command ask of a voicing, made whole, and refused where it contradicts itself."""

import math
from dataclasses import dataclass, replace

import numpy as np

from forehear.design import Design
from forehear.ground.errors import DesignError
from forehear.judge.words import frequency_words
from forehear.spine.situation import Situation
from forehear.voice.evaluator import Evaluator
from forehear.voice.goal import Goal, Limits, Weights
from forehear.voice.heard import level, products
from forehear.voice.listening import Start, listen
from forehear.voice.shop import Shop

LEVEL_GIVEN_UP_DB = 1.0  # of the mean level on axis, unless a level is asked for
RATED_SHARE = 0.8  # of the rated impedance, under which it may not fall (iec-60268-5, from memory)
HOPELESS = 1.5  # a floor so many times what the drivers have alone is out of reach
RAISED_DB = 0.02  # that the search aims at over the least level


@dataclass(frozen=True)
class Asked:
    """What the command says in place of the brief; None where it says nothing."""

    seats: float | None = None
    on_axis: float | None = None
    listening_window: float | None = None
    speech_coverage: float | None = None
    slope_db_per_octave: float | None = None
    lowest_impedance_ohm: float | None = None
    lowest_level_db: float | None = None
    most_parts: int | None = None
    most_cost: float | None = None


@dataclass(frozen=True)
class Wish:
    """What is strived for, with which parts, at which seats."""

    goal: Goal
    shop: Shop
    seats: tuple[str, ...]


def wish_of(design: Design, asked: Asked, shop: Shop | None = None) -> Wish:
    """Join what the brief and the command say.

    Raises
    ------
    DesignError
        When nothing is asked at all.
    """
    told, goals = design.brief.goals.voicing, design.brief.goals
    weights = Weights(
        seats=_first(asked.seats, told.seats),
        on_axis=_first(asked.on_axis, told.on_axis),
        listening_window=_first(asked.listening_window, told.listening_window),
        speech_coverage=_first(asked.speech_coverage, told.speech_coverage),
    )
    if weights.total <= 0:
        raise DesignError(
            "all weights are zero, so every network would be as good as any other",
            where=design.brief.where("goals", "voicing"),
            cure="give at least one of seats, on axis, listening window and speech coverage a weight",
        )
    rated = design.rated_impedance_ohm
    floor = _first_or_none(
        asked.lowest_impedance_ohm, goals.lowest_impedance_ohm, None if rated is None else RATED_SHARE * rated
    )
    limits = Limits(
        lowest_impedance_ohm=floor,
        lowest_level_db=_first_or_none(asked.lowest_level_db, told.lowest_level_db),
        most_parts=asked.most_parts if asked.most_parts is not None else told.most_parts,
        most_cost=_first_or_none(asked.most_cost, told.most_cost),
    )
    slope = _first_or_none(asked.slope_db_per_octave, goals.in_room_slope_db_per_octave)
    goal = Goal(weights, limits, slope, math.degrees(told.covered_rad), told.voltage_v)
    own = Shop(told.values, told.stock, told.pairs, told.largest_film_f) if shop is None else shop
    parts = [part.component for part in design.network_parts]
    return Wish(goal, own.priced_like(parts), goals.main_seats)


def begin_voicing(situation: Situation, wish: Wish) -> tuple[Start, Wish]:
    """Make what judges, with the level to keep taken from the design's network where none is asked for.

    Raises
    ------
    DesignError
        When a limit is out of any network's reach.
    """
    start = listen(situation, wish.goal, wish.seats)
    limits = wish.goal.limits
    if limits.lowest_level_db is None and len(start.values):
        least_db = round(mean_level_db(start.evaluator, start) - LEVEL_GIVEN_UP_DB, 2)
        limits = replace(limits, lowest_level_db=least_db)
        wish = replace(wish, goal=replace(wish.goal, limits=limits))
        kept = replace(start.evaluator.kept, level_db=least_db + RAISED_DB)
        start = replace(start, evaluator=replace(start.evaluator, kept=kept))
    _refuse_hopeless(situation, start.evaluator, wish)
    return start, wish


def mean_level_db(evaluator: Evaluator, start: Start) -> float:
    """Return the mean level on axis of the design as it is, 300 Hz to 3 kHz [dB]."""
    answer = evaluator.circuit.solve(start.values[np.newaxis], start.losses_ohm[np.newaxis])
    on_axis = level(evaluator.ears.around.energy(products(answer.volts)))[:, 0, 0]
    return float(evaluator.ears.level_weight @ on_axis)


def _refuse_hopeless(situation: Situation, evaluator: Evaluator, wish: Wish) -> None:
    """Refuse a lowest impedance far above what the drivers have by themselves."""
    floor = wish.goal.limits.lowest_impedance_ohm
    if floor is None:
        return
    branch, load = situation.speaker.branches[0], np.abs(evaluator.circuit.load_ohm[0])
    lowest = int(load.argmin())
    least = float(load[lowest])
    if floor > HOPELESS * least:
        at = frequency_words(float(situation.grid.frequency_hz[lowest]))
        raise DesignError(
            f"no network keeps {floor:g} ohm: the drivers of the way {branch.name!r} alone have {least:.2g} ohm "
            f"at {at}",
            where=situation.design.brief.where("goals", "lowest impedance"),
            cure=f"ask for {least:.2g} ohm or less, or wire the drivers in series",
        )


def _first(*values: float | None) -> float:
    return next(value for value in values if value is not None)


def _first_or_none(*values: float | None) -> float | None:
    return next((value for value in values if value is not None), None)
