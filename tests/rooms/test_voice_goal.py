"""The goal is what the house judges, its slope is exact, and its limits push only when they are broken."""

from dataclasses import replace

import numpy as np
import pytest

from forehear.spine.hearing import in_room_spread_db
from forehear.voice.evaluator import PRESS
from forehear.voice.goal import Goal, Limits, Weights
from forehear.voice.listening import Start, listen
from forehear.voice.wish import mean_level_db
from rooms.attic import CANDIDATES, HEARING, situation
from rooms.voices import GRID

SMALL = 1e-5


def started(name: str, goal: Goal) -> Start:
    return listen(situation(name), goal)


def goal_of(start: Start) -> float:
    return float(start.evaluator.goals(start.values[np.newaxis], start.losses_ohm[np.newaxis])[0])


@pytest.mark.parametrize("name", CANDIDATES)
def test_seats_alone_are_the_spreads_of_the_house(name: str) -> None:
    """With weight on the seats only, the goal is the root mean square of the spreads that `judge_seat` finds."""
    spreads = np.array([seat.spread_db for seat in situation(name).seats])
    found = goal_of(started(name, Goal(Weights(1.0, 0.0, 0.0, 0.0))))
    assert found == pytest.approx(np.sqrt(np.mean(spreads**2)), rel=1e-6)


def test_a_wanted_slope_is_that_of_the_house() -> None:
    solved = situation("stack")
    own = [in_room_spread_db(sound, solved.network.voltage, HEARING, -2.0) for sound in solved.sounds]
    found = goal_of(started("stack", Goal(Weights(1.0, 0.0, 0.0, 0.0), slope_db_per_octave=-2.0)))
    assert found == pytest.approx(np.sqrt(np.mean(np.square(own))), rel=1e-6)


def test_one_seat_alone() -> None:
    solved = situation("twin")
    start = listen(solved, Goal(Weights(1.0, 0.0, 0.0, 0.0)), ["armchair"])
    spread = next(seat.spread_db for seat in solved.seats if seat.name == "armchair")
    assert goal_of(start) == pytest.approx(spread, rel=1e-6)


@pytest.mark.parametrize("name", CANDIDATES)
def test_the_gradient_is_that_of_small_steps(name: str) -> None:
    limits = Limits(lowest_impedance_ohm=4.2, lowest_level_db=95.0)  # both broken, so that they push
    start = started(name, Goal(limits=limits, voltage_v=60.0))  # and drivers beyond their limits
    judge, values, losses = start.evaluator, start.values, start.losses_ohm
    judge = replace(judge, kept=replace(judge.kept, borne_db=judge.kept.borne_db - 3.0))
    goal, gradient = judge.goal_and_gradient(values, losses)
    assert goal == pytest.approx(float(judge.goals(values[np.newaxis], losses[np.newaxis])[0]), rel=1e-9)
    step = SMALL * np.eye(len(values))
    powers = judge.circuit.loss_power
    high = judge.goals(values * np.exp(step), losses * np.exp(step * powers))
    low = judge.goals(values * np.exp(-step), losses * np.exp(-step * powers))
    np.testing.assert_allclose(gradient, (high - low) / (2 * SMALL), rtol=1e-5, atol=1e-6)


def test_a_limit_pushes_by_what_it_is_broken() -> None:
    """On axis straight, everything else without weight: only the level is missing, by so many dB."""
    start = started("stack", Goal())
    judge = start.evaluator
    ears = replace(judge.ears, seat_weight=0.0, axis_weight=0.0, window_weight=0.0)
    ears = replace(ears, covered_weight=np.zeros_like(ears.covered_weight))
    kept = replace(judge.kept, impedance_db=-np.inf, borne_db=judge.kept.borne_db + 100)
    own_db = mean_level_db(judge, start)
    for missing_db, pushed in ((-1.0, 0.0), (0.0, 0.0), (2.5, PRESS * 2.5)):
        limited = replace(judge, ears=ears, kept=replace(kept, level_db=own_db + missing_db))
        found = float(limited.goals(start.values[np.newaxis], start.losses_ohm[np.newaxis])[0])
        assert found == pytest.approx(pushed, abs=1e-9)


def test_polarity_turns_the_way_round() -> None:
    start = started("twin", Goal())
    turned = start.evaluator.with_polarity(start.evaluator.circuit.polarity * [1, -1])
    answer = turned.circuit.solve(start.values[np.newaxis], start.losses_ohm[np.newaxis])
    own = start.evaluator.circuit.solve(start.values[np.newaxis], start.losses_ohm[np.newaxis])
    np.testing.assert_allclose(answer.volts[:, 1], -own.volts[:, 1])
    assert answer.volts.shape[-1] == len(GRID)
