"""The bundled candidates are speakers one could build: flat on axis, an honest rating, nothing that stops."""

from functools import cache
from pathlib import Path

import numpy as np
import pytest

from forehear.design import load
from forehear.ground.axes import Directions
from forehear.ground.findings import Level
from forehear.ground.levels import pressure_level_db
from forehear.judge import lowest_allowed_impedance_ohm
from forehear.spine.around import heard_around, surroundings
from forehear.spine.findings import findings_of
from forehear.spine.hearing import Hearing
from forehear.spine.situation import Situation, solve_situation

EXAMPLE = Path(__file__).resolve().parents[2] / "examples" / "attic-cinema"
CANDIDATES = ("twin", "stack", "trio")
FLAT_FROM_HZ, FLAT_TO_HZ = 300.0, 10_000.0
FLAT_WITHIN_DB = 2.0  # what a designer asks of a speaker on paper; common practice, no source
LOWEST_IMPEDANCE_OHM = 3.2  # 80 % of 4 ohm, the lowest usual rating: IEC 60268-5, rated impedance
SHARE_OF_RATED = 0.8  # IEC 60268-5: in its range the impedance may not fall under 80 % of the rated one

every_candidate = pytest.mark.parametrize("name", CANDIDATES)


@cache
def solved(name: str) -> Situation:
    return solve_situation(load(EXAMPLE / f"{name}.yaml"), Hearing.standard())


def on_axis_db(situation: Situation) -> np.ndarray:
    ahead = Directions.from_angles(np.zeros(1), np.zeros(1))
    return pressure_level_db(situation.speaker.pressure(ahead).driven(situation.network.voltage))[0]


@every_candidate
def test_level_on_axis_is_flat(name: str) -> None:
    situation = solved(name)
    frequency_hz = situation.grid.frequency_hz
    inside = (frequency_hz >= FLAT_FROM_HZ) & (frequency_hz <= FLAT_TO_HZ)
    level_db = on_axis_db(situation)[inside]
    assert np.abs(level_db - level_db.mean()).max() < FLAT_WITHIN_DB


@every_candidate
def test_impedance_keeps_what_the_rating_promises(name: str) -> None:
    situation = solved(name)
    lowest_ohm = np.abs(situation.network.impedance_ohm).min()
    rated_ohm = situation.design.rated_impedance_ohm
    assert rated_ohm is not None
    assert lowest_ohm >= LOWEST_IMPEDANCE_OHM
    assert lowest_ohm >= SHARE_OF_RATED * rated_ohm
    assert lowest_allowed_impedance_ohm(rated_ohm) == pytest.approx(SHARE_OF_RATED * rated_ohm)


@every_candidate
def test_nothing_stops(name: str) -> None:
    situation = solved(name)
    around = heard_around(surroundings(situation.speaker), situation.network.voltage, situation.smoothing)
    found = findings_of(situation, situation.seats, around)
    assert [finding.what for finding in found if finding.level is Level.STOPS] == []
    assert found  # the coverage is always told
